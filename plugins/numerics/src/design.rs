//! The designs of the trade as layouts: which strata each has and where a factor is tested.
//!
//! Whole plots, sub plots and strips need no column of their own: inside a block they are the plots
//! that share the levels applied to them. Seasons repeated on the same plots add strata within
//! plots (a split plot in time), vines add one below the plots. What a sheet lacks is found here, so
//! that the sentence can name the plot, block or season.

use std::collections::BTreeMap;

use crate::cells::Cells;
pub use crate::kinds::{Applied, Kind};
use crate::names;
use crate::orthogonal::LayoutError;
use crate::strata::{BlockTerm, Classifier, Layout};

/// Why a sheet of values is not the design it is declared to be.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DesignError {
    /// Occurs when fewer than two values are there.
    #[error("there are not enough values: an analysis needs at least two plots")]
    TooFew,
    /// Occurs when no treatment factor is given.
    #[error("the trial declares no treatment factor")]
    NoTreatment,
    /// Occurs when a column that the kind of design needs is not given.
    #[error("a {design} needs a column of {column}")]
    ColumnMissing {
        /// The design in words.
        design: &'static str,
        /// The column in words.
        column: &'static str,
    },
    /// Occurs when the role of a factor does not belong to the kind of design, or a role it needs is
    /// taken by no factor.
    #[error("{0}")]
    Role(String),
    /// Occurs when a factor does not vary.
    #[error("'{factor}' has one level ({level}) in these values; it cannot be tested")]
    OneLevel {
        /// The factor.
        factor: String,
        /// Its only level.
        level: String,
    },
    /// Occurs when one plot carries two levels of a factor.
    #[error(
        "{plot} has two levels of '{factor}' ({first} and {second}); a plot keeps its treatment"
    )]
    TwoLevels {
        /// The plot in words.
        plot: String,
        /// The factor.
        factor: String,
        /// One level.
        first: String,
        /// The other.
        second: String,
    },
    /// Occurs when a plot has several values where the design says one.
    #[error(
        "{plot} has {count} values{season}; one is expected unless the design declares vines inside plots"
    )]
    Duplicate {
        /// The plot in words.
        plot: String,
        /// Number of values.
        count: usize,
        /// " in season …" or nothing.
        season: String,
    },
    /// Occurs when a plot lacks a value in a season that others have.
    #[error("{0}: the set is unbalanced")]
    Unbalanced(String),
    /// Occurs when plots hold unequal numbers of vines.
    #[error("plots hold from {fewest} to {most} vines")]
    UnequalVines {
        /// Fewest vines in a plot and season.
        fewest: usize,
        /// Most.
        most: usize,
    },
    /// Occurs when a block design has too many or too few plots of a treatment in a block, when whole
    /// blocks have one treatment, and when factors always go together.
    #[error("{0}")]
    NotTheDesign(String),
    /// Occurs when the terms are not orthogonal for another reason.
    #[error(transparent)]
    Layout(#[from] LayoutError),
}

impl Classifier {
    /// A classifier from the level of each unit; levels come in the given order, those not in it
    /// behind them, and levels without a unit are left out.
    #[must_use]
    pub fn from_texts<S: AsRef<str>>(name: &str, units: &[S], order: &[String]) -> Self {
        let mut levels: Vec<String> = Vec::new();
        for known in order {
            if units.iter().any(|unit| unit.as_ref() == known) && !levels.contains(known) {
                levels.push(known.clone());
            }
        }
        let mut others: Vec<&str> = units.iter().map(AsRef::as_ref).collect();
        others.sort_unstable();
        others.dedup();
        for other in others {
            if !levels.iter().any(|level| level == other) {
                levels.push(other.to_owned());
            }
        }
        let number: BTreeMap<&str, usize> = levels
            .iter()
            .enumerate()
            .map(|(at, level)| (level.as_str(), at))
            .collect();
        let codes = units.iter().map(|unit| number[unit.as_ref()]).collect();
        Self {
            name: name.to_owned(),
            codes,
            levels,
        }
    }

    fn level(&self, unit: usize) -> &str {
        &self.levels[self.codes[unit]]
    }
}

/// The design columns of the values of one response, one entry a value.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Kind of design.
    pub kind: Kind,
    /// Blocks.
    pub block: Option<Classifier>,
    /// Rows of a Latin square.
    pub row: Option<Classifier>,
    /// Columns of a Latin square.
    pub column: Option<Classifier>,
    /// Plots; names may repeat from block to block.
    pub plot: Classifier,
    /// Seasons repeated on the same plots.
    pub season: Option<Classifier>,
    /// Every value is a vine, several to a plot.
    pub vines: bool,
    /// Treatment factors with what they were applied to.
    pub treatments: Vec<(Classifier, Applied)>,
    /// Gives blocks × seasons a stratum of its own, against which seasons are tested, instead of
    /// pooling it with the error within plots.
    pub block_by_season: bool,
}

/// A layout with the places of its parts.
#[derive(Debug, Clone)]
pub struct Design {
    /// The layout.
    pub layout: Layout,
    /// Classifiers of the treatment factors, in the order of the sheet.
    pub treatments: Vec<usize>,
    /// Classifier of the seasons.
    pub season: Option<usize>,
    /// Classifier of the blocks.
    pub block: Option<usize>,
    /// Stratum of the plots.
    pub plots: usize,
    /// Stratum of the seasons within plots.
    pub within_plots: Option<usize>,
    /// Stratum of the vines.
    pub vines: Option<usize>,
}

impl Sheet {
    /// The layout of this design.
    ///
    /// # Errors
    /// [`DesignError`] naming what is missing, doubled or contradictory.
    pub fn design(&self) -> Result<Design, DesignError> {
        self.check_factors()?;
        self.check_roles()?;
        let plots = self.plots();
        self.check_plots(&plots)?;
        self.check_seasons(&plots)?;
        self.check_groups(&plots)?;

        let mut classifiers = Vec::new();
        let mut put = |classifier: &Classifier| {
            classifiers.push(classifier.clone());
            classifiers.len() - 1
        };
        let treatments: Vec<usize> = self
            .treatments
            .iter()
            .map(|(factor, _)| put(factor))
            .collect();
        let season = self.season.as_ref().map(&mut put);
        let block = self.grouping_block().map(&mut put);
        let row = self.latin(&self.row).map(&mut put);
        let column = self.latin(&self.column).map(&mut put);
        let numbered = |name: &str, cells: &Cells| Classifier {
            name: name.to_owned(),
            levels: (1..=cells.count())
                .map(|number| number.to_string())
                .collect(),
            codes: cells.of_unit().to_vec(),
        };
        let plot = put(&numbered("plot", &plots));
        let single = put(&Classifier {
            name: "value".to_owned(),
            levels: (1..=self.plot.codes.len()).map(|n| n.to_string()).collect(),
            codes: (0..self.plot.codes.len()).collect(),
        });

        let mut blocks = Vec::new();
        let mut add = |name: &str, chosen: Vec<usize>, grouping: bool| {
            blocks.push(BlockTerm {
                name: name.to_owned(),
                classifiers: chosen,
                grouping,
            });
            blocks.len() - 1
        };
        for (group, name) in [
            (block, "Between blocks"),
            (row, "Between rows"),
            (column, "Between columns"),
        ] {
            if let Some(at) = group {
                add(name, vec![at], true);
            }
        }
        let inside = |roles: &[Applied]| -> Vec<usize> {
            let carried = self
                .treatments
                .iter()
                .zip(&treatments)
                .filter(|((_, applied), _)| roles.contains(applied))
                .map(|(_, &at)| at);
            block.into_iter().chain(carried).collect()
        };
        let whole = [Applied::WholePlot];
        let sub = [Applied::WholePlot, Applied::SubPlot];
        let plot_name = match self.kind {
            Kind::CompletelyRandomised | Kind::LatinSquare => "Between plots",
            Kind::RandomisedBlock => "Between plots within blocks",
            Kind::SplitPlot => {
                add("Between whole plots", inside(&whole), false);
                "Between sub plots"
            }
            Kind::StripPlot => {
                add("Between row strips", inside(&[Applied::RowStrip]), false);
                add(
                    "Between cross strips",
                    inside(&[Applied::CrossStrip]),
                    false,
                );
                "Between plots where strips cross"
            }
            Kind::SplitSplitPlot => {
                add("Between whole plots", inside(&whole), false);
                add("Between sub plots", inside(&sub), false);
                "Between sub-sub plots"
            }
        };
        let plots_at = add(plot_name, vec![plot], false);
        let mut within_plots = None;
        if let Some(season) = season {
            if let (true, Some(block)) = (self.block_by_season, block) {
                add("Blocks by seasons", vec![block, season], true);
            }
            within_plots = Some(add(
                "Between seasons within plots",
                vec![plot, season],
                false,
            ));
        }
        let vines = self
            .vines
            .then(|| add("Between vines within plots", vec![single], false));

        let layout = Layout::new(classifiers, &blocks, &treatment_terms(&treatments, season))?;
        Ok(Design {
            layout,
            treatments,
            season,
            block,
            plots: plots_at,
            within_plots,
            vines,
        })
    }

    fn grouping_block(&self) -> Option<&Classifier> {
        match self.kind {
            Kind::CompletelyRandomised | Kind::LatinSquare => None,
            _ => self.block.as_ref(),
        }
    }

    fn latin<'a>(&self, classifier: &'a Option<Classifier>) -> Option<&'a Classifier> {
        match self.kind {
            Kind::LatinSquare => classifier.as_ref(),
            _ => None,
        }
    }

    /// The plots: a plot is its name inside its block, row and column.
    fn plots(&self) -> Cells {
        let groups = [&self.block, &self.row, &self.column];
        let columns = groups
            .iter()
            .filter_map(|group| group.as_ref())
            .chain([&self.plot])
            .map(|classifier| classifier.codes.as_slice());
        Cells::crossing(self.plot.codes.len(), columns)
    }

    pub(crate) fn plot_words(&self, unit: usize) -> String {
        let block = self
            .block
            .as_ref()
            .map(|block| ("block", block.level(unit)));
        names::plot(self.plot.level(unit), block.into_iter())
    }

    pub(crate) fn treatment_words(&self, unit: usize) -> String {
        let parts: Vec<String> = self
            .treatments
            .iter()
            .map(|(factor, _)| format!("{} {}", factor.name, factor.level(unit)))
            .collect();
        parts.join(", ")
    }

    /// Plots by their treatment combination.
    pub(crate) fn combinations(&self) -> Cells {
        Cells::crossing(
            self.plot.codes.len(),
            self.treatments
                .iter()
                .map(|(factor, _)| factor.codes.as_slice()),
        )
    }
}

/// Every crossing of the treatment factors, margins first, then each of them with the season.
fn treatment_terms(treatments: &[usize], season: Option<usize>) -> Vec<Vec<usize>> {
    let mut subsets: Vec<Vec<usize>> = (1_usize..1 << treatments.len())
        .map(|mask| {
            (0..treatments.len())
                .filter(|bit| mask & (1 << bit) != 0)
                .map(|bit| treatments[bit])
                .collect()
        })
        .collect();
    subsets.sort_by(|a: &Vec<usize>, b| a.len().cmp(&b.len()).then(a.cmp(b)));
    if let Some(season) = season {
        let crossed: Vec<Vec<usize>> = subsets
            .iter()
            .map(|subset| subset.iter().copied().chain([season]).collect())
            .collect();
        subsets.push(vec![season]);
        subsets.extend(crossed);
    }
    subsets
}
