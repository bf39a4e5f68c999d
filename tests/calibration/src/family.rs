//! How often at least one of a family of comparisons is declared different where none is.

use caneplot_numerics::contrasts::{Compared, Plots};
use caneplot_numerics::distribution::t_critical;
use caneplot_numerics::dunnett::{Dunnett, Sides};
use caneplot_numerics::range::StudentizedRange;
use caneplot_numerics::separation::{Difference, holm};

use crate::loss::Loss;
use crate::null::LEVEL;
use crate::plan::Plan;
use crate::table::{Row, Table};
use crate::tally::{Outcome, Run, Tally, tallies};

/// Joint errors of the ways to compare the treatments of a randomised block design.
#[derive(Debug, Clone, Copy)]
pub struct Joint {
    /// All pairs by Tukey's studentized range, Kramer's form where plots are lost.
    pub tukey: Tally,
    /// All with the first by Dunnett, correlations from the numbers of plots.
    pub dunnett: Tally,
    /// All pairs by Holm.
    pub holm: Tally,
    /// All pairs by the least significant difference after an F at 5 %.
    pub protected: Tally,
    /// The same without asking for F.
    pub unprotected: Tally,
}

const FIGURES: usize = 5;

/// Differences of pairs of treatments, by place.
fn differences(
    plots: &Plots,
    compared: &Compared,
    values: &[f64],
    pairs: &[(usize, usize)],
) -> Option<(Vec<Difference>, f64)> {
    let errors = plots.errors(&[values]).ok()?;
    let all: Option<Vec<Difference>> = pairs
        .iter()
        .map(|&(first, second)| {
            let found = plots.difference(&errors, compared, first, second).ok()?;
            Some(Difference {
                value: found.values[0],
                standard_error: found.standard_error(0),
                df: found.df[0],
            })
        })
        .collect();
    Some((all?, plots.test(&errors, compared, 0)?.p))
}

/// The joint errors when a trial loses some plots.
#[must_use]
pub fn joint(run: Run, loss: Loss) -> Joint {
    let plan = Plan::blocks();
    let units = plan.units();
    let treatments = plan.levels[0];
    let pairs: Vec<(usize, usize)> = (0..treatments)
        .flat_map(|second| (0..second).map(move |first| (first, second)))
        .collect();
    let lost = match loss {
        Loss::Nothing => 0,
        Loss::TwoPlots => 2,
        Loss::DeadRow => 3,
    };
    let df = ((plan.blocks - 1) * (treatments - 1) - lost) as f64;
    let critical = StudentizedRange::new(treatments, df)
        .and_then(|range| range.quantile(LEVEL))
        .map(|q| q / std::f64::consts::SQRT_2)
        .ok();
    let least = t_critical(LEVEL, df).ok();
    let found = tallies(run, "families", FIGURES, |stream| {
        let all = plan.errors(&units, stream);
        let left = loss.left(&plan, &units, stream);
        let (units, values) = units.kept(&all, |unit| left[unit]);
        let found = (|| {
            let plots = Plots::new(&plan.sheet(&units), None).ok()?;
            let compared = plots.compared(&[0]).ok()?;
            let (differences, p) = differences(&plots, &compared, &values, &pairs)?;
            let t: Option<Vec<f64>> = differences
                .iter()
                .map(|difference| Some(difference.t().ok()?.abs()))
                .collect();
            let t = t?;
            let most = t.iter().copied().fold(0.0, f64::max);
            let control = pairs
                .iter()
                .zip(&t)
                .filter(|((first, _), _)| *first == 0)
                .fold(0.0, |most: f64, (_, t)| most.max(*t));
            let dunnett =
                Dunnett::for_replicates(compared.plots[0], &compared.plots[1..], df, Sides::Both)
                    .ok()?;
            let alone: Option<Vec<f64>> = differences
                .iter()
                .map(|difference| difference.alone().ok())
                .collect();
            let adjusted = holm(&alone?).ok()?;
            Some([
                most > critical?,
                dunnett.upper(control).ok()? <= LEVEL,
                adjusted.iter().any(|p| *p <= LEVEL),
                p <= LEVEL && most > least?,
                most > least?,
            ])
        })();
        (0..FIGURES)
            .map(|at| Outcome::of(found.map(|found| found[at])))
            .collect()
    });
    Joint {
        tukey: found[0],
        dunnett: found[1],
        holm: found[2],
        protected: found[3],
        unprotected: found[4],
    }
}

/// The table of all losses.
#[must_use]
pub fn table(run: Run) -> Table {
    let rows = Loss::ALL.map(|loss| {
        let j = joint(run, loss);
        Row {
            labels: vec![loss.words().to_owned()],
            tallies: vec![j.tukey, j.dunnett, j.holm, j.protected, j.unprotected],
        }
    });
    Table {
        title: "At least one of several comparisons declared different, six treatments alike",
        labels: vec!["plots"],
        figures: vec![
            ("Tukey, 15 pairs", Some(LEVEL)),
            ("Dunnett, 5 with a control", Some(LEVEL)),
            ("Holm, 15 pairs", Some(LEVEL)),
            ("LSD after F", Some(LEVEL)),
            ("LSD without F", None),
        ],
        rows: rows.to_vec(),
    }
}
