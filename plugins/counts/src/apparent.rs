//! Bud break of counted nodes told apart from apparent bud break, which sets all shoots against the
//! nodes left: shoots of base and latent buds, and second shoots of a node, make it look better, and
//! the more so the fewer nodes are left (Epee et al. 2022, OENO One 56(4), 5530).

use std::collections::BTreeMap;

use caneplot_plugin::findings::{Column, Format, Statement, Table};
use caneplot_plugin::request::{Quantity, Response};
use caneplot_plugin::{Call, Refusal};

use crate::section::Subjected;
use crate::subject::{Kind, plot_words};
use crate::vines::sums;
use crate::words::{literal, some_of};

/// What all shoots say beside the shoots of counted nodes.
#[derive(Debug, Clone, Default)]
pub struct Apparent {
    /// The sentence.
    pub statement: Option<Statement>,
    /// One row a treatment.
    pub table: Option<Table>,
    /// What was left out.
    pub note: Option<Statement>,
}

/// Counts of one treatment.
#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    plots: i64,
    nodes: f64,
    broken: f64,
    shoots: f64,
}

impl Sum {
    fn of_nodes(&self) -> f64 {
        self.broken / self.nodes
    }

    fn apparent(&self) -> f64 {
        self.shoots / self.nodes
    }

    /// Share of the shoots that do not come from a counted node.
    fn other(&self) -> Option<f64> {
        (self.shoots > 0.0).then(|| (self.shoots - self.broken) / self.shoots)
    }
}

/// Both of a response of bud break, where the trial counts all shoots on the same vines.
///
/// # Errors
/// Where the tables are not as declared.
pub fn apparent(call: &Call, subjected: &Subjected) -> Result<Apparent, Refusal> {
    let subject = &subjected.subject;
    let of_buds = subject.response.quantity == Quantity::BudBreak && subject.kind == Kind::Share;
    let Some(shoots) = all_shoots(call).filter(|_| of_buds) else {
        return Ok(Apparent::default());
    };
    let Some(shoots) = sums(call, shoots)? else {
        return Ok(Apparent::default());
    };
    let plots = call.table("plots")?;
    let factors = &call.request.trial.factors;
    let mut levels: Vec<Vec<Option<usize>>> = vec![Vec::new(); plots.rows];
    for factor in factors {
        for (row, name) in plots.texts(&factor.name)?.iter().enumerate() {
            let known = factor
                .levels
                .iter()
                .position(|one| Some(&one.name) == name.as_ref());
            levels[row].push(known);
        }
    }
    let mut by_treatment: BTreeMap<&Vec<Option<usize>>, Sum> = BTreeMap::new();
    let (mut all, mut apart) = (Sum::default(), Vec::new());
    for record in &subject.records {
        let counted = &shoots[record.row];
        if counted.vines == 0.0 {
            continue;
        }
        // Other vines, or fewer shoots than broke from nodes: not the same thing counted.
        let same = record.vines == Some(counted.vines) && counted.broken.is_none();
        if !same || counted.value < record.count {
            apart.push(plot_words(plots, record.row));
            continue;
        }
        for sum in [
            &mut all,
            by_treatment.entry(&levels[record.row]).or_default(),
        ] {
            sum.plots += 1;
            sum.nodes += record.size;
            sum.broken += record.count;
            sum.shoots += counted.value;
        }
    }
    if all.plots == 0 {
        return Ok(Apparent::default());
    }
    let labels = |key: &[Option<usize>]| {
        let parts = key
            .iter()
            .zip(factors)
            .map(|(level, factor)| level.map_or("", |level| factor.levels[level].label.as_str()));
        parts.collect::<Vec<_>>().join(", ")
    };
    let rows: Vec<(String, Sum)> = by_treatment
        .iter()
        .map(|(key, sum)| (labels(key), *sum))
        .collect();
    let heading: Vec<&str> = factors.iter().map(|factor| factor.label.as_str()).collect();
    Ok(Apparent {
        statement: statement(&rows),
        table: Some(table(&heading.join(", "), &rows)),
        note: (!apart.is_empty()).then(|| {
            Statement::new(format!(
                "Not in the comparison with all shoots, because other vines were counted there or fewer shoots than came from counted nodes: {}.",
                literal(&some_of(&apart, 6))
            ))
        }),
    })
}

fn all_shoots(call: &Call) -> Option<&Response> {
    let mut responses = call.request.trial.responses.iter();
    responses.find(|one| {
        one.quantity == Quantity::ShootCount && one.derived.is_none() && one.counts.is_none()
    })
}

fn statement(rows: &[(String, Sum)]) -> Option<Statement> {
    let share = |row: &&(String, Sum)| row.1.other();
    let by = |a: &&(String, Sum), b: &&(String, Sum)| {
        share(a).unwrap_or(0.0).total_cmp(&share(b).unwrap_or(0.0))
    };
    let few = rows
        .iter()
        .filter(|row| row.1.other().is_some())
        .min_by(by)?;
    let many = rows
        .iter()
        .filter(|row| row.1.other().is_some())
        .max_by(by)?;
    let (few_share, many_share) = (few.1.other()?, many.1.other()?);
    let mut text = "Counted on nodes, {of0} broke at LEVEL0; set against all shoots the same nodes would seem to have broken to {app0} (apparent bud break), because {other0} of the shoots there came from elsewhere than a counted node".to_owned();
    let mut statement = Statement::default();
    let mut named = vec![(many, many_share)];
    if few.0 != many.0 {
        text.push_str(
            "; at LEVEL1 it is {of1} and {app1}, with {other1} of the shoots from elsewhere",
        );
        named.push((few, few_share));
    }
    text.push('.');
    for (at, (row, share)) in named.into_iter().enumerate() {
        text = text.replace(&format!("LEVEL{at}"), &literal(&row.0));
        statement = statement
            .with(&format!("of{at}"), row.1.of_nodes(), Format::Percent(0))
            .with(&format!("app{at}"), row.1.apparent(), Format::Percent(0))
            .with(&format!("other{at}"), share, Format::Percent(0));
    }
    Some(Statement { text, ..statement })
}

fn table(heading: &str, rows: &[(String, Sum)]) -> Table {
    let count = |of: fn(&Sum) -> f64| rows.iter().map(|row| Some(of(&row.1) as i64)).collect();
    let share = |of: fn(&Sum) -> f64| rows.iter().map(|row| Some(of(&row.1))).collect();
    let others = rows.iter().map(|row| row.1.other()).collect();
    Table {
        id: "apparent".to_owned(),
        title: "Bud break of counted nodes and apparent bud break".to_owned(),
        columns: vec![
            Column::text(heading, rows.iter().map(|row| row.0.clone())),
            Column::count("Plots and seasons", rows.iter().map(|row| Some(row.1.plots)).collect()),
            Column::count("Nodes", count(|sum| sum.nodes)),
            Column::count("Broken", count(|sum| sum.broken)),
            Column::count("All shoots", count(|sum| sum.shoots)),
            Column::number("Bud break of nodes", share(Sum::of_nodes), Format::Percent(1)),
            Column::number("Apparent", share(Sum::apparent), Format::Percent(1)),
            Column::number("Shoots from elsewhere", others, Format::Percent(1)),
        ],
        notes: vec![
            "Sums as counted. Apparent bud break sets all shoots against the nodes and may exceed 100 %; it is no proportion and is not tested here. Shoots from elsewhere grew from base or latent buds, or as second shoots of a node.".to_owned(),
        ],
        ..Table::default()
    }
}
