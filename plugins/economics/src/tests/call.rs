//! Calls built from a few numbers: what other analyses would have found, and prices.

use caneplot_plugin::estimates::{Difference, Estimates, Handed, Kind, Treatment};
use caneplot_plugin::findings::{Cells, Findings, Format, Section, Table};
use caneplot_plugin::prices::{Amount, Area, ByLevel, Cost, CostPer, Crop, Prices, Time, Work};
use caneplot_plugin::request::{Quantity, Request, TrialInfo, Vineyard};
use caneplot_plugin::{Analysis, Call, Refusal, validate};
use caneplot_readings::testing::{factor, response};
use serde_json::json;

use crate::Economics;

pub(super) fn amount(likely: f64) -> Amount {
    Amount {
        likely,
        bounds: None,
    }
}

pub(super) fn by(factor: &str, amounts: &[(&str, f64)]) -> ByLevel {
    ByLevel {
        factor: factor.to_owned(),
        amounts: amounts
            .iter()
            .map(|(level, likely)| ((*level).to_owned(), amount(*likely)))
            .collect(),
    }
}

/// Means of four plots each with one error variance and 9 degrees of freedom, all differences from the
/// first.
pub(super) fn estimates(
    name: &str,
    unit: &str,
    factor: &str,
    values: &[(&str, f64)],
    square: f64,
) -> Estimates {
    let own = square / 4.0;
    let n = values.len();
    let t = 2.262_157_162_8;
    Estimates {
        name: name.to_owned(),
        label: name.to_owned(),
        unit: unit.to_owned(),
        kind: Kind::Mean,
        factors: vec![factor.to_owned()],
        season: None,
        level: 0.95,
        format: Format::Decimals(2),
        treatments: values
            .iter()
            .map(|(level, value)| Treatment {
                levels: vec![(*level).to_owned()],
                plots: 4,
                value: *value,
                ..Treatment::default()
            })
            .collect(),
        covariance: (0..n)
            .flat_map(|row| (0..=row).map(move |column| if row == column { own } else { 0.0 }))
            .collect(),
        df: Some(9.0),
        differences: (1..n)
            .map(|of| {
                let value = values[of].1 - values[0].1;
                let error = (2.0 * own).sqrt();
                Difference {
                    of,
                    against: 0,
                    value,
                    standard_error: error,
                    df: Some(9.0),
                    low: value - t * error,
                    high: value + t * error,
                    p: None,
                }
            })
            .collect(),
        test: None,
        seasons_test: None,
        interaction_test: None,
        ranges: Vec::new(),
    }
}

pub(super) fn handed(analysis: &str, voice: u8, estimates: Estimates) -> Handed {
    Handed {
        analysis: analysis.to_owned(),
        voice: Some(voice),
        section: estimates.name.clone(),
        estimates,
    }
}

/// The pruning machine of extension budgets: 605 vines an acre, 24 an hour by hand and 90 by machine
/// with follow-up (labour rates of SARE FNE01-356), crop 4.2 and 4.6 ton/acre; prices assumed.
pub(super) fn machine(square: f64) -> Call {
    let crop = [("hand", 4.2), ("machine", 4.6)];
    let mut crop_response = response("yield", "Yield", "US ton/acre", Quantity::Yield);
    crop_response.unit = "US ton/acre".to_owned();
    let trial = TrialInfo {
        factors: vec![factor(
            "pruning",
            "Pruning",
            &["hand", "machine"],
            Some("hand"),
        )],
        responses: vec![crop_response],
        vineyard: Vineyard {
            row_spacing_m: Some(8.0 * 0.3048),
            vine_spacing_m: Some(9.0 * 0.3048),
            ..Vineyard::default()
        },
        estimates: vec![handed(
            "anova",
            20,
            estimates("yield", "US ton/acre", "pruning", &crop, square),
        )],
        prices: Some(Prices {
            currency: "USD".to_owned(),
            year: 2025,
            source: "assumed".to_owned(),
            area: Area::Acre,
            interest: Some(0.06),
            crop: Crop {
                response: None,
                price: amount(650.0),
                per: "US ton".to_owned(),
                per_kg: 907.184_74,
                steps: Vec::new(),
                brix: None,
                counted: 1.0,
                harvest: Some(amount(110.0)),
            },
            wage: Some(amount(18.0)),
            work: vec![Work {
                name: "pruning".to_owned(),
                label: "Pruning".to_owned(),
                time: Time::Assumed {
                    minutes: by(
                        "pruning",
                        &[("hand", 60.0 / 24.0), ("machine", 60.0 / 90.0)],
                    ),
                    source: "a report on pruning machines".to_owned(),
                },
            }],
            costs: vec![Cost {
                name: "machine".to_owned(),
                label: "Machine".to_owned(),
                per: CostPer::Acre,
                amounts: by("pruning", &[("hand", 0.0), ("machine", 45.0)]),
                once: None,
            }],
            conversion: None,
        }),
        ..TrialInfo::default()
    };
    Call {
        request: Request {
            analysis: "economics".to_owned(),
            options: json!({"level": 0.95, "draws": 20000, "swing": 20.0}),
            trial,
            seed: 1,
        },
        tables: Vec::new(),
    }
}

pub(super) fn prices(call: &mut Call) -> &mut Prices {
    call.request.trial.prices.as_mut().unwrap()
}

pub(super) fn refused(call: &Call) -> Result<Findings, Refusal> {
    Economics.analyse(call)
}

/// The only section, which must keep the rules of findings.
pub(super) fn section(call: &Call) -> Section {
    let findings = refused(call).unwrap();
    validate::check(&findings).unwrap();
    assert_eq!(findings.sections.len(), 1);
    findings.sections.into_iter().next().unwrap()
}

pub(super) fn table<'a>(section: &'a Section, id: &str) -> &'a Table {
    section.tables.iter().find(|table| table.id == id).unwrap()
}

/// A number of a table by the label of its row, from the first column of a name and unit.
pub(super) fn number(table: &Table, row: &str, column: &str, unit: &str) -> Option<f64> {
    let Cells::Text { values } = &table.columns[0].cells else {
        panic!("the first column holds no words");
    };
    let place = values
        .iter()
        .position(|value| value.as_deref() == Some(row))
        .unwrap();
    let found = table
        .columns
        .iter()
        .find(|one| one.name == column && one.unit.as_deref().unwrap_or("") == unit);
    match &found.unwrap().cells {
        Cells::Number { values, .. } => values[place],
        Cells::Count { values } => values[place].map(|value| value as f64),
        _ => panic!("{column} holds no numbers"),
    }
}
