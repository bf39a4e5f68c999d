//! One row a plot with the seasons in the headings ("crop_kg_2021", "crop_kg_2022" …) turned into
//! one record a plot and season.

use super::columns::{Use, wanted};
use super::heads::Wanted;
use super::opened::{Body, Cell, Opened};
use super::season::moved;
use super::text::list;
use crate::diagnostic::{Diagnostic, nearest};
use crate::trial::{HeadingPattern, Trial};

/// The season a heading names of a column; `None` where it is not made that way.
#[must_use]
pub fn season<'a>(pattern: &HeadingPattern, column: &str, heading: &'a str) -> Option<&'a str> {
    let inner = heading
        .strip_prefix(pattern.before.as_str())?
        .strip_suffix(pattern.after.as_str())?;
    let season = if pattern.season_first {
        inner
            .strip_suffix(column)?
            .strip_suffix(pattern.between.as_str())?
    } else {
        inner
            .strip_prefix(column)?
            .strip_prefix(pattern.between.as_str())?
    };
    (!season.is_empty()).then_some(season)
}

/// The file with a record a season.
///
/// # Errors
/// A trial without seasons, headings that name no season of it or nearly a column, none that fits.
pub fn unfolded(mut opened: Opened, file: &Wanted<'_>) -> Result<Opened, Vec<Diagnostic>> {
    let (Some(pattern), trial) = (&file.data.headings, file.trial) else {
        return Ok(opened);
    };
    let measured = measured(trial);
    let mut faults = Vec::new();
    let mut found: Vec<(usize, &str, String)> = Vec::new();
    for (at, heading) in opened.headings.iter().enumerate() {
        // The longest column that fits: "crop" and "crop_kg" both begin "crop_kg_2021".
        let fit = measured
            .iter()
            .filter_map(|column| Some((*column, season(&pattern.value, column, heading)?)))
            .max_by_key(|(column, _)| column.len());
        match fit {
            Some((column, label)) if is_season(trial, label) => {
                found.push((at, column, label.to_owned()));
            }
            Some((_, label)) => faults.push(no_season(&opened, file, heading, label)),
            None => faults.extend(misspelt(&opened, file, heading, &measured)),
        }
    }
    if found.is_empty() && faults.is_empty() {
        faults.push(nothing_fits(&opened, file, &measured));
    }
    let season_column = trial
        .design
        .season
        .as_ref()
        .map(|column| column.value.clone());
    let Some(season_column) = season_column else {
        return Err(vec![
            Diagnostic::error(
                "seasons-in-headings",
                "headings are to name seasons, but [design] names no column of seasons",
            )
            .at(trial.place(&pattern.span))
            .help("add season = \"season\" to [design] and the seasons to [trial]"),
        ]);
    };
    if opened.headings.contains(&season_column) {
        faults.push(
            Diagnostic::error(
                "seasons-in-headings",
                format!(
                    "{} has a column '{season_column}', and its headings are to name the seasons",
                    opened.name()
                ),
            )
            .at(trial.place(&pattern.span))
            .help("take seasons_in_headings out, or the column"),
        );
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut seasons: Vec<String> = Vec::new();
    for (_, _, label) in &found {
        if !seasons.contains(label) {
            seasons.push(label.clone());
        }
    }
    let cells = opened.cells().map_err(|fault| vec![fault])?;
    let times = seasons.len();
    let (mut headings, mut columns): (Vec<String>, Vec<Vec<Cell>>) = (Vec::new(), Vec::new());
    for (at, heading) in opened.headings.iter().enumerate() {
        if found.iter().all(|(other, ..)| *other != at) {
            headings.push(heading.clone());
            let repeated = cells[at].iter().flat_map(|cell| vec![cell.clone(); times]);
            columns.push(repeated.collect());
        }
    }
    for column in &measured {
        let of: Vec<Option<usize>> = seasons
            .iter()
            .map(|season| {
                let here = found
                    .iter()
                    .find(|(_, name, label)| name == column && label == season);
                here.map(|(at, ..)| *at)
            })
            .collect();
        if of.iter().any(Option::is_some) {
            headings.push((*column).to_owned());
            let records = (0..opened.lines.len())
                .flat_map(|row| of.iter().map(move |at| (row, *at)))
                .map(|(row, at)| at.and_then(|at| cells[at][row].clone()));
            columns.push(records.collect());
            opened.origin.seasonal.push((*column).to_owned());
        }
    }
    let labels = (0..opened.lines.len()).flat_map(|_| seasons.iter().cloned().map(Some));
    columns.push(labels.collect());
    headings.push(season_column);
    opened.lines = opened
        .lines
        .iter()
        .flat_map(|line| vec![*line; times])
        .collect();
    opened.headings = headings;
    opened.body = Body::Cells(columns);
    opened.origin.seasons = Some((pattern.value.clone(), seasons));
    Ok(opened)
}

/// Columns that may have a value a season.
fn measured(trial: &Trial) -> Vec<&str> {
    let mut columns: Vec<&str> = Vec::new();
    for (what, column) in wanted(trial) {
        let is_seasonal = matches!(what, Use::Value(_) | Use::Total(_) | Use::Status);
        if is_seasonal && !columns.contains(&column.value.as_str()) {
            columns.push(&column.value);
        }
    }
    columns
}

/// Whether a label is a season of the trial, or the one before or after it, as winters may be
/// labelled.
fn is_season(trial: &Trial, label: &str) -> bool {
    let near = |season: &String, by| moved(season, by).is_some_and(|moved| moved == label);
    trial
        .seasons
        .iter()
        .any(|season| [-1, 0, 1].iter().any(|by| near(season, *by)))
}

fn no_season(opened: &Opened, file: &Wanted<'_>, heading: &str, label: &str) -> Diagnostic {
    Diagnostic::error(
        "seasons-in-headings",
        format!(
            "heading '{heading}' of {} names the season '{label}', and the trial has {}",
            opened.name(),
            list(&file.trial.seasons)
        ),
    )
    .at(opened.origin.place(Some(opened.header_line), Some(heading)))
    .help("correct the heading, or add the season to [trial]; delete the column if it is no measurement of one season")
}

/// A heading with a season of the trial in it and nearly a column.
fn misspelt(
    opened: &Opened,
    file: &Wanted<'_>,
    heading: &str,
    measured: &[&str],
) -> Option<Diagnostic> {
    let pattern = &file.data.headings.as_ref()?.value;
    let used: Vec<&str> = wanted(file.trial)
        .into_iter()
        .map(|(_, column)| column.value.as_str())
        .collect();
    if used.contains(&heading) {
        return None;
    }
    let inner = heading
        .strip_prefix(pattern.before.as_str())?
        .strip_suffix(pattern.after.as_str())?;
    let (season, written) = file.trial.seasons.iter().find_map(|season| {
        let column = if pattern.season_first {
            inner
                .strip_prefix(season.as_str())?
                .strip_prefix(pattern.between.as_str())?
        } else {
            inner
                .strip_suffix(season.as_str())?
                .strip_suffix(pattern.between.as_str())?
        };
        Some((season, column))
    })?;
    let near = nearest(written, measured.iter().copied())?;
    Some(
        Diagnostic::error(
            "seasons-in-headings",
            format!(
                "heading '{heading}' of {} fits no column of the trial",
                opened.name()
            ),
        )
        .at(opened.origin.place(Some(opened.header_line), Some(heading)))
        .help(format!(
            "write '{}' if that is meant",
            pattern.heading(near, season)
        )),
    )
}

fn nothing_fits(opened: &Opened, file: &Wanted<'_>, measured: &[&str]) -> Diagnostic {
    let pattern = file.data.headings.as_ref();
    let example = pattern.map_or(String::new(), |pattern| {
        let column = measured.first().copied().unwrap_or("crop_kg");
        let season = file.trial.seasons.first().map_or("2021", String::as_str);
        format!(
            "a heading would be '{}'; ",
            pattern.value.heading(column, season)
        )
    });
    let fault = Diagnostic::error(
        "seasons-in-headings",
        format!(
            "no heading of {} is made of a column and a season as the trial file says",
            opened.name()
        ),
    );
    let fault = match pattern {
        Some(pattern) => fault.at(file.trial.place(&pattern.span)),
        None => fault,
    };
    fault
        .at(opened.origin.place(Some(opened.header_line), None))
        .help(format!("{example}the file has {}", list(&opened.headings)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_heading_is_taken_apart_as_it_was_put_together() {
        for (text, heading) in [
            ("{column}_{season}", "crop_kg_2021"),
            ("{season} {column}", "2021 crop_kg"),
            ("{column} ({season})", "crop_kg (2021)"),
        ] {
            let pattern = HeadingPattern::parse(text).unwrap();
            assert_eq!(pattern.heading("crop_kg", "2021"), heading);
            assert_eq!(season(&pattern, "crop_kg", heading), Some("2021"));
            assert_eq!(season(&pattern, "brix", heading), None);
        }
        for wrong in [
            "crop_{season}",
            "{column}",
            "{column}{column}_{season}",
            "x",
        ] {
            assert_eq!(HeadingPattern::parse(wrong), None, "{wrong}");
        }
    }
}
