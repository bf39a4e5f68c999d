//! The crop against its parts: crop over clusters is the weight of a cluster, and that has mates of
//! its own; clusters that were weighed, or berries counted and weighed, must agree with it.

use std::collections::HashMap;

use caneplot_plugin::request::Quantity;

use super::mates::{Grouping, Item, Mates};
use super::suspects::{brief, cell};
use super::{Facts, Numbers, PRACTICE, Rule};
use crate::decimal::nearest_f64;
use crate::diagnostic::{Diagnostic, Severity};
use crate::trial::Unit;
use crate::trial::checks::Threshold;
use crate::trial::unit::{Dimension, Per};

/// Crop over clusters far from its mates.
pub const CLUSTER_WEIGHT: Rule = Rule {
    name: "cluster-weight",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "crop over clusters far from the same treatment and season: one of the two is wrong",
    threshold: Some(Threshold::ClusterWeight),
    look: cluster_weight,
};

/// Clusters weighed against crop over clusters.
pub const PARTS_DISAGREE: Rule = Rule {
    name: "parts-disagree",
    severity: Severity::Warning,
    source: PRACTICE,
    summary: "plots whose clusters, as weighed (or as berries times their weight), miss the crop over its clusters",
    threshold: Some(Threshold::PartsDisagree),
    look: parts_disagree,
};

/// Plot, vine and season of a record.
type Key = (u32, Option<u32>, u32);

fn key(numbers: &Numbers, row: usize) -> Option<Key> {
    let file = numbers.file;
    let season = match file.season {
        Some(_) => file.season_of(row, file.belongs(numbers.response.quantity))?,
        None => 0,
    };
    Some((file.plots[row]?, file.vines[row], season))
}

fn of<'a>(facts: &Facts<'a>, quantity: Quantity) -> impl Iterator<Item = Numbers<'a>> {
    facts
        .numbers()
        .filter(move |numbers| !numbers.is_total && numbers.response.quantity == quantity)
}

/// Crop in grams a vine (or a plot) by record, of crops reckoned so.
fn crops<'a>(facts: &Facts<'a>) -> HashMap<Key, (Numbers<'a>, usize, f64)> {
    let mut crops = HashMap::new();
    for numbers in of(facts, Quantity::Yield) {
        let unit = match numbers.response.unit.per() {
            Per::Vine => "g/vine",
            Per::Plot => "g/plot",
            _ => continue,
        };
        let Some(grams) = grams(facts, &numbers, unit) else {
            continue;
        };
        for (row, value) in numbers.part.values.iter().enumerate() {
            if let (Some(value), Some(key)) = (value, key(&numbers, row)) {
                crops.insert(key, (numbers, row, grams * nearest_f64(*value)));
            }
        }
    }
    crops
}

/// Factor from a column to a unit of grams.
fn grams(facts: &Facts, numbers: &Numbers, unit: &str) -> Option<f64> {
    let unit = Unit::parse(unit).ok()?;
    numbers
        .response
        .unit
        .factor_to(&unit, &facts.trial.vineyard)
        .ok()
}

fn cluster_weight(facts: &Facts) -> Vec<Diagnostic> {
    let Some(far) = facts.trial.checks.number(Threshold::ClusterWeight) else {
        return Vec::new();
    };
    let crops = crops(facts);
    let grouping = Grouping::of(facts);
    let mut found = Vec::new();
    for clusters in of(facts, Quantity::ClusterCount) {
        let belongs = clusters.file.belongs(Quantity::ClusterCount);
        let rows = 0..clusters.part.values.len();
        let weights: Vec<Item> = rows
            .map(|row| {
                let count = nearest_f64(clusters.part.values[row]?);
                let (.., crop) = crops.get(&key(&clusters, row)?)?;
                let group = grouping.group(clusters.file, row, belongs)?;
                (count > 0.0 && *crop > 0.0).then_some((group, crop / count))
            })
            .collect();
        let mates = Mates::of(&grouping, &weights);
        for (row, item) in weights.iter().enumerate() {
            let Some((group, weight)) = *item else {
                continue;
            };
            let (Some(distance), Some(middle)) =
                (mates.distance(group, weight), mates.middle(group))
            else {
                continue;
            };
            let crop = key(&clusters, row).and_then(|key| crops.get(&key));
            if let (true, Some((crop, crop_row, _))) = (distance.abs() > far, crop) {
                let count = clusters.part.values[row].unwrap_or_default();
                found.push(
                    Diagnostic::warning(
                        CLUSTER_WEIGHT.name,
                        format!(
                            "{} over {count} in column '{}' makes clusters of {} g, where those of the same treatment and season weigh {} g",
                            cell(facts, crop, *crop_row),
                            clusters.part.heading,
                            brief(weight),
                            brief(middle)
                        ),
                    )
                    .at(crop.part.place(crop.file, *crop_row))
                    .at(clusters.part.place(clusters.file, row))
                    .help("look both up in the field book: the crop or the clusters are wrong"),
                );
            }
        }
    }
    found
}

/// A sum and the records that made it.
#[derive(Default)]
struct Sum {
    total: f64,
    records: Vec<usize>,
}

impl Sum {
    fn mean(&self) -> f64 {
        self.total / self.records.len() as f64
    }
}

/// Sums of a column by plot and season.
fn sums(numbers: &Numbers) -> HashMap<(u32, u32), Sum> {
    let mut sums: HashMap<(u32, u32), Sum> = HashMap::new();
    for (row, value) in numbers.part.values.iter().enumerate() {
        if let (Some(value), Some((plot, _, season))) = (value, key(numbers, row)) {
            let sum = sums.entry((plot, season)).or_default();
            sum.total += nearest_f64(*value);
            sum.records.push(row);
        }
    }
    sums
}

/// Whether a response is the weight of a cluster.
fn weighs_clusters(numbers: &Numbers) -> bool {
    let response = numbers.response;
    let named = ["cluster_weight", "bunch_weight"].contains(&response.name.as_str());
    response.unit.dimension() == Dimension::Mass
        && (response.unit.per() == Per::Thing("clusters")
            || (named && response.unit.per() == Per::Nothing))
}

fn parts_disagree(facts: &Facts) -> Vec<Diagnostic> {
    let Some(within) = facts.trial.checks.number(Threshold::PartsDisagree) else {
        return Vec::new();
    };
    let implied = implied(facts);
    let mut found = Vec::new();
    let weighed = facts
        .numbers()
        .filter(|numbers| !numbers.is_total && weighs_clusters(numbers));
    for numbers in weighed {
        let unit = match numbers.response.unit.per() {
            Per::Nothing => "g",
            _ => "g/cluster",
        };
        let Some(grams) = grams(facts, &numbers, unit) else {
            continue;
        };
        found.extend(against(facts, &numbers, &implied, within, |_, mean| {
            Some(grams * mean)
        }));
    }
    for numbers in of(facts, Quantity::BerryCount) {
        let berries: Vec<(Numbers, f64)> = of(facts, Quantity::BerryWeight)
            .filter_map(|berry| {
                let unit = match berry.response.unit.per() {
                    Per::Nothing => "g",
                    _ => "g/berry",
                };
                Some((berry, grams(facts, &berry, unit)?))
            })
            .collect();
        let weights: HashMap<(u32, u32), f64> = berries
            .iter()
            .flat_map(|(berry, grams)| {
                let means = sums(berry).into_iter();
                means.map(move |(place, sum)| (place, grams * sum.mean()))
            })
            .collect();
        found.extend(against(facts, &numbers, &implied, within, |place, mean| {
            Some(mean * weights.get(&place)?)
        }));
    }
    found
}

/// Crop over clusters by plot and season, in grams, of records that have both.
fn implied(facts: &Facts) -> HashMap<(u32, u32), f64> {
    let crops = crops(facts);
    let mut both: HashMap<(u32, u32), (f64, f64)> = HashMap::new();
    for clusters in of(facts, Quantity::ClusterCount) {
        for (row, count) in clusters.part.values.iter().enumerate() {
            let Some(key) = key(&clusters, row) else {
                continue;
            };
            if let (Some(count), Some((.., crop))) = (count, crops.get(&key)) {
                let sums = both.entry((key.0, key.2)).or_default();
                sums.0 += crop;
                sums.1 += nearest_f64(*count);
            }
        }
    }
    both.into_iter()
        .filter(|(_, (crop, count))| *crop > 0.0 && *count > 0.0)
        .map(|(place, (crop, count))| (place, crop / count))
        .collect()
}

/// Plots and seasons whose mean, made into grams a cluster, misses the crop over its clusters.
fn against(
    facts: &Facts,
    numbers: &Numbers,
    implied: &HashMap<(u32, u32), f64>,
    within: f64,
    grams: impl Fn((u32, u32), f64) -> Option<f64>,
) -> Vec<Diagnostic> {
    let mut places: Vec<((u32, u32), Sum)> = sums(numbers).into_iter().collect();
    places.sort_by_key(|(place, _)| *place);
    let mut found = Vec::new();
    for (place, sum) in places {
        let (Some(weight), Some(implied)) = (grams(place, sum.mean()), implied.get(&place)) else {
            continue;
        };
        if (weight / implied - 1.0).abs() <= within {
            continue;
        }
        let warning = Diagnostic::warning(
            PARTS_DISAGREE.name,
            format!(
                "{} makes clusters of {} g, crop over clusters of the plot makes them {} g",
                cell(facts, numbers, sum.records[0]),
                brief(weight),
                brief(*implied)
            ),
        )
        .help("look for a wrong weight, count or unit among the three in this plot and season");
        let records = sum.records.iter();
        found.push(records.fold(warning, |warning, row| {
            warning.at(numbers.part.place(numbers.file, *row))
        }));
    }
    found
}
