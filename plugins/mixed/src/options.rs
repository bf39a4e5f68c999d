//! The options of trial.toml for this analysis.

use caneplot_numerics::mixed::Structure;
use caneplot_plugin::request::Response;
use caneplot_plugin::{Call, Refusal, words};
use serde::Deserialize;

/// How means are told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Separation {
    Tukey,
    Dunnett,
    Holm,
    None,
}

/// How degrees of freedom are found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Df {
    KenwardRoger,
    Satterthwaite,
}

/// What seasons stand for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Seasons {
    Fixed,
    Random,
}

/// What the place of plots is adjusted for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum FieldTrend {
    None,
    Linear,
    Quadratic,
}

/// Whether blocks have a variance of their own in every season.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum BlockSeasons {
    Choose,
    Keep,
    Pool,
}

/// What becomes of variances that belong below zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub(crate) enum BelowZero {
    /// Kept, so that tests hold their level.
    #[serde(rename = "keep")]
    Keep,
    /// Held at zero.
    #[serde(rename = "hold at 0")]
    Hold,
}

/// Whether treatments share one error variance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub(crate) enum Variance {
    #[serde(rename = "equal")]
    Equal,
    #[serde(rename = "by treatment")]
    ByTreatment,
}

/// The scale asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub(crate) enum AskedScale {
    #[serde(rename = "as measured")]
    Measured,
    #[serde(rename = "log")]
    Log,
    #[serde(rename = "choose")]
    Choose,
}

/// The options, complete.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Options {
    pub separation: Separation,
    pub level: f64,
    pub df: Df,
    pub season: Seasons,
    structure: String,
    pub covariates: Option<Vec<String>>,
    pub baseline: Option<String>,
    pub allow_mediator: bool,
    pub use_covariates: bool,
    pub field_trend: FieldTrend,
    pub block_seasons: BlockSeasons,
    pub below_zero: BelowZero,
    pub variance: Variance,
    pub scale: AskedScale,
    pub predictions: bool,
    responses: Option<Vec<String>>,
}

/// The word for a structure in trial.toml and in tables.
pub(crate) fn structure_words(structure: Structure) -> &'static str {
    match structure {
        Structure::Independent => "independent",
        Structure::Symmetric => "equal correlation",
        Structure::Autoregressive => "autoregressive",
        Structure::UnequalIndependent => "unequal variances",
        Structure::UnequalSymmetric => "unequal variances, equal correlation",
        Structure::UnequalAutoregressive => "unequal variances, autoregressive",
        Structure::Unstructured => "unstructured",
    }
}

impl Options {
    /// The options of a call.
    pub fn of(call: &Call) -> Result<Self, Refusal> {
        let options: Self = call.options()?;
        let named = [
            ("responses", &options.responses),
            ("covariates", &options.covariates),
        ];
        for (option, names) in named {
            for name in names.iter().flatten() {
                call.response(name, option)?;
            }
        }
        options.structure()?;
        Ok(options)
    }

    /// The structure asked for; `None` to choose.
    pub fn structure(&self) -> Result<Option<Structure>, Refusal> {
        if self.structure == "choose" {
            return Ok(None);
        }
        Structure::ALL
            .into_iter()
            .find(|structure| structure_words(*structure) == self.structure)
            .map(Some)
            .ok_or_else(|| {
                Refusal::new(format!(
                    "'{}' is not a structure over seasons",
                    self.structure
                ))
                .hint("write 'choose' or one of the names in the help of the option 'structure'")
            })
    }

    /// The responses to analyse, in the order of the trial.
    pub fn responses<'a>(&'a self, call: &'a Call) -> impl Iterator<Item = &'a Response> {
        call.chosen(self.responses.as_deref())
    }

    /// The level as a percentage, such as "5 %".
    pub fn level_words(&self) -> String {
        words::percent(self.level)
    }

    /// The confidence of intervals, such as "95 %".
    pub fn confidence_words(&self) -> String {
        words::percent(1.0 - self.level)
    }

    /// How degrees of freedom were found, in words.
    pub fn df_words(&self) -> &'static str {
        match self.df {
            Df::KenwardRoger => "Kenward and Roger",
            Df::Satterthwaite => "Satterthwaite",
        }
    }
}
