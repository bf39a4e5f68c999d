//! From the request to the values of one response with their places in the design.
//!
//! Nothing has to be complete here: values that are not recorded are simply not there.

use caneplot_numerics::cells::Cells;
use caneplot_numerics::names;
use caneplot_numerics::strata::Classifier;
use caneplot_plugin::request::{DesignKind, Factor, Response, Role};
use caneplot_plugin::words::list;
use caneplot_plugin::{Call, Refusal, Table};

/// Units of the design, coarse to fine.
#[derive(Debug, Clone)]
pub(crate) struct Stratum {
    /// One of them in words: "whole plot".
    pub noun: &'static str,
    /// The unit of each row.
    pub codes: Vec<usize>,
    /// Only groups units (blocks, rows, columns): nothing is applied to it.
    pub grouping: bool,
}

/// The rows of a table that have a value of the response.
#[derive(Debug, Clone)]
pub(crate) struct Rows {
    /// Values, centred on the offset.
    pub values: Vec<f64>,
    /// The level of each factor of the trial.
    pub factors: Vec<Classifier>,
    /// Seasons, where there are several.
    pub season: Option<Classifier>,
    pub strata: Vec<Stratum>,
    /// Each row's plot in words.
    pub plot_names: Vec<String>,
}

impl Rows {
    /// The values of a response in the plots.
    pub fn of(call: &Call, response: &Response) -> Result<Self, Refusal> {
        let trial = &call.request.trial;
        let table = call.table("plots")?;
        let column = table.numbers(&response.name)?;
        let rows: Vec<usize> = (0..table.rows)
            .filter(|&row| column[row].is_some())
            .collect();
        if rows.is_empty() {
            return Err(Refusal::new("there is no value at all").column(&response.name));
        }
        let read = |name: &str| -> Result<Option<Classifier>, Refusal> {
            if !table.has(name) {
                return Ok(None);
            }
            let texts = texts(table, name, &rows)?;
            Ok(Some(Classifier::from_texts(name, &texts, &[])))
        };
        let factors = trial
            .factors
            .iter()
            .map(|factor| levels(table, factor, &rows))
            .collect::<Result<Vec<_>, _>>()?;
        let season = match trial.design.season && table.has("season") {
            true => {
                let texts = texts(table, "season", &rows)?;
                Some(Classifier::from_texts("season", &texts, &trial.seasons))
                    .filter(|season| season.levels.len() > 1)
            }
            false => None,
        };
        let places = Places {
            block: read("block")?,
            row: read("row")?,
            column: read("column")?,
            plot: Classifier::from_texts("plot", &texts(table, "plot", &rows)?, &[]),
        };
        Ok(Self {
            values: rows.iter().filter_map(|&row| column[row]).collect(),
            strata: places.strata(trial.design.kind, &trial.factors, &factors)?,
            plot_names: (0..rows.len()).map(|row| places.words(row)).collect(),
            factors,
            season,
        })
    }

    /// Number of rows.
    pub fn len(&self) -> usize {
        self.values.len()
    }

    /// The rows for which this holds.
    pub fn only(&self, keep: impl Fn(usize) -> bool) -> Self {
        let rows: Vec<usize> = (0..self.len()).filter(|&row| keep(row)).collect();
        let pick = |codes: &[usize]| rows.iter().map(|&row| codes[row]).collect::<Vec<_>>();
        let part = |classifier: &Classifier| Classifier {
            codes: pick(&classifier.codes),
            ..classifier.clone()
        };
        Self {
            values: rows.iter().map(|&row| self.values[row]).collect(),
            factors: self.factors.iter().map(part).collect(),
            season: self.season.as_ref().map(part),
            strata: self
                .strata
                .iter()
                .map(|stratum| Stratum {
                    codes: pick(&stratum.codes),
                    ..stratum.clone()
                })
                .collect(),
            plot_names: rows
                .iter()
                .map(|&row| self.plot_names[row].clone())
                .collect(),
        }
    }

    /// Cells of these columns.
    pub fn crossed(&self, columns: &[&[usize]]) -> Cells {
        Cells::crossing(self.len(), columns.iter().copied())
    }

    /// The finest stratum: single plots.
    pub fn plots(&self) -> usize {
        self.strata.len() - 1
    }

    /// The coarsest stratum whose units each have one level of all these factors.
    pub fn stratum_of(&self, factors: &[usize]) -> usize {
        let chosen: Vec<&[usize]> = factors
            .iter()
            .map(|&at| self.factors[at].codes.as_slice())
            .collect();
        let cells = self.crossed(&chosen);
        self.strata
            .iter()
            .position(|stratum| {
                !stratum.grouping && self.crossed(&[&stratum.codes]).refines(&cells)
            })
            .unwrap_or_else(|| self.plots())
    }
}

/// The design columns.
struct Places {
    block: Option<Classifier>,
    row: Option<Classifier>,
    column: Option<Classifier>,
    plot: Classifier,
}

impl Places {
    fn words(&self, row: usize) -> String {
        let plot = &self.plot.levels[self.plot.codes[row]];
        let block = self.block.iter();
        let block = block.map(|of| ("block", of.levels[of.codes[row]].as_str()));
        names::plot(plot, block)
    }

    fn strata(
        &self,
        kind: DesignKind,
        factors: &[Factor],
        levels: &[Classifier],
    ) -> Result<Vec<Stratum>, Refusal> {
        let rows = self.plot.codes.len();
        let block = || needed(kind, "block", self.block.as_ref());
        // Units in a block that share the levels of factors with these roles.
        let inside = |roles: &[Role], noun: &'static str| -> Result<Stratum, Refusal> {
            let shared = factors
                .iter()
                .zip(levels)
                .filter(|(factor, _)| roles.contains(&factor.role))
                .map(|(_, level)| level.codes.as_slice());
            let columns: Vec<&[usize]> = std::iter::once(block()?.codes.as_slice())
                .chain(shared)
                .collect();
            Ok(Stratum {
                noun,
                codes: Cells::crossing(rows, columns).of_unit().to_vec(),
                grouping: false,
            })
        };
        let grouping = |of: &Classifier, noun: &'static str| Stratum {
            noun,
            codes: of.codes.clone(),
            grouping: true,
        };
        let whole = Role::WholePlot;
        let mut strata = match kind {
            DesignKind::CompletelyRandomised => Vec::new(),
            DesignKind::RandomisedBlock => vec![grouping(block()?, "block")],
            DesignKind::LatinSquare => vec![
                grouping(needed(kind, "row", self.row.as_ref())?, "row"),
                grouping(needed(kind, "column", self.column.as_ref())?, "column"),
            ],
            DesignKind::SplitPlot => {
                vec![grouping(block()?, "block"), inside(&[whole], "whole plot")?]
            }
            DesignKind::StripPlot => vec![
                grouping(block()?, "block"),
                inside(&[Role::RowStrip], "row strip")?,
                inside(&[Role::CrossStrip], "cross strip")?,
            ],
            DesignKind::SplitSplitPlot => vec![
                grouping(block()?, "block"),
                inside(&[whole], "whole plot")?,
                inside(&[whole, Role::SubPlot], "sub plot")?,
            ],
        };
        let places = [&self.block, &self.row, &self.column];
        let plots = places
            .iter()
            .filter_map(|place| place.as_ref())
            .chain([&self.plot])
            .map(|place| place.codes.as_slice());
        strata.push(Stratum {
            noun: "plot",
            codes: Cells::crossing(rows, plots).of_unit().to_vec(),
            grouping: false,
        });
        Ok(strata)
    }
}

fn needed<'a>(
    kind: DesignKind,
    name: &str,
    column: Option<&'a Classifier>,
) -> Result<&'a Classifier, Refusal> {
    column.ok_or_else(|| {
        let design = match kind {
            DesignKind::LatinSquare => "Latin square",
            DesignKind::SplitPlot => "split plot",
            DesignKind::StripPlot => "strip plot",
            DesignKind::SplitSplitPlot => "split-split plot",
            _ => "randomised block design",
        };
        Refusal::new(format!("a {design} needs the column '{name}'"))
            .column(name)
            .hint("name the column under [design] in trial.toml")
    })
}

/// The names in a design column at these rows.
fn texts(table: &Table, name: &str, rows: &[usize]) -> Result<Vec<String>, Refusal> {
    let column = table.texts(name)?;
    rows.iter()
        .map(|&row| {
            column[row].clone().ok_or_else(|| {
                Refusal::new(format!(
                    "the column '{name}' of the plots has an empty cell"
                ))
                .column(name)
                .rows(vec![row])
            })
        })
        .collect()
}

fn levels(table: &Table, factor: &Factor, rows: &[usize]) -> Result<Classifier, Refusal> {
    let order: Vec<String> = factor
        .levels
        .iter()
        .map(|level| level.name.clone())
        .collect();
    let texts = texts(table, &factor.name, rows)?;
    match texts.iter().find(|level| !order.contains(level)) {
        Some(unknown) => Err(Refusal::new(format!(
            "'{unknown}' is not a level of the factor '{}'",
            factor.name
        ))
        .column(&factor.name)
        .hint(format!("the levels declared are {}", list(&order)))),
        None => Ok(Classifier::from_texts(&factor.label, &texts, &order)),
    }
}
