//! Results for programs: the means of the tables with what is known of their differences.

use caneplot_numerics::distribution::t_critical;
use caneplot_numerics::range::StudentizedRange;
use caneplot_numerics::separation::{self, holm};
use caneplot_plugin::estimates::{Difference, Estimates, Kind, Test, Treatment};

use crate::options::Separation;
use crate::study::Study;

/// More levels than this and a P for each of their pairs takes longer than the whole analysis.
const MOST_LEVELS_IN_PAIRS: usize = 6;

/// Means of each factor, and of the combinations of several, over all seasons and in each.
pub(crate) fn of(study: &Study<'_>) -> Vec<Estimates> {
    let factors: Vec<usize> = (0..study.trial.factors.len()).collect();
    let mut sets: Vec<Vec<usize>> = factors.iter().map(|&factor| vec![factor]).collect();
    if factors.len() > 1 {
        sets.push(factors);
    }
    let mut all = Vec::new();
    for set in &sets {
        let crossed = study.term(set, true);
        if let Some(term) = study.term(set, false) {
            let cells = (0..study.tables[term].means.len()).collect();
            let means = Means {
                study,
                set,
                term,
                cells,
                season: None,
            };
            let mut found = means.estimates();
            if set.len() == 1 {
                found.test = test(study, term);
                found.seasons_test = crossed.and_then(|crossed| test(study, crossed));
            } else {
                found.interaction_test = test(study, term);
            }
            all.push(found);
        }
        let Some(term) = crossed else { continue };
        for (at, season) in study.seasons().iter().enumerate() {
            let means = Means {
                study,
                set,
                term,
                cells: study.season_cells(term, at),
                season: Some(season),
            };
            all.push(means.estimates());
        }
    }
    all
}

fn test(study: &Study<'_>, term: usize) -> Option<Test> {
    let line = study.line(term);
    let stratum = study.planned.design.layout.terms()[term].stratum;
    Some(Test {
        p: line.p?,
        f: line.f,
        df: Some(line.df as f64),
        error_df: Some(study.variance.errors[stratum].df as f64),
    })
}

/// Some means of one table: those of one season, or all.
struct Means<'a> {
    study: &'a Study<'a>,
    /// The factors, by their place in the trial.
    set: &'a [usize],
    term: usize,
    /// Cells of the term, in the order of the trial.
    cells: Vec<usize>,
    season: Option<&'a String>,
}

impl Means<'_> {
    fn estimates(&self) -> Estimates {
        let study = self.study;
        let pairs = self.pairs();
        let known: Option<Vec<_>> = pairs.iter().map(|&pair| self.difference(pair)).collect();
        let differences = known.map_or_else(Vec::new, |known| self.differences(&pairs, &known));
        Estimates {
            name: study.response.name.clone(),
            label: study.response.label.clone(),
            unit: study.unit().to_owned(),
            kind: Kind::Mean,
            factors: self
                .set
                .iter()
                .map(|&at| study.factor(at).name.clone())
                .collect(),
            season: self.season.cloned(),
            level: 1.0 - study.options.level,
            format: study.of_means(),
            treatments: (0..self.cells.len()).map(|at| self.treatment(at)).collect(),
            covariance: self.covariance().unwrap_or_default(),
            df: self.fewest_df(),
            differences,
            test: None,
            seasons_test: None,
            interaction_test: None,
            ranges: Vec::new(),
        }
    }

    fn treatment(&self, at: usize) -> Treatment {
        let (study, cell) = (self.study, self.cells[at]);
        let levels = study.cell_levels(self.term, cell);
        let names = self.set.iter().zip(levels);
        let value = study.mean(self.term, cell);
        let precision = study.tables[self.term].of_mean[cell];
        let reach = precision.and_then(|precision| {
            let t = t_critical(study.options.level, precision.df).ok()?;
            Some(t * precision.standard_error())
        });
        Treatment {
            levels: names
                .map(|(&factor, &level)| study.levels(factor)[level].clone())
                .collect(),
            plots: study.planned.plots_behind[self.term][cell] as u32,
            value,
            standard_error: study.standard_error(self.term, cell),
            low: reach.map(|reach| value - reach),
            high: reach.map(|reach| value + reach),
        }
    }

    /// Covariances such that every difference has the variance the table of differences gives it:
    /// half of what the variances of two means have over that of their difference.
    fn covariance(&self) -> Option<Vec<f64>> {
        let (study, of_mean) = (self.study, &self.study.tables[self.term].of_mean);
        let mut all = Vec::new();
        for (at, &second) in self.cells.iter().enumerate() {
            let own = of_mean[second]?.variance;
            for &first in &self.cells[..at] {
                let difference = study.precision(self.term, first, second)?.variance;
                all.push((of_mean[first]?.variance + own - difference) / 2.0);
            }
            all.push(own);
        }
        Some(all)
    }

    /// The fewest degrees of freedom of any difference: where they are not alike, the cautious ones.
    fn fewest_df(&self) -> Option<f64> {
        let cells = self.cells.iter().enumerate();
        let pairs = cells
            .flat_map(|(at, &second)| self.cells[..at].iter().map(move |&first| (first, second)));
        let df = pairs
            .filter_map(|(first, second)| Some(self.study.precision(self.term, first, second)?.df));
        df.reduce(f64::min)
    }

    /// The place of the control, where every factor has one.
    fn control(&self) -> Option<usize> {
        let wanted: Option<Vec<usize>> =
            self.set.iter().map(|&at| self.study.control(at)).collect();
        let wanted = wanted?;
        let levels = |cell: usize| &self.study.cell_levels(self.term, cell)[..self.set.len()];
        self.cells.iter().position(|&cell| levels(cell) == wanted)
    }

    /// The pairs compared, by their places: with the control where there is one, else all.
    fn pairs(&self) -> Vec<(usize, usize)> {
        let count = self.cells.len();
        match self.control() {
            Some(control) => (0..count)
                .filter(|&at| at != control)
                .map(|at| (at, control))
                .collect(),
            None => (0..count)
                .flat_map(|against| (against + 1..count).map(move |of| (of, against)))
                .collect(),
        }
    }

    fn difference(&self, (of, against): (usize, usize)) -> Option<separation::Difference> {
        self.study
            .difference_of(self.term, self.cells[of], self.cells[against])
    }

    fn differences(
        &self,
        pairs: &[(usize, usize)],
        known: &[separation::Difference],
    ) -> Vec<Difference> {
        let probabilities = self.probabilities(known);
        let each = pairs.iter().zip(known).enumerate();
        let one = |(at, (&(of, against), found)): (_, (&_, &separation::Difference))| {
            let reach = self.study.half_width(found)?;
            Some(Difference {
                of,
                against,
                value: found.value,
                standard_error: found.standard_error,
                df: Some(found.df),
                low: found.value - reach,
                high: found.value + reach,
                p: probabilities.as_ref().map(|all: &Vec<f64>| all[at]),
            })
        };
        each.filter_map(one).collect()
    }

    /// P of each difference by the rule of its family: Dunnett's with a control, where its differences
    /// are equally precise, else that of the options; Holm's where neither serves.
    fn probabilities(&self, known: &[separation::Difference]) -> Option<Vec<f64>> {
        let alone =
            || -> Option<Vec<f64>> { known.iter().map(|found| found.alone().ok()).collect() };
        if let Some(control) = self.control() {
            return self
                .against_control(control, known)
                .or_else(|| holm(&alone()?).ok());
        }
        let count = self.cells.len();
        match self.study.options.separation {
            Separation::Lsd => alone(),
            Separation::Tukey if count <= MOST_LEVELS_IN_PAIRS && self.season.is_none() => known
                .iter()
                .map(|found| {
                    let range = StudentizedRange::new(count, found.df).ok()?;
                    found.among_all_pairs(&range).ok()
                })
                .collect(),
            _ => holm(&alone()?).ok(),
        }
    }

    fn against_control(
        &self,
        control: usize,
        known: &[separation::Difference],
    ) -> Option<Vec<f64>> {
        let first = known.first()?;
        let alike = |found: &separation::Difference| {
            (found.standard_error - first.standard_error).abs() <= 1e-9 * first.standard_error
                && found.df == first.df
        };
        let counts = &self.study.tables[self.term].counts;
        let own = counts[self.cells[control]];
        let others = (0..self.cells.len()).filter(|&at| at != control);
        let others: Vec<usize> = others.map(|at| counts[self.cells[at]]).collect();
        let level = self.study.options.level;
        // One factor over all seasons has one kind of difference but for the replicates, which
        // Dunnett's method knows of.
        let one_kind = self.set.len() == 1 && self.season.is_none();
        if !one_kind && !known.iter().all(alike) {
            return None;
        }
        let (dunnett, _) = self.study.critical.control(own, &others, first.df, level)?;
        known
            .iter()
            .map(|found| found.against_control(&dunnett).ok())
            .collect()
    }
}
