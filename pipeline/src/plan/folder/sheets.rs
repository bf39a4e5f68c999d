//! The layout and the field sheets as CSV, and the lines both sheets and workbooks have.

use std::fmt::Write as _;

use super::super::records::{self, Sheet, Shown};
use super::super::{Gaps, Layout, Plot};
use crate::write::csv::line;

/// Headings beyond keys and entries: when, by whom, what else.
const REMARKS: [&str; 3] = ["date", "recorder", "note"];

/// A line of a sheet before it is filled in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The keys, in the order of [`keys`].
    pub keys: Vec<String>,
    /// Status known before the visit: "missing" for an empty position.
    pub status: Option<&'static str>,
    /// The group whose page the line is on.
    pub group: usize,
}

/// Headings of the keys of a sheet, that is of what is filled in already.
pub fn keys(layout: &Layout, sheet: &Sheet) -> Vec<String> {
    let mut keys: Vec<&str> = Vec::new();
    if !layout.plan.seasons.is_empty() && sheet.in_seasons() {
        keys.push("season");
    }
    keys.extend(records::place_columns(layout.plan.kind.value));
    keys.push("plot");
    if sheet.by_vine {
        keys.push("vine");
    }
    keys.extend(["vineyard_row", "position"]);
    let mut keys: Vec<String> = keys.into_iter().map(str::to_owned).collect();
    if shows_treatments(layout) {
        keys.extend(
            layout
                .plan
                .factors
                .iter()
                .map(|factor| factor.column.value.clone()),
        );
    }
    keys
}

/// All headings of a sheet.
pub fn headings(layout: &Layout, sheet: &Sheet) -> Vec<String> {
    let mut headings = keys(layout, sheet);
    if sheet.has_status {
        headings.push("status".to_owned());
    }
    headings.extend(sheet.entries.iter().map(|entry| entry.heading.clone()));
    headings.extend(REMARKS.map(str::to_owned));
    headings
}

fn shows_treatments(layout: &Layout) -> bool {
    layout.plan.records.treatments_on.contains(&Shown::Sheets)
}

/// The lines of a sheet in one season, in the order of a walk: by plot, vine by vine.
pub fn lines(layout: &Layout, sheet: &Sheet, season: Option<&str>) -> Vec<Line> {
    let mut lines = Vec::new();
    for plot in &layout.plots {
        let row = &layout.field.rows[plot.site.row];
        let vines: Vec<(Option<usize>, String, Option<&'static str>)> = if sheet.by_vine {
            let one = |(at, position): (usize, &u32)| {
                let empty = layout.field.gaps == Gaps::Count && row.missing.contains(position);
                (
                    Some(at + 1),
                    position.to_string(),
                    empty.then_some("missing"),
                )
            };
            plot.site.vines.iter().enumerate().map(one).collect()
        } else {
            vec![(None, span(&plot.site.vines), None)]
        };
        for (vine, position, status) in vines {
            let mut keys: Vec<String> = season.map(str::to_owned).into_iter().collect();
            keys.extend(place(layout, plot));
            keys.push(plot.number.to_string());
            keys.extend(vine.map(|vine| vine.to_string()));
            keys.push(row.number.to_string());
            keys.push(position);
            if shows_treatments(layout) {
                keys.extend(levels(layout, plot));
            }
            lines.push(Line {
                keys,
                status: status.filter(|_| sheet.has_status),
                group: layout.group(plot),
            });
        }
    }
    lines
}

/// A sheet of all its seasons as the data file of the trial.
pub fn csv(layout: &Layout, sheet: &Sheet) -> String {
    let headings = headings(layout, sheet);
    let keys = keys(layout, sheet).len();
    let mut out = line(&headings);
    let seasons: Vec<Option<&str>> = if layout.plan.seasons.is_empty() || !sheet.in_seasons() {
        vec![None]
    } else {
        layout
            .plan
            .seasons
            .iter()
            .map(|season| Some(season.as_str()))
            .collect()
    };
    for season in seasons {
        for one in lines(layout, sheet, season) {
            let mut fields = one.keys;
            fields.resize(headings.len(), String::new());
            if let Some(status) = one.status {
                status.clone_into(&mut fields[keys]);
            }
            out.push_str(&line(&fields));
        }
    }
    out
}

/// layout.csv: every plot with its place and treatment.
pub fn layout_csv(layout: &Layout) -> String {
    let mut headings: Vec<&str> = records::place_columns(layout.plan.kind.value).to_vec();
    headings.extend([
        "plot",
        "vineyard_row",
        "first_position",
        "last_position",
        "positions",
    ]);
    headings.extend(
        layout
            .plan
            .factors
            .iter()
            .map(|factor| factor.column.value.as_str()),
    );
    let mut out = line(&headings);
    for plot in &layout.plots {
        let vines = &plot.site.vines;
        let mut fields = place(layout, plot);
        fields.push(plot.number.to_string());
        fields.push(layout.field.rows[plot.site.row].number.to_string());
        fields.push(vines.first().map(u32::to_string).unwrap_or_default());
        fields.push(vines.last().map(u32::to_string).unwrap_or_default());
        fields.push(span(vines));
        fields.extend(levels(layout, plot));
        out.push_str(&line(&fields));
    }
    out
}

/// Names of a plot's block, or of its row and column in a square.
pub fn place(layout: &Layout, plot: &Plot) -> Vec<String> {
    records::place_columns(layout.plan.kind.value)
        .iter()
        .map(|place| match *place {
            "row" => format!("R{}", plot.site.line + 1),
            "column" => format!("C{}", plot.site.along + 1),
            _ => Layout::block_name(plot.site.block),
        })
        .collect()
}

fn levels(layout: &Layout, plot: &Plot) -> Vec<String> {
    layout
        .plan
        .factors
        .iter()
        .zip(&plot.treatment)
        .map(|(factor, &level)| factor.levels[level].name.clone())
        .collect()
}

/// Positions in words: "3 to 6", "3 to 5, 7". A dash would make a date of them in a spreadsheet.
pub fn span(positions: &[u32]) -> String {
    let mut out = String::new();
    let mut at = 0;
    while at < positions.len() {
        let mut end = at;
        while end + 1 < positions.len() && positions[end + 1] == positions[end] + 1 {
            end += 1;
        }
        if at > 0 {
            out.push_str(", ");
        }
        // Writing to a string cannot fail.
        let _ = match end - at {
            0 => write!(out, "{}", positions[at]),
            _ => write!(out, "{} to {}", positions[at], positions[end]),
        };
        at = end + 1;
    }
    out
}
