//! Everything computed about one ratio, before any word is written.

use caneplot_plugin::request::{Canopy, Ratio, TrialInfo};
use caneplot_plugin::{Call, Refusal};

use crate::Options;
use crate::estimate::{Estimate, Estimates, NoError, estimates};
use crate::logs::Logs;
use crate::others::OtherIntervals;
use crate::plots::{Plots, response};
use crate::ranges::{Range, of_index};
use crate::treatments::{CanopyOf, Group, Treatment, groups};
use crate::verdict::{Verdict, may_be_of, unrated, verdict};

/// One ratio, worked out.
pub struct Report<'a> {
    /// The trial.
    pub trial: &'a TrialInfo,
    /// The ratio.
    pub ratio: &'a Ratio,
    /// Confidence, 0.95 say.
    pub level: f64,
    /// Every record of the table, what was left out with it.
    pub records: Plots,
    /// The treatments.
    pub groups: Vec<Group>,
    /// Over the seasons, or in the only one.
    pub overall: Window,
    /// Each season by itself, where there are several.
    pub seasons: Vec<(usize, Window)>,
    /// Other intervals of the overall window; `None` over a fixed length and for copied plots, where
    /// they say nothing new.
    pub others: Option<OtherIntervals>,
    /// The plots' ratios on the log scale; `None` over a fixed length.
    pub logs: Option<Logs>,
}

/// The plots of a season, or of all together, with their estimates.
pub struct Window {
    /// The plots.
    pub plots: Plots,
    /// The estimates.
    pub estimates: Estimates,
}

/// A treatment that has an estimate.
pub struct Entry<'a> {
    /// Index in its group.
    pub at: usize,
    /// The treatment.
    pub treatment: &'a Treatment,
    /// Its estimate.
    pub estimate: &'a Estimate,
}

impl<'a> Report<'a> {
    /// Works a ratio out; `None` where no plot has both values.
    ///
    /// # Errors
    /// Refuses tables that are not as the request promises.
    pub fn new(
        call: &'a Call,
        ratio: &'a Ratio,
        options: Options,
    ) -> Result<Option<Self>, Refusal> {
        let trial = &call.request.trial;
        let level = options.level;
        let records = Plots::of(call, ratio)?;
        if records.plots.is_empty() {
            return Ok(None);
        }
        let groups = groups(trial, &records.plots);
        let window = |plots: Plots| Window {
            estimates: estimates(trial, &plots, &groups, level),
            plots,
        };
        let known = records.seasons();
        let several = known.len() > 1;
        let overall = window(records.over_seasons()?);
        let seasons = known.into_iter().filter(|_| several);
        let coupled = ratio.per.is_some();
        // Resamples of plots that do not differ are one number again and again.
        let copied = overall.estimates.no_error == Some(NoError::Copied);
        let others = (coupled && !copied).then(|| {
            OtherIntervals::of(trial, &overall.plots, &groups, options, call.request.seed)
        });
        let logs = coupled.then(|| Logs::of(trial, &records, level));
        Ok(Some(Self {
            others,
            logs,
            trial,
            ratio,
            level,
            seasons: seasons
                .map(|season| (season, window(records.in_season(season))))
                .collect(),
            overall,
            groups,
            records,
        }))
    }

    /// The treatments of a group that have an estimate in a window.
    #[must_use]
    pub fn entries<'b>(&'b self, window: &'b Window, group: usize) -> Vec<Entry<'b>> {
        let treatments = self.groups[group].treatments.iter().enumerate();
        let pairs = treatments.zip(&window.estimates.groups[group]);
        pairs
            .filter_map(|((at, treatment), estimate)| {
                Some(Entry {
                    at,
                    treatment,
                    estimate: estimate.as_ref()?,
                })
            })
            .collect()
    }

    /// Whether no plot has a ratio in every season, so that there is nothing to say over all of them.
    #[must_use]
    pub fn is_never_complete(&self) -> bool {
        self.overall.plots.plots.is_empty()
    }

    /// The verdict on an entry.
    #[must_use]
    pub fn verdict(&self, entry: &Entry<'_>) -> Verdict {
        verdict(
            self.ratio.index,
            &self.ratio.unit,
            entry.treatment.canopy,
            self.trial.vineyard.grape.as_deref(),
            entry.estimate,
        )
    }

    /// Decimals that show the smallest ratio with three significant digits, at most four.
    #[must_use]
    pub fn decimals(&self) -> u8 {
        let groups = self.overall.estimates.groups.iter().flatten().flatten();
        let least = groups
            .map(|estimate| estimate.ratio.abs())
            .filter(|ratio| *ratio > 0.0)
            .fold(f64::INFINITY, f64::min);
        if !least.is_finite() {
            return 2;
        }
        (2.0 - least.log10().floor()).clamp(0.0, 4.0) as u8
    }

    /// "95 %".
    #[must_use]
    pub fn level_words(&self) -> String {
        format!("{} %", (self.level * 1e8).round() / 1e6)
    }

    /// "95 % Fieller interval"; over a fixed length it is the plain interval of a mean.
    #[must_use]
    pub fn interval_words(&self) -> String {
        let whose = if self.ratio.per.is_some() {
            "Fieller"
        } else {
            "confidence"
        };
        format!("{} {whose} interval", self.level_words())
    }

    /// The seasons of the overall window in words: "over the 4 seasons 2021 to 2024", "in 2021" or
    /// nothing.
    #[must_use]
    pub fn when(&self) -> String {
        let name = |season: usize| self.trial.seasons.get(season).map_or("", String::as_str);
        let known = self.records.seasons();
        match known.as_slice() {
            [first, .., last] => format!(
                "over the {} seasons {} to {}",
                known.len(),
                name(*first),
                name(*last)
            ),
            [only] if self.trial.design.season && !name(*only).is_empty() => {
                format!("in {}", name(*only))
            }
            _ => String::new(),
        }
    }

    /// What stands above the line and what below it, for the middle of a sentence.
    #[must_use]
    pub fn parts(&self) -> (String, String) {
        let label = |name: &str| {
            response(self.trial, name).map_or_else(|_| name.to_owned(), |r| inside(&r.label))
        };
        let below = match &self.ratio.per {
            Some(per) => label(per),
            None => "length of canopy".to_owned(),
        };
        (label(&self.ratio.of), below)
    }

    /// The published ranges worth showing beside this trial: those of its grapes and of canopies it
    /// has or may have; none where every treatment is one that no range may be held against.
    #[must_use]
    pub fn ranges(&self) -> Vec<&'static Range> {
        let canopies: Vec<CanopyOf> = self
            .entries(&self.overall, 0)
            .iter()
            .map(|entry| entry.treatment.canopy)
            .filter(|canopy| !unrated(*canopy))
            .collect();
        let open = |canopy: &CanopyOf| {
            !matches!(
                canopy,
                CanopyOf::One(Canopy::Single) | CanopyOf::One(Canopy::Divided)
            )
        };
        let fits = |range: &&Range| {
            let of = range.canopy.map(CanopyOf::One);
            let canopy = of.is_none_or(|of| canopies.contains(&of) || canopies.iter().any(open));
            canopy && may_be_of(range.grapes, self.trial.vineyard.grape.as_deref())
        };
        if canopies.is_empty() {
            return Vec::new();
        }
        let ranges = self.ratio.index.into_iter().flat_map(of_index);
        ranges.filter(fits).collect()
    }

    /// The label with its unit: "Yield to pruning weight (kg/kg)".
    #[must_use]
    pub fn axis_title(&self) -> String {
        format!("{} ({})", self.ratio.label, self.ratio.unit)
    }
}

/// A label as it stands inside a sentence: its first letter small, unless the word is all capitals.
#[must_use]
pub fn inside(label: &str) -> String {
    let mut letters = label.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(first), second) if !second.is_some_and(char::is_uppercase) => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => label.to_owned(),
    }
}
