//! `[design]`: the kind and the columns that carry it.

use caneplot_plugin::request::{DesignKind, Role};

use crate::diagnostic::Diagnostic;
use crate::trial::faults::Faults;
use crate::trial::keys;
use crate::trial::section::Section;
use crate::trial::words::KINDS;
use crate::trial::{Design, Written};

/// The roles a design must have, which are all it may have.
pub(super) fn roles(kind: DesignKind) -> &'static [Role] {
    match kind {
        DesignKind::CompletelyRandomised
        | DesignKind::RandomisedBlock
        | DesignKind::LatinSquare => &[Role::Treatment],
        DesignKind::SplitPlot => &[Role::WholePlot, Role::SubPlot],
        DesignKind::StripPlot => &[Role::RowStrip, Role::CrossStrip],
        DesignKind::SplitSplitPlot => &[Role::WholePlot, Role::SubPlot, Role::SubSubPlot],
    }
}

/// The columns of place a design must have, which are all it may have beside its plots.
pub(super) fn places(kind: DesignKind) -> &'static [&'static str] {
    match kind {
        DesignKind::CompletelyRandomised => &[],
        DesignKind::LatinSquare => &["row", "column"],
        DesignKind::RandomisedBlock
        | DesignKind::SplitPlot
        | DesignKind::StripPlot
        | DesignKind::SplitSplitPlot => &["block"],
    }
}

/// The design of a trial; `None` where its kind is not known.
pub(super) fn design(root: &Section<'_>, faults: &mut Faults) -> Option<Design> {
    let example = "kind = \"randomised block\"";
    if !root.has("design") {
        root.missing("design", &format!("[design] with {example}"), faults);
    }
    let mut section = root.section("design", faults)?;
    section.only(keys::DESIGN, faults);
    // A column whose key is misspelt stands in without a name.
    let unnamed = || Written {
        value: String::new(),
        span: section.header.clone(),
    };
    let column = |key: &str, faults: &mut Faults| {
        if !section.has(key) && section.speaks_of(key) {
            return Some(unnamed());
        }
        section.text(
            key,
            &format!("{key} = \"{key}\", the column's heading"),
            faults,
        )
    };
    let plot = section.needed_text("plot", "plot = \"plot\", the column's heading", faults);
    let (block, row, position) = (
        column("block", faults),
        column("row", faults),
        column("column", faults),
    );
    let (vine, season) = (column("vine", faults), column("season", faults));
    let kind = kind(&section, example, faults)?;
    places_fit(&section, kind, faults);
    Some(Design {
        kind,
        block,
        row,
        column: position,
        plot: plot.unwrap_or_else(unnamed),
        vine,
        season,
    })
}

fn kind(section: &Section<'_>, example: &str, faults: &mut Faults) -> Option<DesignKind> {
    let Some(value) = section.value("kind") else {
        section.missing("kind", example, faults);
        return None;
    };
    if value.get_ref().is_array() {
        faults.add(
            &value.span(),
            Diagnostic::error(
                "design",
                "a trial has one design, and this is a list of kinds",
            )
            .help(format!(
                "choose the one it was laid out in, as in {example}"
            )),
        );
        return None;
    }
    section.word("kind", &KINDS, faults).map(|word| word.value)
}

/// Reports columns of place the kind lacks, and those it does not have.
fn places_fit(section: &Section<'_>, kind: DesignKind, faults: &mut Faults) {
    let named = KINDS.word(kind);
    for place in places(kind) {
        if !section.speaks_of(place) {
            faults.add(
                &section.header,
                Diagnostic::error(
                    "design",
                    format!("a {named} design needs a column of {place}s, and [design] names none"),
                )
                .help(format!("add {place} = \"{place}\", the column's heading")),
            );
        }
    }
    for place in ["block", "row", "column"] {
        let Some(key) = section.key(place) else {
            continue;
        };
        if places(kind).contains(&place) {
            continue;
        }
        let others: Vec<String> = KINDS
            .all()
            .filter(|word| {
                KINDS
                    .meaning(word)
                    .is_some_and(|kind| places(kind).contains(&place))
            })
            .map(|word| format!("\"{word}\""))
            .collect();
        faults.add(
            &key.span,
            Diagnostic::error("design", format!("a {named} design has no {place}s")).help(format!(
                "take {place} out, or say the kind that was laid out: {}",
                others.join(", ")
            )),
        );
    }
}
