//! Columns of names as codes, and lists of names short enough to read.

use std::collections::HashMap;

/// A column of few distinct names: a code a record, `None` where the cell is empty.
#[derive(Debug, Clone, Default)]
pub struct Coded {
    /// Heading in the file.
    pub heading: String,
    /// Index into `names`, a record each.
    pub codes: Vec<Option<u32>>,
    /// Distinct names in order of appearance.
    pub names: Vec<String>,
    /// Record in which each name appears first.
    pub first: Vec<usize>,
}

impl Coded {
    /// Codes a column of cells that are trimmed already.
    #[must_use]
    pub fn of<'a>(heading: &str, cells: impl Iterator<Item = Option<&'a str>>) -> Self {
        let mut known: HashMap<&str, u32> = HashMap::new();
        let (mut names, mut first) = (Vec::new(), Vec::new());
        let mut last: Option<(&str, u32)> = None;
        let codes = cells
            .enumerate()
            .map(|(row, cell)| {
                let cell = cell?;
                if let Some((name, code)) = last
                    && name == cell
                {
                    return Some(code);
                }
                let code = *known.entry(cell).or_insert_with(|| {
                    names.push(cell.to_owned());
                    first.push(row);
                    (names.len() - 1) as u32
                });
                last = Some((cell, code));
                Some(code)
            })
            .collect();
        Self {
            heading: heading.to_owned(),
            codes,
            names,
            first,
        }
    }

    /// The name in a record.
    #[must_use]
    pub fn name(&self, row: usize) -> Option<&str> {
        self.codes[row].map(|code| self.names[code as usize].as_str())
    }
}

/// How many names a message lists before it counts the rest.
pub const LISTED: usize = 8;

/// "a, b and c", cut after [`LISTED`] with the count of the rest.
#[must_use]
pub fn list<S: AsRef<str>>(names: &[S]) -> String {
    let shown: Vec<&str> = names.iter().take(LISTED).map(AsRef::as_ref).collect();
    let rest = names.len() - shown.len();
    match (shown.as_slice(), rest) {
        ([], _) => String::new(),
        ([one], 0) => (*one).to_owned(),
        ([most @ .., last], 0) => format!("{} and {last}", most.join(", ")),
        (shown, rest) => format!("{} and {rest} more", shown.join(", ")),
    }
}

/// " (and 3 more lines)", or nothing.
#[must_use]
pub fn and_more(rest: usize, one: &str, many: &str) -> String {
    match rest {
        0 => String::new(),
        1 => format!(" (and 1 more {one})"),
        rest => format!(" (and {rest} more {many})"),
    }
}

/// "line 4", "lines 4, 7 and 9".
#[must_use]
pub fn lines(lines: &[usize]) -> String {
    let texts: Vec<String> = lines.iter().map(ToString::to_string).collect();
    let word = if lines.len() == 1 { "line" } else { "lines" };
    format!("{word} {}", list(&texts))
}

/// "1 plot", "3 plots".
#[must_use]
pub fn count(number: usize, one: &str) -> String {
    if number == 1 {
        format!("1 {one}")
    } else {
        format!("{number} {one}s")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_list_is_cut_and_its_rest_counted() {
        let names: Vec<String> = (1..=11).map(|n| n.to_string()).collect();
        assert_eq!(list(&names), "1, 2, 3, 4, 5, 6, 7, 8 and 3 more");
        assert_eq!(list(&["a", "b"]), "a and b");
        assert_eq!(lines(&[4]), "line 4");
    }

    #[test]
    fn codes_are_in_order_of_appearance() {
        let coded = Coded::of("plot", [Some("b"), None, Some("a"), Some("b")].into_iter());
        assert_eq!(coded.codes, [Some(0), None, Some(1), Some(0)]);
        assert_eq!(coded.name(2), Some("a"));
        assert_eq!(coded.first, [0, 2]);
    }
}
