//! Which units can measure which quantity.

use caneplot_plugin::request::Quantity;

use crate::trial::Unit;
use crate::trial::unit::{Dimension, Per};

/// How a quantity is measured.
pub(super) struct Measure {
    /// Whether a unit can.
    pub(super) fits: fn(&Unit) -> bool,
    /// What is wanted, after "is".
    pub(super) wanted: &'static str,
    /// A unit that can.
    pub(super) example: &'static str,
}

/// How a quantity is measured.
pub(super) fn measure(quantity: Quantity) -> Measure {
    let (fits, wanted, example): (fn(&Unit) -> bool, _, _) = match quantity {
        Quantity::Yield | Quantity::PruningWeight => {
            (is_crop, "a mass per vine, plot, length or area", "kg/vine")
        }
        Quantity::ClusterCount => (
            |unit| counts(unit, &["clusters"]),
            "a count of clusters",
            "clusters/vine",
        ),
        Quantity::BerryWeight => (is_of_berry, "the mass of a berry", "g"),
        Quantity::BerryCount => (
            |unit| counts(unit, &["berries"]),
            "a count of berries",
            "berries/cluster",
        ),
        Quantity::SolubleSolids => (
            |unit| unit.dimension() == Dimension::SolubleSolids,
            "in degrees Brix",
            "Brix",
        ),
        Quantity::Ph => (|unit| unit.dimension() == Dimension::Ph, "a pH", "pH"),
        Quantity::TitratableAcidity => (
            |unit| unit.dimension() == Dimension::Mass && unit.per() == Per::Volume,
            "a mass per volume",
            "g/L",
        ),
        Quantity::CaneCount => (
            |unit| counts(unit, &["canes"]),
            "a count of canes",
            "canes/vine",
        ),
        // Nodes left at pruning are called buds as often.
        Quantity::NodesLeft => (
            |unit| counts(unit, &["nodes", "buds"]),
            "a count of nodes",
            "nodes/vine",
        ),
        Quantity::ShootCount => (
            |unit| counts(unit, &["shoots"]),
            "a count of shoots",
            "shoots/vine",
        ),
        Quantity::BudBreak => (
            |unit| is_of_buds(unit) || unit.is_day(),
            "a count of buds, a share, or the day on which buds broke",
            "%",
        ),
        Quantity::BudSurvival => (is_of_buds, "a count of buds, or a share", "%"),
        Quantity::LeafArea => (
            |unit| unit.dimension() == Dimension::Area,
            "an area",
            "m2/vine",
        ),
        Quantity::Labour => (
            |unit| unit.dimension() == Dimension::Time,
            "a time",
            "min/vine",
        ),
        Quantity::Other => (|_| true, "anything", "index"),
    };
    Measure {
        fits,
        wanted,
        example,
    }
}

fn counts(unit: &Unit, things: &[&str]) -> bool {
    matches!(unit.dimension(), Dimension::Count(of) if of.is_empty() || things.contains(&of))
}

/// A mass of crop or wood must say whose it is: "kg" alone may be a vine's or a plot's.
fn is_crop(unit: &Unit) -> bool {
    unit.dimension() == Dimension::Mass
        && matches!(
            unit.per(),
            Per::Vine | Per::Plot | Per::Canopy | Per::Ground
        )
}

fn is_of_berry(unit: &Unit) -> bool {
    unit.dimension() == Dimension::Mass
        && matches!(unit.per(), Per::Nothing | Per::Thing("berries"))
}

fn is_of_buds(unit: &Unit) -> bool {
    unit.dimension() == Dimension::Fraction || counts(unit, &["buds", "nodes", "shoots"])
}
