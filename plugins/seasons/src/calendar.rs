//! The seasons in time: their gaps, and how long the treatments had been in force.

use caneplot_plugin::request::TrialInfo;
use caneplot_plugin::{Refusal, words};

/// The seasons of the trial in time.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Calendar {
    labels: Vec<String>,
    times: Vec<f64>,
    years: Vec<i64>,
    /// Whether the names are years, so that gaps between them are known.
    pub dated: bool,
}

impl Calendar {
    /// The seasons of a trial whose treatments began in `began`, or with the first season.
    pub fn of(trial: &TrialInfo, began: Option<&str>) -> Result<Self, Refusal> {
        let labels = trial.seasons.clone();
        let dates: Option<Vec<i64>> = labels.iter().map(|label| year(label)).collect();
        let dates = dates.filter(|dates| dates.windows(2).all(|pair| pair[0] < pair[1]));
        let dated = dates.is_some();
        let times = dates.unwrap_or_else(|| (1..).take(labels.len()).collect());
        let listed = |wanted: &str| labels.iter().position(|label| label == wanted);
        let start = match began.map(str::trim) {
            None => times.first().copied().unwrap_or(1),
            Some(wanted) => match (listed(wanted), year(wanted).filter(|_| dated)) {
                (Some(place), _) => times[place],
                (None, Some(year)) if times.last().is_some_and(|last| year <= *last) => year,
                (None, Some(_)) => {
                    return Err(began_wrong(
                        wanted,
                        "which is after the last season",
                        &labels,
                    ));
                }
                (None, None) => {
                    return Err(began_wrong(wanted, "which is no season of it", &labels));
                }
            },
        };
        Ok(Self {
            labels,
            years: times.iter().map(|time| time - start + 1).collect(),
            times: times.iter().map(|&time| time as f64).collect(),
            dated,
        })
    }

    /// Number of seasons.
    pub fn count(&self) -> usize {
        self.labels.len()
    }

    /// A season as it is named.
    pub fn label(&self, season: usize) -> &str {
        &self.labels[season]
    }

    /// Time of a season: its year, or its number where the names are no years.
    pub fn time(&self, season: usize) -> f64 {
        self.times[season]
    }

    /// How many years the treatments have been in force, the first one counting 1; below that they
    /// had not begun.
    pub fn year_of_treatment(&self, season: usize) -> i64 {
        self.years[season]
    }

    /// Whether the treatments were in force.
    pub fn treated(&self, season: usize) -> bool {
        self.years[season] >= 1
    }

    /// The seasons with the treatments in force.
    pub fn treated_seasons(&self) -> Vec<usize> {
        (0..self.count())
            .filter(|&season| self.treated(season))
            .collect()
    }

    /// Years between the first season and the last that are no season of the trial.
    pub fn skipped(&self) -> Vec<i64> {
        let pairs = self.years.windows(2).zip(self.times.windows(2));
        pairs
            .flat_map(|(years, times)| {
                let first = times[0] as i64;
                (1..years[1] - years[0]).map(move |step| first + step)
            })
            .collect()
    }

    /// "a year", or "a season" where seasons have no dates.
    pub fn step(&self) -> &'static str {
        if self.dated { "a year" } else { "a season" }
    }
}

/// The year a name begins with: 2021 of "2021" and of "2021/22".
fn year(label: &str) -> Option<i64> {
    let digits: String = label.chars().take_while(char::is_ascii_digit).collect();
    if digits.len() == 4 {
        digits.parse().ok()
    } else {
        None
    }
}

fn began_wrong(wanted: &str, why: &str, labels: &[String]) -> Refusal {
    Refusal::new(format!(
        "the treatments are said to have begun in '{wanted}', {why}; the trial has {}",
        words::list(labels)
    ))
    .hint("correct the option 'began' of the analysis 'seasons'")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(seasons: &[&str], began: Option<&str>) -> Result<Calendar, Refusal> {
        let trial = TrialInfo {
            seasons: seasons.iter().map(|season| (*season).to_owned()).collect(),
            ..TrialInfo::default()
        };
        Calendar::of(&trial, began)
    }

    #[test]
    fn years_keep_their_gaps_and_count_from_the_first_treated_one() {
        let calendar = of(&["2018/19", "2019/20", "2022/23"], Some("2019/20")).unwrap();
        assert!(calendar.dated);
        assert_eq!(calendar.years, [0, 1, 4]);
        assert_eq!(calendar.treated_seasons(), [1, 2]);
        assert_eq!(calendar.skipped(), [2020, 2021]);
        assert_eq!(of(&["2022", "2023"], Some("2020")).unwrap().years, [3, 4]);
    }

    #[test]
    fn names_that_are_no_years_are_one_apart() {
        let calendar = of(&["first", "second", "third"], None).unwrap();
        assert!(!calendar.dated);
        assert_eq!(calendar.times, [1.0, 2.0, 3.0]);
        assert!(calendar.skipped().is_empty());
        assert_eq!(calendar.step(), "a season");
    }

    #[test]
    fn a_beginning_that_is_not_there_is_refused() {
        for began in ["2025", "spring"] {
            let refusal = of(&["2021", "2022"], Some(began)).unwrap_err();
            assert!(refusal.message.contains(began), "{refusal}");
        }
        assert!(of(&["first", "second"], Some("2020")).is_err());
    }
}
