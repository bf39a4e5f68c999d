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
        let level = whole.mean(term, column, reference, study.response());
        let size = mean(far) - mean(reference);
        Some((size, (level > 0.0).then_some(size / level)))
    };
    let ((early, early_share), (late, late_share)) = (gain(Measure::First)?, gain(Measure::Later)?);
    // Shares are taken where the response is a quantity, as its coefficient of variation is.
    let quantity = whole.column(Measure::Variation).is_some();
    let shares = early_share.zip(late_share).filter(|_| quantity);
    let side = |gain: f64| if gain >= 0.0 { "above" } else { "below" };
    let [of_early, of_late] = match shares {
        Some(_) => [" ({early_share})", " ({late_share})"],
        None => ["", ""],
    };
    let text = format!(
        "In the first season{of_treatment} ({season}) {} with {} stood {{early}}{of_early} {} that with {}, in {later} {{late}}{of_late} {} it ({{p}}).{}",
        study.name(),
        about.words(far),
        side(early),
        about.words(reference),
        side(late),
        if began {
            lesson(early, late, shares)
        } else {
            ""
        }
    );
    let statement = about.put(Statement::new(text), "early", early.abs());
    let statement = about.put(statement, "late", late.abs());
    let statement = match shares {
        Some((early, late)) => statement
            .with("early_share", early.abs(), Format::Percent(0))
            .with("late_share", late.abs(), Format::Percent(0)),
        None => statement,
    };
    about.with_p(statement)
}

/// What the first season teaches about later ones. A good season makes every difference larger, so a
/// difference must shrink or grow as a share too before the season is blamed or praised for more.
fn lesson(early: f64, late: f64, shares: Option<(f64, f64)>) -> &'static str {
    if early * late <= 0.0 {
        return " The first season points another way than the long run.";
    }
    let shrank = early.abs() > late.abs();
    let share_shrank = shares.map_or(shrank, |(early, late)| early.abs() > late.abs());
    match (shrank, share_shrank) {
        (true, true) => " The first season overstates the long run.",
        (false, false) => " The first season understates the long run.",
        (true, false) => {
            " As a share the difference did not shrink: that season as a whole stood higher."
        }
        (false, true) => {
            " As a share the difference did not grow: that season as a whole stood lower."
        }
    }
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
    let (most, least) = (about.mean(high), about.mean(low));
    let change = |value: f64| if value >= 0.0 { "rose by" } else { "fell by" };
    // The verb is said once while it stays the same.
    let second = if change(most) == change(least) {
        "by"
    } else {
        change(least)
    };
    let statement = Statement::new(format!(
        "Trends over the seasons differed between levels of {} ({{p}}): {} {} {{a}} {step} with {} and {second} {{b}} with {}.",
        about.factor(),
        study.name(),
        change(most),
        about.words(high),
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

#[cfg(test)]
mod tests {
    use super::lesson;

    #[test]
    fn a_good_season_alone_teaches_nothing_about_the_long_run() {
        let said = |early, late, shares| lesson(early, late, shares);
        assert!(said(3.0, 1.0, Some((0.5, 0.2))).contains("overstates"));
        assert!(said(3.0, 1.0, None).contains("overstates"));
        assert!(said(-1.0, -2.0, Some((-0.1, -0.3))).contains("understates"));
        // A third more in a season that bore twice as much, and later on: the season's doing.
        assert!(said(2.0, 1.0, Some((0.33, 0.33))).contains("stood higher"));
        assert!(said(1.0, 2.0, Some((0.4, 0.33))).contains("stood lower"));
        assert!(said(1.0, -0.5, Some((0.1, -0.1))).contains("another way"));
    }
}
