//! The tables: tests of the plan, blocks and vines, seasons, prices, losses.

use caneplot_plugin::findings::{Column, Format, Table};

use crate::growth::MOST_BLOCKS;
use crate::money::cheapest;
use crate::study::{Study, inside};

/// Powers are known this well.
const POWER: Format = Format::Decimals(3);
/// Differences and standard errors.
const AMOUNT: Format = Format::Significant(3);

pub(crate) fn tables(study: &Study) -> Vec<Table> {
    let mut found = vec![tests(study), parts(study)];
    found.extend(blocks(study));
    found.push(seasons(study));
    found.extend(losses(study));
    found.extend(money(study));
    found
}

fn tests(study: &Study) -> Table {
    let answers = &study.answers;
    let pick = |of: &dyn Fn(&crate::reckon::Answer) -> f64| -> Vec<Option<f64>> {
        answers.iter().map(|answer| Some(of(answer))).collect()
    };
    let count = |of: &dyn Fn(&crate::reckon::Answer) -> usize| {
        let counts = answers.iter().map(|answer| i64::try_from(of(answer)).ok());
        counts.collect::<Vec<_>>()
    };
    let unit = &study.options.unit;
    let amount = |name: &str, values| {
        let column = Column::number(name, values, AMOUNT);
        if unit.is_empty() {
            column
        } else {
            column.in_unit(unit)
        }
    };
    Table {
        id: "tests".to_owned(),
        title: "What each test of the plan can do".to_owned(),
        columns: vec![
            Column::text("Test", answers.iter().map(|answer| answer.name.clone())),
            Column::text("Compared with", answers.iter().map(|answer| {
                answer.against.replacen("Between", "Error between", 1)
            })),
            Column::count("df", count(&|answer| answer.test.df)),
            Column::count("Error df", count(&|answer| answer.test.error_df)),
            Column::number("Power", pick(&|answer| answer.test.power), POWER),
            amount("Detectable with power 0.8", pick(&|answer| answer.detectable[0])),
            amount("Detectable with power 0.9", pick(&|answer| answer.detectable[1])),
        ],
        notes: vec![
            "Power for the difference that matters: of one factor between two of its levels, the others halfway between them; for an interaction a difference of differences of that size. Of a straight line it is the difference between its ends.".to_owned(),
        ],
        ..Table::default()
    }
}

fn parts(study: &Study) -> Table {
    let (parts, options) = (&study.options.parts, &study.options);
    let listed = [
        ("whole plots", parts.whole_plots),
        ("sub plots", parts.sub_plots),
        ("row strips", parts.row_strips),
        ("cross strips", parts.cross_strips),
        ("plots treated alike, lasting", parts.plots),
        ("vines of a plot, lasting", parts.vines),
        ("a plot from season to season", parts.seasons),
        ("a vine from season to season", parts.vine_seasons),
        (
            "a treatment from season to season",
            parts.treatments_by_season,
        ),
    ];
    let given: Vec<(&str, f64)> = listed
        .into_iter()
        .filter(|(_, value)| *value > 0.0)
        .collect();
    let deviations: Vec<Option<f64>> = given.iter().map(|(_, value)| Some(value.sqrt())).collect();
    let mut columns = vec![
        Column::text("Part", given.iter().map(|(name, _)| *name)),
        Column::number("Standard deviation", deviations.clone(), AMOUNT),
    ];
    if !options.unit.is_empty() {
        columns[1] = columns[1].clone().in_unit(&options.unit);
    }
    if let Some(mean) = options.mean.filter(|mean| *mean > 0.0) {
        let shares = deviations
            .iter()
            .map(|one| one.map(|one| one / mean))
            .collect();
        columns.push(Column::number("Of the mean", shares, Format::Percent(1)));
    }
    Table {
        id: "parts".to_owned(),
        title: "Spread that the plan reckons with".to_owned(),
        columns,
        ..Table::default()
    }
}

/// Numbers of blocks worth listing: to a few beyond what is planned and needed.
pub(crate) fn listed_blocks(study: &Study) -> Vec<usize> {
    let needed = study.fewest.iter().filter_map(|(_, blocks)| *blocks).max();
    let most = (study.planned.blocks + 2)
        .max(needed.unwrap_or(0) + 1)
        .clamp(8, 24);
    (2..=most).collect()
}

fn blocks(study: &Study) -> Option<Table> {
    if study.growths.is_empty() {
        return None;
    }
    let blocks = listed_blocks(study);
    let mut columns = vec![Column::count(
        "Blocks",
        blocks.iter().map(|&one| i64::try_from(one).ok()).collect(),
    )];
    for (vines, growth) in &study.growths {
        let powers = blocks
            .iter()
            .map(|&blocks| growth.power(blocks, 1.0, &study.options).ok())
            .collect();
        columns.push(Column::number(&vines_words(*vines), powers, POWER));
    }
    let fewest: Vec<String> = study
        .fewest
        .iter()
        .map(|(vines, blocks)| match blocks {
            Some(blocks) => format!("{blocks} with {}", vines_words(*vines)),
            None => format!("more than {MOST_BLOCKS} with {}", vines_words(*vines)),
        })
        .collect();
    Some(Table {
        id: "blocks".to_owned(),
        title: format!(
            "Power of the test of {} by blocks and vines",
            inside(&study.judged().name)
        ),
        columns,
        notes: vec![format!(
            "Fewest blocks for a power of {}: {}.",
            study.options.wanted,
            fewest.join(", ")
        )],
        ..Table::default()
    })
}

/// "4 vines a plot".
pub(crate) fn vines_words(vines: usize) -> String {
    format!("{} a plot", caneplot_plugin::words::counted(vines, "vine"))
}

fn seasons(study: &Study) -> Table {
    let rows = &study.seasons;
    let unit = &study.options.unit;
    let pick = |of: &dyn Fn(&crate::lasting::Seasons) -> Option<f64>| -> Vec<Option<f64>> {
        rows.iter().map(of).collect()
    };
    let amount = |name: &str, values| {
        let column = Column::number(name, values, AMOUNT);
        if unit.is_empty() {
            column
        } else {
            column.in_unit(unit)
        }
    };
    let mut columns = vec![
        Column::count(
            "Seasons",
            rows.iter()
                .map(|row| i64::try_from(row.seasons).ok())
                .collect(),
        ),
        Column::number(
            "Power in these seasons",
            pick(&|row| Some(row.power)),
            POWER,
        ),
        amount(
            "Detectable in these seasons",
            pick(&|row| Some(row.detectable)),
        ),
        amount(
            "Standard error of a difference in these seasons",
            pick(&|row| Some(row.error)),
        ),
    ];
    let mut notes = vec![format!(
        "Detectable with a power of {}. Seasons are years on the same plots.",
        study.options.wanted
    )];
    if study.options.parts.treatments_by_season > 0.0 {
        columns.push(amount(
            "Standard error of the lasting difference",
            pick(&|row| Some(row.lasting_error)),
        ));
        columns.push(Column::number(
            "Power for a lasting difference",
            pick(&|row| row.lasting.map(|one| one.power())),
            POWER,
        ));
        columns.push(Column::number(
            "± Monte Carlo error",
            pick(&|row| row.lasting.map(|one| 1.96 * one.standard_error())),
            POWER,
        ));
        notes.push("A lasting difference is one over seasons like these, recorded or not; it needs two seasons or more. The Monte Carlo error is 1.96 standard errors of the share of drawn trials.".to_owned());
    }
    Table {
        id: "seasons".to_owned(),
        title: format!(
            "What seasons buy for the test of {}",
            inside(&study.judged().name)
        ),
        columns,
        notes,
        ..Table::default()
    }
}

fn losses(study: &Study) -> Option<Table> {
    let lossful = study.lossful.as_ref()?;
    let terms = &lossful.planned.terms;
    let simulated: Vec<_> = terms
        .iter()
        .map(|term| lossful.found.terms[term.at])
        .collect();
    Some(Table {
        id: "losses".to_owned(),
        title: "Power where vines are lost".to_owned(),
        columns: vec![
            Column::text("Test", terms.iter().map(|term| term.name.clone())),
            Column::number("Power", simulated.iter().map(|one| Some(one.power())).collect(), POWER),
            Column::number(
                "± Monte Carlo error",
                simulated.iter().map(|one| Some(1.96 * one.standard_error())).collect(),
                POWER,
            ),
        ],
        notes: vec!["Plot means over the seasons; the Monte Carlo error is 1.96 standard errors of the share of drawn trials.".to_owned()],
        ..Table::default()
    })
}

fn money(study: &Study) -> Option<Table> {
    let best = cheapest(&study.offers)?;
    let count = |of: &dyn Fn(&crate::money::Offer) -> usize| {
        let counts = study
            .offers
            .iter()
            .map(|offer| i64::try_from(of(offer)).ok());
        counts.collect::<Vec<_>>()
    };
    Some(Table {
        id: "prices".to_owned(),
        title: format!(
            "Trials with a power of {} and their price",
            study.options.wanted
        ),
        columns: vec![
            Column::count("Vines a plot", count(&|offer| offer.vines)),
            Column::count("Blocks", count(&|offer| offer.blocks)),
            Column::count("Plots", count(&|offer| offer.plots)),
            Column::count("Vines", count(&|offer| offer.plots * offer.vines)),
            Column::number(
                "Price",
                study.offers.iter().map(|offer| Some(offer.cost)).collect(),
                Format::Decimals(0),
            ),
            Column::number(
                "Power",
                study.offers.iter().map(|offer| Some(offer.power)).collect(),
                POWER,
            ),
        ],
        notes: vec![format!(
            "Cheapest: {} in {} blocks.",
            vines_words(best.vines),
            best.blocks
        )],
        ..Table::default()
    })
}
