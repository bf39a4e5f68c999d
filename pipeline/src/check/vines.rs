//! Vines of one file and their match in another, and more vines than a plot has.

use std::collections::{BTreeMap, HashSet};

use super::{Facts, PRACTICE, Rule};
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::File;
use crate::load::text::{count, lines, list};

/// Vines of one file that another lacks.
pub const UNMATCHED_VINES: Rule = Rule {
    name: "unmatched-vines",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "vines of one file that another file of vines does not have",
    threshold: None,
    look: unmatched_vines,
};

/// Plots with more vines than were planted.
pub const VINES_PER_PLOT: Rule = Rule {
    name: "vines-per-plot",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "plots with more vines in the files than vines_per_plot declares",
    threshold: None,
    look: vines_per_plot,
};

fn vines_per_plot(facts: &Facts) -> Vec<Diagnostic> {
    let Some(planted) = facts.trial.vineyard.vines_per_plot else {
        return Vec::new();
    };
    let index = &facts.loaded.index;
    let mut vines = vec![0_usize; index.plots.len()];
    for vine in &index.vines {
        vines[vine.plot as usize] += 1;
    }
    let above: Vec<usize> = (0..vines.len())
        .filter(|plot| vines[*plot] > planted as usize)
        .collect();
    let Some(first) = above.first() else {
        return Vec::new();
    };
    let names: Vec<String> = above
        .iter()
        .map(|plot| format!("{} ({})", index.plots[*plot].name, vines[*plot]))
        .collect();
    let place = facts
        .loaded
        .files
        .iter()
        .filter(|file| file.vine.is_some())
        .find_map(|file| {
            let of_plot = |row: &usize| file.plots[*row] == Some(*first as u32);
            let last = (0..file.height()).rfind(of_plot)?;
            Some(file.place(last, file.vine.as_ref().map(|vine| vine.heading.as_str())))
        });
    let word = if names.len() == 1 { "plot" } else { "plots" };
    let mut found = Diagnostic::warning(
        VINES_PER_PLOT.name,
        format!(
            "more vines than the {planted} of vines_per_plot in {word} {}",
            list(&names)
        ),
    );
    if let Some(place) = place {
        found = found.at(place);
    }
    vec![found.help("look for a vine written in two ways, or correct vines_per_plot in [vineyard]")]
}

fn unmatched_vines(facts: &Facts) -> Vec<Diagnostic> {
    let files = &facts.loaded.files;
    let with_status: Vec<usize> = (0..files.len())
        .filter(|at| files[*at].status.is_some())
        .collect();
    let known: Option<HashSet<u32>> = (!with_status.is_empty()).then(|| {
        with_status
            .iter()
            .flat_map(|at| files[*at].vines.iter().flatten().copied())
            .collect()
    });
    let mut found: Vec<Diagnostic> = Vec::new();
    if let Some(known) = &known {
        let others =
            (0..files.len()).filter(|at| files[*at].vine.is_some() && !with_status.contains(at));
        found.extend(others.filter_map(|at| without_status(facts, &files[at], known)));
    }
    let measured: Vec<usize> = (0..files.len())
        .filter(|at| files[*at].vine.is_some() && facts.measures(*at))
        .collect();
    found.extend(
        measured
            .iter()
            .filter_map(|at| lacking(facts, *at, known.as_ref())),
    );
    found
}

fn without_status(facts: &Facts, file: &File, known: &HashSet<u32>) -> Option<Diagnostic> {
    let index = &facts.loaded.index;
    let mut strange: BTreeMap<u32, usize> = BTreeMap::new();
    for (row, vine) in file.vines.iter().enumerate() {
        if let Some(vine) = vine.filter(|vine| !known.contains(vine)) {
            strange.entry(vine).or_insert(row);
        }
    }
    let (first, row) = strange.iter().next()?;
    let names: Vec<String> = strange
        .keys()
        .map(|vine| {
            let vine = &index.vines[*vine as usize];
            format!(
                "{} of plot {}",
                vine.name, index.plots[vine.plot as usize].name
            )
        })
        .collect();
    let vine = &index.vines[*first as usize];
    let mates = known.iter().map(|vine| &index.vines[*vine as usize]);
    let mut mates: Vec<&str> = mates
        .filter(|mate| mate.plot == vine.plot)
        .map(|mate| mate.name.as_str())
        .collect();
    mates.sort_by(|a, b| crate::decimal::natural(a, b));
    let held = if mates.is_empty() {
        "the plot has no vine with a status".to_owned()
    } else {
        format!("vines of that plot with a status: {}", list(&mates))
    };
    let verb = if names.len() == 1 { "has" } else { "have" };
    Some(
        Diagnostic::warning(
            UNMATCHED_VINES.name,
            format!("in {}, vine {} {verb} no status", file.name, list(&names)),
        )
        .at(file.place(*row, file.vine.as_ref().map(|vine| vine.heading.as_str())))
        .help(format!(
            "correct the vine or plot, or record its status ({held}); it is taken as living"
        )),
    )
}

/// Vines with a number in another file that a file does not have; those without a status are
/// reported for that.
fn lacking(facts: &Facts, at: usize, known: Option<&HashSet<u32>>) -> Option<Diagnostic> {
    let index = &facts.loaded.index;
    let file = &facts.loaded.files[at];
    let here: HashSet<u32> = file.vines.iter().flatten().copied().collect();
    let mut missing: BTreeMap<u32, (usize, usize)> = BTreeMap::new();
    for other in facts.columns().iter().filter(|other| other.part.file != at) {
        for (row, vine) in other.file.vines.iter().enumerate() {
            let Some(vine) = vine.filter(|vine| !here.contains(vine)) else {
                continue;
            };
            if other.part.values[row].is_some() && known.is_none_or(|known| known.contains(&vine)) {
                missing.entry(vine).or_insert((other.part.file, row));
            }
        }
    }
    let (_, (other, row)) = missing.iter().next()?;
    let names: Vec<String> = missing
        .keys()
        .map(|vine| {
            let vine = &index.vines[*vine as usize];
            format!(
                "{} of plot {}",
                vine.name, index.plots[vine.plot as usize].name
            )
        })
        .collect();
    let (other, line) = (&facts.loaded.files[*other], *row);
    // Where many lack it is a sample of vines, not a slip.
    let severity = if missing.len() * 5 > here.len() {
        Severity::Note
    } else {
        Severity::Warning
    };
    let found =
        Diagnostic::warning(
            UNMATCHED_VINES.name,
            format!(
                "{} has no record of {} that {} has ({}): {}",
                file.name,
                count(names.len(), "vine"),
                other.name,
                lines(&[other.lines[line]]),
                list(&names)
            ),
        )
        .at(file.whole())
        .at(other.place(line, other.vine.as_ref().map(|vine| vine.heading.as_str())))
        .help("correct the vine or plot where one is a slip; a vine without a number is left out of the mean");
    Some(Diagnostic { severity, ..found })
}
