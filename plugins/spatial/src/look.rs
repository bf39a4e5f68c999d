//! One response looked at: its residuals on the map, slopes, neighbours, and treatments with and
//! without the place of plots.

use caneplot_numerics::design::Sheet;
use caneplot_numerics::mixed::kenward_roger::{Estimate, FTest};
use caneplot_numerics::random::Streams;
use caneplot_numerics::spatial::{Ground, Likeness, Place, SpatialError, Surface, patches};
use caneplot_numerics::sum::mean;
use caneplot_plugin::request::{Response, TrialInfo};
use caneplot_plugin::words::{decimals, inside};
use caneplot_plugin::{Call, Refusal};
use caneplot_readings::{Occasion, occasions};

use crate::field::Field;
use crate::options::{Options, Trend};

/// What changes from one end of the trial to the other, along one way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Slope {
    /// Of the fitted straight line, over the whole way.
    pub change: f64,
    pub error: f64,
    pub test: FTest,
}

/// One way through the field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Way {
    pub from: f64,
    pub to: f64,
    /// `None` where blocks (and treatments) take up everything along this way.
    pub slope: Option<Slope>,
}

/// A difference of a treatment from the one it is compared with.
pub(crate) struct Difference {
    pub factor: usize,
    pub level: usize,
    pub without: Estimate,
    pub with: Estimate,
}

/// Levels of a factor compared.
pub(crate) struct Compared {
    pub factor: usize,
    /// The level others are compared with.
    pub base: usize,
    pub without: FTest,
    pub with: FTest,
}

/// A response with all that was found.
pub(crate) struct Look<'a> {
    pub trial: &'a TrialInfo,
    pub response: &'a Response,
    /// The plots used, as numbers of the register.
    pub plots: Vec<usize>,
    pub places: Vec<Place>,
    /// As recorded.
    pub values: Vec<f64>,
    /// Values less what treatments make.
    pub untreated: Vec<f64>,
    pub residuals: Vec<f64>,
    pub df: usize,
    pub seasons: Vec<usize>,
    pub left_out: Vec<usize>,
    /// Across rows, then along them.
    pub ways: [Way; 2],
    pub straight: Option<FTest>,
    pub curved: Option<FTest>,
    /// Neighbours in the row, across rows, both.
    pub likeness: Vec<Option<Likeness>>,
    pub compared: Vec<Compared>,
    pub differences: Vec<Difference>,
    /// Error variance of a plot without and with the place.
    pub errors: [f64; 2],
    pub exchanged_in_groups: bool,
    pub larger_units: bool,
    pub decimals: u8,
}

impl<'a> Look<'a> {
    /// The look at a response.
    pub fn new(
        call: &'a Call,
        field: &Field<'_>,
        options: &Options,
        response: &'a Response,
    ) -> Result<Self, Refusal> {
        let trial = &call.request.trial;
        let Occasion {
            seasons,
            plots,
            columns,
            left_out,
            ..
        } = occasion(call, field, response)?;
        let column = columns.into_iter().next().unwrap_or_default();
        let (plots, values): (Vec<usize>, Vec<f64>) = plots
            .into_iter()
            .zip(column)
            .filter(|(plot, _)| field.places[*plot].is_some())
            .unzip();
        let places: Vec<Place> = plots
            .iter()
            .filter_map(|&plot| field.places[plot])
            .collect();
        if values.len() < 3 {
            return Err(Refusal::new(
                "fewer than three plots have both a place and a value in every season",
            ));
        }
        let sheet = field.register.sheet(&plots);
        let ground = Ground::of(&sheet);
        let streams = Streams::new(call.request.seed, "patches of the field");
        let sets = field.pairs_of(&plots);
        let likeness =
            patches(&ground, &values, &sets, options.exchanges, &streams).map_err(refused)?;
        let (residuals, df) = ground.residuals(&values);

        let across: Vec<f64> = places.iter().map(|place| place.row).collect();
        let along: Vec<f64> = places.iter().map(Place::middle).collect();
        let squares = [square(&across), square(&along)];
        let plain = Surface::new(&ground, &values, &[]).map_err(refused)?;
        let linear: [&[f64]; 2] = [&across, &along];
        let quadratic: [&[f64]; 4] = [&across, &along, &squares[0], &squares[1]];
        let sloped = Surface::new(&ground, &values, &linear).ok();
        let bent = Surface::new(&ground, &values, &quadratic).ok();
        let way = |at: usize, of: &[f64]| {
            let (from, to) = ends(of);
            Way {
                from,
                to,
                slope: sloped.as_ref().and_then(|surface| {
                    let estimate = surface.slope(at)?;
                    Some(Slope {
                        change: estimate.value * (to - from),
                        error: estimate.standard_error * (to - from),
                        test: surface.test(at..at + 1)?,
                    })
                }),
            }
        };
        let with = match options.field_trend {
            Trend::Linear => &sloped,
            Trend::Quadratic => &bent,
        };
        let (compared, differences) = match with {
            Some(with) => treatments(trial, &sheet, &ground, [&plain, with]),
            None => (Vec::new(), Vec::new()),
        };
        let errors = differences.iter().map(|one| one.without.standard_error);
        Ok(Self {
            response,
            trial,
            untreated: plain.without_treatments(&ground, &values),
            values: values.iter().map(|value| response.offset + value).collect(),
            residuals,
            df,
            seasons,
            left_out,
            ways: [way(0, &across), way(1, &along)],
            straight: sloped.as_ref().and_then(|surface| surface.test(0..2)),
            curved: bent.as_ref().and_then(|surface| surface.test(2..4)),
            likeness,
            errors: [
                plain.error_variance(),
                with.as_ref()
                    .map_or_else(|| plain.error_variance(), Surface::error_variance),
            ],
            decimals: decimals(response, errors),
            compared,
            differences,
            exchanged_in_groups: ground.exchanged_in_groups(),
            larger_units: ground.has_larger_units(),
            plots,
            places,
        })
    }

    /// The tests of slope and bend that there are.
    pub fn trend(&self) -> impl Iterator<Item = &FTest> {
        self.straight.iter().chain(&self.curved)
    }

    /// Whether a straight slope is clear.
    pub fn has_slope(&self, level: f64) -> bool {
        self.straight.is_some_and(|test| test.p < level)
    }

    /// Whether a bend is clear.
    pub fn has_bend(&self, level: f64) -> bool {
        self.curved.is_some_and(|test| test.p < level)
    }

    /// Likeness of all neighbours.
    pub fn patches(&self) -> Option<&Likeness> {
        self.likeness.last().and_then(Option::as_ref)
    }

    /// Whether neighbours are clearly alike.
    pub fn has_patches(&self, level: f64) -> bool {
        self.patches().is_some_and(|likeness| likeness.p < level)
    }

    /// The response as it stands in a sentence.
    pub fn name(&self) -> String {
        inside(&self.response.label)
    }

    /// Its unit as printed.
    pub fn unit(&self) -> &str {
        caneplot_plugin::words::unit(self.response)
    }
}

/// One value a plot: the mean of its seasons.
fn occasion(call: &Call, field: &Field<'_>, response: &Response) -> Result<Occasion, Refusal> {
    let table = call.table("plots")?;
    let column = table.numbers(&response.name)?;
    let register = &field.register;
    let mut records = vec![vec![None; register.seasons()]; register.plots()];
    for ((plot, season), value) in register.rows(table)?.into_iter().zip(column) {
        records[plot][season] = value.map(|value| vec![value]);
    }
    let all = occasions(&records).into_iter().next();
    all.filter(|all| !all.plots.is_empty()).ok_or_else(|| {
        Refusal::new("no plot has a value in every season that others have")
            .column(&response.name)
            .hint("fill in the values if they exist")
    })
}

fn refused(error: SpatialError) -> Refusal {
    Refusal::new(error.to_string())
}

fn ends(values: &[f64]) -> (f64, f64) {
    values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &v| {
            (low.min(v), high.max(v))
        })
}

/// Squares about the mean, so that they say what a straight line does not.
fn square(values: &[f64]) -> Vec<f64> {
    let middle = mean(values).unwrap_or_default();
    values
        .iter()
        .map(|value| (value - middle).powi(2))
        .collect()
}

/// Every factor whose levels all have means, with its differences from the control or first level.
fn treatments(
    trial: &TrialInfo,
    sheet: &Sheet,
    ground: &Ground,
    [plain, with]: [&Surface; 2],
) -> (Vec<Compared>, Vec<Difference>) {
    let (mut compared, mut differences) = (Vec::new(), Vec::new());
    for (factor, about) in trial.factors.iter().enumerate() {
        // A declared level that no plot has is none of the sheet's.
        let known = &sheet.treatments[factor].0.levels;
        let margins: Vec<(usize, Vec<f64>)> = about
            .levels
            .iter()
            .enumerate()
            .filter_map(|(level, about)| {
                let at = known.iter().position(|name| *name == about.name)?;
                Some((level, ground.margin(factor, at)?))
            })
            .collect();
        if margins.is_empty() {
            continue;
        }
        let control = |(level, _): &(usize, Vec<f64>)| {
            about.control.as_ref() == Some(&about.levels[*level].name)
        };
        let base = margins.iter().position(control).unwrap_or(0);
        let means: Vec<Vec<f64>> = margins.iter().map(|(_, margin)| margin.clone()).collect();
        let (Some(without), Some(tested)) = (plain.differences(&means), with.differences(&means))
        else {
            continue;
        };
        compared.push(Compared {
            factor,
            base: margins[base].0,
            without,
            with: tested,
        });
        for (level, margin) in margins
            .iter()
            .filter(|(level, _)| *level != margins[base].0)
        {
            let from = &margins[base].1;
            let pair = (
                plain.difference(from, margin),
                with.difference(from, margin),
            );
            if let (Some(without), Some(with)) = pair {
                differences.push(Difference {
                    factor,
                    level: *level,
                    without,
                    with,
                });
            }
        }
    }
    (compared, differences)
}
