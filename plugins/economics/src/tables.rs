//! The tables of a section.

use caneplot_plugin::findings::{Column, Format, Table};
use caneplot_plugin::prices::Area;

use crate::ahead::ahead;
use crate::areas;
use crate::items::Kind;
use crate::sensitivity::moved;
use crate::sentences::sums;
use crate::study::Study;

/// All of them.
pub(crate) fn tables(study: &Study<'_>) -> Vec<Table> {
    let mut all = vec![budgets(study), parts(study), costs(study)];
    all.extend(even(study));
    all.extend(labour(study));
    all.extend(seasons(study));
    all.extend(look_ahead(study));
    all.extend(study.leader().map(|leader| what_matters(study, leader)));
    all
}

/// How all sums of a section are written.
fn format(study: &Study<'_>) -> Format {
    let all = (0..study.count()).map(|at| study.first(study.benefit(at)).abs());
    sums(all.fold(0.0, f64::max))
}

fn treatments(study: &Study<'_>, of: &[usize]) -> Column {
    Column::text("Treatment", of.iter().map(|&at| study.label(at)))
}

/// A column of sums on an area.
fn money(study: &Study<'_>, name: &str, area: Area, values: Vec<Option<f64>>) -> Column {
    let values = values
        .into_iter()
        .map(|value| Some(study.on(area, value?)))
        .collect();
    Column::number(name, values, format(study)).in_unit(&study.unit(area))
}

/// The partial budgets against the control.
fn budgets(study: &Study<'_>) -> Table {
    let others = study.others();
    let (first, second) = (study.prices.area, areas::other(study.prices.area));
    let column = |name: &str, area, of: &dyn Fn(usize) -> Option<f64>| {
        money(study, name, area, others.iter().map(|&at| of(at)).collect())
    };
    let mut columns = vec![
        treatments(study, &others),
        column("Added returns", first, &|at| {
            Some(study.budget(at).added_returns)
        }),
        column("Reduced costs", first, &|at| {
            Some(study.budget(at).reduced_costs)
        }),
        column("Added costs", first, &|at| {
            Some(study.budget(at).added_costs)
        }),
        column("Reduced returns", first, &|at| {
            Some(study.budget(at).reduced_returns)
        }),
        column("Net change", first, &|at| Some(study.net(at))),
    ];
    if let Some(chances) = &study.chances {
        let confidence = study.options.confidence_words();
        let end = |of: fn((f64, f64)) -> f64| move |at| study.interval(at).map(of);
        columns.push(column(
            &format!("{confidence} from"),
            first,
            &end(|ends| ends.0),
        ));
        columns.push(column(
            &format!("{confidence} to"),
            first,
            &end(|ends| ends.1),
        ));
        let share = |name: &str, of: &[f64]| {
            let values = others.iter().map(|&at| Some(of[at])).collect();
            Column::number(name, values, Format::Percent(0))
        };
        columns.push(share("Chance to beat the control", &chances.better));
        columns.push(share("Chance to be best", &chances.best));
    }
    columns.push(column("Net change with the same crop", first, &|at| {
        Some(study.net_beside_crop(at))
    }));
    columns.push(column("Net change", second, &|at| Some(study.net(at))));
    let mut notes = vec![
        "Net change: added returns and reduced costs, less added costs and reduced returns."
            .to_owned(),
    ];
    if study.chances.is_some() {
        notes.push("Intervals and chances: crop and measured work are uncertain, prices are taken as declared.".to_owned());
    }
    let unclear: Vec<String> = others
        .iter()
        .filter(|&&at| study.crop_is_clear(at) == Some(false))
        .map(|&at| study.label(at))
        .collect();
    if !unclear.is_empty() {
        notes.push(format!(
            "The trial shows no clear difference of crop from the control for {}: there the net change with the same crop is as well founded.",
            caneplot_plugin::words::list(&unclear)
        ));
    }
    Table {
        id: "budgets".to_owned(),
        title: format!(
            "Partial budgets against {}, a season",
            study.label(study.set.control)
        ),
        columns,
        notes,
        ..Table::default()
    }
}

/// What each treatment's money is made of.
fn parts(study: &Study<'_>) -> Table {
    let area = study.prices.area;
    let count = study.count();
    let mut names = vec![
        "Crop counted on, tonnes/ha".to_owned(),
        "Returns of the crop".to_owned(),
    ];
    let each = |of: &dyn Fn(usize) -> f64| (0..count).map(of).collect::<Vec<f64>>();
    let mut rows = vec![
        each(&|at| study.tonnes[at]),
        each(&|at| study.on(area, study.tonnes[at] * study.price[at])),
    ];
    if study.harvest > 0.0 {
        names.push("Picking and hauling".to_owned());
        rows.push(each(&|at| {
            study.on(area, -study.tonnes[at] * study.harvest)
        }));
    }
    for item in &study.items {
        names.push(match &item.kind {
            Kind::Work { measured: None, .. } => format!("{} (assumed)", item.label),
            Kind::Work { .. } => format!("{} (measured)", item.label),
            Kind::Seasonal => item.label.to_owned(),
            Kind::Once { .. } => format!("{}, its share of a season", item.label),
        });
        rows.push(each(&|at| study.on(area, -item.money[at])));
    }
    names.push("Net benefit".to_owned());
    rows.push(each(&|at| study.on(area, study.benefit(at))));
    let mut columns = vec![Column::text("What", names)];
    // The crop is no money and has a place after the point.
    let decimals = match format(study) {
        Format::Decimals(decimals) => decimals.max(1),
        _ => 1,
    };
    for at in 0..count {
        let values = rows.iter().map(|row| Some(row[at])).collect();
        columns.push(Column::number(
            &study.label(at),
            values,
            Format::Decimals(decimals),
        ));
    }
    let last = rows.len() - 1;
    Table {
        id: "parts".to_owned(),
        title: format!(
            "What the money of a season is made of, {}",
            study.unit(area)
        ),
        columns,
        notes: vec![
            "What all treatments cost alike is left out, so a net benefit is no profit.".to_owned(),
        ],
        groups: vec![0, last],
        file_only: false,
    }
}

/// Net benefits by rising costs (CIMMYT 1988).
fn costs(study: &Study<'_>) -> Table {
    let steps = study.steps();
    let order: Vec<usize> = steps.iter().map(|step| step.of).collect();
    let area = study.prices.area;
    let column = |name: &str, of: &dyn Fn(usize) -> f64| {
        money(
            study,
            name,
            area,
            order.iter().map(|&at| Some(of(at))).collect(),
        )
    };
    let rates = steps
        .iter()
        .map(|step| step.rate.map(|(_, rate)| rate))
        .collect();
    let words = steps.iter().map(|step| match (&step.rate, step.dominated) {
        (_, true) => "costs no less than one before it, and leaves no more".to_owned(),
        (Some((from, _)), _) => format!("from {}", study.label(*from)),
        (None, false) => String::new(),
    });
    Table {
        id: "rates".to_owned(),
        title: "Net benefits as costs rise".to_owned(),
        columns: vec![
            treatments(study, &order),
            column("Costs that vary", &|at| study.costs(at)),
            column("Net benefit", &|at| study.benefit(at)),
            Column::number("Marginal rate of return", rates, Format::Percent(0)),
            Column::text("Beside", words),
        ],
        notes: vec![
            "The marginal rate of return is the gain of net benefit over the gain of costs; picking and hauling are taken off the price.".to_owned(),
        ],
        ..Table::default()
    }
}

/// Where each treatment comes out even with the control.
fn even(study: &Study<'_>) -> Option<Table> {
    if !study.one_price() {
        return None;
    }
    let others = study.others();
    let per = &study.prices.crop.per;
    let weight = study.prices.crop.per_kg / 1000.0;
    let currency = &study.prices.currency;
    let column = |name: &str, unit: &str, decimals, of: &dyn Fn(usize) -> Option<f64>| {
        let values = others.iter().map(|&at| of(at)).collect();
        Column::number(name, values, Format::Decimals(decimals)).in_unit(unit)
    };
    let mut columns = vec![
        treatments(study, &others),
        column("Price", &format!("{currency}/{per}"), 2, &|at| {
            Some(study.change(at).even_price()? * weight)
        }),
    ];
    if study.prices.wage.is_some() {
        columns.push(column("Wage", &format!("{currency}/h"), 2, &|at| {
            study.change(at).even_wage()
        }));
    }
    let first = study.prices.area;
    // On the other area in the weight that goes with it.
    let (other, tonnes) = match areas::other(first) {
        Area::Hectare => ("t/ha", 1.0),
        Area::Acre => ("US ton/acre", areas::US_TON),
    };
    let unit = format!("{per}/{}", areas::word(first));
    columns.push(column("Change of crop", &unit, 3, &|at| {
        Some(study.on(first, study.change(at).even_crop()?) / weight)
    }));
    columns.push(column("Change of crop", other, 3, &|at| {
        let crop = study.change(at).even_crop()?;
        Some(study.on(areas::other(first), crop) / tonnes)
    }));
    Some(Table {
        id: "even".to_owned(),
        title: format!(
            "Where a treatment comes out even with {}",
            study.label(study.set.control)
        ),
        columns,
        notes: vec![
            "Each figure by itself, all else as reckoned; an empty cell: no such figure above 0."
                .to_owned(),
        ],
        ..Table::default()
    })
}

/// Hours of work.
fn labour(study: &Study<'_>) -> Option<Table> {
    let all: Vec<usize> = (0..study.count()).collect();
    let mut columns = vec![treatments(study, &all)];
    for item in &study.items {
        let Kind::Work { hours, .. } = &item.kind else {
            continue;
        };
        for area in [study.prices.area, areas::other(study.prices.area)] {
            let values = hours
                .iter()
                .map(|hours| Some(study.on(area, *hours)))
                .collect();
            let unit = format!("h/{}", areas::word(area));
            columns.push(Column::number(item.label, values, Format::Decimals(1)).in_unit(&unit));
        }
    }
    (columns.len() > 1).then(|| Table {
        id: "hours".to_owned(),
        title: "Hours of work a season".to_owned(),
        columns,
        ..Table::default()
    })
}

/// The net change season by season.
fn seasons(study: &Study<'_>) -> Option<Table> {
    if study.seasons.len() < 2 {
        return None;
    }
    let others = study.others();
    let control = study.set.control;
    let area = study.prices.area;
    let net = |at: usize, season: usize| {
        let benefit = &study.seasons[season].benefit;
        benefit[at] - benefit[control]
    };
    let mut columns = vec![treatments(study, &others)];
    for (place, season) in study.seasons.iter().enumerate() {
        let values = others.iter().map(|&at| Some(net(at, place))).collect();
        columns.push(money(study, &season.name, area, values));
    }
    let totals = others.iter();
    let totals =
        totals.map(|&at| Some((0..study.seasons.len()).map(|season| net(at, season)).sum()));
    columns.push(money(study, "All seasons together", area, totals.collect()));
    Some(Table {
        id: "seasons".to_owned(),
        title: format!("Net change against {} in each season", study.label(control)),
        columns,
        notes: vec!["The same prices in every season; the crop, its Brix and measured work are those of the season.".to_owned()],
        ..Table::default()
    })
}

/// Changing over, looked at over the years.
fn look_ahead(study: &Study<'_>) -> Option<Table> {
    let all = ahead(study);
    if all.is_empty() {
        return None;
    }
    let of: Vec<usize> = all.iter().map(|one| one.treatment).collect();
    let area = study.prices.area;
    let column = |name: &str, of: &dyn Fn(&crate::ahead::Ahead) -> f64| {
        money(
            study,
            name,
            area,
            all.iter().map(|one| Some(of(one))).collect(),
        )
    };
    Some(Table {
        id: "ahead".to_owned(),
        title: format!("Changing over from {}, looked at over the years", study.label(study.set.control)),
        columns: vec![
            treatments(study, &of),
            Column::count("Seasons without a crop", all.iter().map(|one| Some(i64::from(one.lost))).collect()),
            column("Paid at once", &|one| one.at_once),
            column("A bearing season brings", &|one| one.a_season),
            column("Value now", &|one| one.value),
            Column::count("Paid by the end of year", all.iter().map(|one| one.paid_after.map(i64::from)).collect()),
        ],
        notes: vec![
            "Against going on with what stands, which costs nothing at once. What comes once is paid in full at the beginning of each of its lives; every year brings what a season of the trial did on the average. An empty cell: it does not pay within the years looked at.".to_owned(),
        ],
        ..Table::default()
    })
}

/// What each figure matters to the leader.
fn what_matters(study: &Study<'_>, leader: usize) -> Table {
    let all = moved(study, leader);
    let area = study.prices.area;
    let column = |name: &str, end: usize| {
        money(
            study,
            name,
            area,
            all.iter().map(|one| Some(one.at[end])).collect(),
        )
    };
    Table {
        id: "what-matters".to_owned(),
        title: format!(
            "Net change of {} with one figure moved",
            study.label(leader)
        ),
        columns: vec![
            Column::text("Moved", all.iter().map(|one| one.what.clone())),
            Column::text("Between", all.iter().map(|one| one.between.clone())),
            column("At its lowest", 0),
            column("At its highest", 1),
        ],
        file_only: true,
        ..Table::default()
    }
}
