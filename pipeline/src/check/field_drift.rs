//! Rows and positions of the field that lie apart beyond treatments and blocks: an edge, a patch of
//! other ground, a day or a tool that changed while somebody measured along.

use std::collections::BTreeMap;

use super::mates::{Grouping, PlotValue, items, plots};
use super::robust::{cautious_spread, median};
use super::{Facts, Numbers, PRACTICE, Rule, stand};
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::places::of_plots;
use crate::load::text::count;
use crate::trial::checks::Threshold;

/// Rows and positions unlike the others.
pub const FIELD_DRIFT: Rule = Rule {
    name: "field-drift",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "plots of one vineyard row, or at one position of their rows, that lie above or below what their treatments and blocks make, in a season",
    threshold: Some(Threshold::FieldDrift),
    look,
};

/// Plots a row or position needs; our choice.
const FEWEST: usize = 4;
/// A median of n values moves by about 1.25 standard deviations over the square root of n; a row must
/// be out by five times that too. Of 4,000 simulated seasons without drift 0.5 % had a position that was
/// named with 20 plots, 0.1 % with 30 and fewer than 0.03 % with 48.
const CHANCE: f64 = 5.0 * 1.25;
/// Values that agree better than 2 % do so by their rounding.
const LEAST_SPREAD: f64 = 0.02;
/// Sweeps of the medians of treatments and blocks; more change nothing that matters.
const SWEEPS: usize = 3;

/// A value of a plot with what it belongs to.
struct Item<'a> {
    plot: &'a PlotValue,
    treatment: u32,
    block: Option<&'a str>,
    /// Vineyard row and middle position.
    spot: [f64; 2],
    /// Logarithm, then what treatments and blocks leave of it.
    left: f64,
}

fn look(facts: &Facts) -> Vec<Diagnostic> {
    let Some(far) = facts.trial.checks.number(Threshold::FieldDrift) else {
        return Vec::new();
    };
    if facts.trial.field.is_none() {
        return Vec::new();
    }
    let stand = stand::recorded(facts);
    let grouping = Grouping::of(facts);
    let spots = of_plots(facts.loaded);
    let columns = facts.columns().into_iter();
    let columns = columns.filter(|numbers| !numbers.is_total && !numbers.response.takes_dates());
    let mut found = Vec::new();
    for numbers in columns {
        let values = items(&grouping, &numbers, stand.as_ref());
        let plots = plots(&numbers, &values);
        let mut seasons: BTreeMap<u32, Vec<Item>> = BTreeMap::new();
        for plot in &plots {
            let place = spots[plot.plot as usize].map(|spot| spot.numbers());
            let treatment = grouping.group_of_plot(plot.plot, 0);
            let (Some([row, _, _, middle]), Some(treatment)) = (place, treatment) else {
                continue;
            };
            seasons.entry(plot.season).or_default().push(Item {
                plot,
                treatment,
                block: facts.loaded.index.plots[plot.plot as usize].block(),
                spot: [row, middle],
                left: plot.value.ln(),
            });
        }
        let seasons: Vec<Season> = seasons.into_values().filter_map(Season::of).collect();
        // A season that happens to agree well does not make its rows suspicious.
        let pooled = seasons.iter().map(|season| season.spread).collect();
        let pooled = median(pooled).max(LEAST_SPREAD);
        for season in &seasons {
            found.extend(apart(
                &numbers,
                &season.items,
                far,
                season.spread.max(pooled),
            ));
        }
    }
    found
}

/// The plots of a season and what treatments and blocks leave of them.
struct Season<'a> {
    items: Vec<Item<'a>>,
    /// Robust standard deviation of an error, on the logarithmic scale.
    spread: f64,
}

impl<'a> Season<'a> {
    /// `None` where treatments and blocks take up everything.
    fn of(mut items: Vec<Item<'a>>) -> Option<Self> {
        let (mut treatments, mut blocks) = (0, 0);
        for _ in 0..SWEEPS {
            treatments = swept(&mut items, |item| item.treatment);
            blocks = swept(&mut items, |item| item.block);
        }
        let free = (items.len() + 1).checked_sub(treatments + blocks)?;
        if free == 0 {
            return None;
        }
        // Residuals are smaller than errors by what treatments and blocks take up.
        let larger = (items.len() as f64 / free as f64).sqrt();
        let away = items.iter().map(|item| item.left.abs()).collect();
        Some(Self {
            spread: cautious_spread(away) * larger,
            items,
        })
    }
}

/// Rows, then positions, that lie apart.
fn apart(numbers: &Numbers, items: &[Item], far: f64, spread: f64) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (way, what) in ["vineyard row", "position"].into_iter().enumerate() {
        let mut groups: Vec<(f64, Vec<&Item>)> = Vec::new();
        for item in items {
            match groups.iter_mut().find(|(at, _)| *at == item.spot[way]) {
                Some((_, group)) => group.push(item),
                None => groups.push((item.spot[way], vec![item])),
            }
        }
        groups.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (at, group) in groups {
            let out = median(group.iter().map(|item| item.left).collect());
            let limit = far.max(CHANCE / (group.len() as f64).sqrt()) * spread;
            if group.len() >= FEWEST && out.abs() > limit {
                found.push(warning(numbers, &format!("{what} {at}"), &group, out));
            }
        }
    }
    found
}

/// Takes from each value the median of its group; the number of groups.
fn swept<'a, K: Ord>(items: &mut [Item<'a>], group: impl Fn(&Item<'a>) -> K) -> usize {
    let mut groups: BTreeMap<K, Vec<f64>> = BTreeMap::new();
    for item in items.iter() {
        groups.entry(group(item)).or_default().push(item.left);
    }
    let medians: BTreeMap<K, f64> = groups
        .into_iter()
        .map(|(key, values)| (key, median(values)))
        .collect();
    for item in items {
        item.left -= medians.get(&group(item)).copied().unwrap_or_default();
    }
    medians.len()
}

fn warning(numbers: &Numbers, place: &str, group: &[&Item], out: f64) -> Diagnostic {
    let (part, file) = (numbers.part, numbers.file);
    let rows = || group.iter().flat_map(|item| &item.plot.rows);
    let season = rows()
        .next()
        .and_then(|row| file.season_label(*row))
        .map_or(String::new(), |season| format!(" in {season}"));
    let warning = Diagnostic::warning(
        FIELD_DRIFT.name,
        format!(
            "plots at {place} of the field lie {:.0} % {} what their treatments and blocks make{season} in column '{}' of {} (median of {})",
            100.0 * (out.exp() - 1.0).abs(),
            if out > 0.0 { "above" } else { "below" },
            part.heading,
            file.name,
            count(group.len(), "plot")
        ),
    )
    .help(
        "look whether they stand at a border or on other ground, or were measured at another time or with another tool; the analysis 'spatial' draws the field",
    );
    rows().fold(warning, |warning, row| warning.at(part.place(file, *row)))
}
