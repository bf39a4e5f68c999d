//! Whether the assumptions look right, in words with their numbers.

use caneplot_numerics::diagnose::{
    DiagnoseError, EqualVariances, Normality, brown_forsythe, shapiro_wilk,
};
use caneplot_numerics::variance::TermLine;
use caneplot_plugin::findings::{Format, Rank, Statement};

use crate::methods::Used;
use crate::seasons_alike;
use crate::study::Study;
use crate::words;

impl Study<'_> {
    /// Residuals of the plots, one a plot: what treatments on plots are tested against.
    pub fn residuals(&self) -> &[f64] {
        &self.variance.swept.residuals[self.planned.design.plots]
    }

    /// Whether a stratum has an error above zero.
    pub fn has_error(&self, stratum: usize) -> bool {
        let error = &self.variance.errors[stratum];
        error.df > 0 && error.sum_of_squares > 0.0
    }
}

/// What the checks found wrong at the level of the options.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Doubts {
    /// The spread differs between treatments.
    pub spread: bool,
    /// The spread within plots differs between seasons.
    pub seasons: bool,
    /// The residuals are not normal.
    pub normality: bool,
    /// Treatments act by different amounts in different blocks.
    pub additivity: bool,
}

impl Doubts {
    pub fn of(study: &Study<'_>) -> Self {
        let rare = |p: f64| p < study.options.level;
        Self {
            spread: matches!(spread_of(study), Spread::Known(found) if rare(found.p)),
            seasons: season_spread_of(study).is_some_and(|found| rare(found.p)),
            normality: normality_of(study).is_some_and(|found| rare(found.p)),
            additivity: additivity_of(study)
                .and_then(|found| found.p)
                .is_some_and(rare),
        }
    }

    pub fn any(self) -> bool {
        self != Self::default()
    }

    /// What was found, each as half a sentence.
    pub fn words(self) -> Vec<&'static str> {
        [
            (self.spread, "the spread differs between treatments"),
            (self.seasons, "the spread differs between seasons"),
            (
                self.normality,
                "the residuals stray from a normal distribution",
            ),
            (
                self.additivity,
                "treatments do not act by the same amount everywhere",
            ),
        ]
        .into_iter()
        .filter_map(|(found, words)| found.then_some(words))
        .collect()
    }
}

/// The checks as sentences.
pub(crate) fn statements(study: &Study<'_>, used: &mut Used) -> Vec<Statement> {
    let design = &study.planned.design;
    if !study.has_error(design.plots) {
        return Vec::new();
    }
    let mut all = Vec::new();
    all.extend(normality(study, used));
    all.extend(equal_spread(study, used));
    all.extend(additivity(study, used));
    all.extend(seasons(study, used));
    all.extend(seasons_alike::statements(study, used));
    let df = study.variance.errors[design.plots].df;
    let count = study.residuals().len();
    if df * 2 < count {
        all.push(
            Statement::new(
                "The {count} residuals carry only {df} degrees of freedom, so they are far from independent and these checks see little.",
            )
            .with("count", count as f64, Format::Count)
            .with("df", df as f64, Format::Count),
        );
    }
    all.extend(components(study));
    all.into_iter()
        .map(|statement| statement.rank(Rank::Detail))
        .collect()
}

fn normality_of(study: &Study<'_>) -> Option<Normality> {
    shapiro_wilk(study.residuals()).ok()
}

fn normality(study: &Study<'_>, used: &mut Used) -> Option<Statement> {
    let found = normality_of(study)?;
    used.shapiro = true;
    let text = if found.p < study.options.level {
        "The residuals of the plots stray from a normal distribution (Shapiro-Wilk W = {w}, {p}): look at the figure for single plots that stand apart."
    } else {
        "The residuals of the plots give no sign against a normal distribution (Shapiro-Wilk W = {w}, {p})."
    };
    Some(
        Statement::new(text)
            .with("w", found.w, Format::Decimals(3))
            .with("p", found.p, Format::Probability),
    )
}

/// What is known of the spread in the treatments.
enum Spread {
    Known(EqualVariances),
    /// Too few plots of each treatment.
    TooFew,
    Unknown,
}

fn spread_of(study: &Study<'_>) -> Spread {
    let layout = &study.planned.design.layout;
    let plots = &layout.strata()[study.planned.design.plots].cells;
    let all: Vec<usize> = (0..study.trial.factors.len()).collect();
    // Combinations with two plots or fewer say nothing about their spread: fall back to the first
    // factor alone.
    let sets = [all, vec![0]];
    let mut found = Spread::Unknown;
    for set in sets {
        let Some(term) = study.term(&set, false) else {
            return Spread::Unknown;
        };
        let cells = &layout.terms()[term].cells;
        let mut groups: Vec<Vec<f64>> = vec![Vec::new(); cells.count()];
        for (&unit, &residual) in plots.first().iter().zip(study.residuals()) {
            groups[cells.of_unit()[unit]].push(residual);
        }
        if groups.iter().any(|group| group.len() < 3) {
            found = Spread::TooFew;
            continue;
        }
        let slices: Vec<&[f64]> = groups.iter().map(Vec::as_slice).collect();
        match brown_forsythe(&slices) {
            Ok(known) => return Spread::Known(known),
            Err(DiagnoseError::Constant) => return Spread::Unknown,
            Err(_) => {}
        }
    }
    found
}

fn equal_spread(study: &Study<'_>, used: &mut Used) -> Option<Statement> {
    match spread_of(study) {
        Spread::Known(found) => {
            used.brown = true;
            let text = if found.p < study.options.level {
                "The spread differs between treatments (Brown-Forsythe F = {f}, {p}): differences between the more variable treatments are less sure than their standard error says."
            } else {
                "The spread is much the same in all treatments (Brown-Forsythe F = {f}, {p})."
            };
            Some(
                Statement::new(text)
                    .with("f", found.f, Format::Decimals(2))
                    .with("p", found.p, Format::Probability),
            )
        }
        Spread::TooFew => Some(Statement::new(
            "With fewer than three plots of each treatment, equal spread cannot be tested.",
        )),
        Spread::Unknown => None,
    }
}

fn additivity_of(study: &Study<'_>) -> Option<TermLine> {
    let design = &study.planned.design;
    let layout = &design.layout;
    let grouped = layout.strata()[..design.plots]
        .iter()
        .all(|stratum| stratum.grouping);
    if !grouped || design.plots == 0 {
        return None;
    }
    layout.nonadditivity(&study.variance, design.plots)
}

fn additivity(study: &Study<'_>, used: &mut Used) -> Option<Statement> {
    let design = &study.planned.design;
    let found = additivity_of(study)?;
    let p = found.p?;
    used.tukey_additivity = true;
    let where_ = design.layout.strata()[..design.plots]
        .iter()
        .filter_map(|stratum| stratum.name.strip_prefix("Between "))
        .collect::<Vec<_>>()
        .join(" and ");
    let text = if p < study.options.level {
        format!(
            "Treatments do not act by the same amount in all {where_} (Tukey's test of non-additivity F = {{f}}, {{p}}): a logarithmic scale may serve better."
        )
    } else {
        format!(
            "Treatments act by much the same amount in all {where_} (Tukey's test of non-additivity F = {{f}}, {{p}})."
        )
    };
    Some(
        Statement::new(text)
            .with("f", found.f?, Format::Decimals(2))
            .with("p", p, Format::Probability),
    )
}

fn season_spread_of(study: &Study<'_>) -> Option<EqualVariances> {
    let design = &study.planned.design;
    let (within, season) = (design.within_plots?, design.season?);
    let cells = &design.layout.strata()[within].cells;
    let codes = &design.layout.classifiers()[season].codes;
    let mut groups: Vec<Vec<f64>> = vec![Vec::new(); study.seasons().len()];
    for (&unit, &residual) in cells
        .first()
        .iter()
        .zip(&study.variance.swept.residuals[within])
    {
        groups[codes[unit]].push(residual);
    }
    let slices: Vec<&[f64]> = groups.iter().map(Vec::as_slice).collect();
    brown_forsythe(&slices).ok()
}

fn seasons(study: &Study<'_>, used: &mut Used) -> Option<Statement> {
    let found = season_spread_of(study)?;
    used.brown = true;
    let text = if found.p < study.options.level {
        "The spread within plots differs between seasons (Brown-Forsythe F = {f}, {p}): tests of seasons and of their interactions are too sure of themselves."
    } else {
        "The spread within plots is much the same in all seasons (Brown-Forsythe F = {f}, {p})."
    };
    Some(
        Statement::new(text)
            .with("f", found.f, Format::Decimals(2))
            .with("p", found.p, Format::Probability),
    )
}

/// Strata whose units are more alike than the units inside them would make them by chance.
fn components(study: &Study<'_>) -> Vec<Statement> {
    let design = &study.planned.design;
    let strata = design.layout.strata();
    let found = design.layout.components(&study.variance);
    let mut all = Vec::new();
    for (at, (stratum, component)) in strata.iter().zip(found).enumerate() {
        let Some(component) = component.filter(|&component| component < 0.0) else {
            continue;
        };
        let name = words::inside(
            stratum
                .name
                .strip_prefix("Between ")
                .unwrap_or(&stratum.name),
        );
        let text = if stratum.name == "Blocks by seasons" {
            "Blocks × seasons varied no more than chance inside plots would make it (variance component {component}): pooling it would change little.".to_owned()
        } else if stratum.grouping {
            format!(
                "{} differed less than the plots inside them would make them by chance (variance component {{component}}): this grouping took out no variation.",
                words::beginning(&name)
            )
        } else {
            let why = if at == design.plots && design.within_plots.is_some() {
                "a heavy season of a plot is followed by a light one"
            } else {
                "neighbours compete"
            };
            format!(
                "The variance component of {name} came out negative ({{component}}), by chance or because {why}: treatments are still tested against {name} with {{df}} degrees of freedom, as the trial was laid out, but that error is probably too small."
            )
        };
        let mut statement =
            Statement::new(text).with("component", component, Format::Significant(3));
        if !stratum.grouping {
            statement = statement.with("df", study.variance.errors[at].df as f64, Format::Count);
        }
        all.push(statement);
    }
    all
}
