//! Prices and costs as a trial's own file declares them. None is ever made up: what is not declared
//! is not there.

use serde::{Deserialize, Serialize};

/// Everything that turns results into money.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Prices {
    /// Name of the money: "USD", "EUR".
    pub currency: String,
    /// Year the prices are of.
    pub year: u16,
    /// Where the figures come from.
    pub source: String,
    /// The area that is spoken of first.
    pub area: Area,
    /// Interest a year, as a share.
    #[serde(default)]
    pub interest: Option<f64>,
    /// What the crop brings.
    pub crop: Crop,
    /// Pay for an hour of work with all that goes with it.
    #[serde(default)]
    pub wage: Option<Amount>,
    /// Work that differs between treatments.
    #[serde(default)]
    pub work: Vec<Work>,
    /// Other costs that differ between treatments.
    #[serde(default)]
    pub costs: Vec<Cost>,
    /// What changing an existing vineyard over takes.
    #[serde(default)]
    pub conversion: Option<Conversion>,
}

/// An area.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Area {
    /// 10 000 m².
    Hectare,
    /// The international acre.
    Acre,
}

/// A sum, and between which bounds it may lie.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Amount {
    /// What is reckoned with.
    pub likely: f64,
    /// Lowest and highest that are thought possible.
    #[serde(default)]
    pub bounds: Option<(f64, f64)>,
}

/// What the crop brings and what it costs to bring it in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Crop {
    /// The response that is the crop, where it is named.
    #[serde(default)]
    pub response: Option<String>,
    /// Price of one `per`; where steps stand, of fruit below the lowest of them.
    pub price: Amount,
    /// The weight that prices are of, as it prints: "US ton".
    pub per: String,
    /// That weight in kilograms.
    pub per_kg: f64,
    /// Prices of riper fruit, by rising Brix.
    #[serde(default)]
    pub steps: Vec<Step>,
    /// The response that decides the step.
    #[serde(default)]
    pub brix: Option<String>,
    /// Share of a trial's crop that is counted on.
    pub counted: f64,
    /// Picking and hauling of one `per`.
    #[serde(default)]
    pub harvest: Option<Amount>,
}

/// A price that holds from a Brix on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// Brix.
    pub from: f64,
    /// Price of one `per` of the crop.
    pub price: f64,
}

/// A kind of work.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Work {
    /// Key in the file.
    pub name: String,
    /// In words: "Pruning".
    pub label: String,
    /// How long it takes.
    pub time: Time,
}

/// How long a kind of work takes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Time {
    /// As a response of the trial measured it.
    Measured(String),
    /// As it is assumed, in minutes a vine and season.
    Assumed {
        /// Minutes by level.
        minutes: ByLevel,
        /// On what ground.
        source: String,
    },
}

/// Amounts by the levels of a factor, all of which have one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ByLevel {
    /// Name of the factor.
    pub factor: String,
    /// Names of its levels with their amounts.
    pub amounts: Vec<(String, Amount)>,
}

/// A cost.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cost {
    /// Key in the file.
    pub name: String,
    /// In words: "Trellis".
    pub label: String,
    /// On what it is reckoned.
    pub per: CostPer,
    /// The amounts.
    pub amounts: ByLevel,
    /// Where it comes once and not every season: the years it is to serve, where they are declared.
    #[serde(default)]
    pub once: Option<Once>,
}

/// A cost that comes once.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Once {
    /// Years it is to serve; `None`: the seasons of the trial bear it in equal parts.
    #[serde(default)]
    pub life: Option<f64>,
}

/// What a cost is reckoned on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum CostPer {
    /// A hectare.
    Hectare,
    /// An acre.
    Acre,
    /// A vine.
    Vine,
}

/// What changing an existing vineyard over takes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Conversion {
    /// First seasons without a crop, by level.
    pub lost: ByLevel,
    /// Years that are looked ahead.
    pub years: u32,
}
