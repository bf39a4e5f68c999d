//! Results for programs: the values of treatments with their uncertainty, apart from any table.
//!
//! Tables and sentences are for readers. What is reckoned on (a partial budget, a comparison of two
//! reports) or said again in other words and units (a bulletin) starts from these, so that nothing
//! reads a number back out of a table's layout.
//!
//! An analysis whose manifest says `uses_estimates` runs after all others and finds their results in
//! [`crate::request::TrialInfo::estimates`]; [`speaking`] picks those of one response.

use serde::{Deserialize, Serialize};

use crate::findings::Format;

/// A result that another analysis of the same trial found, as it is handed to one that reckons on it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Handed {
    /// Name of the analysis that found it.
    pub analysis: String,
    /// That analysis' voice (see [`crate::manifest::Place::voice`]).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub voice: Option<u8>,
    /// Id of the section it stands in.
    pub section: String,
    /// The result.
    pub estimates: Estimates,
}

/// The analysis that speaks for a response (or ratio) on which several have results: the one with
/// the lowest voice, one without a voice after all others, the first of equals. Each is given as its
/// name, its voice and the name of what the result is of.
pub fn speaker<'a>(
    found: impl Iterator<Item = (&'a str, Option<u8>, &'a str)>,
    name: &str,
) -> Option<&'a str> {
    let of_name = found.filter(|(_, _, of)| *of == name);
    let first = of_name.min_by_key(|(_, voice, _)| voice.map_or(u16::MAX, u16::from));
    first.map(|(analysis, ..)| analysis)
}

/// Those results that speak for a response (or ratio): all of its [`speaker`]'s.
pub fn speaking<'a>(handed: &'a [Handed], name: &'a str) -> impl Iterator<Item = &'a Estimates> {
    let all = handed.iter().map(|one| {
        let of = one.estimates.name.as_str();
        (one.analysis.as_str(), one.voice, of)
    });
    let speaker = speaker(all, name);
    handed.iter().filter_map(move |one| {
        let speaks = one.estimates.name == name && Some(one.analysis.as_str()) == speaker;
        speaks.then_some(&one.estimates)
    })
}

/// What the values of an [`Estimates`] are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// Adjusted means of a response; where nothing had to be adjusted, plain means.
    #[default]
    Mean,
    /// Ratios of means; their intervals need not be symmetric.
    Ratio,
    /// Shares from 0 to 1.
    Share,
}

/// Values of one response (or ratio) for the levels of some factors.
///
/// Lengths: `treatments` n; `covariance` n(n+1)/2 or none. Values are in `unit`, covariances in its
/// square.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Estimates {
    /// Name of the response or ratio in the trial.
    pub name: String,
    /// In words: "Yield".
    pub label: String,
    /// Unit as printed.
    #[serde(default)]
    pub unit: String,
    /// What the values are.
    #[serde(default)]
    pub kind: Kind,
    /// Names of the factors whose levels the treatments are, in the order of their `levels`.
    pub factors: Vec<String>,
    /// The season the values are of; `None`: over all seasons (or a trial without seasons).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub season: Option<String>,
    /// Confidence of every interval here, such as 0.95.
    pub level: f64,
    /// How values are written.
    pub format: Format,
    /// The treatments, in the order of the trial.
    pub treatments: Vec<Treatment>,
    /// Covariances of the values, lower triangle row by row (1,1), (2,1), (2,2), ...: exact for
    /// differences between them, up to a part common to all. Empty where they are not known.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub covariance: Vec<f64>,
    /// Degrees of freedom that go with the covariances; `None` for a large-sample method.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub df: Option<f64>,
    /// Differences between treatments: every one from the control where the trial has one, else all
    /// pairs.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub differences: Vec<Difference>,
    /// Test of whether the treatments differ at all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub test: Option<Test>,
    /// Test of whether their differences changed with the season.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seasons_test: Option<Test>,
    /// For several factors: test of whether the effect of one depends on the others, over the
    /// seasons.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interaction_test: Option<Test>,
    /// A published range the values stand beside.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ranges: Vec<PublishedRange>,
}

/// One treatment's value.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Treatment {
    /// Names of its levels, one a factor.
    pub levels: Vec<String>,
    /// Plots (of a plot measured in several seasons: once) the value rests on.
    pub plots: u32,
    /// The value.
    pub value: f64,
    /// Its standard error.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub standard_error: Option<f64>,
    /// Lower end of its interval.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub low: Option<f64>,
    /// Upper end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub high: Option<f64>,
}

/// The difference between two treatments: the first less the second.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Difference {
    /// Index of the first treatment.
    pub of: usize,
    /// Index of the second (the control, where there is one).
    pub against: usize,
    /// The difference.
    pub value: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Degrees of freedom; `None` for a large-sample method.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub df: Option<f64>,
    /// Lower end of its interval, for this difference alone.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Its P, allowing for the other comparisons where the analysis does so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub p: Option<f64>,
}

/// A test, as far as words need it.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Test {
    /// P.
    pub p: f64,
    /// F, where it is an F test.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub f: Option<f64>,
    /// Degrees of freedom of the numerator.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub df: Option<f64>,
    /// Degrees of freedom of the error.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub error_df: Option<f64>,
}

/// A published range, in the unit of the values.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PublishedRange {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// The canopies and grapes it was made for, in words.
    pub applies_to: String,
    /// Citation key of its source.
    pub source: String,
    /// Indices of the treatments it applies to.
    pub treatments: Vec<usize>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lowest_voice_speaks_and_none_comes_last() {
        let all = [
            ("mixed", Some(20), "yield"),
            ("anova", Some(20), "yield"),
            ("counts", Some(5), "buds"),
            ("anova", Some(20), "buds"),
            ("ratios", None, "yield"),
        ];
        let of = |name: &str| speaker(all.into_iter(), name);
        assert_eq!(of("yield"), Some("mixed"));
        assert_eq!(of("buds"), Some("counts"));
        assert_eq!(of("brix"), None);
    }
}
