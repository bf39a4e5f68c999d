//! Thresholds of the rules on the data: what `[checks]` may set, with what stands where it is silent.

/// A threshold of a rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(usize)]
pub enum Threshold {
    /// Robust standard deviations between a value and its mates.
    FarValue,
    /// Robust standard deviations, of logarithms, between a value in another unit and its mates.
    UnitSlip,
    /// By how much a season's median must miss a factor between units, as a factor.
    UnitOfSeason,
    /// Robust standard deviations, of logarithms, of two values that would fit each other's column.
    SwappedColumns,
    /// Robust standard deviations, of logarithms, between a cluster's weight and its mates.
    ClusterWeight,
    /// Share by which clusters, as weighed, may miss crop over clusters.
    PartsDisagree,
    /// Brix of ripe or ripening grapes.
    RipeBrix,
    /// pH of the juice of such grapes.
    RipePh,
    /// Their titratable acidity in g/L.
    RipeAcidity,
    /// Share by which nodes counted may miss the nodes assigned.
    NodesMissed,
    /// Share by which buds may outnumber the nodes left.
    BudsAboveNodes,
    /// Days a date may lie outside the months of bud break.
    DatesOutOfSeason,
    /// Telling values two plots must share to be called a repetition.
    RepeatedPlot,
    /// Share of records that end in 0 (or in 0 and 5) where the rest of a column does not.
    Rounding,
    /// Robust standard deviations between a vine's position and the other vines of the plots.
    Drift,
    /// Robust standard deviations between a row or position of the field and what treatments and
    /// blocks make.
    FieldDrift,
    /// Robust standard deviations, of logarithms, between a plot's change and its treatment's.
    SeasonJump,
}

/// What a threshold is set to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Setting {
    /// The rule does not look.
    Off,
    /// One number.
    Number(f64),
    /// Lowest and highest.
    Range(f64, f64),
}

/// What is known of a threshold.
#[derive(Debug, Clone, Copy)]
pub struct Known {
    /// Which.
    pub threshold: Threshold,
    /// Its key in `[checks]`.
    pub key: &'static str,
    /// What stands where the trial file is silent.
    pub usual: Setting,
    /// Lowest and highest number that makes sense.
    pub limits: (f64, f64),
    /// What the number counts.
    pub counts: &'static str,
}

const ROBUST: &str = "robust standard deviations";
const ROBUST_LOG: &str = "robust standard deviations of logarithms";

/// Every threshold, in the order of [`Threshold`].
pub const KNOWN: &[Known] = &[
    known(
        Threshold::FarValue,
        "far_value",
        Setting::Number(3.5),
        (1.0, 100.0),
        ROBUST,
    ),
    known(
        Threshold::UnitSlip,
        "unit_slip",
        Setting::Number(4.0),
        (1.0, 100.0),
        ROBUST_LOG,
    ),
    known(
        Threshold::UnitOfSeason,
        "unit_of_season",
        Setting::Number(1.6),
        (1.0, 3.0),
        "times that a season may miss the factor between two units",
    ),
    known(
        Threshold::SwappedColumns,
        "swapped_columns",
        Setting::Number(4.0),
        (1.0, 100.0),
        ROBUST_LOG,
    ),
    known(
        Threshold::ClusterWeight,
        "cluster_weight",
        Setting::Number(5.0),
        (1.0, 100.0),
        ROBUST_LOG,
    ),
    known(
        Threshold::PartsDisagree,
        "parts_disagree",
        Setting::Number(0.2),
        (0.01, 10.0),
        "share of crop over clusters",
    ),
    known(
        Threshold::RipeBrix,
        "ripe_brix",
        Setting::Range(12.0, 32.0),
        (0.0, 45.0),
        "Brix",
    ),
    known(
        Threshold::RipePh,
        "ripe_ph",
        Setting::Range(2.7, 4.5),
        (2.0, 5.0),
        "pH",
    ),
    known(
        Threshold::RipeAcidity,
        "ripe_acidity",
        Setting::Range(2.0, 20.0),
        (0.0, 60.0),
        "g/L",
    ),
    known(
        Threshold::NodesMissed,
        "nodes_missed",
        Setting::Number(0.3),
        (0.0, 10.0),
        "share of the nodes assigned, and at least 3 nodes",
    ),
    known(
        Threshold::BudsAboveNodes,
        "buds_above_nodes",
        Setting::Number(0.0),
        (0.0, 10.0),
        "share of the nodes left",
    ),
    known(
        Threshold::DatesOutOfSeason,
        "dates_out_of_season",
        Setting::Number(0.0),
        (0.0, 120.0),
        "days beyond the months of bud break",
    ),
    known(
        Threshold::RepeatedPlot,
        "repeated_plot",
        Setting::Number(5.0),
        (2.0, 1000.0),
        "telling values in common",
    ),
    known(
        Threshold::Rounding,
        "rounding",
        Setting::Number(0.9),
        (0.5, 1.0),
        "share of the records",
    ),
    known(
        Threshold::Drift,
        "drift",
        Setting::Number(1.0),
        (0.1, 100.0),
        ROBUST_LOG,
    ),
    known(
        Threshold::FieldDrift,
        "field_drift",
        Setting::Number(1.0),
        (0.1, 100.0),
        ROBUST_LOG,
    ),
    known(
        Threshold::SeasonJump,
        "season_jump",
        Setting::Number(6.0),
        (1.0, 100.0),
        ROBUST_LOG,
    ),
];

const fn known(
    threshold: Threshold,
    key: &'static str,
    usual: Setting,
    limits: (f64, f64),
    counts: &'static str,
) -> Known {
    Known {
        threshold,
        key,
        usual,
        limits,
        counts,
    }
}

impl Threshold {
    /// What is known of it.
    #[must_use]
    pub fn known(self) -> &'static Known {
        // A test holds the order of the list to that of the enumeration.
        &KNOWN[self as usize]
    }
}

impl Setting {
    /// As a trial file writes it.
    #[must_use]
    pub fn written(self) -> String {
        match self {
            Setting::Off => "\"off\"".to_owned(),
            Setting::Number(number) => number.to_string(),
            Setting::Range(low, high) => format!("[{low}, {high}]"),
        }
    }
}

/// The thresholds of a trial.
#[derive(Debug, Clone)]
pub struct Checks {
    settings: Vec<Setting>,
}

impl Default for Checks {
    fn default() -> Self {
        Self {
            settings: KNOWN.iter().map(|known| known.usual).collect(),
        }
    }
}

impl Checks {
    /// What a threshold is set to.
    #[must_use]
    pub fn setting(&self, threshold: Threshold) -> Setting {
        self.settings[threshold as usize]
    }

    /// A number; `None` where the rule is off.
    #[must_use]
    pub fn number(&self, threshold: Threshold) -> Option<f64> {
        match self.setting(threshold) {
            Setting::Number(number) => Some(number),
            Setting::Off | Setting::Range(..) => None,
        }
    }

    /// Lowest and highest; `None` where the rule is off.
    #[must_use]
    pub fn range(&self, threshold: Threshold) -> Option<(f64, f64)> {
        match self.setting(threshold) {
            Setting::Range(low, high) => Some((low, high)),
            Setting::Off | Setting::Number(_) => None,
        }
    }

    /// Sets a threshold.
    pub fn set(&mut self, threshold: Threshold, setting: Setting) {
        self.settings[threshold as usize] = setting;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_in_the_order_of_the_thresholds() {
        for (at, known) in KNOWN.iter().enumerate() {
            assert_eq!(known.threshold as usize, at, "{}", known.key);
        }
        assert_eq!(Threshold::SeasonJump as usize + 1, KNOWN.len());
    }
}
