//! The model of one set of counts: its family, its random terms, its fit and its tests.

use caneplot_numerics::counts::{
    CountError, Counts, Family, Fit, Grouping, Integration, containment_df, fit,
};

use crate::effects::{Strata, Tested, reachable, tested};
use crate::frame::Frame;
use crate::spread::{OVERDISPERSED, dispersion, widening};
use crate::terms::{Term, stratum, terms};

/// Points of quadrature where one random term is to be integrated out.
const POINTS: usize = 25;

/// The numbers of a set.
#[derive(Debug, Clone)]
pub struct Numbers {
    /// Counts.
    pub counts: Vec<f64>,
    /// Totals, or what the counts were counted on.
    pub sizes: Vec<f64>,
}

/// A test of a term.
#[derive(Debug, Clone, PartialEq)]
pub struct TermTest {
    /// The term.
    pub term: Term,
    /// Its degrees of freedom.
    pub df: f64,
    /// Degrees of freedom of the units it was applied to.
    pub error_df: f64,
    /// F, with widened standard errors, or from the likelihood ratio where estimates run away.
    pub f: f64,
    /// P of F.
    pub probability: f64,
    /// Likelihood ratio.
    pub ratio: f64,
    /// P of the ratio as chi-square.
    pub chi_square: f64,
}

/// A set of counts as modelled.
#[derive(Debug, Clone)]
pub struct Modelled {
    /// The fit on cells.
    pub fit: Fit,
    /// The family used.
    pub family: Family,
    /// Pearson's statistic over its degrees of freedom, units taken as fixed.
    pub dispersion: f64,
    /// Those degrees of freedom.
    pub dispersion_df: usize,
    /// A random effect for each count was added because of it.
    pub plot_effect: bool,
    /// Cells with counts of 0 throughout, or with whole totals throughout.
    pub separated: Vec<usize>,
    /// Whether quadrature was used.
    pub quadrature: bool,
    /// The negative binomial was asked for and had no extra variance to describe.
    pub fell_to_poisson: bool,
    /// Degrees of freedom of the error by stratum, single counts last.
    pub df: Vec<usize>,
    /// Factor on variances by stratum, see [`widening`].
    pub widening: Vec<f64>,
    /// Tests of terms; empty where cells lack counts.
    pub tests: Vec<TermTest>,
}

/// Why there is no model of a set.
#[derive(Debug, Clone, PartialEq)]
pub enum NoModel {
    /// No treatment varies.
    OneTreatment,
    /// There is nothing to tell treatments from plots by.
    Unreplicated,
    /// The engine says why.
    Counts(CountError),
}

impl From<CountError> for NoModel {
    fn from(error: CountError) -> Self {
        NoModel::Counts(error)
    }
}

/// What stays the same in all fits of a set.
pub struct Setting<'a> {
    /// The design.
    pub frame: &'a Frame,
    /// The counts.
    pub numbers: &'a Numbers,
    /// The family.
    pub family: Family,
    /// A random effect for each count.
    pub plot_effect: bool,
}

impl Setting<'_> {
    /// The model with some fixed columns on some of the counts.
    ///
    /// # Errors
    /// Where the engine refuses them.
    pub fn counts(
        &self,
        fixed: &[Vec<f64>],
        rows: &[usize],
        random: bool,
    ) -> Result<Counts, CountError> {
        let take = |values: &[f64]| -> Vec<f64> { rows.iter().map(|row| values[*row]).collect() };
        let fixed: Vec<Vec<f64>> = fixed.iter().map(|column| take(column)).collect();
        let sizes = take(&self.numbers.sizes);
        let mut model = Counts::new(self.family, &take(&self.numbers.counts), &sizes, &fixed)?;
        if self.family != Family::Binomial {
            model = model.offset(&sizes.iter().map(|size| size.ln()).collect::<Vec<_>>())?;
        }
        if random {
            for Grouping { name, codes } in &self.frame.groupings {
                let codes: Vec<usize> = rows.iter().map(|row| codes[*row]).collect();
                model = model.random(name, &codes)?;
            }
            if self.plot_effect {
                model = model.random(self.frame.single, rows)?;
            }
        }
        Ok(model)
    }

    /// All counts.
    #[must_use]
    pub fn all(&self) -> Vec<usize> {
        (0..self.numbers.counts.len()).collect()
    }

    /// Quadrature for one random term, else Laplace.
    #[must_use]
    pub fn integration(&self) -> Integration {
        match self.frame.groupings.len() + usize::from(self.plot_effect) {
            1 => Integration::Quadrature(POINTS),
            _ => Integration::Laplace,
        }
    }
}

/// Cells with counts of 0 throughout or, for a count out of a total, whole totals throughout.
fn separated(frame: &Frame, numbers: &Numbers, share: bool) -> Vec<usize> {
    (0..frame.cells.len())
        .filter(|cell| {
            let members = || (0..frame.cell_of.len()).filter(|row| frame.cell_of[*row] == *cell);
            let none = members().all(|row| numbers.counts[row] == 0.0);
            none || share && members().all(|row| numbers.counts[row] == numbers.sizes[row])
        })
        .collect()
}

/// Models a set.
///
/// # Errors
/// [`NoModel`] with the reason.
pub fn modelled(frame: &Frame, numbers: &Numbers, family: Family) -> Result<Modelled, NoModel> {
    if frame
        .dimensions
        .iter()
        .all(|dimension| dimension.factor.is_none())
    {
        return Err(NoModel::OneTreatment);
    }
    let df = containment_df(&frame.cell_columns(), &frame.groupings);
    let treatments = terms(frame);
    let error_df = |term: &Term| df[stratum(frame, term)];
    if treatments
        .iter()
        .filter(|term| !term.has_season(frame))
        .any(|term| error_df(term) == 0)
    {
        return Err(NoModel::Unreplicated);
    }
    let mut setting = Setting {
        frame,
        numbers,
        family,
        plot_effect: false,
    };
    let apart = separated(frame, numbers, family == Family::Binomial);
    let mut fell_to_poisson = false;
    if family == Family::NegativeBinomial && !apart.is_empty() {
        setting.family = Family::Poisson;
        fell_to_poisson = true;
    }
    let (dispersion, dispersion_df) = dispersion(&setting)?.ok_or(NoModel::Unreplicated)?;
    setting.plot_effect = dispersion > OVERDISPERSED && setting.family != Family::NegativeBinomial;
    let cells = frame.cell_columns();
    let all = setting.all();
    let found = loop {
        let mut model = setting.counts(&cells, &all, true)?;
        if !apart.is_empty() {
            model = model.penalised()?;
        }
        match fit(&model, setting.integration()) {
            Err(CountError::NoExtraVariance) => {
                setting.family = Family::Poisson;
                fell_to_poisson = true;
            }
            other => break other?,
        }
    };
    let strata = Strata {
        widening: widening(&setting, &found, &df),
        df,
    };
    let mut tests = Vec::new();
    if frame.is_complete() {
        let full = reachable(&setting, &apart, &found)?;
        for term in treatments
            .iter()
            .filter(|term| strata.df[stratum(frame, term)] > 0)
        {
            let of = Tested {
                fit: &found,
                reachable: full,
                separated: !apart.is_empty(),
                strata: &strata,
            };
            tests.extend(tested(&setting, &treatments, term, &of)?);
        }
    }
    Ok(Modelled {
        fit: found,
        family: setting.family,
        dispersion,
        dispersion_df,
        plot_effect: setting.plot_effect,
        separated: apart,
        quadrature: setting.integration() != Integration::Laplace,
        fell_to_poisson,
        df: strata.df,
        widening: strata.widening,
        tests,
    })
}
