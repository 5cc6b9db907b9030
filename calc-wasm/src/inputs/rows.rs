//! Rows as they are written, `a: 0.35, 100 mg; b: 0.2, 80 mg`, and the cells they are made of. The
//! only place that knows how: reading, forms and the page cut and join rows here.

use super::Column;

/// The rows of a text, without those that are blank.
pub fn written_rows(text: &str) -> impl Iterator<Item = &str> + Clone {
    text.split([';', '\n'])
        .map(str::trim)
        .filter(|row| !row.is_empty())
}

/// Cuts a row at the sign before each cell; cells that are not there are empty. A comma inside a
/// number is a decimal comma and cuts nothing: `a: 0,35, 100 mg`.
pub fn split_row<'t>(columns: &[&Column], row: &'t str) -> Vec<&'t str> {
    split_at_signs(columns, row, &|text, sign| match sign {
        ',' => text
            .match_indices(',')
            .map(|(at, _)| at)
            .find(|at| !is_decimal(text, *at)),
        other => text.find(other),
    })
}

/// Whether the comma at `at` stands between digits of one number: the number before it has no
/// point or comma yet.
fn is_decimal(text: &str, at: usize) -> bool {
    let before = text[..at].trim_end_matches(|c: char| c.is_ascii_digit());
    before.len() < at
        && !before.ends_with(['.', ','])
        && text[at + 1..].starts_with(|c: char| c.is_ascii_digit())
}

/// Cuts a row where `find` sees the sign of a later cell.
pub(super) fn split_at_signs<'t>(
    columns: &[&Column],
    row: &'t str,
    find: &dyn Fn(&str, char) -> Option<usize>,
) -> Vec<&'t str> {
    let mut cells = Vec::new();
    let mut rest = row;
    for at in 0..columns.len() {
        // The next sign that does occur ends this cell.
        let later = columns[at + 1..].iter().filter_map(|next| next.before);
        let cut = later
            .enumerate()
            .find_map(|(skipped, sign)| Some((skipped, find(rest, sign)?, sign)));
        let (cell, onward) = match cut {
            Some((0, end, sign)) => (&rest[..end], &rest[end + sign.len_utf8()..]),
            // The cells between are empty; the sign stays for its own cell.
            Some((_, end, _)) => rest.split_at(end),
            None => (rest, ""),
        };
        cells.push(cell.trim());
        rest = onward;
    }
    cells
}

/// One text of rows, from what stands in their cells: what was typed into a cell stays in that
/// cell when the text is cut again. Blank cells at the end and blank rows are left out.
pub fn join_rows<'c>(columns: &[&Column], rows: impl IntoIterator<Item = Vec<&'c str>>) -> String {
    let mut text = String::new();
    for row in rows {
        let row = join_row(columns, &row);
        if !text.is_empty() && !row.is_empty() {
            text.push_str("; ");
        }
        text.push_str(&row);
    }
    text
}

fn join_row(columns: &[&Column], cells: &[&str]) -> String {
    let Some(filled) = cells.iter().rposition(|cell| !cell.trim().is_empty()) else {
        return String::new();
    };
    let (mut text, mut last) = (String::new(), String::new());
    for (at, (column, cell)) in columns.iter().zip(cells).enumerate().take(filled + 1) {
        let next = columns.get(at + 1).and_then(|next| next.before);
        let cell = in_row(cell, column, next);
        text.extend(column.before);
        // Between 5 and 10 mL a comma without a blank would be a decimal one.
        if column.before == Some(',') && is_decimal(&format!("{last},{cell}"), last.len()) {
            text.push(' ');
        }
        text.push_str(&cell);
        last = cell;
    }
    // In `N,N-dimethylformamide` alone, the comma would begin a later cell.
    if split_row(columns, &text).get(filled) != Some(&last.as_str()) {
        text.extend(columns.get(filled + 1).and_then(|next| next.before));
    }
    text
}

/// A cell as it stands in a row. In a number a comma is a point, and so is the semicolon that some
/// keyboards have above it; elsewhere a stroke stands for what would begin the next row or cell.
fn in_row(cell: &str, column: &Column, next: Option<char>) -> String {
    let mut text = cell.trim().to_owned();
    if let Some([at, end]) = first_decimal(&text, ';')
        && !text[end..].starts_with([',', ';', '-'])
    {
        text.replace_range(at..=at, ",");
    }
    // 1,000 stays as it is: the reader is asked which it means.
    if let Some([at, end]) = first_decimal(&text, ',')
        && column.before.is_some()
        && !text[end..].starts_with([',', '-'])
        && (end - at != 4 || text[..at].trim_start_matches(['-', '−']) == "0")
    {
        text.replace_range(at..=at, ".");
    }
    let mut written = String::new();
    for (at, sign) in text.char_indices() {
        if sign == ';' || Some(sign) == next && !(sign == ',' && is_decimal(&text, at)) {
            written.push_str(" / ");
        } else {
            written.push(sign);
        }
    }
    written.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Where `sign` stands and where the digits after it end, in a text that begins with `12;5`.
fn first_decimal(text: &str, sign: char) -> Option<[usize; 2]> {
    let digits = |from: usize| {
        let rest = &text[from..];
        from + rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit()).len()
    };
    let start = text.len() - text.trim_start_matches(['-', '−']).len();
    let at = digits(start);
    let end = digits(at + usize::from(text[at..].starts_with(sign)));
    (at > start && end > at + 1 && text[at..].starts_with(sign)).then_some([at, end])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calculators;
    use crate::inputs::Kind;

    fn columns(calculator: &str) -> &'static [&'static Column] {
        let calculator = calculators::find(calculator).expect("a calculator");
        let mut kinds = calculator.inputs.iter().map(|input| input.kind);
        kinds
            .find_map(|kind| match kind {
                Kind::Rows(columns) => Some(columns),
                _ => None,
            })
            .expect("rows")
    }

    #[test]
    fn cells_stand_in_rows_so_that_they_can_be_told_apart() {
        // Name: Rf, mass.
        for (cells, row) in [
            (vec!["a", "0.35", "100 mg"], "a:0.35,100 mg"),
            (vec!["a", "0,35", "100 mg"], "a:0.35,100 mg"),
            (vec!["b", "0;25", "80 mg"], "b:0.25,80 mg"),
            (vec!["b", "1", "80 mg"], "b:1, 80 mg"),
            (vec!["b", " 0.2 ", ""], "b:0.2"),
            (vec!["b", "", "80 mg"], "b:,80 mg"),
            (vec!["b: c", "0.2", ""], "b / c:0.2"),
            (
                vec!["b; c", "0.2", "80 mg; 90 mg"],
                "b / c:0.2,80 mg / 90 mg",
            ),
            (vec!["1,2-diol", "0.2", ""], "1,2-diol:0.2"),
            (vec!["b", "0.2", "1,000 mg"], "b:0.2,1,000 mg"),
            (vec!["b", "0.2", "0,500 mg"], "b:0.2,0.500 mg"),
            (vec!["b", "−1;5", ""], "b:−1.5"),
            (vec![" ", "", ""], ""),
        ] {
            let columns = columns("flash-elution");
            assert_eq!(join_rows(columns, [cells.clone()]), row, "{cells:?}");
        }
        let rows = [vec!["a", "0.35", "1 mg"], vec![""], vec!["b", "0.2", ""]];
        let text = join_rows(columns("flash-elution"), rows);
        assert_eq!(text, "a:0.35,1 mg; b:0.2");
    }

    /// Whatever is typed into a cell stays in that cell.
    #[test]
    fn what_is_joined_is_cut_into_the_same_cells() {
        let signs = [
            '1', '0', ',', '.', ';', ' ', 'a', '-', '−', ':', '@', '%', '/', 'é',
        ];
        let mut state = 5_u64;
        let mut random = |below: usize| {
            // Knuth's linear congruential generator (MMIX constants; from memory).
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) as usize % below
        };
        for calculator in ["flash-elution", "class-quantities"] {
            let columns = columns(calculator);
            for _ in 0..20_000 {
                let mut typed = || (0..random(7)).map(|_| signs[random(14)]).collect();
                let cells: Vec<String> = columns.iter().map(|_| typed()).collect();
                let row = join_rows(columns, [cells.iter().map(String::as_str).collect()]);
                let next = columns.iter().skip(1).map(|next| next.before);
                let expected: Vec<String> = (columns.iter().zip(&cells))
                    .zip(next.chain([None]))
                    .map(|((column, cell), next)| in_row(cell, column, next))
                    .collect();
                assert_eq!(split_row(columns, &row), expected, "{cells:?}: {row}");
            }
        }
    }
}
