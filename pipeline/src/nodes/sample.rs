//! Buds cut and found dead, as a file of samples holds them.

use std::path::Path;

use crate::diagnostic::Diagnostic;
use crate::load::csv::{alone, cell};

/// Headings of a file of samples.
pub const CUT: &str = "buds_cut";
/// Heading of the primary buds found dead.
pub const PRIMARY: &str = "primary_dead";
/// Heading of the secondary buds found dead.
pub const SECONDARY: &str = "secondary_dead";

/// Buds of one sample.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sample {
    /// Its other columns, such as a plot or a variety; empty where there are none.
    pub name: String,
    /// Buds cut.
    pub cut: u32,
    /// Primary buds dead.
    pub primary_dead: u32,
    /// Secondary buds dead, where looked at.
    pub secondary_dead: Option<u32>,
}

impl Sample {
    /// Share of primary buds killed.
    #[must_use]
    pub fn killed(&self) -> f64 {
        f64::from(self.primary_dead) / f64::from(self.cut)
    }

    /// Whether it is a sample: at least one bud cut, and no more dead than cut.
    #[must_use]
    pub fn is_possible(&self) -> bool {
        let dead = self.primary_dead.max(self.secondary_dead.unwrap_or(0));
        self.cut > 0 && dead <= self.cut
    }
}

/// All samples as one; secondary buds only where every sample has them.
#[must_use]
pub fn total(samples: &[Sample]) -> Option<Sample> {
    let mut whole = Sample {
        name: "all samples".to_owned(),
        secondary_dead: Some(0),
        ..Sample::default()
    };
    for sample in samples {
        whole.cut = whole.cut.checked_add(sample.cut)?;
        whole.primary_dead = whole.primary_dead.checked_add(sample.primary_dead)?;
        whole.secondary_dead = match (whole.secondary_dead, sample.secondary_dead) {
            (Some(sum), Some(dead)) => sum.checked_add(dead),
            _ => None,
        };
    }
    Some(whole)
}

/// The samples of a file with the columns `buds_cut` and `primary_dead`, perhaps `secondary_dead`;
/// other columns name the sample.
///
/// # Errors
/// Every mistake of the file, at its line.
pub fn read(path: &Path) -> Result<Vec<Sample>, Vec<Diagnostic>> {
    let name = path.display().to_string();
    let opened = alone(&name, path, &[CUT, PRIMARY, SECONDARY])?;
    let every: Vec<usize> = (0..opened.headings.len()).collect();
    let table = opened.columns(&every).map_err(|fault| vec![fault])?;
    let find = |heading: &str| opened.headings.iter().position(|one| one == heading);
    let missing: Vec<Diagnostic> = [CUT, PRIMARY]
        .into_iter()
        .filter(|heading| find(heading).is_none())
        .map(|heading| {
            Diagnostic::error("bud-sample", format!("{name} has no column '{heading}'"))
                .at(cell(&name, Some(1), None))
                .help(format!("head the columns {CUT} and {PRIMARY}, perhaps {SECONDARY}; every other column names the sample"))
        })
        .collect();
    let (Some(cut), Some(primary)) = (find(CUT), find(PRIMARY)) else {
        return Err(missing);
    };
    let secondary = find(SECONDARY);
    let text = |row: usize, column: usize| {
        let series = table.select_at_idx(column)?.str().ok()?;
        series
            .get(row)
            .map(str::trim)
            .filter(|text| !text.is_empty())
            .map(str::to_owned)
    };
    let (mut samples, mut faults) = (Vec::new(), Vec::new());
    for row in 0..table.height() {
        let line = opened.lines.get(row).copied();
        let mut fault = |column: usize, what: String, help: &str| {
            let place = cell(&name, line, opened.headings.get(column).map(String::as_str));
            faults.push(Diagnostic::error("bud-sample", what).at(place).help(help));
        };
        let mut whole = |column: usize| match text(row, column).map(|text| (text.parse(), text)) {
            Some((Ok(count), _)) => Some(count),
            Some((Err(_), text)) => {
                fault(
                    column,
                    format!("'{text}' is not a count of buds"),
                    "write a whole number from 0 up",
                );
                None
            }
            None => {
                fault(
                    column,
                    "a count of buds is missing".to_owned(),
                    "fill it in, or take the row out",
                );
                None
            }
        };
        let (Some(cut_buds), Some(dead)) = (whole(cut), whole(primary)) else {
            continue;
        };
        let secondary_dead = match secondary.filter(|column| text(row, *column).is_some()) {
            Some(column) => match whole(column) {
                Some(count) => Some(count),
                None => continue,
            },
            None => None,
        };
        let others = every
            .iter()
            .filter(|at| ![Some(cut), Some(primary), secondary].contains(&Some(**at)));
        let names: Vec<String> = others.filter_map(|at| text(row, *at)).collect();
        let sample = Sample {
            name: names.join(" "),
            cut: cut_buds,
            primary_dead: dead,
            secondary_dead,
        };
        if sample.is_possible() {
            samples.push(sample);
        } else {
            fault(
                primary,
                format!(
                    "of {cut_buds} buds cut, {} cannot be dead",
                    dead.max(secondary_dead.unwrap_or(0))
                ),
                "at least one bud is cut, and no more are dead than were cut",
            );
        }
    }
    if samples.is_empty() && faults.is_empty() {
        faults.push(
            Diagnostic::error("bud-sample", format!("{name} holds no sample"))
                .at(cell(&name, None, None))
                .help("write one row a sample under the headings"),
        );
    }
    if faults.is_empty() {
        Ok(samples)
    } else {
        Err(faults)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read_text(text: &str) -> Result<Vec<Sample>, Vec<Diagnostic>> {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("buds.csv");
        std::fs::write(&path, text).unwrap();
        read(&path)
    }

    #[test]
    fn samples_are_read_with_their_names_and_added_up() {
        let samples = read_text(
            "variety,block,buds_cut,primary_dead,secondary_dead\nRiesling,B1,50,15,4\nRiesling,B2,50,20,\n",
        )
        .unwrap();
        assert_eq!(samples[0].name, "Riesling B1");
        assert_eq!(
            (samples[0].secondary_dead, samples[1].secondary_dead),
            (Some(4), None)
        );
        let all = total(&samples).unwrap();
        assert_eq!(
            (all.cut, all.primary_dead, all.secondary_dead),
            (100, 35, None)
        );
        assert!((all.killed() - 0.35).abs() < 1e-15);
    }

    #[test]
    fn each_mistake_of_a_file_is_told_at_its_line() {
        let faults = read_text("buds_cut,primary_dead\n50,60\n0,0\nten,1\n20,\n5,5\n").unwrap_err();
        let all: String = faults.iter().map(ToString::to_string).collect();
        assert_eq!(faults.len(), 4, "{all}");
        for words in [
            "line 2",
            "of 50 buds cut, 60 cannot be dead",
            "'ten' is not a count",
            "line 5",
        ] {
            assert!(all.contains(words), "{words}\n{all}");
        }
        assert!(read_text("cut,dead\n50,3\n").unwrap_err().len() == 2);
        assert!(
            read_text("buds_cut,primary_dead\n").unwrap_err()[0]
                .message
                .contains("no sample")
        );
    }
}
