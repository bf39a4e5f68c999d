//! Standard errors of differences, pairs of means and comparisons with the control.

use caneplot_numerics::transform::{Ratio, Scale};
use caneplot_plugin::findings::{Column, Format, Table};

use crate::means::{Means, Pair};
use crate::numbers::with_unit;
use crate::options::Separation;
use crate::study::Study;
use crate::tests_table::unescaped;

/// Two standard errors closer than this are the same.
const SAME: f64 = 1e-6;

/// Standard errors of the differences in one kind of comparison.
struct Kind {
    words: String,
    errors: Vec<(f64, f64)>,
}

impl Kind {
    fn range(&self, of: impl Fn(&(f64, f64)) -> f64) -> (f64, f64) {
        let values = || self.errors.iter().map(&of);
        (
            values().fold(f64::INFINITY, f64::min),
            values().fold(f64::NEG_INFINITY, f64::max),
        )
    }

    fn mean(&self) -> f64 {
        self.errors.iter().map(|(error, _)| error).sum::<f64>() / self.errors.len() as f64
    }
}

impl Study<'_> {
    /// Standard errors of the differences of every kind that the tables of means show.
    pub fn differences_table(&self) -> Option<Table> {
        let mut kinds = Vec::new();
        for factor in 0..self.margins().len() {
            let name = unescaped(&self.factor_words(factor));
            kinds.push(self.kind(
                format!("two levels of {name}{}", self.over_seasons()),
                &[self.means(&[factor], &[])],
            ));
            if let Some(season) = self.season() {
                let sets: Vec<Means> = (0..self.seasons().len())
                    .map(|at| self.means(&[factor], &[(season, at)]))
                    .collect();
                kinds.push(self.kind(format!("two levels of {name} in one season"), &sets));
                let sets: Vec<Means> = (0..self.margins()[factor].labels.len())
                    .map(|at| self.means(&[season], &[(factor, at)]))
                    .collect();
                kinds.push(self.kind(format!("two seasons at one level of {name}"), &sets));
            }
            for other in 0..self.margins().len() {
                if other != factor {
                    let sets: Vec<Means> = (0..self.margins()[other].labels.len())
                        .map(|at| self.means(&[factor], &[(other, at)]))
                        .collect();
                    let at = unescaped(&self.factor_words(other));
                    kinds.push(
                        self.kind(format!("two levels of {name} at one level of {at}"), &sets),
                    );
                }
            }
        }
        let kinds: Vec<Kind> = kinds
            .into_iter()
            .filter(|kind| !kind.errors.is_empty())
            .collect();
        if kinds.is_empty() {
            return None;
        }
        let all = || {
            kinds
                .iter()
                .flat_map(|kind| kind.errors.iter().map(|e| e.0))
        };
        let format = self.of_errors(all());
        let equal = |kind: &Kind| {
            let (low, high) = kind.range(|e| e.0);
            high - low <= SAME * high
        };
        let any_unequal = kinds.iter().any(|kind| !equal(kind));
        let column = |value: &dyn Fn(&Kind) -> Option<f64>| kinds.iter().map(value).collect();
        let mut columns = vec![Column::text(
            "Difference between",
            kinds.iter().map(|kind| kind.words.clone()),
        )];
        if any_unequal {
            columns.push(self.scaled_amounts(
                "Smallest standard error",
                column(&|kind| Some(kind.range(|e| e.0).0)),
                format,
            ));
            columns.push(self.scaled_amounts("Mean", column(&|kind| Some(kind.mean())), format));
            columns.push(self.scaled_amounts(
                "Largest",
                column(&|kind| Some(kind.range(|e| e.0).1)),
                format,
            ));
        } else {
            columns.push(self.scaled_amounts(
                "Standard error",
                column(&|kind| Some(kind.mean())),
                format,
            ));
        }
        columns.push(Column::number(
            match any_unequal {
                true => "Smallest df",
                false => "df",
            },
            column(&|kind| Some(kind.range(|e| e.1).0)),
            Format::Decimals(1),
        ));
        columns.push(self.scaled_amounts(
            "LSD",
            column(&|kind| {
                let (error, df) = kind.errors[0];
                equal(kind).then(|| self.half_width(error, df)).flatten()
            }),
            format,
        ));
        let mut notes = vec![format!(
            "LSD: least significant difference at {} for two means chosen beforehand.",
            self.options.level_words()
        )];
        if any_unequal {
            notes.push("Where differences of one kind have unequal standard errors, no single LSD serves them all: each comparison used its own.".to_owned());
        }
        Some(Table {
            id: "differences".to_owned(),
            title: format!(
                "Standard errors of differences between adjusted means{}",
                self.on_scale()
            ),
            columns,
            notes,
            ..Table::default()
        })
    }

    fn kind(&self, words: String, sets: &[Means]) -> Kind {
        let mut errors = Vec::new();
        for means in sets {
            for first in 0..means.levels.len() {
                for second in first + 1..means.levels.len() {
                    if let Some(found) = self.difference(means, first, second) {
                        errors.push((found.standard_error, found.df));
                    }
                }
            }
        }
        Kind { words, errors }
    }

    /// All pairs of levels of a margin, for a file.
    pub fn pairs_table(&self, factor: usize) -> Option<Table> {
        let margin = &self.margins()[factor];
        if margin.quantities.is_some() || margin.labels.len() < 3 {
            return None;
        }
        let means = self.means(&[factor], &[]);
        let pairs = self.pairs(&means);
        if pairs.is_empty() {
            return None;
        }
        let confidence = self.options.confidence_words();
        let note = match self.options.separation {
            Separation::Tukey => {
                format!("Limits hold for all pairs together (Tukey and Kramer, {confidence}).")
            }
            Separation::Holm => format!(
                "Limits ({confidence}) hold for each pair by itself, P for all pairs together (Holm)."
            ),
            _ => format!("Limits ({confidence}) hold for each pair by itself."),
        };
        let mut columns = vec![
            Column::text(
                "Level",
                pairs.iter().map(|pair| margin.labels[pair.first].clone()),
            ),
            Column::text(
                "Compared with",
                pairs.iter().map(|pair| margin.labels[pair.second].clone()),
            ),
        ];
        columns.extend(self.pair_columns(&pairs));
        Some(Table {
            id: format!("pairs-{}", margin.id),
            title: format!(
                "All pairs of levels of {}{}",
                unescaped(&self.factor_words(factor)),
                self.pairs_scale()
            ),
            columns,
            notes: vec![note],
            file_only: true,
            ..Table::default()
        })
    }

    /// Every level of a margin against its control.
    pub fn control_table(&self, factor: usize) -> Option<Table> {
        if self.options.separation != Separation::Dunnett {
            return None;
        }
        let margin = &self.margins()[factor];
        let control = margin.control?;
        let pairs = self.against_control(&self.means(&[factor], &[]), control)?;
        let levels = pairs.iter().map(|pair| margin.labels[pair.first].clone());
        let mut columns = vec![with_unit(Column::text(&margin.label, levels), &margin.unit)];
        columns.extend(self.pair_columns(&pairs));
        Some(Table {
            id: format!("control-{}", margin.id),
            title: format!(
                "Differences from the control, {}{}",
                unescaped(&margin.words[control]),
                self.pairs_scale()
            ),
            columns,
            notes: vec![format!(
                "Limits and P hold for all comparisons with the control together (Dunnett, {}); exact where all differences are equally precise, else nearly so.",
                self.options.confidence_words()
            )],
            ..Table::default()
        })
    }

    /// What a title says of the scale of differences.
    fn pairs_scale(&self) -> String {
        match self.scaled.scale {
            Scale::Log => ": ratios of medians".to_owned(),
            _ => self.on_scale(),
        }
    }

    fn pair_columns(&self, pairs: &[Pair]) -> Vec<Column> {
        let format = self.of_means();
        let errors: Vec<f64> = pairs
            .iter()
            .map(|pair| pair.difference.standard_error)
            .collect();
        let of_errors = self.of_errors(errors.iter().copied());
        let column = |value: &dyn Fn(&Pair) -> f64| pairs.iter().map(|p| Some(value(p))).collect();
        let df = Column::number("df", column(&|p| p.difference.df), Format::Decimals(1));
        let ratio = |p: &Pair| Ratio::of_difference(p.difference.value, p.half_width);
        let two = Format::Decimals(2);
        let mut columns = match self.scaled.scale {
            Scale::Log => vec![
                Column::number("Ratio", column(&|p| ratio(p).ratio), two),
                df,
                Column::number("Lower limit", column(&|p| ratio(p).low), two),
                Column::number("Upper limit", column(&|p| ratio(p).high), two),
            ],
            _ => {
                let low = |p: &Pair| p.difference.value - p.half_width;
                let high = |p: &Pair| p.difference.value + p.half_width;
                vec![
                    self.scaled_amounts("Difference", column(&|p| p.difference.value), format),
                    self.scaled_amounts(
                        "Standard error",
                        column(&|p| p.difference.standard_error),
                        of_errors,
                    ),
                    df,
                    self.scaled_amounts("Lower limit", column(&low), format),
                    self.scaled_amounts("Upper limit", column(&high), format),
                ]
            }
        };
        if pairs.iter().all(|pair| pair.p.is_some()) {
            columns.push(Column::probability(
                "P",
                pairs.iter().map(|pair| pair.p).collect(),
            ));
        }
        columns
    }
}
