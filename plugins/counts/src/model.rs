//! The model of one set of counts: its family, its random terms, its fit and its tests.

use caneplot_numerics::counts::{
    CountError, Counts, Family, Fit, Grouping, Integration, LikelihoodRatio, containment_df, fit,
    independent_columns,
};

use crate::frame::Frame;
use crate::terms::{Term, columns, contrasts, stratum, terms};

/// Counts that vary more than this many times what the family allows get a plot effect
/// (Pearson's statistic over its degrees of freedom).
pub const OVERDISPERSED: f64 = 1.5;
/// Counts that vary less than this share of what the family allows make its intervals too wide.
pub const UNDERDISPERSED: f64 = 0.5;
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
struct Setting<'a> {
    frame: &'a Frame,
    numbers: &'a Numbers,
    family: Family,
    plot_effect: bool,
}

impl Setting<'_> {
    /// The model with some fixed columns on some of the counts.
    fn counts(
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

    fn all(&self) -> Vec<usize> {
        (0..self.numbers.counts.len()).collect()
    }

    fn integration(&self) -> Integration {
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

/// Pearson's statistic over its degrees of freedom with the units of the design as fixed columns:
/// what is left is what varies between single counts. `None` without degrees of freedom.
fn dispersion(setting: &Setting) -> Result<Option<f64>, CountError> {
    let frame = setting.frame;
    let family = match setting.family {
        Family::NegativeBinomial => Family::Poisson,
        other => other,
    };
    let setting = Setting { family, ..*setting };
    let mut fixed = frame.cell_columns();
    for grouping in &frame.groupings {
        let units = grouping.codes.iter().max().map_or(0, |most| most + 1);
        fixed.extend((0..units).map(|unit| -> Vec<f64> {
            grouping
                .codes
                .iter()
                .map(|code| f64::from(*code == unit))
                .collect()
        }));
    }
    let fixed: Vec<Vec<f64>> = independent_columns(&fixed)
        .into_iter()
        .map(|at| fixed[at].clone())
        .collect();
    if fixed.len() >= frame.cell_of.len() {
        return Ok(None);
    }
    let model = setting.counts(&fixed, &setting.all(), false)?;
    let found = match fit(&model, Integration::Laplace) {
        // Where estimates run away the penalised fit has finite means to compare with.
        Err(CountError::Separated) => fit(&model.penalised()?, Integration::Laplace),
        other => other,
    }?;
    Ok(found.dispersion())
}

/// The log-likelihood that the cells can reach. Cells that are separated reach theirs of 0 in the
/// limit, so the others alone make it.
fn reachable(setting: &Setting, apart: &[usize], found: &Fit) -> Result<f64, CountError> {
    if apart.is_empty() {
        return Ok(found.log_likelihood);
    }
    let frame = setting.frame;
    let rows: Vec<usize> = setting
        .all()
        .into_iter()
        .filter(|row| !apart.contains(&frame.cell_of[*row]))
        .collect();
    if rows.is_empty() {
        return Ok(0.0);
    }
    let fixed: Vec<Vec<f64>> = frame
        .cell_columns()
        .into_iter()
        .enumerate()
        .filter(|(cell, _)| !apart.contains(cell))
        .map(|(_, column)| column)
        .collect();
    let model = setting.counts(&fixed, &rows, true)?;
    Ok(fit(&model, setting.integration())?.log_likelihood)
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
    let tested = |term: &Term| df[stratum(frame, term)];
    if treatments
        .iter()
        .filter(|term| !term.has_season(frame))
        .any(|term| tested(term) == 0)
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
    let dispersion = dispersion(&setting)?.ok_or(NoModel::Unreplicated)?;
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
            let tested = Tested {
                fit: &found,
                reachable: full,
                separated: !apart.is_empty(),
                strata: &strata,
            };
            tests.extend(test(&setting, &treatments, term, &tested)?);
        }
    }
    Ok(Modelled {
        fit: found,
        family: setting.family,
        dispersion,
        plot_effect: setting.plot_effect,
        separated: apart,
        quadrature: setting.integration() != Integration::Laplace,
        fell_to_poisson,
        df: strata.df,
        widening: strata.widening,
        tests,
    })
}

/// What each stratum has, single counts last.
struct Strata {
    df: Vec<usize>,
    widening: Vec<f64>,
}

/// Maximum likelihood divides the squares of a stratum by all its degrees of freedom, N, where those
/// of its error, n, are right: where its variance was estimated, variances of comparisons are
/// multiplied by N / n. (With normal errors that is exact. In simulated trials of 4 to 6 blocks with
/// plots that vary and no differences, F then rejects in 4–5.4 % where 5 % is asked for, in 5–9 %
/// without it, and chi-square in 8–12.5 %: numerics, tests/counts_size.rs.) A stratum whose variance
/// is at 0 shares that of the next finer one.
fn widening(setting: &Setting, found: &Fit, df: &[usize]) -> Vec<f64> {
    let one = vec![vec![1.0; setting.numbers.counts.len()]];
    let all = containment_df(&one, &setting.frame.groupings);
    let last = setting.frame.groupings.len();
    let estimated = |at: usize| match found.random.get(at) {
        Some(random) => !random.at_boundary,
        None => at == last && setting.family == Family::NegativeBinomial,
    };
    (0..=last)
        .map(|stratum| {
            let source = (stratum..=last).find(|at| estimated(*at) && df[*at] > 0);
            source.map_or(1.0, |at| all[at] as f64 / df[at] as f64)
        })
        .collect()
}

/// What the test of a term needs of the full model.
struct Tested<'a> {
    fit: &'a Fit,
    reachable: f64,
    separated: bool,
    strata: &'a Strata,
}

/// A term beside all others; `None` where the others alone run away.
fn test(
    setting: &Setting,
    all: &[Term],
    term: &Term,
    tested: &Tested,
) -> Result<Option<TermTest>, NoModel> {
    let frame = setting.frame;
    let others: Vec<&Term> = all.iter().filter(|other| *other != term).collect();
    let fixed = columns(frame, &others);
    let model = setting.counts(&fixed, &setting.all(), true)?;
    let reduced = match fit(&model, setting.integration()) {
        // What is left runs away too, so that its likelihood is no number to compare with.
        Err(CountError::Separated) => return Ok(None),
        other => other?,
    };
    let left_out = frame.cells.len() - fixed.len();
    let ratio = LikelihoodRatio::of(tested.reachable, reduced.log_likelihood, left_out)?;
    let at = stratum(frame, term);
    let error_df = tested.strata.df[at] as f64;
    let by_f = if tested.separated {
        // Estimates that would be infinite are no ground for F; their likelihood is.
        ratio.as_f(ratio.df + error_df, error_df)?
    } else {
        tested.fit.test(
            &contrasts(frame, term),
            error_df,
            tested.strata.widening[at],
        )?
    };
    Ok(Some(TermTest {
        term: term.clone(),
        df: ratio.df,
        error_df,
        f: by_f.f,
        probability: by_f.probability,
        ratio: ratio.statistic,
        chi_square: ratio.probability,
    }))
}
