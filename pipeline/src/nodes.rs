//! How many nodes to leave on a vine: by its prunings, or after buds died in winter. Arithmetic only,
//! as it is done on a field sheet; nothing here is an estimate with an interval.

pub mod sample;
pub mod winter;

/// Nodes as whole ones: never fewer than the arithmetic asks for.
///
/// The last digits of the arithmetic do not make a node more.
#[must_use]
pub fn whole(nodes: f64) -> f64 {
    (nodes - 1e-9).ceil().max(0.0)
}

/// Lines of columns set side by side, the first row a heading; numbers stand right.
#[must_use]
pub fn columns(rows: &[Vec<String>], right: &[bool]) -> String {
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |at: usize| {
        let cells = rows.iter().filter_map(|row| row.get(at));
        cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..count).map(width).collect();
    let mut text = String::new();
    for row in rows {
        let cells: Vec<String> = row
            .iter()
            .enumerate()
            .map(|(at, cell)| {
                let space = " ".repeat(widths[at] - cell.chars().count());
                if right.get(at) == Some(&true) {
                    format!("{space}{cell}")
                } else {
                    format!("{cell}{space}")
                }
            })
            .collect();
        text.push_str(cells.join("  ").trim_end());
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nodes_are_whole_and_never_too_few() {
        assert_eq!(
            [61.54, 54.0, 53.999_999_999_9, 0.2].map(whole),
            [62.0, 54.0, 54.0, 1.0]
        );
    }

    #[test]
    fn columns_line_up() {
        let rows = [vec!["a", "n"], vec!["bcd", "10"]]
            .map(|row| row.into_iter().map(str::to_owned).collect::<Vec<_>>());
        assert_eq!(columns(&rows, &[false, true]), "a     n\nbcd  10\n");
    }
}
