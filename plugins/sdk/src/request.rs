//! What a plugin is given beside its tables: the trial in words, its options and the seed.
//!
//! Tables come apart from this, as Arrow data. `plots` has one row a plot (and season); `vines`,
//! where the trial records single vines, one row a living vine (and season). Their design columns
//! have fixed names: `block`, `row`, `column`, `plot`, `vine`, `season` (those the design has), all
//! text; then one text column a factor (the level's name); then one number column a response. Where
//! plots have places in the field, `plots` has number columns for them (see [`TrialInfo::field`]).
//!
//! A response's numbers are **centred**: value = `offset` + number, where `offset` is an exact
//! decimal. Sums of squares use the centred numbers as they are; only a mean adds the offset. That
//! is what keeps 14 digits on data such as 1000000000000.4 (see `Response::offset`).

use serde::{Deserialize, Serialize};
use serde_json::Value as Json;

pub use crate::balanced::{Light, PruningRule};
use crate::estimates::Handed;
use crate::prices::Prices;

/// The whole request except the tables.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Request {
    /// Name of the analysis, the plugin's own.
    pub analysis: String,
    /// Options, complete: defaults are filled in from the manifest by the program.
    pub options: Json,
    /// The trial.
    pub trial: TrialInfo,
    /// Seed for anything random.
    pub seed: u64,
}

/// The trial as a plugin sees it.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct TrialInfo {
    /// Title of the trial.
    pub title: String,
    /// The question it was laid out to answer.
    pub question: String,
    /// Design and the columns that carry it.
    pub design: Design,
    /// Treatment factors in the order of the trial file.
    pub factors: Vec<Factor>,
    /// Seasons in order, as text; empty where the trial has one unnamed season.
    pub seasons: Vec<String>,
    /// Responses in the order of the trial file, derived ones after them.
    pub responses: Vec<Response>,
    /// Ratios between responses.
    pub ratios: Vec<Ratio>,
    /// What was recorded on plots before the treatments began, such as the prunings of the winter
    /// before: columns of `plots` like those of responses, with one value a plot that stands in each
    /// of its rows. Only for adjusting responses; never analysed itself.
    #[serde(default)]
    pub covariates: Vec<Response>,
    /// Geometry of the vineyard, where declared.
    #[serde(default)]
    pub vineyard: Vineyard,
    /// Where plots lie, where declared: `plots` then has the number columns `field_row` (vineyard
    /// row), `field_first` and `field_last` (positions of a plot's first and last vine along the
    /// row) and `field_position` (their middle), null for a plot without a place.
    #[serde(default)]
    pub field: Option<Field>,
    /// What the other analyses of the trial found, in the order of the report: only for an analysis
    /// whose manifest says `uses_estimates`, which runs after them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub estimates: Vec<Handed>,
    /// Prices and costs, where the trial has a file of them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub prices: Option<Prices>,
}

/// How the places of plots are declared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Field {
    /// Whether first and last vine are known; else a plot has one position, which stands in both.
    pub spans: bool,
}

/// Kinds of design.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum DesignKind {
    /// Treatments at random over all plots.
    #[default]
    #[serde(rename = "completely randomised")]
    CompletelyRandomised,
    /// Every treatment once (or equally often) in every block.
    #[serde(rename = "randomised block")]
    RandomisedBlock,
    /// Every treatment once in every row and column.
    #[serde(rename = "Latin square")]
    LatinSquare,
    /// Whole plots in blocks, sub plots in whole plots.
    #[serde(rename = "split plot")]
    SplitPlot,
    /// Two factors in crossing strips.
    #[serde(rename = "strip plot")]
    StripPlot,
    /// Whole plots, sub plots, sub-sub plots.
    #[serde(rename = "split-split plot")]
    SplitSplitPlot,
}

/// The design. Columns named here exist in the tables under the fixed names.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Design {
    /// Kind.
    pub kind: DesignKind,
    /// The design has blocks (column `block`).
    pub block: bool,
    /// The design has rows and columns (`row`, `column`): a Latin square.
    pub row_column: bool,
    /// Single vines are recorded (table `vines`, column `vine`).
    pub vine: bool,
    /// Seasons are repeated on the same plots (column `season`).
    pub season: bool,
}

/// Where a factor was applied.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Role {
    /// To plots.
    #[default]
    #[serde(rename = "treatment")]
    Treatment,
    /// To whole plots.
    #[serde(rename = "whole plot")]
    WholePlot,
    /// To sub plots.
    #[serde(rename = "sub plot")]
    SubPlot,
    /// To sub-sub plots.
    #[serde(rename = "sub-sub plot")]
    SubSubPlot,
    /// To strips along the rows.
    #[serde(rename = "row strip")]
    RowStrip,
    /// To strips across the rows.
    #[serde(rename = "cross strip")]
    CrossStrip,
}

/// A treatment factor.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Factor {
    /// Name: the column in the tables.
    pub name: String,
    /// In words, for headings.
    pub label: String,
    /// Where it was applied.
    pub role: Role,
    /// Levels in the order of the trial file.
    pub levels: Vec<Level>,
    /// Unit of a numeric factor.
    #[serde(default)]
    pub unit: Option<String>,
    /// Name of the control level.
    #[serde(default)]
    pub control: Option<String>,
}

impl Factor {
    /// Whether every level is a number, so that the factor is a quantity.
    #[must_use]
    pub fn is_numeric(&self) -> bool {
        !self.levels.is_empty() && self.levels.iter().all(|level| level.value.is_some())
    }

    /// Whether its levels say how many nodes to leave on a vine: numbers of nodes, or rules of
    /// balanced pruning.
    #[must_use]
    pub fn says_nodes(&self) -> bool {
        let of_nodes = matches!(self.unit.as_deref(), Some("nodes/vine" | "buds/vine"));
        (of_nodes && self.is_numeric()) || self.levels.iter().any(|level| level.rule.is_some())
    }
}

/// A level of a factor.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Level {
    /// As it stands in the data.
    pub name: String,
    /// In words.
    pub label: String,
    /// Its quantity, where it is a number.
    #[serde(default)]
    pub value: Option<f64>,
    /// The canopy the level makes, where it changes it.
    #[serde(default)]
    pub canopy: Option<Canopy>,
    /// The rule of balanced pruning it is: nodes left are then an outcome of the vine's growth.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rule: Option<PruningRule>,
}

/// What a response measures, in the trade's words. It decides which season a winter record belongs
/// to, which balance indices can be made and which ranges are possible.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
pub enum Quantity {
    /// Crop.
    #[serde(rename = "yield")]
    Yield,
    /// Weight of one-year-old wood cut in the winter after a harvest.
    #[serde(rename = "pruning weight")]
    PruningWeight,
    /// Clusters.
    #[serde(rename = "cluster count")]
    ClusterCount,
    /// Weight of one berry.
    #[serde(rename = "berry weight")]
    BerryWeight,
    /// Berries in a cluster.
    #[serde(rename = "berry count")]
    BerryCount,
    /// Brix.
    #[serde(rename = "soluble solids")]
    SolubleSolids,
    /// pH of the juice.
    #[serde(rename = "pH")]
    Ph,
    /// Titratable acidity.
    #[serde(rename = "titratable acidity")]
    TitratableAcidity,
    /// Live canes in the winter after a harvest, before pruning.
    #[serde(rename = "cane count")]
    CaneCount,
    /// Nodes left at pruning: they set the season after.
    #[serde(rename = "nodes left")]
    NodesLeft,
    /// Shoots.
    #[serde(rename = "shoot count")]
    ShootCount,
    /// Buds or nodes that broke.
    #[serde(rename = "bud break")]
    BudBreak,
    /// Buds alive after winter.
    #[serde(rename = "bud survival")]
    BudSurvival,
    /// Leaf area.
    #[serde(rename = "leaf area")]
    LeafArea,
    /// Minutes of work.
    #[serde(rename = "labour")]
    Labour,
    /// Anything else.
    #[default]
    #[serde(rename = "other")]
    Other,
}

/// What one value is reckoned over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Basis {
    /// The plot itself (a composite sample, a concentration, a size).
    #[default]
    #[serde(rename = "plot")]
    Plot,
    /// A living vine: gaps do not count.
    #[serde(rename = "living vine")]
    LivingVine,
    /// A planted space: gaps count as nothing harvested.
    #[serde(rename = "planted space")]
    PlantedSpace,
}

/// A response.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Response {
    /// Name: the column in the tables.
    pub name: String,
    /// In words, for headings: "Yield".
    pub label: String,
    /// Unit as printed: "kg/vine", "°Brix", "%".
    pub unit: String,
    /// What it measures.
    pub quantity: Quantity,
    /// Over what.
    pub basis: Basis,
    /// Value = `offset` + column.
    pub offset: f64,
    /// The offset as exact decimal text.
    #[serde(default)]
    pub offset_text: String,
    /// Decimals that make sense in a mean: one more than the data were recorded with, at most 4.
    pub decimals: u8,
    /// A count out of a count: the names of the columns with the count and the total (whole
    /// numbers, not centred). The response itself is then the percentage.
    #[serde(default)]
    pub counts: Option<(String, String)>,
    /// Recorded on single vines, so that the table `vines` has it.
    #[serde(default)]
    pub on_vines: bool,
    /// Made by the program from others (a mean cluster weight, say), in words how; else `None`.
    #[serde(default)]
    pub derived: Option<String>,
}

impl Response {
    /// Whether the program reckoned an amount again per planted space, other than the crop. Only the
    /// crop per planted space is a question of its own; an analysis that makes a section of every
    /// response leaves the others to those who ask for them.
    #[must_use]
    pub fn reckoned_again(&self) -> bool {
        self.basis == Basis::PlantedSpace
            && self.derived.is_some()
            && self.quantity != Quantity::Yield
    }

    /// Whether it is the vines lost of those planted, which the program counts itself: no other count
    /// out of a count is made. One value a plot, for the whole trial.
    #[must_use]
    pub fn is_of_the_stand(&self) -> bool {
        self.derived.is_some() && self.counts.is_some()
    }
}

/// Balance indices the trade knows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Index {
    /// Crop over prunings of the same season (Ravaz).
    #[serde(rename = "yield to pruning weight")]
    YieldToPruningWeight,
    /// Prunings over the length of canopy one vine fills.
    #[serde(rename = "pruning weight per canopy length")]
    PruningWeightPerCanopy,
    /// Prunings over canes.
    #[serde(rename = "mean cane weight")]
    MeanCaneWeight,
    /// Leaf area over crop.
    #[serde(rename = "leaf area to fruit")]
    LeafAreaToFruit,
    /// Crop over clusters.
    #[serde(rename = "mean cluster weight")]
    MeanClusterWeight,
    /// Shoots over the length of canopy.
    #[serde(rename = "shoots per canopy length")]
    ShootsPerCanopy,
}

/// A ratio of two responses of one plot and season, or of a response and a fixed length.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Ratio {
    /// Name.
    pub name: String,
    /// In words.
    pub label: String,
    /// Name of the response above.
    pub of: String,
    /// Name of the response below; `None` where `per_length` is the divisor.
    #[serde(default)]
    pub per: Option<String>,
    /// Metres of canopy a vine, where that is the divisor.
    #[serde(default)]
    pub per_length: Option<f64>,
    /// Factor that turns (unit of `of`)/(unit of `per`) into `unit`.
    pub scale: f64,
    /// Unit as printed: "kg/kg", "kg/m", "g".
    pub unit: String,
    /// The index of the trade it is, if it is one.
    #[serde(default)]
    pub index: Option<Index>,
}

/// Kinds of canopy that published ranges tell apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Canopy {
    /// One curtain of foliage.
    #[serde(rename = "single")]
    Single,
    /// Two or more curtains.
    #[serde(rename = "divided")]
    Divided,
    /// Minimally pruned.
    #[serde(rename = "minimally pruned")]
    MinimallyPruned,
    /// Hedged by machine.
    #[serde(rename = "hedged")]
    Hedged,
    /// Free standing, head-trained without a trellis.
    #[serde(rename = "free standing")]
    FreeStanding,
}

/// Geometry of the vineyard, all in metres.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Vineyard {
    /// Between rows.
    #[serde(default)]
    pub row_spacing_m: Option<f64>,
    /// Between vines.
    #[serde(default)]
    pub vine_spacing_m: Option<f64>,
    /// Fruiting wire one vine fills.
    #[serde(default)]
    pub canopy_per_vine_m: Option<f64>,
    /// Vines planted in every plot.
    #[serde(default)]
    pub vines_per_plot: Option<u32>,
    /// Kind of canopy of the whole trial; a factor's level may say otherwise.
    #[serde(default)]
    pub canopy: Option<Canopy>,
    /// Species or hybrid group in words, where it decides whether a range applies.
    #[serde(default)]
    pub grape: Option<String>,
}
