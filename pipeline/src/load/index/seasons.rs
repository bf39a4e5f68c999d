//! The season every label of every file means.

use crate::diagnostic::Diagnostic;
use crate::load::File;
use crate::load::season::{Belongs, moved, shift};
use crate::trial::Trial;

/// The seasons of the trial, and the season of every label of every file.
pub(super) fn seasons(trial: &Trial, files: &mut [File]) -> Result<Vec<String>, Vec<Diagnostic>> {
    let mut faults = Vec::new();
    let mut moved_labels = Vec::new();
    for file in files.iter() {
        let mut all: [Vec<Option<String>>; 3] = Default::default();
        if let Some(labels) = &file.season {
            for belongs in [Belongs::Label, Belongs::Before, Belongs::After] {
                let by = shift(file.winter, belongs);
                all[belongs as usize] = labels.names.iter().map(|label| moved(label, by)).collect();
            }
            let stuck = labels
                .names
                .iter()
                .enumerate()
                .find(|(at, _)| all.iter().any(|labels| labels[*at].is_none()));
            if let Some((code, label)) = stuck {
                let row = labels.first[code];
                faults.push(
                    Diagnostic::error(
                        "season-label",
                        format!(
                            "season '{label}' of {} cannot be moved by a winter",
                            file.name
                        ),
                    )
                    .at(file.place(row, Some(&labels.heading)))
                    .help("name seasons by the year of their harvest, as in 2021"),
                );
            }
        }
        moved_labels.push(all);
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut seasons = trial.seasons.clone();
    if seasons.is_empty() {
        seasons.push(String::new());
    }
    for (file, all) in files.iter_mut().zip(moved_labels) {
        file.seasons = all.map(|labels| {
            let at = |label: Option<String>| {
                let label = label?;
                seasons
                    .iter()
                    .position(|season| *season == label)
                    .map(|at| at as u32)
            };
            labels.into_iter().map(at).collect()
        });
    }
    Ok(seasons)
}
