//! The covariance structures over seasons that were compared, and the one used.

use caneplot_numerics::mixed::Structure;
use caneplot_plugin::findings::{Column, Format, Statement, Table};
use caneplot_plugin::words::{self, safe};

use crate::options::structure_words;
use crate::study::Study;

impl Study<'_> {
    /// The comparison of structures over seasons.
    pub fn structures_table(&self) -> Option<Table> {
        let tried = &self.choice.tried;
        if self.seasons().is_empty() {
            return None;
        }
        let column =
            |value: &dyn Fn(&caneplot_numerics::mixed::criteria::Criteria) -> Option<f64>| {
                tried
                    .iter()
                    .map(|one| one.criteria.as_ref().ok().and_then(value))
                    .collect::<Vec<_>>()
            };
        let mut notes = vec![
            "All with the same means; smaller is better. Criteria count n − p values, those left after the p means.".to_owned(),
        ];
        if tried.len() > 1 {
            notes.push("Forms without correlation are there to compare with and are never chosen: a plot carries one treatment through all seasons, and its seasons are not replicates. Tests do not allow for the choice.".to_owned());
        }
        for one in tried {
            if let Err(why) = &one.criteria {
                notes.push(format!(
                    "{}: not usable, {why}.",
                    words::beginning(structure_words(one.structure))
                ));
            }
        }
        Some(Table {
            id: "structures".to_owned(),
            title: "How the seasons of one plot go together".to_owned(),
            columns: vec![
                Column::text(
                    "Errors of one plot",
                    tried.iter().map(|one| structure_words(one.structure)),
                ),
                Column::count(
                    "Variance parameters",
                    tried
                        .iter()
                        .map(|one| one.criteria.as_ref().ok().map(|c| c.parameters as i64))
                        .collect(),
                ),
                Column::number(
                    "−2 log likelihood",
                    column(&|c| Some(c.deviance)),
                    Format::Decimals(2),
                ),
                Column::number("AIC", column(&|c| Some(c.aic)), Format::Decimals(2)),
                Column::number("AICc", column(&|c| c.aicc), Format::Decimals(2)),
                Column::number("BIC", column(&|c| Some(c.bic)), Format::Decimals(2)),
                Column::text(
                    "Choice",
                    tried
                        .iter()
                        .map(|one| match one.structure == self.choice.structure {
                            true => "used",
                            false => "",
                        }),
                ),
            ],
            notes,
            file_only: true,
            ..Table::default()
        })
    }

    /// Which structure was used and why.
    pub fn structure_statement(&self) -> Option<Statement> {
        if self.seasons().is_empty() {
            let asked = self.options.structure().ok().flatten()?;
            return Some(Statement::new(format!(
                "The option structure = \"{}\" is without use here: there are values of one season only, so that nothing goes together over seasons.",
                safe(structure_words(asked))
            )));
        }
        let name = structure_words(self.choice.structure);
        if self.choice.tried.len() == 1 {
            let caution = match self.choice.structure.correlated() {
                true => "",
                false => {
                    " A plot carries one treatment through all seasons, so this makes replicates of its seasons and tests of the treatments too sure of themselves"
                }
            };
            return Some(Statement::new(format!(
                "Seasons of one plot go together as asked for: {}.{caution}{}",
                safe(name),
                match caution {
                    "" => "",
                    _ => ".",
                }
            )));
        }
        let mut ranked: Vec<(f64, Structure)> = self
            .choice
            .tried
            .iter()
            .filter_map(|one| {
                let criteria = one.criteria.as_ref().ok()?;
                let usable = one.structure.correlated();
                Some((criteria.aicc.filter(|_| usable)?, one.structure))
            })
            .collect();
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
        let [(least, _), (next, other), ..] = ranked.as_slice() else {
            return Some(Statement::new(format!(
                "Seasons of one plot go together by the only form that could be used: {name}."
            )));
        };
        let text = format!(
            "Of {{count}} ways in which the seasons of one plot may go together, '{name}' fits best by the corrected Akaike criterion; '{}' follows at a distance of {{gap}}{}.",
            structure_words(*other),
            match next - least < 2.0 {
                true => ", too near to be told apart by these data",
                false => "",
            }
        );
        Some(
            Statement::new(text)
                .with("count", ranked.len() as f64, Format::Count)
                .with("gap", next - least, Format::Decimals(1)),
        )
    }
}
