//! Odds and rate ratios: between levels, and along a quantity.

use caneplot_plugin::findings::{Format, Table};

use super::rows::rows;
use super::{ends, step_words};
use crate::compare::Adjusted;
use crate::section::{Set, Subjected};
use crate::words::capital;

/// "Odds ratio" or "Rate ratio".
fn ratio_name(subjected: &Subjected) -> &'static str {
    if subjected.is_share() {
        "Odds ratio"
    } else {
        "Rate ratio"
    }
}

/// Levels compared; of the main set alone where `main_only`.
pub fn comparisons(subjected: &Subjected, main_only: bool) -> Option<Table> {
    let rows = rows(subjected, main_only, |_, _, levels| {
        levels.comparisons.iter().collect()
    });
    if rows.rows.is_empty() {
        return None;
    }
    let [low, high] = ends(subjected.level);
    let label = |set: &Set, dimension: usize, level: usize| {
        set.frame.dimensions[dimension].labels[level].clone()
    };
    let format = Format::Significant(3);
    let columns = vec![
        rows.text("Factor", |set, c| {
            set.frame.dimensions[c.dimension].label.clone()
        }),
        rows.text("Level", |set, c| label(set, c.dimension, c.level)),
        rows.text("Against", |set, c| label(set, c.dimension, c.against)),
        rows.number(ratio_name(subjected), format, |c| Some(c.ratio)),
        rows.number(&low, format, |c| Some(c.low)),
        rows.number(&high, format, |c| Some(c.high)),
        rows.probability("P", |c| Some(c.probability)),
        rows.text("Adjusted by", |_, c| match c.adjusted {
            Adjusted::Dunnett => "Dunnett".to_owned(),
            Adjusted::Holm => "Holm".to_owned(),
        }),
    ];
    let name = capital(&subjected.subject.response.label);
    let title = format!(
        "{name}: {} between levels",
        ratio_name(subjected).to_lowercase() + "s"
    );
    let mut table = rows.table("comparisons", title, columns);
    table.notes.push("A ratio of 1 means no difference. P and intervals hold for all comparisons of a factor in a season together.".to_owned());
    if subjected.is_share() {
        table.notes.push(
            "Odds are the share over one less the share: 80 % has odds of 4, 90 % odds of 9."
                .to_owned(),
        );
    }
    Some(table)
}

/// Straight lines through the levels of quantities.
pub fn trends(subjected: &Subjected) -> Option<Table> {
    let rows = rows(subjected, false, |_, _, levels| {
        levels.trends.iter().collect()
    });
    if rows.rows.is_empty() {
        return None;
    }
    let [low, high] = ends(subjected.level);
    let format = Format::Significant(3);
    let columns = vec![
        rows.text("Factor", |set, t| {
            set.frame.dimensions[t.dimension].label.clone()
        }),
        rows.text("For each", |set, t| {
            step_words(&set.frame.dimensions[t.dimension], t.step)
        }),
        rows.number(ratio_name(subjected), format, |t| Some(t.ratio)),
        rows.number(&low, format, |t| Some(t.low)),
        rows.number(&high, format, |t| Some(t.high)),
        rows.probability("P of the trend", |t| Some(t.probability)),
        rows.probability("P of bending", |t| t.curvature),
    ];
    let name = capital(&subjected.subject.response.label);
    let scale = if subjected.is_share() {
        "log odds"
    } else {
        "log of the rate"
    };
    Some(rows.table(
        "trends",
        format!("{name}: straight line on the scale of the {scale}"),
        columns,
    ))
}
