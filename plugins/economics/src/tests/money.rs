//! The numbers, against worked examples.

use caneplot_plugin::Call;
use caneplot_plugin::prices::{Conversion, Cost, CostPer, Once, Step, Time, Work};
use caneplot_plugin::request::Quantity;
use caneplot_readings::testing::response;

use super::call::{amount, by, estimates, handed, machine, number, prices, section, table};

fn near(found: Option<f64>, want: f64, within: f64) {
    let found = found.unwrap();
    assert!((found - want).abs() <= within, "{found} is not {want}");
}

#[test]
fn the_worked_example_comes_to_its_net_per_acre_and_hectare() {
    let section = section(&machine(0.04));
    let budgets = table(&section, "budgets");
    let of = |column: &str, unit: &str| number(budgets, "machine", column, unit);
    near(of("Added returns", "USD/acre"), 260.0, 1e-6);
    near(of("Reduced costs", "USD/acre"), 332.75, 1e-6);
    near(of("Added costs", "USD/acre"), 89.0, 1e-6);
    near(of("Reduced returns", "USD/acre"), 0.0, 1e-9);
    near(of("Net change", "USD/acre"), 503.75, 1e-6);
    near(of("Net change", "USD/ha"), 1244.79, 5e-3);
    near(
        of("Net change with the same crop", "USD/acre"),
        287.75,
        1e-6,
    );
    let even = table(&section, "even");
    near(
        number(even, "machine", "Change of crop", "US ton/acre"),
        -0.533,
        5e-4,
    );
    assert_eq!(number(even, "machine", "Price", "USD/US ton"), None);
    let hours = table(&section, "hours");
    near(number(hours, "hand", "Pruning", "h/acre"), 25.208, 5e-4);
    near(number(hours, "machine", "Pruning", "h/acre"), 6.722, 5e-4);
}

#[test]
fn the_interval_is_that_of_the_crop_times_what_it_is_worth() {
    let section = section(&machine(0.04));
    let result = &section.estimates[0];
    assert_eq!(
        (result.name.as_str(), result.unit.as_str()),
        ("net_benefit", "USD/acre")
    );
    let one = &result.differences[0];
    assert!((one.value - 503.75).abs() < 1e-6);
    // 540 for a ton, √(2 · 0.04/4) ton, Student's t of 9 degrees of freedom 2.2622.
    let error = 540.0 * (0.02_f64).sqrt();
    assert!(
        (one.standard_error - error).abs() < 1e-6,
        "{}",
        one.standard_error
    );
    let half = 2.262_157 * error;
    assert!(
        (one.low - (503.75 - half)).abs() < 0.03 * half,
        "{}",
        one.low
    );
    assert!(
        (one.high - (503.75 + half)).abs() < 0.03 * half,
        "{}",
        one.high
    );
}

#[test]
fn measured_work_and_a_price_by_brix_come_from_the_results() {
    let mut call = machine(0.04);
    let levels = [("hand", 2.5), ("machine", 60.0 / 90.0)];
    let trial = &mut call.request.trial;
    trial.responses.push(response(
        "labour",
        "Pruning time",
        "min/vine",
        Quantity::Labour,
    ));
    trial
        .responses
        .push(response("brix", "Brix", "°Brix", Quantity::SolubleSolids));
    trial.estimates.push(handed(
        "anova",
        20,
        estimates("labour", "min/vine", "pruning", &levels, 0.0),
    ));
    let brix = [("hand", 22.0), ("machine", 20.4)];
    trial.estimates.push(handed(
        "anova",
        20,
        estimates("brix", "°Brix", "pruning", &brix, 0.1),
    ));
    prices(&mut call).work[0].time = Time::Measured("labour".to_owned());
    let budgets = |call: &Call| {
        let found = section(call);
        number(
            table(&found, "budgets"),
            "machine",
            "Net change",
            "USD/acre",
        )
    };
    near(budgets(&call), 503.75, 1e-6);
    prices(&mut call).crop.brix = Some("brix".to_owned());
    prices(&mut call).crop.steps = vec![Step {
        from: 21.0,
        price: 700.0,
    }];
    // Hand-pruned fruit now brings 4.2 · 700, machine-pruned 4.6 · 650 as before.
    near(budgets(&call), 503.75 - 4.2 * 50.0, 1e-6);
    // With two prices there is no one price to come out even at.
    assert!(section(&call).tables.iter().all(|table| table.id != "even"));
}

#[test]
fn only_the_share_counted_on_is_sold() {
    let mut call = machine(0.04);
    prices(&mut call).crop.counted = 0.9;
    let found = section(&call);
    let net = number(
        table(&found, "budgets"),
        "machine",
        "Net change",
        "USD/acre",
    );
    near(net, 287.75 + 0.9 * 0.4 * 540.0, 1e-6);
}

#[test]
fn a_trellis_is_spread_over_its_life_and_a_conversion_looked_at_over_the_years() {
    let mut call = machine(0.04);
    let own = prices(&mut call);
    own.costs[0] = Cost {
        name: "trellis".to_owned(),
        label: "Trellis".to_owned(),
        per: CostPer::Acre,
        amounts: by("pruning", &[("hand", 0.0), ("machine", 4000.0)]),
        once: Some(Once { life: Some(20.0) }),
    };
    own.conversion = Some(Conversion {
        lost: by("pruning", &[("hand", 0.0), ("machine", 1.0)]),
        years: 20,
    });
    let found = section(&call);
    // 4000 at 6 % over 20 years are 348.74 a year.
    let net = number(
        table(&found, "budgets"),
        "machine",
        "Net change",
        "USD/acre",
    );
    near(net, 503.75 + 45.0 - 348.74, 5e-3);
    let ahead = table(&found, "ahead");
    near(
        number(ahead, "machine", "Paid at once", "USD/acre"),
        4000.0,
        1e-6,
    );
    near(
        number(ahead, "machine", "A bearing season brings", "USD/acre"),
        548.75,
        1e-6,
    );
    // −4000, one season without 4.6 · 540 less, then 548.75 a year: Σ 548.75/1.06ᵗ = 6294.11 over 20
    // years (1/0.0871846 = 11.46992), and 2484/1.06 for the lost crop.
    near(
        number(ahead, "machine", "Value now", "USD/acre"),
        -4000.0 + 548.75 * 11.469_921 - 2484.0 / 1.06,
        0.01,
    );
}

#[test]
fn what_is_paid_once_without_a_life_is_borne_by_the_seasons() {
    let mut call = machine(0.04);
    call.request.trial.seasons = vec!["2021".to_owned(), "2022".to_owned()];
    prices(&mut call).costs[0].once = Some(Once { life: None });
    let found = section(&call);
    let net = number(
        table(&found, "budgets"),
        "machine",
        "Net change",
        "USD/acre",
    );
    near(net, 503.75 + 22.5, 1e-6);
}

#[test]
fn seasons_have_their_own_money_and_add_up() {
    let mut call = machine(0.04);
    call.request.trial.seasons = vec!["2021".to_owned(), "2022".to_owned()];
    for (season, crops) in [("2021", [4.0, 4.2]), ("2022", [4.4, 5.0])] {
        let values = [("hand", crops[0]), ("machine", crops[1])];
        let mut own = estimates("yield", "US ton/acre", "pruning", &values, 0.04);
        own.season = Some(season.to_owned());
        call.request.trial.estimates.push(handed("anova", 20, own));
    }
    let found = section(&call);
    let seasons = table(&found, "seasons");
    near(
        number(seasons, "machine", "2021", "USD/acre"),
        287.75 + 0.2 * 540.0,
        1e-6,
    );
    near(
        number(seasons, "machine", "2022", "USD/acre"),
        287.75 + 0.6 * 540.0,
        1e-6,
    );
    near(
        number(seasons, "machine", "All seasons together", "USD/acre"),
        2.0 * 503.75,
        1e-6,
    );
    assert_eq!(found.estimates.len(), 3);
}

#[test]
fn costs_by_another_factor_stand_in_no_figure_and_are_named() {
    let mut call = machine(0.04);
    let trial = &mut call.request.trial;
    trial.factors.push(caneplot_readings::testing::factor(
        "nodes",
        "Nodes left",
        &["20", "40"],
        None,
    ));
    prices(&mut call).work.push(Work {
        name: "thinning".to_owned(),
        label: "Thinning".to_owned(),
        time: Time::Assumed {
            minutes: by("nodes", &[("20", 1.0), ("40", 2.0)]),
            source: "assumed".to_owned(),
        },
    });
    prices(&mut call).wage = Some(amount(18.0));
    let found = section(&call);
    near(
        number(
            table(&found, "budgets"),
            "machine",
            "Net change",
            "USD/acre",
        ),
        503.75,
        1e-6,
    );
    let notes = caneplot_readings::testing::text(&super::call::refused(&call).unwrap());
    assert!(notes.contains("by other factors (thinning)"), "{notes}");
}
