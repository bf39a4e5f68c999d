//! What growers weigh and count: the two units an amount is shown in, and how far it is rounded.
//!
//! The exact factors are those of `trial/unit/atoms.rs` (NIST Special Publication 811, 2008, appendix
//! B); nothing here is a factor of its own but the acre below a unit of money.

use caneplot_plugin::request::{Quantity, Vineyard};

use crate::messages::Language;
use crate::trial::Unit;
use crate::trial::unit::{Dimension, Per};

/// Hectares in an acre: 4046.8564224 m² exactly (international acre; NIST Special Publication 811,
/// 2008, appendix B.8).
const HECTARES_IN_AN_ACRE: f64 = 0.404_685_642_24;

/// Which units come first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum First {
    /// Metric ones.
    #[default]
    Metric,
    /// Those of the United States.
    Us,
}

/// One of the units of an amount.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    /// Amount in this unit for one in the unit of the analysis.
    pub factor: f64,
    /// As printed, in the language of the page.
    pub unit: String,
    /// Decimals.
    pub decimals: u8,
}

/// How amounts of one response are shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Shown {
    /// The unit that comes first.
    pub first: Scale,
    /// The one in brackets, where there is another.
    pub second: Option<Scale>,
    /// The unit differences are in, where it is another: percentage points.
    pub difference: Option<String>,
}

/// Units as parsed, message and decimals: metric and, where growers use another, that of the United
/// States.
type Pair = (
    (&'static str, &'static str, u8),
    Option<(&'static str, &'static str, u8)>,
);

const CROP_PER_AREA: Pair = (
    ("t/ha", "unit-t-ha", 1),
    Some(("US ton/acre", "unit-tons-acre", 1)),
);
const CROP_PER_VINE: Pair = (
    ("kg/vine", "unit-kg-vine", 1),
    Some(("lb/vine", "unit-lb-vine", 1)),
);
const WOOD_PER_VINE: Pair = (
    ("kg/vine", "unit-kg-vine", 2),
    Some(("lb/vine", "unit-lb-vine", 1)),
);
const PER_CANOPY: Pair = (("kg/m", "unit-kg-m", 2), Some(("lb/ft", "unit-lb-ft", 2)));
const CLUSTER: Pair = (("g", "unit-g", 0), Some(("oz", "unit-oz", 1)));
const BERRY: Pair = (("g", "unit-g", 2), None);
const ACID: Pair = (("g/L", "unit-g-l", 1), None);
const WORK_PER_AREA: Pair = (("h/ha", "unit-h-ha", 0), Some(("h/acre", "unit-h-acre", 0)));
const WORK_PER_VINE: Pair = (("min/vine", "unit-min-vine", 1), None);
const SHOOTS_PER_CANOPY: Pair = (
    ("shoots/m", "unit-shoots-m", 0),
    Some(("shoots/ft", "unit-shoots-ft", 1)),
);
const LEAVES_PER_CROP: Pair = (
    ("m²/kg", "unit-m2-kg", 2),
    Some(("ft²/lb", "unit-ft2-lb", 1)),
);

/// How amounts in a unit are shown to growers.
///
/// A crop in kilograms or pounds a vine goes to tonnes and tons where the spacing is known: that is
/// what is sold.
#[must_use]
pub fn shown(
    unit: &str,
    quantity: Quantity,
    vineyard: &Vineyard,
    first: First,
    language: &Language,
) -> Shown {
    if let Some(money) = money(unit, first) {
        return money;
    }
    let Ok(own) = Unit::parse(unit) else {
        return single(unit.to_owned(), 1);
    };
    let spaced = vineyard.row_spacing_m.is_some() && vineyard.vine_spacing_m.is_some();
    let pair = match (own.dimension(), own.per()) {
        (Dimension::Mass, Per::Vine) if quantity == Quantity::Yield && spaced => CROP_PER_AREA,
        (Dimension::Mass, Per::Vine) if quantity == Quantity::Yield => CROP_PER_VINE,
        (Dimension::Mass, Per::Vine) => WOOD_PER_VINE,
        (Dimension::Mass, Per::Ground) => CROP_PER_AREA,
        (Dimension::Mass, Per::Canopy) => PER_CANOPY,
        (Dimension::Mass, Per::Nothing) if quantity == Quantity::BerryWeight => BERRY,
        (Dimension::Mass, Per::Nothing) => CLUSTER,
        (Dimension::Mass, Per::Volume) => ACID,
        (Dimension::Time, Per::Vine) if spaced => WORK_PER_AREA,
        (Dimension::Time, Per::Vine) => WORK_PER_VINE,
        (Dimension::Count("shoots"), Per::Canopy) => SHOOTS_PER_CANOPY,
        (Dimension::Area, Per::Mass) => LEAVES_PER_CROP,
        (Dimension::Fraction, _) => {
            let mut shown = single(language.text("unit-percent"), 0);
            shown.difference = Some(language.text("unit-points"));
            return shown;
        }
        (Dimension::SolubleSolids, _) => return single(language.text("unit-brix"), 1),
        (Dimension::Ph, _) => return single(String::new(), 2),
        // A ratio of masses is the same number in kilograms and in pounds.
        (Dimension::Mass, Per::Mass) | (Dimension::Plain, _) => return single(String::new(), 1),
        (Dimension::Count(_), _) => return single(counted(unit, language), 0),
        _ => return single(unit.to_owned(), 1),
    };
    let geometry = crate::trial::Vineyard {
        row_spacing_m: vineyard.row_spacing_m,
        vine_spacing_m: vineyard.vine_spacing_m,
        canopy_per_vine_m: vineyard.canopy_per_vine_m,
        vines_per_plot: vineyard.vines_per_plot,
        ..Default::default()
    };
    let scale = |(unit, message, decimals): (&str, &str, u8)| {
        let wanted = Unit::parse(unit).ok()?;
        Some(Scale {
            factor: own.factor_to(&wanted, &geometry).ok()?,
            unit: language.text(message),
            decimals,
        })
    };
    let Some(metric) = scale(pair.0) else {
        return single(unit.to_owned(), 1);
    };
    let us = pair.1.and_then(scale);
    let (first, second) = match (first, us) {
        (First::Us, Some(us)) => (us, Some(metric)),
        (_, us) => (metric, us),
    };
    Shown {
        first,
        second,
        difference: None,
    }
}

fn single(unit: String, decimals: u8) -> Shown {
    Shown {
        first: Scale {
            factor: 1.0,
            unit,
            decimals,
        },
        second: None,
        difference: None,
    }
}

/// Money per hectare or acre in both.
fn money(unit: &str, first: First) -> Option<Shown> {
    let (currency, ground) = unit.rsplit_once('/')?;
    let is_code = currency.len() == 3 && currency.chars().all(|c| c.is_ascii_uppercase());
    if !is_code && !matches!(currency, "$" | "€" | "£") {
        return None;
    }
    let per_hectare = match ground {
        "ha" => 1.0,
        "acre" => 1.0 / HECTARES_IN_AN_ACRE,
        _ => return None,
    };
    let scale = |factor: f64, ground: &str| Scale {
        factor,
        unit: format!("{currency}/{ground}"),
        decimals: 0,
    };
    let hectare = scale(per_hectare, "ha");
    let acre = scale(per_hectare * HECTARES_IN_AN_ACRE, "acre");
    let (first, second) = match first {
        First::Metric => (hectare, acre),
        First::Us => (acre, hectare),
    };
    Some(Shown {
        first,
        second: Some(second),
        difference: None,
    })
}

/// Things counted per vine, in the language of the page.
fn counted(unit: &str, language: &Language) -> String {
    match unit {
        "clusters/vine" => language.text("unit-clusters-vine"),
        "shoots/vine" => language.text("unit-shoots-vine"),
        "canes/vine" => language.text("unit-canes-vine"),
        "nodes/vine" | "buds/vine" => language.text("unit-nodes-vine"),
        other => other.to_owned(),
    }
}

/// Most decimals added so that a likely range is not rounded away.
const MOST_ADDED: u8 = 2;

impl Shown {
    /// The same with as many decimals more as it takes for half the width of a likely range, in the
    /// unit of the analysis, to be two or more of the last place: 0.4 to 0.6 tons must not be printed
    /// as 0 to 1.
    #[must_use]
    pub fn fine_enough(mut self, half_width: f64) -> Self {
        let add = |scale: &mut Scale| {
            let mut added = 0;
            while added < MOST_ADDED
                && half_width > 0.0
                && half_width * scale.factor * 10f64.powi(i32::from(scale.decimals)) < 1.0
            {
                scale.decimals += 1;
                added += 1;
            }
        };
        add(&mut self.first);
        self.second.as_mut().map(add);
        self
    }

    /// An amount in both units: "13.1 t/ha (5.9 tons/acre)".
    #[must_use]
    pub fn amount(&self, value: f64, language: &Language) -> String {
        self.both(language, |scale| written(value, scale, language), false)
    }

    /// The size of a difference in both units, without a sign.
    #[must_use]
    pub fn size(&self, difference: f64, language: &Language) -> String {
        let value = difference.abs();
        self.both(language, |scale| written(value, scale, language), true)
    }

    /// A likely range of amounts in both units: "1.2 to 1.9 t/ha (0.5 to 0.8 tons/acre)".
    #[must_use]
    pub fn range(&self, low: f64, high: f64, language: &Language) -> String {
        self.both(language, |scale| span(low, high, scale, language), false)
    }

    /// A likely range of a difference whose ends are on one side of zero, smaller size first.
    #[must_use]
    pub fn sizes(&self, low: f64, high: f64, language: &Language) -> String {
        let (low, high) = (low.abs().min(high.abs()), low.abs().max(high.abs()));
        self.both(language, |scale| span(low, high, scale, language), true)
    }

    /// A likely range of a difference in words that say less and more, in both units.
    #[must_use]
    pub fn bounds(&self, low: f64, high: f64, language: &Language) -> String {
        if low >= 0.0 {
            let range = |low: &str, high: &str| {
                language.say(
                    "bounds-above",
                    &[("low", low.into()), ("high", high.into())],
                )
            };
            let low = self.size(low, language);
            return range(&low, &self.size(high, language));
        }
        if high <= 0.0 {
            let (low, high) = (self.size(high, language), self.size(low, language));
            return language.say(
                "bounds-below",
                &[("low", low.into()), ("high", high.into())],
            );
        }
        let (low, high) = (self.size(low, language), self.size(high, language));
        language.say(
            "bounds-across",
            &[("low", low.into()), ("high", high.into())],
        )
    }

    /// An amount as a cell of the table: "13.1 (5.9)".
    #[must_use]
    pub fn cell(&self, value: f64, language: &Language) -> String {
        let one = |scale: &Scale| language.number(value * scale.factor, scale.decimals);
        match &self.second {
            Some(second) => format!("{} ({})", one(&self.first), one(second)),
            None => one(&self.first),
        }
    }

    /// Both units as they stand in a heading: "t/ha (tons/acre)"; empty where there is none.
    #[must_use]
    pub fn units(&self) -> String {
        match &self.second {
            Some(second) => format!("{} ({})", self.first.unit, second.unit),
            None => self.first.unit.clone(),
        }
    }

    fn both(
        &self,
        language: &Language,
        written: impl Fn(&Scale) -> String,
        is_difference: bool,
    ) -> String {
        let first = match (&self.difference, is_difference) {
            (Some(unit), true) => written(&Scale {
                unit: unit.clone(),
                ..self.first.clone()
            }),
            _ => written(&self.first),
        };
        match &self.second {
            Some(second) => language.say(
                "both-units",
                &[("first", first.into()), ("second", written(second).into())],
            ),
            None => first,
        }
    }
}

fn written(value: f64, scale: &Scale, language: &Language) -> String {
    let number = language.number(value * scale.factor, scale.decimals);
    with_unit(number, scale)
}

fn span(low: f64, high: f64, scale: &Scale, language: &Language) -> String {
    let one = |value: f64| language.number(value * scale.factor, scale.decimals);
    let said = language.say(
        "span",
        &[("low", one(low).into()), ("high", one(high).into())],
    );
    with_unit(said, scale)
}

fn with_unit(number: String, scale: &Scale) -> String {
    if scale.unit.is_empty() {
        number
    } else {
        format!("{number} {}", scale.unit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(value: f64, wanted: f64) {
        assert!(
            (value / wanted - 1.0).abs() < 1e-9,
            "{value} is not {wanted}"
        );
    }

    fn shown_in(unit: &str, quantity: Quantity, vineyard: &Vineyard) -> Shown {
        let language = Language::new("en").unwrap();
        shown(unit, quantity, vineyard, First::Metric, &language)
    }

    #[test]
    fn factors_are_exact() {
        let bare = Vineyard::default();
        // NIST Handbook 44 (2024), appendix C: 1 short ton = 2000 lb = 907.184 74 kg, 1 acre =
        // 0.404 685 642 24 ha (international foot), 1 lb = 453.592 37 g, 1 ft = 0.3048 m.
        let crop = shown_in("t/ha", Quantity::Yield, &bare);
        near(crop.second.unwrap().factor, 0.404_685_642_24 / 0.907_184_74);
        let wood = shown_in("kg/m", Quantity::Other, &bare);
        near(wood.second.unwrap().factor, 0.3048 / 0.453_592_37);
        let vine = shown_in("lb/vine", Quantity::PruningWeight, &bare);
        near(vine.first.factor, 0.453_592_37);
        near(vine.second.unwrap().factor, 1.0);
    }

    #[test]
    fn a_crop_a_vine_goes_to_tonnes_where_the_spacing_is_known() {
        // Zoecklein et al. 2008 (Am. J. Enol. Vitic. 59:11): vines at 2.4 by 3.0 m, 10.5 kg a vine,
        // which is 14.58 t/ha and 6.51 tons an acre.
        let vineyard = Vineyard {
            row_spacing_m: Some(3.0),
            vine_spacing_m: Some(2.4),
            ..Vineyard::default()
        };
        let crop = shown_in("kg/vine", Quantity::Yield, &vineyard);
        let language = Language::new("en").unwrap();
        assert_eq!(crop.amount(10.5, &language), "14.6 t/ha (6.5 tons/acre)");
        near(crop.first.factor * 10.5, 14.583_333_333_333);
    }

    #[test]
    fn money_goes_from_hectares_to_acres() {
        let language = Language::new("en").unwrap();
        let sums = shown_in("USD/ha", Quantity::Other, &Vineyard::default());
        assert_eq!(
            sums.amount(1244.79, &language),
            "1,245 USD/ha (504 USD/acre)"
        );
    }

    #[test]
    fn a_narrow_range_is_not_rounded_away() {
        let language = Language::new("en").unwrap();
        let brix = shown_in("°Brix", Quantity::SolubleSolids, &Vineyard::default());
        let fine = brix.clone().fine_enough(0.06);
        assert_eq!(brix.range(0.41, 0.53, &language), "0.4 to 0.5 °Brix");
        assert_eq!(fine.range(0.41, 0.53, &language), "0.41 to 0.53 °Brix");
    }

    #[test]
    fn differences_of_shares_are_in_points() {
        let language = Language::new("en").unwrap();
        let share = shown_in("%", Quantity::BudBreak, &Vineyard::default());
        assert_eq!(share.amount(83.2, &language), "83 %");
        assert_eq!(share.size(-12.1, &language), "12 percentage points");
        assert_eq!(
            share.bounds(-12.1, 3.0, &language),
            "12 percentage points less to 3 percentage points more"
        );
    }
}
