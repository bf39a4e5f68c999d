//! What a reader must know to use the ratios: cautions, the error used, what was left out.

use caneplot_numerics::bootstrap::held_near;
use caneplot_plugin::findings::{Rank, Statement};
use caneplot_plugin::request::DesignKind;

use crate::estimate::NoError;
use crate::plots::{LeftOut, Plot, Why, response};
use crate::report::{Report, inside};
use crate::words::{Sentence, listed};

/// More plots than this are not named one by one.
const MOST_NAMED: usize = 12;

/// The notes of a section.
#[must_use]
pub fn notes(report: &Report<'_>) -> Vec<Statement> {
    let mut found = vec![coupling(report), error(report)];
    found.extend(resampling(report));
    found.extend(logs(report));
    found.extend(bases(report));
    found.extend(apart(report));
    found.extend(uncrossed(report));
    found.extend(unequal(report));
    found.extend(left_out(report));
    found
        .into_iter()
        .map(|words| Sentence::default().text(&words).finish(Rank::Detail))
        .collect()
}

fn coupling(report: &Report<'_>) -> String {
    let (above, below) = report.parts();
    if report.ratio.per.is_none() {
        return format!(
            "The length below the line is that of the vineyard, the same for every plot: this index \
             is {above} in another unit."
        );
    }
    format!(
        "A ratio couples two measurements of one plot: it can move because {above} changed, because \
         {below} changed, or both. It describes balance and is no test of treatments on either; look at \
         {above} and {below} themselves beside it."
    )
}

fn error(report: &Report<'_>) -> String {
    let design = match report.trial.design.kind {
        DesignKind::CompletelyRandomised => "between plots treated alike",
        DesignKind::RandomisedBlock => "left after blocks and treatments",
        DesignKind::LatinSquare => "left after rows, columns and treatments",
        DesignKind::SplitPlot => {
            "between whole plots and between sub plots, each taken in the share that a mean has of it"
        }
        DesignKind::StripPlot => {
            "of row strips, cross strips and their crossings, each taken in the share that a mean has \
             of it"
        }
        DesignKind::SplitSplitPlot => {
            "between whole plots, sub plots and sub-sub plots, each taken in the share that a mean has \
             of it"
        }
    };
    match report.overall.estimates.no_error {
        None => {
            let places = match (report.trial.design.row_column, report.trial.design.block) {
                (true, _) => " The rows and columns are taken as they are: an interval is for the \
                     ratio in these.",
                // Fieller's set for the ratio everywhere in tests/calibration: 91.0 to 91.7 %.
                (false, true) => {
                    " The blocks are taken as they are: an interval is for the ratio in these \
                     blocks. For the ratio over all blocks there could be, 95 % intervals held 91 to \
                     92 % in this program's own simulations of blocks that differ (folder \
                     tests/calibration)."
                }
                (false, false) => "",
            };
            format!(
                "The intervals and standard errors rest on the variances and the covariance of the \
                 two measurements {design}; they are taken to be alike in all treatments.{places}"
            )
        }
        Some(NoError::Copied) => {
            "There is no interval and no standard error: plots treated alike differ by exactly \
             nothing. Check the data for copied values."
                .to_owned()
        }
        Some(NoError::LargerPlots) => {
            "There is no interval and no standard error: the larger plots of the design are not \
             repeated, so nothing shows how they vary."
                .to_owned()
        }
        Some(NoError::NotRepeated) => "There is no interval and no standard error: no treatment is repeated beyond what \
                    blocks and treatments account for, so nothing shows how plots treated alike vary. A \
                    second block or replicate is needed."
            .to_owned(),
    }
}

/// What was resampled, and whether that was enough.
fn resampling(report: &Report<'_>) -> Option<String> {
    let others = report.others.as_ref()?;
    let first = others.resampled().next();
    let unit = others.unit.words();
    let Some(first) = first else {
        return others.wanted.then(|| {
            format!("No interval by resampling: fewer than three {unit} hold a treatment.")
        });
    };
    let units = || others.resampled().map(|one| one.units);
    let (least, most) = (units().min()?, units().max()?);
    let unequal = least < most;
    let how = match (first.counted, unequal) {
        (true, false) => format!("all {} resamples were counted", first.resamples),
        (true, true) => "all resamples were counted".to_owned(),
        (false, _) => format!("{} resamples were drawn", first.resamples),
    };
    let number = if unequal {
        format!("the {least} to {most} {unit} that hold a treatment")
    } else {
        format!("{least} {unit}")
    };
    let caution = if others.few() {
        format!(
            " Such intervals come out too narrow: in this program's own simulations they held the \
             ratio {} instead of 95 % (folder tests/calibration). Believe the wider one.",
            held(first.units)
        )
    } else {
        String::new()
    };
    Some(format!(
        "Other intervals resample {number} ({how}).{caution}"
    ))
}

/// "in 80 % of trials with 4 blocks and 86 % with 6".
pub(crate) fn held(units: usize) -> String {
    let near: Vec<String> = held_near(units)
        .iter()
        .enumerate()
        .map(|(at, (blocks, held))| match at {
            0 => format!("in {held} % of trials with {blocks} blocks"),
            _ => format!("{held} % with {blocks}"),
        })
        .collect();
    near.join(" and ")
}

/// What stands behind the comparisons on the log scale, or why there are none.
fn logs(report: &Report<'_>) -> Vec<String> {
    let Some(logs) = &report.logs else {
        return Vec::new();
    };
    let (above, below) = report.parts();
    let mut found = Vec::new();
    if !logs.not_positive.is_empty() {
        let records: Vec<&LeftOut> = logs.not_positive.iter().collect();
        let records: Vec<&&LeftOut> = records.iter().collect();
        found.push(format!(
            "The log scale needs values above zero, which {above} is not everywhere ({}); so the plots' ratios are not compared there.",
            names(report, &records, Why::NotPositive)
        ));
    }
    if let Some(why) = &logs.why_not {
        found.push(format!(
            "The plots' ratios are not compared on the log scale: {}.",
            why.trim_end_matches('.')
        ));
    }
    if !logs.without_blocks.is_empty() {
        let blocks: Vec<&str> = logs.without_blocks.iter().map(String::as_str).collect();
        found.push(format!(
            "The comparison on the log scale leaves out {} {}, where plots are missing.",
            if blocks.len() == 1 { "block" } else { "blocks" },
            listed(&blocks)
        ));
    }
    if !logs.tests.is_empty() {
        found.push(format!(
            "On the log scale each plot counts once, with the mean of the logarithms of its own ratios of {above} to {below}; a clear difference there is one in the ratio, whichever of the two moved it."
        ));
    }
    if !logs.courses.is_empty() {
        found.push(
            "A course over the seasons describes these seasons: plots do not show how others would have gone."
                .to_owned(),
        );
    }
    found
}

/// A caution where the two responses count gaps differently.
fn bases(report: &Report<'_>) -> Option<String> {
    let per = report.ratio.per.as_ref()?;
    let above = response(report.trial, &report.ratio.of).ok()?;
    let below = response(report.trial, per).ok()?;
    use caneplot_plugin::request::Basis::{LivingVine, PlantedSpace};
    let mixed = matches!(
        (above.basis, below.basis),
        (LivingVine, PlantedSpace) | (PlantedSpace, LivingVine)
    );
    mixed.then(|| {
        format!(
            "{} and {} are reckoned over different vines (one over living vines, one over planted \
             spaces): where vines are missing the ratio is off by their share.",
            above.label,
            inside(&below.label)
        )
    })
}

/// A caution where treatments never meet in a block.
fn apart(report: &Report<'_>) -> Option<String> {
    let plots = &report.overall.plots.plots;
    let known = &report.groups[0].treatments;
    if plots.first()?.place.is_empty() {
        return None;
    }
    let treatment = |plot: &Plot| known.iter().position(|one| one.has(plot));
    // The treatments reached from the first one by way of common blocks.
    let mut reached = vec![treatment(plots.first()?)?];
    let mut at = 0;
    while let Some(&from) = reached.get(at) {
        let shared = |plot: &&Plot| {
            let inside = |other: &&Plot| other.place == plot.place;
            plots
                .iter()
                .filter(inside)
                .any(|other| known[from].has(other))
        };
        for plot in plots.iter().filter(shared) {
            let next = treatment(plot)?;
            if !reached.contains(&next) {
                reached.push(next);
            }
        }
        at += 1;
    }
    let others: Vec<&str> = report
        .entries(&report.overall, 0)
        .iter()
        .filter(|entry| !reached.contains(&entry.at))
        .map(|entry| entry.treatment.label.as_str())
        .collect();
    (!others.is_empty()).then(|| {
        format!(
            "{} never share a block, even by way of a third treatment, with {}: what makes their \
             ratios differ may as well be the blocks.",
            capital(&listed(&others)),
            known[reached[0]].label
        )
    })
}

/// A caution where not every combination of the factors was planted.
fn uncrossed(report: &Report<'_>) -> Option<String> {
    let factors = &report.trial.factors;
    let planted = |at: usize| {
        report
            .groups
            .get(at + 1)
            .map_or(0, |group| group.treatments.len())
    };
    let crossed: usize = (0..factors.len()).map(planted).product();
    let there = report.groups[0].treatments.len();
    (factors.len() > 1 && there < crossed).then(|| {
        let labels: Vec<String> = factors.iter().map(|factor| inside(&factor.label)).collect();
        let labels: Vec<&str> = labels.iter().map(String::as_str).collect();
        format!(
            "Only {there} of the {crossed} combinations of {} were planted, so a ratio by one factor \
             holds what the other did on the same plots: compare the combinations.",
            listed(&labels)
        )
    })
}

/// A phrase with its first letter large.
fn capital(phrase: &str) -> String {
    let mut letters = phrase.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// A caution where treatments have unequal numbers of plots.
fn unequal(report: &Report<'_>) -> Option<String> {
    let entries = report.entries(&report.overall, 0);
    let first = entries.first()?.estimate.plots;
    let unequal = entries.iter().any(|entry| entry.estimate.plots != first);
    unequal.then(|| {
        "Treatments have unequal numbers of plots: each ratio is that of the plots there are, and \
         treatments that lack a block are not compared on quite the same ground."
            .to_owned()
    })
}

/// What was left out, a sentence a reason; a whole season is named as such.
fn left_out(report: &Report<'_>) -> Vec<String> {
    let (above, below) = report.parts();
    let mut found = Vec::new();
    let mut rest: Vec<&LeftOut> = report.records.left_out.iter().collect();
    rest.extend(&report.overall.plots.left_out);
    for why in [Why::NoAbove, Why::NoBelow, Why::NotPositive, Why::Season] {
        let mine: Vec<&&LeftOut> = rest.iter().filter(|record| record.why == why).collect();
        if mine.is_empty() {
            continue;
        }
        let reason = match why {
            Why::NoAbove => format!("Left out for want of {above}"),
            Why::NoBelow => format!("Left out for want of {below}"),
            Why::NotPositive => {
                format!("Left out because {below} is not above zero, so that no ratio exists")
            }
            Why::Season => {
                "Left out of the ratios over seasons because a season is missing".to_owned()
            }
        };
        found.push(format!("{reason}: {}.", names(report, &mine, why)));
    }
    found
}

fn names(report: &Report<'_>, left_out: &[&&LeftOut], why: Why) -> String {
    if why == Why::Season || !report.trial.design.season {
        let names: Vec<&str> = left_out.iter().map(|record| record.name.as_str()).collect();
        return format!("{} {}", plural(names.len()), shortened(&names));
    }
    let mut parts: Vec<String> = Vec::new();
    let kept = report.records.seasons();
    for (season, name) in report.trial.seasons.iter().enumerate() {
        let inside = left_out.iter().filter(|record| record.season == season);
        let names: Vec<&str> = inside.map(|record| record.name.as_str()).collect();
        if names.is_empty() {
            continue;
        }
        parts.push(if kept.contains(&season) {
            format!("in {name} {} {}", plural(names.len()), shortened(&names))
        } else {
            format!("the whole season {name} ({} plots)", names.len())
        });
    }
    parts.join("; ")
}

fn plural(count: usize) -> &'static str {
    if count == 1 { "plot" } else { "plots" }
}

fn shortened(names: &[&str]) -> String {
    if names.len() <= MOST_NAMED {
        return listed(names);
    }
    format!(
        "{} and {} more",
        names[..MOST_NAMED].join(", "),
        names.len() - MOST_NAMED
    )
}
