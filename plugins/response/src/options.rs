//! The options of trial.toml for this analysis.

use caneplot_numerics::curves::Shape;
use caneplot_plugin::request::Response;
use caneplot_plugin::{Call, Refusal};
use serde::Deserialize;

/// Shapes that may be chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Shapes {
    All,
    Polynomial,
    Plateau,
}

impl Shapes {
    /// The shapes compared, the simple ones first.
    pub fn list(self) -> &'static [Shape] {
        match self {
            Shapes::All => &Shape::ALL,
            Shapes::Polynomial => &[Shape::Flat, Shape::Line, Shape::Quadratic],
            Shapes::Plateau => &[
                Shape::Flat,
                Shape::Line,
                Shape::LinePlateau,
                Shape::QuadraticPlateau,
            ],
        }
    }
}

/// The area that a cost is reckoned on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Area {
    Vine,
    Hectare,
    Acre,
}

impl Area {
    pub fn words(self) -> &'static str {
        match self {
            Area::Vine => "vine",
            Area::Hectare => "ha",
            Area::Acre => "acre",
        }
    }
}

/// Price and cost, both given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Money<'a> {
    pub price: f64,
    pub cost: f64,
    pub basis: Area,
    /// Such as "EUR".
    pub name: Option<&'a str>,
}

/// The options, complete.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Options {
    pub shapes: Shapes,
    pub level: f64,
    responses: Option<Vec<String>>,
    price: Option<f64>,
    cost_per_node: Option<f64>,
    cost_basis: Option<Area>,
    money: Option<String>,
}

impl Options {
    /// The options of a call.
    pub fn of(call: &Call) -> Result<Self, Refusal> {
        let options: Self = call.options()?;
        for name in options.responses.iter().flatten() {
            call.response(name, "responses")?;
        }
        let given = [
            ("price", options.price.is_some()),
            ("cost_per_node", options.cost_per_node.is_some()),
            ("cost_basis", options.cost_basis.is_some()),
        ];
        if given.iter().any(|(_, is)| *is)
            && let Some((missing, _)) = given.iter().find(|(_, is)| !is)
        {
            return Err(Refusal::new(format!(
                "an economic optimum needs 'price', 'cost_per_node' and 'cost_basis'; '{missing}' is not given"
            ))
            .hint("give all three, or none: nothing is assumed about prices"));
        }
        if options.price.is_some_and(|price| price <= 0.0) {
            return Err(Refusal::new("the option 'price' is not above 0")
                .hint("give what one unit of crop brings, or leave prices out"));
        }
        Ok(options)
    }

    /// The responses to analyse, in the order of the trial.
    pub fn responses<'a>(&'a self, call: &'a Call) -> impl Iterator<Item = &'a Response> {
        call.chosen(self.responses.as_deref())
    }

    /// Price and cost, where given.
    pub fn money(&self) -> Option<Money<'_>> {
        Some(Money {
            price: self.price?,
            cost: self.cost_per_node?,
            basis: self.cost_basis?,
            name: self.money.as_deref(),
        })
    }

    /// The confidence of intervals, such as "95 %".
    pub fn confidence(&self) -> String {
        format!("{} %", ((1.0 - self.level) * 1e6).round() / 1e4)
    }
}
