//! All responses in one sentence and one table.

use caneplot_plugin::findings::{Column, Format, Rank, Section, Statement, Table};
use caneplot_plugin::words::{list, shortened};

use crate::field::Field;
use crate::look::Look;
use crate::options::Options;
use crate::words::{parts, taken_out};

/// Plots named in one sentence.
const NAMED: usize = 6;

/// The section over all responses.
pub(crate) fn section(field: &Field<'_>, options: &Options, looks: &[Look<'_>]) -> Section {
    Section {
        id: "overview".to_owned(),
        title: "The field in short".to_owned(),
        statements: vec![headline(options, looks).rank(Rank::Headline)],
        tables: table(looks).into_iter().collect(),
        notes: notes(field, options, looks),
        ..Section::default()
    }
}

fn headline(options: &Options, looks: &[Look<'_>]) -> Statement {
    let names = |found: &dyn Fn(&&Look<'_>) -> bool| -> Vec<String> {
        looks.iter().filter(found).map(Look::name).collect()
    };
    let slopes = names(&|look| look.has_slope(options.level) || look.has_bend(options.level));
    let patches = names(&|look| look.has_patches(options.level));
    let all = looks.len() as f64;
    let trial = looks.first().map(|look| look.trial);
    let parts = trial.and_then(parts);
    let well = parts.map_or(String::new(), |parts| {
        format!("The {parts} did their work: ")
    });
    let beyond = parts.map_or(String::new(), |parts| {
        format!(" that the {parts} do not take up")
    });
    let text = match (slopes.is_empty(), patches.is_empty()) {
        _ if looks.is_empty() => {
            return Statement::new("No response could be looked at in the field.");
        }
        (true, true) => {
            return Statement::new(match looks.len() {
                1 => format!(
                    "{well}no clear slope and no clear patches are left in the field in {}.",
                    looks[0].name()
                ),
                _ => format!("{well}no clear slope and no clear patches are left in the field in any of the {{all}} responses."),
            })
            .with_if(looks.len() > 1, "all", all)
            .capital();
        }
        (false, true) => format!(
            "A slope is left in the field that the blocks do not take up, in {}",
            list(&slopes)
        ),
        (true, false) => format!(
            "Patches are left in the field that the blocks do not take up, in {}",
            list(&patches)
        ),
        (false, false) => format!(
            "Something is left in the field{beyond}: a slope in {}, and neighbouring plots that are alike in {}",
            list(&slopes),
            list(&patches)
        ),
    };
    Statement::new(match looks.len() {
        1 => format!("{text}."),
        _ => format!("{text} ({{all}} responses looked at)."),
    })
    .with_if(looks.len() > 1, "all", all)
}

/// A number that only some sentences have.
trait WithIf {
    fn with_if(self, there: bool, name: &str, value: f64) -> Self;
    /// With a capital at its beginning.
    fn capital(self) -> Self;
}

impl WithIf for Statement {
    fn with_if(self, there: bool, name: &str, value: f64) -> Self {
        match there {
            true => self.with(name, value, Format::Count),
            false => self,
        }
    }

    fn capital(mut self) -> Self {
        if let Some(first) = self.text.get_mut(..1) {
            first.make_ascii_uppercase();
        }
        self
    }
}

fn table(looks: &[Look<'_>]) -> Option<Table> {
    let number = |of: &dyn Fn(&Look<'_>) -> Option<f64>| looks.iter().map(of).collect::<Vec<_>>();
    (!looks.is_empty()).then(|| Table {
        id: "overview".to_owned(),
        title: format!(
            "What {} leave in the field",
            looks
                .first()
                .map_or("treatments", |look| taken_out(look.trial))
        ),
        columns: vec![
            Column::text(
                "Response",
                looks.iter().map(|look| look.response.label.clone()),
            ),
            Column::count(
                "Plots",
                looks
                    .iter()
                    .map(|look| Some(look.plots.len() as i64))
                    .collect(),
            ),
            Column::count(
                "df",
                looks.iter().map(|look| Some(look.df as i64)).collect(),
            ),
            Column::probability("P of a slope", number(&|look| Some(look.straight?.p))),
            Column::probability("P of a bend", number(&|look| Some(look.curved?.p))),
            Column::number(
                "Correlation of neighbours",
                number(&|look| Some(look.patches()?.correlation)),
                Format::Decimals(2),
            ),
            Column::probability("P of patches", number(&|look| Some(look.patches()?.p))),
        ],
        ..Table::default()
    })
}

fn notes(field: &Field<'_>, options: &Options, looks: &[Look<'_>]) -> Vec<Statement> {
    let mut all = Vec::new();
    let tests: usize = looks
        .iter()
        .map(|look| look.trend().count() + usize::from(look.patches().is_some()))
        .sum();
    if tests > 1 {
        all.push(
            Statement::new(format!(
                "Of {{tests}} tests in the table some {{chance}} fall below {} by chance alone: take a single one lightly, and several that agree seriously.",
                options.level_words()
            ))
            .with("tests", tests as f64, Format::Count)
            .with("chance", tests as f64 * options.level, Format::Decimals(1)),
        );
    }
    let without = field.without_place();
    if !without.is_empty() {
        all.push(Statement::new(format!(
            "Without a place in the field and left out: {}.",
            shortened(&without, NAMED)
        )));
    }
    all.push(match options.distance {
        Some(most) => Statement::new(
            "Neighbours are the next plot in the row and the plots opposite in the next row, where their middles are no more than {most} apart.",
        )
        .with_unit("most", most, Format::Significant(3), "m"),
        None => Statement::new(
            "Neighbours are the next plot in the row and the plots opposite in the next row, unless they are half as far again from each other as is usual here.",
        ),
    });
    all.into_iter()
        .map(|note| note.rank(Rank::Detail))
        .collect()
}
