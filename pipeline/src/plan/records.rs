//! What is recorded, when, on what: the visits of a year and the sheets they need.

use caneplot_plugin::request::{DesignKind, Quantity};

use super::Plan;
use crate::load::season::{Belongs, belongs};
use crate::trial::unit::{Dimension, Per};
use crate::trial::{Response, Written};

mod known;

pub use known::{KNOWN, Known, known};

/// What is recorded.
#[derive(Debug, Clone)]
pub struct Records {
    /// Visits of a year in their order.
    pub visits: Vec<(Visit, Vec<Response>)>,
    /// The response the trial is judged by.
    pub primary: Written<String>,
    /// Where treatments are shown.
    pub treatments_on: Vec<Shown>,
}

/// A visit to the trial.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Visit {
    /// Before the treatments begin, for what analyses adjust for.
    Baseline,
    /// In winter, when the vines are pruned.
    Pruning,
    /// In spring, when buds have broken.
    BudBreak,
    /// At bloom to fruit set.
    Bloom,
    /// At harvest.
    Harvest,
}

/// Papers that can show the treatment of a plot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// The plots' labels.
    Labels,
    /// The field sheets.
    Sheets,
}

impl Sheet {
    /// Whether the sheet is filled in every season, and not once before the treatments begin.
    #[must_use]
    pub fn in_seasons(&self) -> bool {
        self.visit != Visit::Baseline
    }
}

impl Visit {
    /// Those of every season, in the order of a year.
    pub const ALL: [Visit; 4] = [
        Visit::Pruning,
        Visit::BudBreak,
        Visit::Bloom,
        Visit::Harvest,
    ];

    /// Its key in the plan file.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Visit::Baseline => "baseline",
            Visit::Pruning => "pruning",
            Visit::BudBreak => "bud_break",
            Visit::Bloom => "bloom",
            Visit::Harvest => "harvest",
        }
    }

    /// Responses recorded where the plan does not list any: the field's usual ones.
    #[must_use]
    pub fn usual(self) -> &'static [&'static str] {
        match self {
            Visit::Baseline => &[],
            Visit::Pruning => &["nodes_left", "canes", "pruning_weight"],
            Visit::BudBreak => &["bud_break"],
            Visit::Bloom => &["shoots"],
            Visit::Harvest => &[
                "yield",
                "clusters",
                "berry_weight",
                "brix",
                "ph",
                "titratable_acidity",
            ],
        }
    }
}

/// Whether a response is one composite of its plot: fruit chemistry, berry weight, anything per
/// plot, area or canopy.
#[must_use]
pub fn is_of_plot(response: &Response) -> bool {
    matches!(
        response.quantity,
        Quantity::SolubleSolids
            | Quantity::Ph
            | Quantity::TitratableAcidity
            | Quantity::BerryWeight
            | Quantity::BerryCount
    ) || matches!(
        response.unit.per(),
        Per::Plot | Per::Ground | Per::Canopy | Per::Volume
    )
}

/// A kind of field sheet, which is also a data file of the trial.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// The visit.
    pub visit: Visit,
    /// Its file: "harvest.csv".
    pub file: String,
    /// As the workbook calls it: "Harvest".
    pub title: String,
    /// When it is filled in, in words.
    pub when: &'static str,
    /// Whether it has a line for every vine, or one for every plot.
    pub by_vine: bool,
    /// Which winter its seasons mean, where it is filled in in winter.
    pub winter: Option<&'static str>,
    /// Whether it records the status of vines.
    pub has_status: bool,
    /// Columns to fill in.
    pub entries: Vec<Entry>,
}

/// A column to fill in.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Heading.
    pub heading: String,
    /// What it is, in words: "Yield, kg/vine".
    pub words: String,
    /// Whether only whole numbers can stand there.
    pub whole: bool,
    /// Lowest number that can be true.
    pub low: f64,
    /// Highest; far above anything grown, to catch a slipped decimal point.
    pub high: f64,
}

/// The sheets of a plan in the order of a season, from its pruning to the weighing of its wood.
#[must_use]
pub fn sheets(plan: &Plan) -> Vec<Sheet> {
    let mut sheets = Vec::new();
    for by_vine in [true, false] {
        let here = plan.covariates.iter();
        let here: Vec<&Response> = here.filter(|one| is_of_plot(one) != by_vine).collect();
        sheets.extend(sheet(Visit::Baseline, by_vine, &here, None));
    }
    for (visit, responses) in &plan.records.visits {
        for by_vine in [true, false] {
            let here = |after: bool| {
                let picked: Vec<&Response> = responses
                    .iter()
                    .filter(|response| is_of_plot(response) != by_vine)
                    .filter(|response| !after || is_before(response))
                    .filter(|response| after || *visit != Visit::Pruning || !is_before(response))
                    .collect();
                picked
            };
            match visit {
                Visit::Pruning => {
                    sheets.extend(sheet(*visit, by_vine, &here(false), Some("before harvest")));
                    sheets.extend(sheet(*visit, by_vine, &here(true), Some("after harvest")));
                }
                _ => sheets.extend(sheet(*visit, by_vine, &here(false), None)),
            }
        }
    }
    // The wood that grew in a season is weighed when the season is over.
    sheets.sort_by_key(|sheet: &Sheet| {
        let last = sheet.winter == Some("after harvest");
        (last, sheet.visit, !sheet.by_vine)
    });
    let status = sheets
        .iter()
        .position(|sheet| sheet.by_vine && sheet.visit == Visit::Harvest)
        .or_else(|| {
            sheets
                .iter()
                .position(|sheet| sheet.by_vine && sheet.winter.is_none() && sheet.in_seasons())
        });
    if let Some(at) = status {
        sheets[at].has_status = true;
    }
    sheets
}

/// Whether a record of winter belongs to the season before that winter.
fn is_before(response: &Response) -> bool {
    belongs(response.quantity) == Some(Belongs::Before)
}

fn sheet(
    visit: Visit,
    by_vine: bool,
    responses: &[&Response],
    winter: Option<&'static str>,
) -> Option<Sheet> {
    if responses.is_empty() {
        return None;
    }
    let (stem, title, when) = match (visit, winter) {
        (Visit::Pruning, Some("after harvest")) => (
            "prunings",
            "Prunings",
            "in the winter after this season's harvest, before and while the vines are pruned",
        ),
        (Visit::Pruning, _) => (
            "pruning",
            "Pruning",
            "in the winter before this season, when the vines are pruned to their treatment",
        ),
        (Visit::Baseline, _) => ("baseline", "Baseline", "once, before the treatments begin"),
        (Visit::BudBreak, _) => ("budbreak", "Bud break", "in spring, when buds have broken"),
        (Visit::Bloom, _) => ("bloom", "Bloom", "from bloom to fruit set"),
        (Visit::Harvest, _) if by_vine => ("harvest", "Harvest", "at harvest"),
        (Visit::Harvest, _) => ("juice", "Juice", "at harvest, one composite sample a plot"),
    };
    let (stem, title) = if by_vine || visit == Visit::Harvest {
        (stem.to_owned(), title.to_owned())
    } else {
        (format!("{stem}-plots"), format!("{title}, plots"))
    };
    let mut entries: Vec<Entry> = Vec::new();
    for response in responses {
        for entry in entries_of(response) {
            if !entries.iter().any(|other| other.heading == entry.heading) {
                entries.push(entry);
            }
        }
    }
    Some(Sheet {
        visit,
        file: format!("{stem}.csv"),
        title,
        when,
        by_vine,
        winter,
        has_status: false,
        entries,
    })
}

/// The columns of a response: the total of a count stands before the count.
fn entries_of(response: &Response) -> Vec<Entry> {
    if let Some(of) = &response.of {
        let count = |heading: &str, words: &str| Entry {
            heading: heading.to_owned(),
            words: format!("{}: {words}", response.label),
            whole: true,
            low: 0.0,
            high: MOST_COUNTED,
        };
        return vec![
            count(&of.value, "how many were looked at"),
            count(&response.column.value, "how many of them"),
        ];
    }
    let counted = matches!(response.unit.dimension(), Dimension::Count(_));
    let (low, high) = response.possible.unwrap_or_else(|| range(response));
    vec![Entry {
        heading: response.column.value.clone(),
        words: format!("{}, {}", response.label, response.unit),
        // A count per vine of a whole plot may be a mean.
        whole: counted && response.unit.per() == Per::Vine,
        low,
        high,
    }]
}

/// More than this is never counted on one vine.
const MOST_COUNTED: f64 = 2000.0;

/// The numbers a sheet accepts without asking. The highest are ours: far above published trials, only
/// to catch a slipped decimal point, and a sheet asks rather than refuses.
fn range(response: &Response) -> (f64, f64) {
    match (response.quantity, response.unit.dimension()) {
        (_, Dimension::SolubleSolids) => (0.0, 45.0),
        (_, Dimension::Ph) => (2.0, 5.0),
        (_, Dimension::Fraction) => (0.0, 100.0),
        (_, Dimension::Count(_)) => (0.0, MOST_COUNTED),
        (Quantity::Yield, _) => (0.0, 200.0),
        (Quantity::PruningWeight, _) => (0.0, 50.0),
        (Quantity::BerryWeight, _) => (0.0, 20.0),
        (Quantity::TitratableAcidity, _) => (0.0, 60.0),
        (_, Dimension::Temperature(_)) => (-60.0, 60.0),
        _ => (0.0, 100_000.0),
    }
}

/// Whether vines are told apart in the records.
#[must_use]
pub fn has_vines(sheets: &[Sheet]) -> bool {
    sheets.iter().any(|sheet| sheet.by_vine)
}

/// Columns of place that a record carries beside its season and plot.
#[must_use]
pub fn place_columns(kind: DesignKind) -> &'static [&'static str] {
    match kind {
        DesignKind::CompletelyRandomised => &[],
        DesignKind::LatinSquare => &["row", "column"],
        _ => &["block"],
    }
}
