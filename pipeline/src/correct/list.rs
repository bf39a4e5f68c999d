//! Suspicious cells in the form of `corrections.csv`, for somebody to go through with the field book:
//! one line a cell, the new value and the initials empty, the rules' sentences as the reason.

use std::collections::BTreeMap;

use super::{HEADINGS, of_place};
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::opened::Opened;
use crate::load::{File, Loaded};
use crate::write::csv::line;

/// The cells that warnings and errors speak of, those left out that have a line in the corrections;
/// and how many there are.
///
/// # Errors
/// A data file that can no longer be read.
pub fn listed(
    loaded: &Loaded,
    opened: &[Opened],
    found: &[Diagnostic],
) -> Result<(String, usize), Diagnostic> {
    // By file, record and column in the order of the file.
    let mut cells: BTreeMap<(usize, usize, usize), Vec<&str>> = BTreeMap::new();
    for one in found.iter().filter(|one| one.severity > Severity::Note) {
        for place in &one.places {
            let Some((file, row, column)) = of_place(&loaded.files, place) else {
                continue;
            };
            let headings = &opened[file].headings;
            let at = headings.iter().position(|heading| *heading == column);
            let known = loaded.corrections.of_cell(file, row, &column);
            if let (Some(at), None) = (at, known) {
                let reasons = cells.entry((file, row, at)).or_default();
                if !reasons.contains(&one.message.as_str()) {
                    reasons.push(&one.message);
                }
            }
        }
    }
    let mut text = line(&HEADINGS);
    let count = cells.len();
    for ((file, row, column), reasons) in cells {
        let (data, raw) = (&loaded.files[file], &opened[file]);
        let heading = &raw.headings[column];
        let frame = raw.columns(&[column])?;
        let cell = frame.column(heading).and_then(|column| column.str());
        let old = cell.ok().and_then(|cells| cells.get(row));
        let name = |coded: &Option<crate::load::Coded>| {
            let name = coded.as_ref().and_then(|coded| coded.name(row));
            name.unwrap_or_default().to_owned()
        };
        text.push_str(&line(&[
            data.origin.path.clone(),
            data.origin.sheet.clone().unwrap_or_default(),
            data.lines[row].to_string(),
            name(&data.season),
            name(&data.block),
            plot(data, row),
            name(&data.vine),
            heading.clone(),
            old.unwrap_or_default().trim().to_owned(),
            String::new(),
            String::new(),
            reasons.join("; "),
        ]));
    }
    Ok((text, count))
}

/// The plot as the file names it.
fn plot(file: &File, row: usize) -> String {
    file.plot.name(row).unwrap_or_default().to_owned()
}
