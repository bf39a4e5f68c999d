//! Results for programs: the adjusted means of the tables with what is known of their differences.

use caneplot_numerics::mixed::kenward_roger::FTest;
use caneplot_numerics::separation::holm;
use caneplot_plugin::estimates::{Difference, Estimates, Kind, Test, Treatment};

use crate::means::{Means, Pair};
use crate::options::Separation;
use crate::study::Study;

/// Means of each margin, and of the combinations of several, over all seasons and in each.
pub(crate) fn of(study: &Study<'_>) -> Vec<Estimates> {
    let margins: Vec<usize> = (0..study.margins().len()).collect();
    let mut sets: Vec<Vec<usize>> = margins.iter().map(|&margin| vec![margin]).collect();
    if margins.len() > 1 {
        sets.push(margins);
    }
    let mut all = Vec::new();
    for set in &sets {
        let mut found = estimates(study, set, None);
        let test_of = |factors: &[usize]| study.term(factors)?.test.as_ref().map(test);
        if let ([_, _, ..], Some(found)) = (set.as_slice(), &mut found) {
            found.interaction_test = test_of(set);
        }
        if let ([only], Some(found)) = (set.as_slice(), &mut found) {
            found.test = test_of(&[*only]);
            found.seasons_test = study.season().and_then(|season| test_of(&[*only, season]));
        }
        all.extend(found);
        if let Some(season) = study.season() {
            let seasons = 0..study.seasons().len();
            all.extend(seasons.filter_map(|at| estimates(study, set, Some((season, at)))));
        }
    }
    all
}

fn test(found: &FTest) -> Test {
    Test {
        p: found.p,
        f: Some(found.f),
        df: Some(found.numerator_df),
        error_df: Some(found.denominator_df),
    }
}

/// The means of a set of margins that exist; `None` where none does.
fn estimates(
    study: &Study<'_>,
    set: &[usize],
    season: Option<(usize, usize)>,
) -> Option<Estimates> {
    let given: Vec<(usize, usize)> = season.into_iter().collect();
    let means = study.means(set, &given);
    // A mean that touches a combination without values does not exist and is not listed.
    let places: Vec<usize> = (0..means.levels.len())
        .filter(|&at| study.mean(&means, at).is_some())
        .collect();
    if places.is_empty() {
        return None;
    }
    let margins = || set.iter().map(|&at| &study.margins()[at]);
    let measured = study.measured();
    let found = Found {
        study,
        means: &means,
        places: &places,
        control: control(study, set, &means, &places),
    };
    Some(Estimates {
        name: study.response.name.clone(),
        label: study.response.label.clone(),
        unit: study.unit().to_owned(),
        kind: Kind::Mean,
        factors: margins()
            .flat_map(|margin| margin.factors.clone())
            .collect(),
        season: season.map(|(_, at)| study.seasons()[at].clone()),
        level: 1.0 - study.options.level,
        format: study.of_means(),
        treatments: places
            .iter()
            .filter_map(|&at| found.treatment(set, at))
            .collect(),
        // On another scale than that of the values neither is in their unit.
        covariance: match measured {
            true => study.covariances(&means, &places).unwrap_or_default(),
            false => Vec::new(),
        },
        df: match measured {
            true => found.fewest_df(),
            false => None,
        },
        differences: match measured {
            true => found.differences().unwrap_or_default(),
            false => Vec::new(),
        },
        test: None,
        seasons_test: None,
        interaction_test: None,
        ranges: Vec::new(),
    })
}

/// The place, among those listed, of the control that every margin declares.
fn control(study: &Study<'_>, set: &[usize], means: &Means, places: &[usize]) -> Option<usize> {
    let wanted: Option<Vec<usize>> = set.iter().map(|&at| study.margins()[at].control).collect();
    let wanted = wanted?;
    places.iter().position(|&at| means.levels[at] == wanted)
}

/// Means that exist, by their places in a table.
struct Found<'a> {
    study: &'a Study<'a>,
    means: &'a Means,
    places: &'a [usize],
    control: Option<usize>,
}

impl Found<'_> {
    fn treatment(&self, set: &[usize], at: usize) -> Option<Treatment> {
        let (study, means) = (self.study, self.means);
        let levels = set.iter().zip(&means.levels[at]);
        let limits = study.limits(means.estimates[at].as_ref()?);
        Some(Treatment {
            levels: levels
                .flat_map(|(&margin, &level)| study.margins()[margin].names[level].clone())
                .collect(),
            plots: means.plots[at] as u32,
            value: study.mean(means, at)?,
            standard_error: means.estimates[at]
                .filter(|_| study.measured())
                .map(|found| found.standard_error),
            low: limits.map(|limits| limits.0),
            high: limits.map(|limits| limits.1),
        })
    }

    /// The fewest degrees of freedom of any difference: the cautious ones.
    fn fewest_df(&self) -> Option<f64> {
        let pairs = self.all_pairs().into_iter();
        let df = pairs.filter_map(|(of, against)| {
            let places = (self.places[of], self.places[against]);
            Some(self.study.difference(self.means, places.0, places.1)?.df)
        });
        df.reduce(f64::min)
    }

    fn all_pairs(&self) -> Vec<(usize, usize)> {
        let count = self.places.len();
        (0..count)
            .flat_map(|against| (against + 1..count).map(move |of| (of, against)))
            .collect()
    }

    /// Differences from the control, else of all pairs; `None` where one has no standard error.
    fn differences(&self) -> Option<Vec<Difference>> {
        let (study, means) = (self.study, self.means);
        let pairs = match self.control {
            Some(control) => (0..self.places.len())
                .filter(|&at| at != control)
                .map(|at| (at, control))
                .collect(),
            None => self.all_pairs(),
        };
        let place = |at: usize| self.places[at];
        let found = pairs
            .iter()
            .map(|&(of, against)| study.difference(means, place(of), place(against)))
            .collect::<Option<Vec<_>>>()?;
        let probabilities = self.probabilities(&found);
        let each = pairs.iter().zip(&found).enumerate();
        each.map(|(at, (&(of, against), one))| {
            let reach = study.half_width(one.standard_error, one.df)?;
            Some(Difference {
                of,
                against,
                value: one.value,
                standard_error: one.standard_error,
                df: Some(one.df),
                low: one.value - reach,
                high: one.value + reach,
                p: probabilities.as_ref().map(|all| all[at]),
            })
        })
        .collect()
    }

    /// P of each: Dunnett's with a control where the options ask for it, else Holm's.
    fn probabilities(
        &self,
        found: &[caneplot_numerics::separation::Difference],
    ) -> Option<Vec<f64>> {
        let dunnett = self.study.options.separation == Separation::Dunnett;
        let whole = self.places.len() == self.means.levels.len();
        if let Some(control) = self.control.filter(|_| dunnett && whole) {
            let pairs = self
                .study
                .against_control(self.means, self.places[control])?;
            return pairs.into_iter().map(|pair: Pair| pair.p).collect();
        }
        let alone: Option<Vec<f64>> = found.iter().map(|one| one.alone().ok()).collect();
        holm(&alone?).ok()
    }
}
