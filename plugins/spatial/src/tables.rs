//! The tables of one response.

use caneplot_plugin::findings::{Column, Format, Table};
use caneplot_plugin::words::{level, of_errors, safe};

use crate::look::{Look, Way};
use crate::map::plain;
use crate::words::taken_out;

/// Slopes, neighbours, and treatments with and without the place of plots.
pub(crate) fn tables(look: &Look<'_>) -> Vec<Table> {
    [Some(slopes(look)), neighbours(look), treatments(look)]
        .into_iter()
        .flatten()
        .collect()
}

/// A way in words: "from row 2 to row 9".
pub(crate) fn ends(way: &Way, across: bool) -> String {
    let noun = if across { "row" } else { "position" };
    format!("from {noun} {} to {}", plain(way.from), plain(way.to))
}

fn slopes(look: &Look<'_>) -> Table {
    let mut rows: Vec<(String, Option<[f64; 2]>, Option<[f64; 4]>)> = Vec::new();
    for (way, name) in look.ways.iter().zip(["Across the rows", "Along the rows"]) {
        let across = name.starts_with("Across");
        rows.push((
            format!("{name}, {}", ends(way, across)),
            way.slope.map(|slope| [slope.change, slope.error]),
            way.slope.map(|slope| {
                let test = slope.test;
                [test.numerator_df, test.denominator_df, test.f, test.p]
            }),
        ));
    }
    for (name, test) in [("Both together", look.straight), ("Bend", look.curved)] {
        let of = |test: caneplot_numerics::mixed::kenward_roger::FTest| {
            [test.numerator_df, test.denominator_df, test.f, test.p]
        };
        rows.push((name.to_owned(), None, test.map(of)));
    }
    let change = |at: usize| rows.iter().map(|row| Some(row.1?[at])).collect::<Vec<_>>();
    let test = |at: usize| rows.iter().map(|row| Some(row.2?[at])).collect::<Vec<_>>();
    let format = of_errors(
        look.decimals + 1,
        rows.iter().filter_map(|row| Some(row.1?[1])),
    );
    let mut notes = vec![format!(
        "Change from one end of the trial to the other by a straight line beside {}, its standard error, and F. Bend: squares of row and position beside the straight lines.",
        taken_out(look.trial)
    )];
    if rows.iter().any(|row| row.2.is_none()) {
        notes.push(format!(
            "Empty: {} take up every such difference, or leave too little to test it.",
            taken_out(look.trial)
        ));
    }
    Table {
        id: "slopes".to_owned(),
        title: format!("Slopes left in {}", look.name()),
        columns: vec![
            Column::text("Way", rows.iter().map(|row| row.0.clone())),
            Column::number("Change", change(0), format).in_unit(look.unit()),
            Column::number("Standard error", change(1), format).in_unit(look.unit()),
            Column::number("df", test(0), Format::Decimals(0)),
            Column::number("df of the error", test(1), Format::Decimals(1)),
            Column::number("F", test(2), Format::Significant(3)),
            Column::probability("P", test(3)),
        ],
        notes,
        ..Table::default()
    }
}

fn neighbours(look: &Look<'_>) -> Option<Table> {
    let names = ["In the row", "Across rows", "All neighbours"];
    let rows: Vec<_> = names
        .into_iter()
        .zip(&look.likeness)
        .filter_map(|(name, likeness)| Some((name, (*likeness)?)))
        .collect();
    (!rows.is_empty()).then(|| Table {
        id: "neighbours".to_owned(),
        title: format!("Likeness of neighbouring plots in {}", look.name()),
        columns: vec![
            Column::text("Neighbours", rows.iter().map(|row| row.0)),
            Column::count("Pairs", rows.iter().map(|row| Some(row.1.pairs as i64)).collect()),
            Column::number(
                "Correlation",
                rows.iter().map(|row| Some(row.1.correlation)).collect(),
                Format::Decimals(2),
            ),
            Column::number(
                "Moran's I",
                rows.iter().map(|row| Some(row.1.moran)).collect(),
                Format::Decimals(2),
            ),
            Column::number(
                "I by chance",
                rows.iter().map(|row| Some(row.1.expected)).collect(),
                Format::Decimals(2),
            ),
            Column::probability("P", rows.iter().map(|row| Some(row.1.p)).collect()),
        ],
        notes: vec![
            format!(
                "Of what {} leave of each plot. I by chance is the mean of I where plots are independent; P is the share of exchanges with an I at least as large.",
                taken_out(look.trial)
            ),
        ],
        ..Table::default()
    })
}

fn treatments(look: &Look<'_>) -> Option<Table> {
    let mut names = Vec::new();
    let mut numbers: Vec<[Option<f64>; 6]> = Vec::new();
    let mut groups = Vec::new();
    for compared in &look.compared {
        let about = &look.trial.factors[compared.factor];
        groups.push(names.len());
        names.push(format!("{}, all levels", about.label));
        numbers.push([
            None,
            None,
            Some(compared.without.p),
            None,
            None,
            Some(compared.with.p),
        ]);
        let own = look
            .differences
            .iter()
            .filter(|one| one.factor == compared.factor);
        for one in own {
            names.push(format!(
                "{} − {}",
                level(about, &about.levels[one.level]),
                level(about, &about.levels[compared.base])
            ));
            let p = |estimate: &caneplot_numerics::mixed::kenward_roger::Estimate| {
                let t = estimate.value / estimate.standard_error;
                caneplot_numerics::distribution::t_two_sided(t, estimate.df).ok()
            };
            numbers.push([
                Some(one.without.value),
                Some(one.without.standard_error),
                p(&one.without),
                Some(one.with.value),
                Some(one.with.standard_error),
                p(&one.with),
            ]);
        }
    }
    let column = |at: usize| numbers.iter().map(|row| row[at]).collect::<Vec<_>>();
    let format = of_errors(
        look.decimals + 1,
        look.differences
            .iter()
            .map(|one| one.without.standard_error),
    );
    (!look.compared.is_empty()).then(|| Table {
        id: "treatments".to_owned(),
        title: format!("Treatments without and with row and position, {}", look.name()),
        columns: vec![
            Column::text("Comparison", names.iter().map(|name| safe(name))),
            Column::number("Without", column(0), format).in_unit(look.unit()),
            Column::number("Standard error", column(1), format).in_unit(look.unit()),
            Column::probability("P", column(2)),
            Column::number("With", column(3), format).in_unit(look.unit()),
            Column::number("Standard error, with", column(4), format).in_unit(look.unit()),
            Column::probability("P, with", column(5)),
        ],
        notes: vec!["P of differences is not adjusted for their number: the table is for comparing the two analyses, not for separating treatments.".to_owned()],
        groups,
        ..Table::default()
    })
}
