//! The words a trial file chooses from, and what they mean.

use caneplot_plugin::balanced::Light;
use caneplot_plugin::request::{Canopy, DesignKind, Quantity, Role};

use super::{DecimalMark, Hemisphere, How, Winter};

/// A closed list of words.
pub(super) struct Words<T: 'static> {
    /// What one of them is: "a kind of design".
    pub(super) what: &'static str,
    pub(super) list: &'static [(&'static str, T)],
}

impl<T: Copy> Words<T> {
    /// What a word means; case, hyphens and -ize for -ise do not matter.
    pub(super) fn meaning(&self, written: &str) -> Option<T> {
        let plain = plain(written);
        self.list
            .iter()
            .find(|(word, _)| self::plain(word) == plain)
            .map(|(_, meaning)| *meaning)
    }

    /// All words.
    pub(super) fn all(&self) -> impl Iterator<Item = &'static str> + use<T> {
        self.list.iter().map(|(word, _)| *word)
    }

    /// The first word, for examples.
    pub(super) fn first(&self) -> &'static str {
        self.list.first().map_or("", |(word, _)| *word)
    }
}

impl<T: Copy + PartialEq> Words<T> {
    /// The word for a meaning.
    pub(super) fn word(&self, meaning: T) -> &'static str {
        self.list
            .iter()
            .find(|(_, other)| *other == meaning)
            .map_or("", |(word, _)| *word)
    }
}

fn plain(text: &str) -> String {
    let spaced = text.to_lowercase().replace(['-', '_'], " ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    words
        .join(" ")
        .replace("randomized", "randomised")
        .replace("labour", "labor")
}

/// Halves of the world.
pub(super) const HEMISPHERES: Words<Hemisphere> = Words {
    what: "a half of the world",
    list: &[("north", Hemisphere::North), ("south", Hemisphere::South)],
};

/// Kinds of design.
pub(super) const KINDS: Words<DesignKind> = Words {
    what: "a kind of design",
    list: &[
        ("randomised block", DesignKind::RandomisedBlock),
        ("completely randomised", DesignKind::CompletelyRandomised),
        ("Latin square", DesignKind::LatinSquare),
        ("split plot", DesignKind::SplitPlot),
        ("strip plot", DesignKind::StripPlot),
        ("split-split plot", DesignKind::SplitSplitPlot),
    ],
};

/// Where a factor is applied.
pub(super) const ROLES: Words<Role> = Words {
    what: "a role of a factor",
    list: &[
        ("treatment", Role::Treatment),
        ("whole plot", Role::WholePlot),
        ("sub plot", Role::SubPlot),
        ("sub-sub plot", Role::SubSubPlot),
        ("row strip", Role::RowStrip),
        ("cross strip", Role::CrossStrip),
    ],
};

/// Kinds of canopy.
pub(super) const CANOPIES: Words<Canopy> = Words {
    what: "a kind of canopy",
    list: &[
        ("single", Canopy::Single),
        ("divided", Canopy::Divided),
        ("minimally pruned", Canopy::MinimallyPruned),
        ("hedged", Canopy::Hedged),
        ("free standing", Canopy::FreeStanding),
    ],
};

/// Winters.
pub(super) const WINTERS: Words<Winter> = Words {
    what: "a winter",
    list: &[
        ("after harvest", Winter::AfterHarvest),
        ("before harvest", Winter::BeforeHarvest),
    ],
};

/// Marks before decimals.
pub(super) const DECIMAL_MARKS: Words<DecimalMark> = Words {
    what: "a mark before decimals",
    list: &[(".", DecimalMark::Point), (",", DecimalMark::Comma)],
};

/// What many values become.
pub(super) const SUMMARIES: Words<How> = Words {
    what: "a summary",
    list: &[
        ("mean", How::Mean),
        ("sum", How::Sum),
        ("count", How::Count),
    ],
};

/// What a summary is of; whether it is plots.
pub(super) const SUMMARISED: Words<bool> = Words {
    what: "what a summary can be of",
    list: &[("vine", false), ("plot", true)],
};

/// Where a season may be named outside the records.
pub(super) const SEASON_SOURCES: Words<()> = Words {
    what: "a place that names the season",
    list: &[("sheet", ())],
};

/// What a vine gets whose prunings weigh less than one unit of a rule.
pub(super) const LIGHTS: Words<Light> = Words {
    what: "a way to treat vines below one unit of prunings",
    list: &[
        ("as one unit", Light::AsOneUnit),
        ("in proportion", Light::InProportion),
        ("on the line", Light::OnTheLine),
    ],
};

/// Quantities.
pub(super) const QUANTITIES: Words<Quantity> = Words {
    what: "a quantity",
    list: &[
        ("yield", Quantity::Yield),
        ("pruning weight", Quantity::PruningWeight),
        ("cluster count", Quantity::ClusterCount),
        ("berry weight", Quantity::BerryWeight),
        ("berry count", Quantity::BerryCount),
        ("soluble solids", Quantity::SolubleSolids),
        ("pH", Quantity::Ph),
        ("titratable acidity", Quantity::TitratableAcidity),
        ("cane count", Quantity::CaneCount),
        ("nodes left", Quantity::NodesLeft),
        ("shoot count", Quantity::ShootCount),
        ("bud break", Quantity::BudBreak),
        ("bud survival", Quantity::BudSurvival),
        ("leaf area", Quantity::LeafArea),
        ("labour", Quantity::Labour),
        ("other", Quantity::Other),
    ],
};

/// Names of responses that say what they measure, beside the quantities' own.
const TELLING: Words<Quantity> = Words {
    what: "a telling name",
    list: &[
        ("crop", Quantity::Yield),
        ("prunings", Quantity::PruningWeight),
        ("pruning wood", Quantity::PruningWeight),
        ("clusters", Quantity::ClusterCount),
        ("bunches", Quantity::ClusterCount),
        ("bunch count", Quantity::ClusterCount),
        ("berries", Quantity::BerryCount),
        ("brix", Quantity::SolubleSolids),
        ("tss", Quantity::SolubleSolids),
        ("ta", Quantity::TitratableAcidity),
        ("acidity", Quantity::TitratableAcidity),
        ("canes", Quantity::CaneCount),
        ("nodes", Quantity::NodesLeft),
        ("nodes retained", Quantity::NodesLeft),
        ("buds left", Quantity::NodesLeft),
        ("shoots", Quantity::ShootCount),
        ("budbreak", Quantity::BudBreak),
        ("broken buds", Quantity::BudBreak),
        ("buds broken", Quantity::BudBreak),
        ("live buds", Quantity::BudSurvival),
        ("buds alive", Quantity::BudSurvival),
    ],
};

/// The quantity a response's name tells, or *other*.
pub(super) fn told_by(name: &str) -> Quantity {
    QUANTITIES
        .meaning(name)
        .or_else(|| TELLING.meaning(name))
        .unwrap_or_default()
}

/// Whether a quantity is recorded in winter by its nature, so that the season it belongs to must
/// be said.
pub(super) fn is_dormant(quantity: Quantity) -> bool {
    matches!(
        quantity,
        Quantity::PruningWeight | Quantity::CaneCount | Quantity::NodesLeft | Quantity::BudSurvival
    )
}

/// A name as a heading: "pruning_weight" reads "Pruning weight".
pub(super) fn in_words(name: &str) -> String {
    match plain(name).as_str() {
        "ph" => return "pH".to_owned(),
        "ta" => return "Titratable acidity".to_owned(),
        "tss" => return "Soluble solids".to_owned(),
        _ => {}
    }
    let spaced = name.replace(['_', '-'], " ");
    let mut letters = spaced.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => spaced,
    }
}
