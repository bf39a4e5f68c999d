//! How treatments went over the seasons: the first one against later ones, trends, steadiness.

use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::words;

use super::About;
use crate::measures::Measure;
use crate::study::{Study, Whole};

/// Whether the first season tells what later ones would bring.
pub(super) fn first(study: &Study<'_>, whole: &Whole<'_>, term: usize) -> Option<Statement> {
    let about = About {
        study,
        whole,
        term,
        column: whole.column(Measure::FirstLess)?,
    };
    let p = about.p()?;
    let calendar = study.planner.calendar;
    let season = words::safe(calendar.label(study.seasons[0]));
    let began = calendar.year_of_treatment(study.seasons[0]) == 1;
    let of_treatment = if began { " of treatment" } else { " recorded" };
    let later = match study.seasons.as_slice() {
        [_, second] => words::safe(calendar.label(*second)),
        _ => "later seasons".to_owned(),
    };
    if !about.clear() {
        let text = format!(
            "The effect of {} on {} in the first season{of_treatment} ({season}) did not clearly differ from that in {later} ({{p}}).",
            about.factor(),
            study.name()
        );
        let statement = Statement::new(text).with("p", p, Format::Probability);
        return Some(statement.rank(Rank::Detail));
    }
    let treatments = whole.analysed.treatments(term)?;
    // Without a control, the treatment that stood lowest on the whole is what others are held against.
    let reference = if treatments.declared {
        treatments.control
    } else {
        *whole
            .analysed
            .by_mean(term, whole.column(Measure::Mean)?)
            .last()?
    };
    let changed = |treatment: usize| {
        let change = about.difference(treatment, reference);
        change.map_or(0.0, |change| change.value.abs())
    };
    let far = (0..treatments.count())
        .filter(|&at| at != reference)
        .max_by(|&a, &b| changed(a).total_cmp(&changed(b)))?;
    let gain = |measure: Measure| {
        let column = whole.column(measure)?;
        let mean = |at| whole.analysed.mean(term, column, at);
        Some(mean(far) - mean(reference))
    };
    let (early, late) = (gain(Measure::First)?, gain(Measure::Later)?);
    let side = |gain: f64| if gain >= 0.0 { "above" } else { "below" };
    let lesson = match (early * late > 0.0, early.abs() > late.abs(), began) {
        (_, _, false) => "",
        (true, true, true) => " The first season overstates the long run.",
        (true, false, true) => " The first season understates the long run.",
        (false, _, true) => " The first season points another way than the long run.",
    };
    let text = format!(
        "In the first season{of_treatment} ({season}) {} with {} stood {{early}} {} that with {}, in {later} {{late}} {} it ({{p}}).{lesson}",
        study.name(),
        about.words(far),
        side(early),
        about.words(reference),
        side(late)
    );
    let statement = about.put(Statement::new(text), "early", early.abs());
    about.with_p(about.put(statement, "late", late.abs()))
}

/// Whether the trends of the treatments differed.
pub(super) fn trend(study: &Study<'_>, whole: &Whole<'_>, term: usize) -> Option<Statement> {
    let about = About {
        study,
        whole,
        term,
        column: whole.column(Measure::Slope)?,
    };
    about.p()?;
    let step = study.planner.calendar.step();
    if !about.clear() {
        let statement = Statement::new(format!(
            "No clear difference between levels of {} in the trend of {} over the seasons ({{p}}).",
            about.factor(),
            study.name()
        ));
        return Some(about.with_p(statement)?.rank(Rank::Detail));
    }
    let order = whole.analysed.by_mean(term, about.column);
    let (high, low) = (*order.first()?, *order.last()?);
    let change = |value: f64| if value >= 0.0 { "rose" } else { "fell" };
    let (most, least) = (about.mean(high), about.mean(low));
    let statement = Statement::new(format!(
        "Trends over the seasons differed between levels of {} ({{p}}): {} {} by {{a}} {step} with {} and {} by {{b}} with {}.",
        about.factor(),
        study.name(),
        change(most),
        about.words(high),
        change(least),
        about.words(low)
    ));
    let statement = about.put(statement, "a", most.abs());
    about.with_p(about.put(statement, "b", least.abs()))
}

/// Whether some treatments were steadier than others.
pub(super) fn steadiness(study: &Study<'_>, whole: &Whole<'_>, term: usize) -> Option<Statement> {
    let of = |measure: Measure| {
        let column = whole.column(measure)?;
        Some(About {
            study,
            whole,
            term,
            column,
        })
    };
    let swing = of(Measure::Spread)?;
    let alternate = of(Measure::Bienniality);
    if let Some(about) = alternate.as_ref().filter(|about| about.clear()) {
        let (high, low) = ends(about)?;
        let statement = Statement::new(format!(
            "Neighbouring seasons differed most in {} with {} (bienniality {{a}}) and least with {} ({{b}}; {{p}}).",
            study.name(),
            about.words(high),
            about.words(low)
        ));
        let statement = about.put(statement, "a", about.mean(high));
        return about.with_p(about.put(statement, "b", about.mean(low)));
    }
    if swing.clear() {
        let (high, low) = ends(&swing)?;
        let statement = Statement::new(format!(
            "From season to season {} swung most with {} (standard deviation {{a}}) and least with {} ({{b}}; {{p}}).",
            study.name(),
            swing.words(high),
            swing.words(low)
        ));
        let statement = swing.put(statement, "a", swing.mean(high));
        return swing.with_p(swing.put(statement, "b", swing.mean(low)));
    }
    let index = alternate.and_then(|about| about.p());
    let text = format!(
        "No clear difference between levels of {} in how steady {} stood over the seasons (standard deviation {{p}}{}).",
        swing.factor(),
        study.name(),
        if index.is_some() {
            ", bienniality {q}"
        } else {
            ""
        }
    );
    let statement = swing.with_p(Statement::new(text))?.rank(Rank::Detail);
    Some(match index {
        Some(q) => statement.with("q", q, Format::Probability),
        None => statement,
    })
}

/// The treatments with the largest and the smallest mean.
fn ends(about: &About<'_, '_, '_>) -> Option<(usize, usize)> {
    let order = about.whole.analysed.by_mean(about.term, about.column);
    Some((*order.first()?, *order.last()?))
}
