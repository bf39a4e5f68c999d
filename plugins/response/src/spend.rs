//! Sentences about money, where price and cost are given.

use caneplot_plugin::findings::{Format, Statement};
use caneplot_plugin::request::Quantity;
use caneplot_plugin::sentence::Sentence;

use crate::economics::{Best, best, cost_on};
use crate::options::Money;
use crate::study::{Fitted, Study};

/// The economic optimum of a yield along a curve; `lead` begins the sentence: "At".
pub(crate) fn statements(study: &Study<'_>, fitted: &Fitted, lead: &str) -> Vec<Statement> {
    let Some(money) = study.options.money() else {
        return Vec::new();
    };
    if study.response.quantity != Quantity::Yield {
        return Vec::new();
    }
    let cost = match cost_on(&money, study.response, &study.trial.vineyard) {
        Ok(cost) => cost,
        Err(reason) => {
            return vec![
                Sentence::new(&format!(
                    "There is no economic optimum of {}: {reason}.",
                    study.response_name()
                ))
                .statement(),
            ];
        }
    };
    let (low, high) = fitted.levels.range();
    let format = study.of_amounts(fitted);
    let area = money.basis.words();
    let name = named(&money);
    let terms = Sentence::new(&format!("{lead} a price of {name}"))
        .number(money.price, Study::as_typed(money.price))
        .text(&format!(
            " for one {} of crop and a cost of {name}",
            weight(&study.response.unit)
        ))
        .number(money.cost, Study::as_typed(money.cost))
        .text(&match study.unit() {
            "" => format!(" per {area} for one more of {}, ", study.factor_name()),
            unit => format!(
                " per {area} for one more of {} ({unit}), ",
                study.factor_name()
            ),
        });
    let found = best(fitted, cost / money.price, study.options.level);
    let (sentence, amount) = match &found {
        Best::At {
            amount,
            interval,
            linearised,
        } => {
            let place = terms
                .text("the best amount is ")
                .number_in(*amount, format, study.unit());
            let place = match interval {
                Some((from, to)) => study.interval(place, *from, *to, format),
                None => place.text(" (with no finite interval)"),
            };
            let place = match linearised {
                true => place.text(", the interval being linearised and only about right"),
                false => place,
            };
            (place, *amount)
        }
        Best::Join(spot) => (
            terms
                .text("every one up to the join pays: the best amount is ")
                .then(study.spot(fitted, spot)),
            spot.at,
        ),
        Best::Lowest => (
            terms
                .text("more does not pay: the best amount is the lowest tested, ")
                .number_in(low, format, study.unit())
                .text(", or less"),
            low,
        ),
        Best::Highest => (
            terms
                .text("every one pays: the best amount is the highest tested, ")
                .number_in(high, format, study.unit())
                .text(", or more"),
            high,
        ),
    };
    let mut all = vec![
        sentence
            .text(". Prices are taken as known; only the curve is uncertain.")
            .statement(),
    ];
    all.extend(against_control(study, fitted, amount, cost, &money));
    all
}

/// "EUR " before a sum, or nothing where the money has no name.
fn named(money: &Money<'_>) -> String {
    money
        .name
        .map_or_else(String::new, |name| format!("{name} "))
}

/// "kg" of "kg/vine".
fn weight(unit: &str) -> &str {
    unit.split_once('/')
        .map_or(unit, |(weight, _)| weight)
        .trim()
}

/// What the best amount leaves over the control.
fn against_control(
    study: &Study<'_>,
    fitted: &Fitted,
    amount: f64,
    cost: f64,
    money: &Money<'_>,
) -> Option<Statement> {
    let level = study.factor.control.as_ref()?;
    let control = study
        .factor
        .levels
        .iter()
        .find(|declared| &declared.name == level)?
        .value?;
    if !fitted.levels.amounts.contains(&control) || control == amount {
        return None;
    }
    let change = fitted.levels.change(&fitted.fit, control, amount);
    let half = money.price * fitted.half_width(change.unit_variance);
    let net = money.price * change.value - cost * (amount - control);
    let area = study
        .response
        .unit
        .rsplit_once('/')
        .map_or("", |(_, area)| area.trim());
    let digits = Format::Decimals(2);
    let name = named(money);
    let start = Sentence::new("Against the control, ")
        .number_in(control, study.of_amounts(fitted), study.unit())
        .text(&format!(", that leaves {name}"))
        .number(net, digits)
        .text(&format!(" more per {area} after the cost"));
    Some(
        study
            .interval(start, net - half, net + half, digits)
            .text(", if that amount is taken as given.")
            .statement(),
    )
}
