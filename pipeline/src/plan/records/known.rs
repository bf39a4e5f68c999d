//! Responses a plan can ask for by name: what every trial of the trade records, with its column and
//! unit.

use caneplot_plugin::request::Quantity;

use crate::trial::{Response, Unit, Written};

/// A response a plan can ask for by its name alone.
#[derive(Debug, Clone, Copy)]
pub struct Known {
    /// Its name.
    pub name: &'static str,
    label: &'static str,
    column: &'static str,
    /// Column of the total, for a count out of a count.
    of: Option<&'static str>,
    unit: &'static str,
    quantity: Quantity,
}

const fn one(
    name: &'static str,
    label: &'static str,
    column: &'static str,
    unit: &'static str,
    quantity: Quantity,
) -> Known {
    Known {
        name,
        label,
        column,
        of: None,
        unit,
        quantity,
    }
}

const fn share(known: Known, of: &'static str) -> Known {
    Known {
        of: Some(of),
        ..known
    }
}

/// Responses a plan can ask for by name.
pub const KNOWN: &[Known] = &[
    one(
        "nodes_left",
        "Nodes left, counted",
        "nodes_left",
        "nodes/vine",
        Quantity::NodesLeft,
    ),
    one("canes", "Canes", "canes", "canes/vine", Quantity::CaneCount),
    one(
        "pruning_weight",
        "Pruning weight",
        "prunings_kg",
        "kg/vine",
        Quantity::PruningWeight,
    ),
    one(
        "labour",
        "Pruning time",
        "prune_min",
        "min/vine",
        Quantity::Labour,
    ),
    share(
        one(
            "bud_break",
            "Bud break",
            "nodes_broken",
            "%",
            Quantity::BudBreak,
        ),
        "nodes_counted",
    ),
    share(
        one(
            "bud_survival",
            "Bud survival",
            "buds_alive",
            "%",
            Quantity::BudSurvival,
        ),
        "buds_cut",
    ),
    one(
        "shoots",
        "Shoots",
        "shoots",
        "shoots/vine",
        Quantity::ShootCount,
    ),
    one("yield", "Yield", "crop_kg", "kg/vine", Quantity::Yield),
    one(
        "clusters",
        "Clusters",
        "clusters",
        "clusters/vine",
        Quantity::ClusterCount,
    ),
    one(
        "berry_weight",
        "Berry weight",
        "berry_g",
        "g",
        Quantity::BerryWeight,
    ),
    one("brix", "Brix", "brix", "Brix", Quantity::SolubleSolids),
    one("ph", "pH", "ph", "pH", Quantity::Ph),
    one(
        "titratable_acidity",
        "Titratable acidity",
        "acid_g_l",
        "g/L",
        Quantity::TitratableAcidity,
    ),
];

/// A response known by its name.
#[must_use]
pub fn known(name: &str, span: std::ops::Range<usize>) -> Option<Response> {
    let known = KNOWN.iter().find(|known| known.name == name)?;
    let written = |text: &str| Written {
        value: text.to_owned(),
        span: span.clone(),
    };
    Some(Response {
        name: known.name.to_owned(),
        span: span.clone(),
        label: known.label.to_owned(),
        column: written(known.column),
        of: known.of.map(written),
        unit: match known.of {
            Some(_) => Unit::percent(),
            None => Unit::parse(known.unit).ok()?,
        },
        report_unit: None,
        quantity: known.quantity,
        possible: None,
    })
}
