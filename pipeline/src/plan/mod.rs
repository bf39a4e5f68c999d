//! Planning a trial: from a short plan file to a randomised layout on real vine positions and a
//! whole trial folder that waits for its records.
//!
//! ```text
//! trial::resolve::plan   the plan file, every mistake at its line      (reading shares the trial's tools)
//! field      rows, positions, gaps, guards
//! place      plots on vine positions: no plot crosses the end of a row
//! chance     one stream of random numbers a try                        square: Latin squares
//! draw       the design's randomisation over the placed plots
//! skeleton   sources of variation and their degrees of freedom
//! judge      what the plan cannot answer (errors) and should think over (cautions)
//! records    visits, responses and the sheets they need
//! folder     trial.toml, layout.csv, sheets, workbooks, map, labels, README
//! ```
//!
//! The same plan gives the same bytes on any machine.

use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

use caneplot_plugin::request::{DesignKind, Role};

use crate::diagnostic::{Diagnostic, Place, Source};
use crate::trial::{Factor, Response, Vineyard, Written};

pub mod chance;
pub mod draw;
pub mod field;
pub mod folder;
pub mod judge;
pub mod place;
pub mod records;
pub mod skeleton;
pub mod square;
#[cfg(test)]
mod tests;

pub use field::{Field, Gaps, Gradient, Lie, VineRow};
pub use place::Site;
pub use records::Records;

/// A plan as written, every name understood.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The text of the plan file, for diagnostics and for the record.
    pub source: Arc<Source>,
    /// Title.
    pub title: String,
    /// Question.
    pub question: String,
    /// Seasons in order; empty for a trial of one unnamed season.
    pub seasons: Vec<String>,
    /// Where they are written.
    pub seasons_span: Range<usize>,
    /// Site, variety … in the order written.
    pub about: Vec<(String, String)>,
    /// Geometry.
    pub vineyard: Vineyard,
    /// The lengths of the geometry as they were written: key and text.
    pub lengths: Vec<(String, String)>,
    /// Kind of design.
    pub kind: Written<DesignKind>,
    /// Blocks; plots of each treatment in a completely randomised design; for a Latin square the
    /// number of rows, which is the number of treatments.
    pub blocks: Written<u32>,
    /// Vines recorded in a plot.
    pub vines: Written<u32>,
    /// Vines between the recorded ones and the plot's edge, at each end.
    pub buffers: u32,
    /// Whether the same treatment is kept from standing side by side in neighbouring blocks.
    pub apart: Option<Written<bool>>,
    /// Factors in the order written.
    pub factors: Vec<Factor>,
    /// The vineyard's rows; `None` where the plan does not describe them.
    pub field: Option<Field>,
    /// What is recorded, when.
    pub records: Records,
    /// What is recorded before the treatments begin.
    pub covariates: Vec<Response>,
    /// What its size is to be reckoned with.
    pub size: Vec<Wanted>,
    /// Seed of the layout.
    pub seed: u64,
    /// Where `seed = …` would be inserted in the text that lacks it.
    pub seed_goes: Option<usize>,
}

/// One thing that the size of a trial is reckoned with.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// Its key.
    pub name: &'static str,
    /// Its value: a number or a text.
    pub value: serde_json::Value,
    /// Where it is written.
    pub span: Range<usize>,
}

/// A level combination: the level of each factor, in the order of the factors.
pub type Treatment = Vec<usize>;

impl Plan {
    /// The place of a span of the plan file.
    #[must_use]
    pub fn place(&self, span: &Range<usize>) -> Place {
        Place::Span {
            source: Arc::clone(&self.source),
            start: span.start,
            end: span.end,
        }
    }

    /// Factors with a role, by their place in the list.
    #[must_use]
    pub fn with_role(&self, role: Role) -> Vec<usize> {
        (0..self.factors.len())
            .filter(|&at| self.factors[at].role == role)
            .collect()
    }

    /// The combinations of levels of the factors with a role, the last factor varying fastest.
    #[must_use]
    pub fn combinations(&self, role: Role) -> Vec<Vec<(usize, usize)>> {
        let mut all = vec![Vec::new()];
        for factor in self.with_role(role) {
            let levels = 0..self.factors[factor].levels.len();
            all = all
                .into_iter()
                .flat_map(|start: Vec<(usize, usize)>| {
                    levels
                        .clone()
                        .map(move |level| [start.as_slice(), &[(factor, level)]].concat())
                })
                .collect();
        }
        all
    }

    /// Number of combinations of the factors with a role; 1 where no factor has it.
    #[must_use]
    pub fn count(&self, role: Role) -> usize {
        self.with_role(role)
            .iter()
            .map(|&factor| self.factors[factor].levels.len())
            .product()
    }

    /// Number of treatment combinations.
    #[must_use]
    pub fn treatments(&self) -> usize {
        self.factors
            .iter()
            .map(|factor| factor.levels.len())
            .product()
    }

    /// A treatment in words: "24 nodes/vine, SC".
    #[must_use]
    pub fn words(&self, treatment: &[usize]) -> String {
        let parts: Vec<String> = self
            .factors
            .iter()
            .zip(treatment)
            .map(|(factor, &level)| {
                let level = &factor.levels[level];
                match &factor.unit {
                    Some(unit) if level.value.is_some() => format!("{} {unit}", level.name),
                    _ if level.value.is_some() => format!("{} {}", factor.label, level.name),
                    _ => level.label.clone(),
                }
            })
            .collect();
        parts.join(", ")
    }

    /// A treatment as short as it stands in the data: "24", "SC 40".
    #[must_use]
    pub fn code(&self, treatment: &[usize]) -> String {
        let parts: Vec<&str> = self
            .factors
            .iter()
            .zip(treatment)
            .map(|(factor, &level)| factor.levels[level].name.as_str())
            .collect();
        parts.join(" ")
    }
}

/// A plan laid out.
#[derive(Debug, Clone)]
pub struct Layout {
    /// The plan.
    pub plan: Plan,
    /// The rows it was laid out on, described or made up.
    pub field: Field,
    /// Plots in the order of their numbers.
    pub plots: Vec<Plot>,
    /// What should be thought over.
    pub cautions: Vec<Diagnostic>,
    /// Layouts drawn before one kept the same treatments apart, that one included.
    pub tries: u64,
}

/// A plot with its place and treatment.
#[derive(Debug, Clone)]
pub struct Plot {
    /// Its number, unlike any other in the trial.
    pub number: u32,
    /// Its place.
    pub site: Site,
    /// Its treatment.
    pub treatment: Treatment,
}

impl Layout {
    /// Name of a block as it stands in the data.
    #[must_use]
    pub fn block_name(block: usize) -> String {
        format!("B{}", block + 1)
    }

    /// Whether the design has blocks.
    #[must_use]
    pub fn has_blocks(&self) -> bool {
        !matches!(
            self.plan.kind.value,
            DesignKind::CompletelyRandomised | DesignKind::LatinSquare
        )
    }

    /// Number of groups that sheets, pages and the map are divided into: blocks, or rows of a
    /// Latin square, or one.
    #[must_use]
    pub fn groups(&self) -> usize {
        self.plots
            .iter()
            .map(|plot| self.group(plot) + 1)
            .max()
            .unwrap_or(0)
    }

    /// The group of a plot.
    #[must_use]
    pub fn group(&self, plot: &Plot) -> usize {
        match self.plan.kind.value {
            DesignKind::LatinSquare => plot.site.line,
            _ => plot.site.block,
        }
    }

    /// Name of a group: "B2", "Row 3", "All".
    #[must_use]
    pub fn group_name(&self, group: usize) -> String {
        match self.plan.kind.value {
            DesignKind::LatinSquare => format!("R{}", group + 1),
            DesignKind::CompletelyRandomised => "All plots".to_owned(),
            _ => Self::block_name(group),
        }
    }
}

/// The layout of a plan file.
///
/// # Errors
/// Every mistake of the file; or what the design, the vineyard or the constraint makes impossible.
pub fn laid_out(path: &Path) -> Result<Layout, Vec<Diagnostic>> {
    laid_out_from(crate::trial::resolve::plan::source(path).map_err(|fault| vec![fault])?)
}

/// The layout of the text of a plan.
///
/// # Errors
/// As [`laid_out`].
pub fn laid_out_from(source: Arc<Source>) -> Result<Layout, Vec<Diagnostic>> {
    let plan = crate::trial::resolve::plan::read(source)?;
    judge::impossible(&plan)?;
    let field = match &plan.field {
        Some(field) => field.clone(),
        None => field::made_up(&plan),
    };
    let sites = place::sites(&plan, &field)?;
    let drawn = draw::drawn(&plan, &field, &sites).map_err(|fault| vec![*fault])?;
    let plots: Vec<Plot> = sites
        .into_iter()
        .zip(drawn.treatments)
        .map(|(site, treatment)| Plot {
            number: place::number(plan.kind.value, &site),
            site,
            treatment,
        })
        .collect();
    let mut layout = Layout {
        plan,
        field,
        plots,
        cautions: Vec::new(),
        tries: drawn.tries,
    };
    layout.cautions = judge::cautions(&layout);
    Ok(layout)
}
