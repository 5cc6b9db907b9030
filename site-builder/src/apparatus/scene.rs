//! Everything measured before anything is drawn: bounds, thickness of lines, room for the numbers.

use super::assembly::{Assembly, Clamp, Place};
use super::callouts::{Callout, Grid, arrange};
use super::fittings::Curve;
use super::part::{Fit, Part, Piece};
use super::path::{Bounds, Point, flatten, point, step};

/// Everything measured before anything is written.
pub(crate) struct Scene<'a> {
    pub assembly: &'a Assembly,
    pub bounds: Bounds,
    pub radius: f64,
    /// Thickness of a line, mm.
    pub ink: f64,
    pub callouts: Vec<Callout>,
    pub hoses: Vec<Curve>,
    pub order: Vec<usize>,
    pub grid: Grid,
}

impl<'a> Scene<'a> {
    pub fn of(assembly: &'a Assembly) -> Self {
        let mut hoses: Vec<Curve> = assembly
            .hoses
            .iter()
            .filter_map(|hose| assembly.hose_curve(hose))
            .collect();
        hoses.extend(assembly.water_curves());
        let mut order: Vec<usize> = (0..assembly.items.len()).collect();
        order.sort_by_key(|&item| {
            let fits = |fit: Fit| {
                assembly.items[item]
                    .part
                    .ports
                    .iter()
                    .any(|port| port.joint.fit == fit)
            };
            if fits(Fit::Seat) {
                0
            } else if fits(Fit::Rod) {
                2
            } else {
                1
            }
        });
        let mut scene = Self {
            assembly,
            bounds: Bounds::NONE,
            radius: 9.0,
            ink: 1.0,
            callouts: Vec::new(),
            hoses,
            order,
            grid: Grid::new(0.0, 0.0, 1.0, 1.0),
        };
        scene.measure();
        scene
    }

    /// Bounds with room for the numbers; more room until all have a place.
    fn measure(&mut self) {
        let mut inner = Bounds::NONE;
        for item in 0..self.assembly.items.len() {
            inner.join(&self.assembly.bounds(item));
        }
        for hose in &self.hoses {
            for p in hose.line() {
                inner.add(p, hose.width / 2.0 + 4.0);
            }
        }
        for rod in self.assembly.rods() {
            inner.add(point(rod.x, rod.top), 12.0);
        }
        inner.add(
            point(0.0, self.assembly.lower_bench.unwrap_or(0.0) + 2.0),
            0.0,
        );
        let items: Vec<usize> = (0..self.assembly.items.len()).collect();
        for extra in 0..6 {
            let share = 0.033;
            let margins = 2.0 * (2.4 + 1.3 * f64::from(extra));
            let wide = (inner.right - inner.left) / (1.0 - share * margins).max(0.4);
            self.radius = (share * wide).max(10.0);
            let margin = self.radius * margins / 2.0;
            self.bounds = Bounds {
                left: inner.left - margin,
                right: inner.right + margin,
                top: inner.top - margin,
                bottom: inner.bottom.max(4.0) + self.radius * (0.6 + f64::from(extra)),
            };
            self.ink = (wide / 380.0).clamp(1.25, 1.9);
            self.grid = self.stamped();
            if let Some(callouts) = arrange(&self.grid, &items, &self.labels(), self.radius) {
                self.callouts = callouts;
                break;
            }
        }
        self.bounds.bottom += self.radius * 2.6;
    }

    /// Where parts want the line of their number to end.
    fn labels(&self) -> Vec<Option<Point>> {
        let label = |item: usize| {
            Some(self.assembly.places[item].map(self.assembly.items[item].part.mark("label")?.at))
        };
        (0..self.assembly.items.len()).map(label).collect()
    }

    /// Everything drawn, as the callouts see it.
    fn stamped(&self) -> Grid {
        let Bounds {
            left,
            top,
            right,
            bottom,
        } = self.bounds;
        let mut grid = Grid::new(left, top, right, bottom);
        for rod in self.assembly.rods() {
            grid.line(&[point(rod.x, rod.top), point(rod.x, 0.0)], 7.0, 1);
        }
        for clamp in self.assembly.on_rods() {
            let (at, _, _) = self.assembly.grip(clamp);
            let rod = self.rod_for(clamp);
            grid.line(&[at, point(rod, at.y)], 5.0, 1);
        }
        for hose in &self.hoses {
            grid.line(&hose.line(), hose.width / 2.0 + 2.0, 1);
        }
        for &item in &self.order {
            stamp(
                &mut grid,
                &self.assembly.items[item].part,
                &self.assembly.places[item],
                item as u16 + 2,
            );
        }
        grid
    }

    pub fn rod_for(&self, clamp: &Clamp) -> f64 {
        let (x, _) = self.assembly.rod_of(clamp);
        let group = self.assembly.places[clamp.item].group;
        let rods = self.assembly.rods();
        rods.iter()
            .filter(|rod| rod.group == group && rod.right == clamp.right)
            .min_by(|a, b| (a.x - x).abs().total_cmp(&(b.x - x).abs()))
            .map_or(x, |rod| rod.x)
    }
}

/// Mark in the grid what a part covers.
fn stamp(grid: &mut Grid, part: &Part, place: &Place, owner: u16) {
    for piece in &part.pieces {
        if let Piece::Ball(wide, at) = piece {
            grid.disc(place.map(*at), wide / 2.0, owner);
        }
        for line in piece
            .path()
            .and_then(|path| flatten(path).ok())
            .unwrap_or_default()
        {
            let line: Vec<Point> = line.into_iter().map(|p| place.map(p)).collect();
            match piece {
                Piece::Tube(wide, _) | Piece::Bar(_, wide, _) => {
                    grid.line(&line, wide / 2.0 + 1.0, owner)
                }
                Piece::Glass(_) | Piece::Fill(..) => grid.fill(&line, owner),
                _ => grid.line(&line, 1.0, owner),
            }
        }
    }
    for (i, port) in part.ports.iter().enumerate() {
        if let Some(outline) = part.ground_outline(i) {
            grid.fill(&outline.map(|p| place.map(p)), owner);
        }
        if port.joint.fit == Fit::Nipple {
            let back = port.at.plus(step(port.towards + 180.0).times(17.0));
            grid.line(
                &[place.map(port.at), place.map(back)],
                port.joint.diameter / 2.0,
                owner,
            );
        }
    }
}
