//! Rules on the data: each one small, named, and with where it comes from. Rules look, they never
//! change anything; what they find stops the run (errors) or goes into the report.

mod cells;
mod clusters;
mod covariates;
mod dates;
mod design;
mod drift;
mod far;
mod field_drift;
mod jumps;
mod keys;
mod latin;
mod levels;
mod matches;
mod mates;
mod names;
mod nodes;
mod places;
pub(crate) mod ranges;
mod repeated;
mod ripe;
mod robust;
mod rounding;
mod seasons;
mod shifted;
mod stand;
mod status;
mod suspects;
mod swapped;
mod together;
mod units;
mod vines;

use crate::diagnostic::{Diagnostic, Severity};
use crate::load::{File, Loaded, Part};
use crate::trial::checks::Threshold;
use crate::trial::{Response, Trial};

/// A rule.
#[derive(Debug, Clone, Copy)]
pub struct Rule {
    /// Name, stable, as diagnostics carry it.
    pub name: &'static str,
    /// How grave what it finds usually is.
    pub severity: Severity,
    /// Where the rule or its threshold comes from.
    pub source: &'static str,
    /// What it looks for, one line.
    pub summary: &'static str,
    /// What `[checks]` of the trial file may set.
    pub threshold: Option<Threshold>,
    look: fn(&Facts) -> Vec<Diagnostic>,
}

/// The source of rules that rest on nothing published.
const PRACTICE: &str = "common practice, no source";

/// What rules look at.
#[derive(Debug, Clone, Copy)]
pub struct Facts<'a> {
    /// The trial as declared.
    pub trial: &'a Trial,
    /// The data as loaded.
    pub loaded: &'a Loaded,
}

/// One column of numbers and what it belongs to.
#[derive(Debug, Clone, Copy)]
struct Numbers<'a> {
    response: &'a Response,
    part: &'a Part,
    file: &'a File,
    is_total: bool,
}

impl<'a> Facts<'a> {
    /// Every column of numbers; one that serves two responses comes twice.
    fn numbers(&self) -> impl Iterator<Item = Numbers<'a>> + use<'a> {
        let loaded = self.loaded;
        self.trial
            .responses
            .iter()
            .zip(&loaded.measured)
            .flat_map(move |(response, measured)| {
                let values = measured.values.iter().map(|part| (part, false));
                let totals = measured.totals.iter().map(|part| (part, true));
                values.chain(totals).map(move |(part, is_total)| Numbers {
                    response,
                    part,
                    file: &loaded.files[part.file],
                    is_total,
                })
            })
    }

    /// Every column of numbers once; as values where it is that and a total.
    fn columns(&self) -> Vec<Numbers<'a>> {
        let mut columns: Vec<Numbers<'a>> = Vec::new();
        let totals = self.numbers().filter(|numbers| numbers.is_total);
        for numbers in self
            .numbers()
            .filter(|numbers| !numbers.is_total)
            .chain(totals)
        {
            let same = |other: &Numbers| {
                other.part.file == numbers.part.file && other.part.heading == numbers.part.heading
            };
            if !columns.iter().any(same) {
                columns.push(numbers);
            }
        }
        columns
    }

    /// Every column of a covariate.
    fn covariates(&self) -> impl Iterator<Item = Numbers<'a>> + use<'a> {
        let loaded = self.loaded;
        self.trial
            .covariates
            .iter()
            .zip(&loaded.covariates)
            .flat_map(move |(response, parts)| {
                parts.iter().map(move |part| Numbers {
                    response,
                    part,
                    file: &loaded.files[part.file],
                    is_total: false,
                })
            })
    }

    /// Every column of numbers once, those of covariates too.
    fn all_columns(&self) -> impl Iterator<Item = Numbers<'a>> + use<'a> {
        self.columns().into_iter().chain(self.covariates())
    }

    /// Name of the plot of a record.
    fn plot(&self, file: &File, row: usize) -> &'a str {
        file.plots[row].map_or("", |plot| {
            self.loaded.index.plots[plot as usize].name.as_str()
        })
    }

    /// "plot 7", "vine 3 of plot 7", with the season where there is one.
    fn whose(&self, file: &File, row: usize) -> String {
        let mut words = format!("plot {}", self.plot(file, row));
        if let Some(vine) = file.vines[row] {
            words = format!(
                "vine {} of {words}",
                self.loaded.index.vines[vine as usize].name
            );
        }
        match file.season_label(row) {
            Some(season) => format!("{words} in {season}"),
            None => words,
        }
    }

    /// Whether a file holds numbers.
    fn measures(&self, file: usize) -> bool {
        self.numbers().any(|numbers| numbers.part.file == file)
    }

    /// A treatment in words.
    fn treatment(&self, levels: &[u32]) -> String {
        let names = levels
            .iter()
            .zip(&self.trial.factors)
            .map(|(level, factor)| factor.levels[*level as usize].name.as_str());
        names.collect::<Vec<_>>().join(" × ")
    }
}

/// Every rule, in the order they look.
#[must_use]
pub fn rules() -> &'static [Rule] {
    const RULES: &[Rule] = &[
        cells::NOT_A_NUMBER,
        cells::MISSING_VALUES,
        keys::DUPLICATE_RECORDS,
        keys::SEVERAL_ROWS,
        names::LOOKALIKE_NAMES,
        levels::UNDECLARED_LEVEL,
        levels::UNUSED_LEVEL,
        levels::TREATMENT_CHANGES,
        levels::PLOT_IN_TWO_PLACES,
        matches::UNMATCHED_PLOTS,
        matches::NO_TREATMENT,
        matches::MISSING_PLOTS,
        vines::UNMATCHED_VINES,
        vines::VINES_PER_PLOT,
        design::BLOCK_TREATMENTS,
        design::UNREPLICATED,
        design::WHOLE_PLOT_TWICE,
        together::FACTORS_TOGETHER,
        latin::LATIN_SQUARE,
        latin::STRIPS,
        seasons::WINTER_UNDECLARED,
        seasons::NUMBERS_WITHOUT_SEASON,
        shifted::SEASONS_SHIFTED,
        seasons::SEASON_OUTSIDE,
        seasons::MISSING_SEASONS,
        status::STATUS_WITHOUT_VINES,
        status::STATUS_WORD,
        status::STATUS_TWICE,
        status::VALUE_ON_GAP,
        ranges::IMPOSSIBLE_VALUE,
        dates::DATES_OF_ONE_YEAR,
        ranges::LOOKS_MISSING,
        ranges::COUNTS,
        ranges::UNIT_OF_PLOT_ON_VINES,
        covariates::COVARIATE_CHANGES,
        covariates::COVARIATE_MISSING,
        places::PLACE_NOT_A_NUMBER,
        places::PLACE_CHANGES,
        places::PLACE_BACKWARDS,
        places::PLACE_TAKEN_TWICE,
        places::PLACE_MISSING,
        far::FAR_FROM_MATES,
        units::UNIT_SLIP,
        units::UNIT_OF_SEASON,
        swapped::SWAPPED_COLUMNS,
        clusters::CLUSTER_WEIGHT,
        clusters::PARTS_DISAGREE,
        ripe::RIPE_BRIX,
        ripe::RIPE_PH,
        ripe::RIPE_ACIDITY,
        nodes::NODES_MISSED,
        nodes::BUDS_ABOVE_NODES,
        dates::DATES_OUT_OF_SEASON,
        repeated::REPEATED_PLOT,
        rounding::ROUNDING,
        drift::DRIFT,
        field_drift::FIELD_DRIFT,
        jumps::SEASON_JUMP,
    ];
    RULES
}

/// What loading noticed and every rule found, in the order of [`rules`]; warnings about cells that
/// were looked at and kept are notes.
#[must_use]
pub fn check(trial: &Trial, loaded: &Loaded) -> Vec<Diagnostic> {
    let facts = Facts { trial, loaded };
    let mut found = loaded.remarks.clone();
    let looked = rules().iter().flat_map(|rule| (rule.look)(&facts));
    found.extend(looked.map(|one| loaded.corrections.eased(one, &loaded.files)));
    found
}

#[cfg(test)]
mod tests;
