//! What a plan cannot answer, and what its author should think over before a post is driven.

use caneplot_plugin::request::{DesignKind, Role};
use caneplot_plugin::words::counted;

use super::{Gaps, Layout, Lie, Plan, place, records, skeleton};
use crate::diagnostic::Diagnostic;
use crate::load::season::moved;

/// More plots than this in a block are no block: nothing that large is alike all over.
const MOST_PLOTS_IN_BLOCK: usize = 99;

/// Fewer error degrees of freedom than this find large differences only. The critical value of t at
/// 5 % is 2.57 with 5 of them and 2.18 with 12 (Student's distribution), and the error itself is
/// known poorly.
const FEW: i64 = 6;

/// The names of the mistakes a plan can hold beside those of a trial file, as diagnostics carry
/// them: name and what it looks for, one line each.
pub const RULES: &[(&str, &str)] = &[
    ("plan-file", "the plan can be read and is UTF-8"),
    (
        "plan-design",
        "the design has the numbers of its kind, and no others",
    ),
    (
        "plan-replication",
        "every treatment stands on two plots or more",
    ),
    ("plan-error", "every error has degrees of freedom"),
    ("plan-size", "a block is small enough to be alike"),
    (
        "plan-seasons",
        "seasons of winter records can be moved by a winter",
    ),
    (
        "plan-field",
        "rows and positions exist and are described once",
    ),
    (
        "plan-records",
        "what is recorded is known, at one visit, and has a primary response",
    ),
    (
        "plan-room",
        "the rows hold the plots, none of which crosses the end of a row",
    ),
    (
        "plan-apart",
        "a layout that keeps the same treatment apart can be found",
    ),
    ("plan-folder", "the folder is new and can be written"),
    ("plan-caution", "what should be thought over (a warning)"),
];

/// Refuses a plan no layout of which could answer its question.
///
/// # Errors
/// Every reason, at its place.
pub fn impossible(plan: &Plan) -> Result<(), Vec<Diagnostic>> {
    let mut found = Vec::new();
    let blocks = plan.blocks.value;
    let replicated = plan.kind.value != DesignKind::LatinSquare;
    if replicated && blocks < 2 {
        let (what, more) = match plan.kind.value {
            DesignKind::CompletelyRandomised => ("one plot a treatment", "replicates"),
            _ => ("one block", "blocks"),
        };
        found.push(
            Diagnostic::error(
                "plan-replication",
                format!(
                    "{what} is no replication: a difference between treatments could not be told from \
                     a difference between places"
                ),
            )
            .at(plan.place(&plan.blocks.span))
            .help(format!(
                "plan at least two, better four to six {more}; vines inside a plot are no replicates"
            )),
        );
    }
    let error_free = skeleton::errors(plan).into_iter().find(|(_, df)| *df < 1);
    if let (Some((name, _)), true) = (error_free, found.is_empty()) {
        let help = match plan.kind.value {
            DesignKind::LatinSquare => {
                "a square of two has no error: take at least three treatments, better four, or blocks"
            }
            _ => "add blocks or levels until every error has degrees of freedom",
        };
        found.push(
            Diagnostic::error(
                "plan-error",
                format!("{name} has no degrees of freedom: nothing could be tested against it"),
            )
            .at(plan.place(&plan.kind.span))
            .help(help),
        );
    }
    let shape = place::Shape::of(plan);
    let most = match plan.kind.value {
        DesignKind::CompletelyRandomised => 5000,
        _ => MOST_PLOTS_IN_BLOCK,
    };
    let plots = match plan.kind.value {
        DesignKind::LatinSquare => shape.units,
        _ => shape.plots_in_block(),
    };
    if plots > most {
        found.push(
            Diagnostic::error(
                "plan-size",
                format!("{plots} plots in one block are more than the {most} that can be alike"),
            )
            .at(plan.place(&plan.kind.span))
            .help("take fewer levels, or split the factors over whole plots and sub plots"),
        );
    }
    let winters = records::sheets(plan)
        .iter()
        .any(|sheet| sheet.winter.is_some());
    let stuck = plan
        .seasons
        .iter()
        .find(|season| moved(season, 1).is_none());
    if let (Some(season), true) = (stuck, winters) {
        found.push(
            Diagnostic::error(
                "plan-seasons",
                format!("season '{season}' cannot be moved by a winter, and records of winter are planned"),
            )
            .at(plan.place(&plan.seasons_span))
            .help("name seasons by the year of their harvest, as in seasons = \"2027-2030\""),
        );
    }
    if found.is_empty() { Ok(()) } else { Err(found) }
}

/// What should be thought over, in the order of the plan.
#[must_use]
pub fn cautions(layout: &Layout) -> Vec<Diagnostic> {
    let plan = &layout.plan;
    let mut found = Vec::new();
    let mut caution = |message: String, span: &std::ops::Range<usize>, help: &str| {
        let warning = Diagnostic::warning("plan-caution", message);
        found.push(if span.is_empty() {
            warning.help(help)
        } else {
            warning.at(plan.place(span)).help(help)
        });
    };
    for (name, df) in skeleton::errors(plan) {
        // The error of seasons follows from that of plots.
        if df < FEW && !name.contains("seasons") {
            caution(
                format!("{name} has {df} degrees of freedom: only large differences will be found"),
                &plan.blocks.span,
                "more blocks cost less than a trial that cannot answer; caneplot's reports cannot \
                 make up for plots that are not there",
            );
        }
    }
    if plan.buffers == 0 {
        caution(
            "plots have no buffer vines: the last vine of a plot shares its canopy and its roots with \
             the next treatment"
                .to_owned(),
            &plan.vines.span,
            "add buffers = 1 (vines at each end of every plot that are treated but not recorded)",
        );
    }
    for factor in &plan.factors {
        let small = matches!(
            factor.role,
            Role::Treatment | Role::SubPlot | Role::SubSubPlot | Role::CrossStrip
        );
        if small && factor.levels.iter().any(|level| level.canopy.is_some()) {
            caution(
                format!(
                    "{} changes the canopy, and stands on plots of {} vines inside a row: posts and \
                     wires are built by the row",
                    factor.label, plan.vines.value
                ),
                &factor.span,
                "a trellis is better a whole plot of a split plot, or a row strip, than a single plot",
            );
        }
    }
    if layout.field.made_up {
        caution(
            "the plan describes no rows: rows and positions of this layout are made up".to_owned(),
            &(0..0),
            "describe the vineyard in [field] before anything is tagged; with another field the same \
             seed gives another place to every plot",
        );
    } else {
        for (message, help) in of_the_field(layout) {
            caution(message, &layout.field.span, help);
        }
    }
    let is_square = plan.kind.value == DesignKind::LatinSquare;
    if let Some(apart) = plan
        .apart
        .as_ref()
        .filter(|apart| apart.value && !is_square)
    {
        caution(
            format!(
                "the layout was chosen at random among those that keep the same treatment apart ({} \
                 drawn)",
                counted(
                    usize::try_from(layout.tries).unwrap_or(usize::MAX),
                    "layout"
                )
            ),
            &apart.span,
            "say so in the methods; tests that shuffle treatments freely then stand for layouts that \
             could not have been drawn",
        );
    }
    if plan.seasons.len() < 2 {
        caution(
            "one season is planned: buds of the next season are set under this year's pruning, so \
             that the first season seldom shows the lasting effect"
                .to_owned(),
            &(0..0),
            "plan three seasons or more, as in seasons = \"2027-2030\"",
        );
    }
    found
}

fn of_the_field(layout: &Layout) -> Vec<(String, &'static str)> {
    let (plan, field) = (&layout.plan, &layout.field);
    let mut found = Vec::new();
    if let Some(gradient) = field.gradient {
        let along = field.lie == Lie::PartsOfRows;
        match plan.kind.value {
            DesignKind::CompletelyRandomised => found.push((
                "the field changes in a known direction, and a completely randomised trial leaves that \
                 change in the error"
                    .to_owned(),
                "blocks across the gradient take it out: kind = \"randomised block\"",
            )),
            DesignKind::LatinSquare => {}
            _ if gradient.is_across() == along => found.push((
                format!(
                    "blocks follow each other {} the rows, but the field changes {} them: every block \
                     then holds the whole change",
                    if along { "along" } else { "across" },
                    if along { "across" } else { "along" }
                ),
                "lay blocks one after the other in the direction in which the field changes, or leave \
                 blocks out of [field] and let gradient decide",
            )),
            _ => {}
        }
    }
    let edges: Vec<String> = [0, field.rows.len().saturating_sub(1)]
        .into_iter()
        .filter(|&edge| layout.plots.iter().any(|plot| plot.site.row == edge))
        .map(|edge| field.rows[edge].number.to_string())
        .collect();
    if !edges.is_empty() {
        found.push((
            format!(
                "plots stand in the outermost {} {}: edge vines have more light and more room",
                if edges.len() == 1 { "row" } else { "rows" },
                edges.join(" and ")
            ),
            "keep them as guards: guard_rows = [first, last]; or say that rows stand beyond them",
        ));
    }
    if field.gaps == Gaps::Count {
        let thin: Vec<String> = layout
            .plots
            .iter()
            .filter(|plot| {
                let missing = &field.rows[plot.site.row].missing;
                let gaps = plot
                    .site
                    .vines
                    .iter()
                    .filter(|at| missing.contains(at))
                    .count();
                2 * gaps >= plot.site.vines.len()
            })
            .map(|plot| plot.number.to_string())
            .collect();
        if !thin.is_empty() {
            found.push((
                format!(
                    "half or more of the vines are missing in plot {}",
                    thin.join(", ")
                ),
                "move the block with unusable = [...], or pass over gaps with gaps = \"skip\"",
            ));
        }
    }
    found
}
