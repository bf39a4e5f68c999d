//! Which separator a text uses, and in which row its headings stand.

/// Separators of cells, the usual one first.
const SEPARATORS: [(u8, &str); 4] = [
    (b',', "commas"),
    (b';', "semicolons"),
    (b'\t', "tabs"),
    (b'|', "bars"),
];

/// How many lines tell the separator and may stand above the headings.
pub const LOOKED_AT: usize = 30;

/// A separator in words: "semicolons".
#[must_use]
pub fn in_words(separator: u8) -> &'static str {
    SEPARATORS
        .iter()
        .find(|(known, _)| *known == separator)
        .map_or("commas", |(_, word)| *word)
}

/// The separator of a text: the one that cuts most of its first lines into one number of cells,
/// two at least; where several do, the one that makes most cells.
#[must_use]
pub fn separator(text: &str) -> u8 {
    let mut best = (b',', (0, 0));
    for (separator, _) in SEPARATORS {
        let widths = widths(text, separator);
        let most = widths
            .iter()
            .filter(|width| **width > 1)
            .map(|width| {
                (
                    widths.iter().filter(|other| *other == width).count(),
                    *width,
                )
            })
            .max()
            .unwrap_or((0, 0));
        if most > best.1 {
            best = (separator, most);
        }
    }
    best.0
}

/// Cells of each of the first lines that are not empty, by separators outside quotes.
fn widths(text: &str, separator: u8) -> Vec<usize> {
    let (mut widths, mut cells, mut quoted, mut blank) = (Vec::new(), 1, false, true);
    for byte in text.bytes().chain([b'\n']) {
        quoted ^= byte == b'"';
        if byte == b'\n' && !quoted {
            if !blank {
                widths.push(cells);
            }
            if widths.len() == LOOKED_AT {
                break;
            }
            (cells, blank) = (1, true);
        } else {
            cells += usize::from(byte == separator && !quoted);
            blank &= byte == separator || byte.is_ascii_whitespace();
        }
    }
    widths
}

/// Which of the first rows holds the headings: the first with most of those the trial speaks of;
/// where none holds any, the first that is more than half as full as the fullest.
#[must_use]
pub fn header<S: AsRef<str>>(rows: &[Vec<S>], known: &dyn Fn(&str) -> bool) -> usize {
    let best = |score: &dyn Fn(&[S]) -> usize| {
        let scores: Vec<usize> = rows.iter().map(|row| score(row)).collect();
        let most = scores.iter().copied().max().unwrap_or(0);
        (scores, most)
    };
    let (scores, most) = best(&|row| {
        row.iter()
            .filter(|cell| known(cell.as_ref().trim()))
            .count()
    });
    if most > 0 {
        return scores.iter().position(|score| *score == most).unwrap_or(0);
    }
    let filled = |row: &[S]| {
        row.iter()
            .filter(|cell| !cell.as_ref().trim().is_empty())
            .count()
    };
    let (scores, most) = best(&filled);
    scores
        .iter()
        .position(|score| *score * 2 > most)
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_separator_is_told_by_the_lines_and_not_by_one_of_them() {
        assert_eq!(separator("\"a,b,c\";d\n"), b';');
        assert_eq!(separator("plot\n1\n"), b',');
        assert_eq!(separator("plot;kg\n1;3,1\n2;3,4\n3;4,0\n"), b';');
        assert_eq!(separator("Crop, 2021, in kg\n\nplot;kg\n1;3\n2;4\n"), b';');
        assert_eq!(separator("a\tb,c\td\n1\t2\t3\n"), b'\t');
        assert_eq!(separator("plot|kg\n1|3,1\n"), b'|');
        assert_eq!(separator("plot,note\n1,\"a;b;c\nd;e\"\n2,x;y\n"), b',');
    }

    #[test]
    fn the_header_is_where_the_headings_are() {
        let rows = |text: &'static str| -> Vec<Vec<&str>> {
            text.lines().map(|line| line.split(',').collect()).collect()
        };
        let known = |heading: &str| ["plot", "kg"].contains(&heading);
        assert_eq!(header(&rows("plot,kg\n1,2"), &known), 0);
        assert_eq!(header(&rows("Crop of plot,\n,\nplot,kg\n1,2"), &known), 2);
        assert_eq!(
            header(&rows("Title,,,\nplots,weight,a,b\n1,2,3,4"), &known),
            1
        );
        assert_eq!(header(&rows("plots,weight\n1,2"), &known), 0);
    }
}
