//! A free place for every number.
//!
//! The drawing is stamped into a grid of small cells, each holding the part seen there. A number
//! may stand where its disc touches nothing drawn and no other disc; of those places the cheapest
//! wins: a short line to its part that crosses few other parts, no other line and no other number.

use super::path::{Point, point};

/// Side of a grid cell, mm.
const CELL: f64 = 3.0;
/// Distance between two numbers, in radii: more than 2, so that they stay apart.
pub(crate) const APART: f64 = 2.5;

/// What is seen where.
#[derive(Debug, Clone)]
pub(crate) struct Grid {
    left: f64,
    top: f64,
    columns: usize,
    rows: usize,
    /// 0 is free; otherwise part number + 2, or 1 for what has no number.
    cells: Vec<u16>,
}

/// One number: its disc, and where its line ends on the part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Callout {
    pub item: usize,
    pub centre: Point,
    pub anchor: Point,
}

impl Grid {
    pub fn new(left: f64, top: f64, right: f64, bottom: f64) -> Self {
        let size = |length: f64| ((length / CELL).ceil().clamp(1.0, 2000.0)) as usize;
        let (columns, rows) = (size(right - left), size(bottom - top));
        Self {
            left,
            top,
            columns,
            rows,
            cells: vec![0; columns * rows],
        }
    }

    fn centre(&self, column: usize, row: usize) -> Point {
        point(
            self.left + (column as f64 + 0.5) * CELL,
            self.top + (row as f64 + 0.5) * CELL,
        )
    }

    fn range(from: f64, to: f64, count: usize) -> std::ops::Range<usize> {
        let low = (from / CELL).floor().clamp(0.0, count as f64) as usize;
        let high = (to / CELL).ceil().clamp(0.0, count as f64) as usize;
        low..high
    }

    /// Everything within `radius` of a point belongs to `owner`.
    pub fn disc(&mut self, at: Point, radius: f64, owner: u16) {
        for row in Self::range(
            at.y - radius - self.top,
            at.y + radius - self.top,
            self.rows,
        ) {
            for column in Self::range(
                at.x - radius - self.left,
                at.x + radius - self.left,
                self.columns,
            ) {
                if self.centre(column, row).minus(at).length() <= radius.max(CELL * 0.75) {
                    self.cells[row * self.columns + column] = owner;
                }
            }
        }
    }

    /// Everything within `radius` of a line belongs to `owner`.
    pub fn line(&mut self, line: &[Point], radius: f64, owner: u16) {
        for pair in line.windows(2) {
            let way = pair[1].minus(pair[0]);
            let steps = (way.length() / (CELL * 0.7)).ceil().clamp(1.0, 2000.0) as usize;
            for i in 0..=steps {
                self.disc(
                    pair[0].plus(way.times(i as f64 / steps as f64)),
                    radius,
                    owner,
                );
            }
        }
    }

    /// The inside of a closed line belongs to `owner` (even-odd rule).
    pub fn fill(&mut self, outline: &[Point], owner: u16) {
        for row in 0..self.rows {
            let y = self.centre(0, row).y;
            let mut cuts: Vec<f64> = outline
                .iter()
                .zip(outline.iter().cycle().skip(1))
                .filter(|(a, b)| (a.y <= y) != (b.y <= y))
                .map(|(a, b)| a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y))
                .collect();
            cuts.sort_by(f64::total_cmp);
            for pair in cuts.chunks_exact(2) {
                for column in Self::range(pair[0] - self.left, pair[1] - self.left, self.columns) {
                    self.cells[row * self.columns + column] = owner;
                }
            }
        }
        self.line(outline, CELL * 0.5, owner);
    }

    pub fn at(&self, p: Point) -> u16 {
        let (x, y) = ((p.x - self.left) / CELL, (p.y - self.top) / CELL);
        if x < 0.0 || y < 0.0 || x >= self.columns as f64 || y >= self.rows as f64 {
            return 0;
        }
        self.cells[y as usize * self.columns + x as usize]
    }

    /// Whether a disc touches nothing drawn and stays inside.
    pub fn is_free(&self, at: Point, radius: f64) -> bool {
        let inside = at.x - radius >= self.left
            && at.y - radius >= self.top
            && at.x + radius <= self.left + self.columns as f64 * CELL
            && at.y + radius <= self.top + self.rows as f64 * CELL;
        inside
            && Self::range(
                at.y - radius - self.top,
                at.y + radius - self.top,
                self.rows,
            )
            .all(|row| {
                Self::range(
                    at.x - radius - self.left,
                    at.x + radius - self.left,
                    self.columns,
                )
                .all(|column| {
                    self.cells[row * self.columns + column] == 0
                        || self.centre(column, row).minus(at).length() > radius
                })
            })
    }

    /// Some points well inside what is seen of a part.
    fn anchors(&self, owner: u16) -> Vec<Point> {
        let mut seen = Vec::new();
        let mut edge = Vec::new();
        for row in 0..self.rows {
            for column in 0..self.columns {
                if self.cells[row * self.columns + column] != owner {
                    continue;
                }
                let p = self.centre(column, row);
                let inner = [
                    point(CELL, 0.0),
                    point(-CELL, 0.0),
                    point(0.0, CELL),
                    point(0.0, -CELL),
                ];
                if inner.iter().all(|side| self.at(p.plus(*side)) == owner) {
                    seen.push(p)
                } else {
                    edge.push(p)
                }
            }
        }
        if seen.is_empty() {
            seen = edge;
        }
        let stride = seen.len().div_ceil(24).max(1);
        seen.into_iter().skip(stride / 2).step_by(stride).collect()
    }
}

/// A place for the number of every item in `items`; `None` if there is not room enough.
pub(crate) fn arrange(
    grid: &Grid,
    items: &[usize],
    labels: &[Option<Point>],
    radius: f64,
) -> Option<Vec<Callout>> {
    let lattice = lattice(grid, radius);
    let anchors: Vec<Vec<Point>> = items
        .iter()
        .map(|item| match labels.get(*item).copied().flatten() {
            Some(label) if grid.at(label) == *item as u16 + 2 => vec![label],
            _ => grid.anchors(*item as u16 + 2),
        })
        .collect();
    // Small things first: they have the fewest places to choose from.
    let mut order: Vec<usize> = (0..items.len()).collect();
    order.sort_by_key(|i| anchors[*i].len());
    let mut placed: Vec<Option<Callout>> = vec![None; items.len()];
    for round in 0..3 {
        for &i in &order {
            if anchors[i].is_empty() {
                continue;
            }
            placed[i] = None;
            let best = best(grid, items[i], &lattice, &anchors[i], &placed, radius);
            if best.is_none() && round == 2 {
                return None;
            }
            placed[i] = best;
        }
    }
    Some(placed.into_iter().flatten().collect())
}

fn lattice(grid: &Grid, radius: f64) -> Vec<Point> {
    let pitch = radius * 0.6;
    let count = |cells: usize| (cells as f64 * CELL / pitch).floor() as usize;
    let mut free = Vec::new();
    for row in 0..=count(grid.rows) {
        for column in 0..=count(grid.columns) {
            let p = point(
                grid.left + column as f64 * pitch,
                grid.top + row as f64 * pitch,
            );
            if grid.is_free(p, radius * 1.12) {
                free.push(p);
            }
        }
    }
    free
}

fn best(
    grid: &Grid,
    item: usize,
    lattice: &[Point],
    anchors: &[Point],
    placed: &[Option<Callout>],
    radius: f64,
) -> Option<Callout> {
    let mut best: Option<(f64, Callout)> = None;
    let others: Vec<&Callout> = placed.iter().flatten().collect();
    // Nearest places first: once one is found, those farther away than its cost cannot win.
    let mut near: Vec<(f64, Point)> = lattice
        .iter()
        .map(|centre| {
            (
                anchors.iter().fold(f64::INFINITY, |low, anchor| {
                    low.min(anchor.minus(*centre).length())
                }),
                *centre,
            )
        })
        .collect();
    near.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (distance, centre) in near {
        if best.is_some_and(|(cost, _)| cost <= distance) {
            break;
        }
        if others
            .iter()
            .any(|other| other.centre.minus(centre).length() < radius * APART)
        {
            continue;
        }
        for &anchor in anchors {
            let length = anchor.minus(centre).length();
            let least = length + (length - radius * 6.0).max(0.0);
            if best.is_some_and(|(cost, _)| cost <= least) {
                continue;
            }
            let callout = Callout {
                item,
                centre,
                anchor,
            };
            let cost = least + trouble(grid, &callout, &others, radius);
            if best.is_none_or(|(lowest, _)| cost < lowest) {
                best = Some((cost, callout));
            }
        }
    }
    best.map(|(_, callout)| callout)
}

/// What the line of a callout runs over.
fn trouble(grid: &Grid, callout: &Callout, others: &[&Callout], radius: f64) -> f64 {
    let way = callout.anchor.minus(callout.centre);
    let steps = (way.length() / CELL).ceil().max(1.0) as usize;
    let own = callout.item as u16 + 2;
    let mut cost = 0.0;
    for i in 0..steps {
        match grid.at(callout.centre.plus(way.times(i as f64 / steps as f64))) {
            0 => {}
            owner if owner == own => cost += 0.5,
            1 => cost += 3.0,
            _ => cost += 9.0,
        }
    }
    for other in others {
        if to_line(other.centre, callout.centre, callout.anchor) < radius * 1.25
            || to_line(callout.centre, other.centre, other.anchor) < radius * 1.25
        {
            cost += 4000.0;
        }
        if crosses(callout.centre, callout.anchor, other.centre, other.anchor) {
            cost += 400.0;
        }
    }
    cost
}

/// Distance of a point from a straight piece.
fn to_line(p: Point, a: Point, b: Point) -> f64 {
    let way = b.minus(a);
    let length = way.x * way.x + way.y * way.y;
    let share = if length > 0.0 {
        (((p.x - a.x) * way.x + (p.y - a.y) * way.y) / length).clamp(0.0, 1.0)
    } else {
        0.0
    };
    p.minus(a.plus(way.times(share))).length()
}

fn crosses(a: Point, b: Point, c: Point, d: Point) -> bool {
    let side = |p: Point, q: Point, r: Point| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_clear_of_parts_and_of_each_other() {
        let mut grid = Grid::new(0.0, 0.0, 300.0, 300.0);
        for i in 0..12_u16 {
            grid.disc(point(80.0 + 12.0 * f64::from(i), 150.0), 6.0, i + 2);
        }
        let items: Vec<usize> = (0..12).collect();
        let callouts = arrange(&grid, &items, &[], 10.0).unwrap();
        assert_eq!(callouts.len(), 12);
        for (i, a) in callouts.iter().enumerate() {
            assert!(grid.is_free(a.centre, 10.0));
            for b in &callouts[..i] {
                assert!(a.centre.minus(b.centre).length() >= 20.0);
            }
        }
    }

    #[test]
    fn a_full_sheet_has_no_room() {
        let mut grid = Grid::new(0.0, 0.0, 60.0, 60.0);
        grid.disc(point(30.0, 30.0), 60.0, 2);
        assert!(arrange(&grid, &[0], &[], 10.0).is_none());
    }
}
