//! The sources of variation the finished trial will be analysed by, with their degrees of freedom:
//! which spread each treatment is going to be compared with.
//!
//! Yates (1937), *The Design and Analysis of Factorial Experiments*, for split and strip plots; seasons
//! on the same plots as a split in time (Steel & Torrie 1980, *Principles and Procedures of
//! Statistics*, chapter 16).

use caneplot_plugin::request::{DesignKind, Role};

use super::Plan;

/// A line of the table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Source of variation.
    pub name: String,
    /// Degrees of freedom; `None` for the heading of a group.
    pub df: Option<i64>,
    /// Whether it is an error that the lines above it, up to the heading, are compared with.
    pub is_error: bool,
}

/// The table, total last.
#[must_use]
pub fn sources(plan: &Plan) -> Vec<Source> {
    let mut table = Table::default();
    let blocks = i64::from(plan.blocks.value);
    let n = |role| plan.count(role) as i64;
    let all = plan.treatments() as i64;
    let plots = match plan.kind.value {
        DesignKind::LatinSquare => all * all,
        _ => all * blocks,
    };
    match plan.kind.value {
        DesignKind::CompletelyRandomised => {
            table.stratum("Between plots", plan, &[Role::Treatment], plots - all);
        }
        DesignKind::RandomisedBlock => {
            table.line("Blocks", blocks - 1);
            let error = (blocks - 1) * (all - 1);
            table.stratum(
                "Between plots within blocks",
                plan,
                &[Role::Treatment],
                error,
            );
        }
        DesignKind::LatinSquare => {
            table.line("Rows", all - 1);
            table.line("Columns", all - 1);
            let error = (all - 1) * (all - 2);
            table.stratum("Between plots", plan, &[Role::Treatment], error);
        }
        DesignKind::SplitPlot | DesignKind::SplitSplitPlot => {
            let (whole, sub, least) = (n(Role::WholePlot), n(Role::SubPlot), n(Role::SubSubPlot));
            table.line("Blocks", blocks - 1);
            let error = (blocks - 1) * (whole - 1);
            table.stratum("Between whole plots", plan, &[Role::WholePlot], error);
            let error = whole * (blocks - 1) * (sub - 1);
            let roles = [Role::SubPlot, Role::WholePlot];
            table.stratum("Between sub plots", plan, &roles, error);
            if plan.kind.value == DesignKind::SplitSplitPlot {
                let error = whole * sub * (blocks - 1) * (least - 1);
                let roles = [Role::SubSubPlot, Role::SubPlot, Role::WholePlot];
                table.stratum("Between sub-sub plots", plan, &roles, error);
            }
        }
        DesignKind::StripPlot => {
            let (rows, across) = (n(Role::RowStrip), n(Role::CrossStrip));
            table.line("Blocks", blocks - 1);
            let error = (blocks - 1) * (rows - 1);
            table.stratum("Between row strips", plan, &[Role::RowStrip], error);
            let error = (blocks - 1) * (across - 1);
            table.stratum("Between cross strips", plan, &[Role::CrossStrip], error);
            let error = (blocks - 1) * (rows - 1) * (across - 1);
            table.crossing("Between plots where strips cross", plan, error);
        }
    }
    let seasons = plan.seasons.len().max(1) as i64;
    if seasons > 1 {
        table.heading("Between seasons within plots");
        table.line("Season", seasons - 1);
        for (name, df) in effects(plan, |_| true) {
            table.line(&format!("{name} × Season"), df * (seasons - 1));
        }
        table.error(
            "between seasons within plots",
            (plots - all) * (seasons - 1),
        );
    }
    table.line("Total", plots * seasons - 1);
    table.lines
}

/// Error degrees of freedom that treatments are compared with, by the group they stand in.
#[must_use]
pub fn errors(plan: &Plan) -> Vec<(String, i64)> {
    sources(plan)
        .into_iter()
        .filter(|source| source.is_error)
        .filter_map(|source| Some((source.name, source.df?)))
        .collect()
}

/// Main effects and interactions of the factors whose set of places is wanted, with their degrees
/// of freedom: single factors first, in the order of the plan.
fn effects(plan: &Plan, wanted: impl Fn(&[usize]) -> bool) -> Vec<(String, i64)> {
    let factors = plan.factors.len();
    let mut sets: Vec<Vec<usize>> = (1_u32..1 << factors)
        .map(|mask| (0..factors).filter(|&at| mask >> at & 1 == 1).collect())
        .collect();
    sets.sort_by_key(|set: &Vec<usize>| (set.len(), set.clone()));
    sets.into_iter()
        .filter(|set| wanted(set))
        .map(|set| {
            let names: Vec<&str> = set
                .iter()
                .map(|&at| plan.factors[at].label.as_str())
                .collect();
            let df = set
                .iter()
                .map(|&at| plan.factors[at].levels.len() as i64 - 1)
                .product();
            (names.join(" × "), df)
        })
        .collect()
}

#[derive(Default)]
struct Table {
    lines: Vec<Source>,
}

impl Table {
    fn push(&mut self, name: String, df: Option<i64>, is_error: bool) {
        self.lines.push(Source { name, df, is_error });
    }

    fn line(&mut self, name: &str, df: i64) {
        self.push(name.to_owned(), Some(df), false);
    }

    fn heading(&mut self, name: &str) {
        self.push(name.to_owned(), None, false);
    }

    fn error(&mut self, place: &str, df: i64) {
        self.push(format!("Residual ({place})"), Some(df), true);
    }

    /// Effects that hold a factor of the first role and others of the roles behind it only.
    fn stratum(&mut self, heading: &str, plan: &Plan, roles: &[Role], error: i64) {
        let role = |at: usize| plan.factors[at].role;
        let wanted = |set: &[usize]| {
            set.iter().all(|&at| roles.contains(&role(at)))
                && set.iter().any(|&at| roles.first() == Some(&role(at)))
        };
        self.group(heading, effects(plan, wanted), error);
    }

    /// Effects that hold factors of both sets of strips.
    fn crossing(&mut self, heading: &str, plan: &Plan, error: i64) {
        let has = |set: &[usize], role| set.iter().any(|&at| plan.factors[at].role == role);
        let wanted = |set: &[usize]| has(set, Role::RowStrip) && has(set, Role::CrossStrip);
        self.group(heading, effects(plan, wanted), error);
    }

    fn group(&mut self, heading: &str, effects: Vec<(String, i64)>, error: i64) {
        self.heading(heading);
        for (name, df) in effects {
            self.line(&name, df);
        }
        let mut letters = heading.chars();
        let place: String = letters
            .next()
            .into_iter()
            .flat_map(char::to_lowercase)
            .chain(letters)
            .collect();
        self.error(&place, error);
    }
}
