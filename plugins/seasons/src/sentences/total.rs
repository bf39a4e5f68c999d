//! What the seasons added up to.

use caneplot_numerics::separation::least_significant_difference;
use caneplot_plugin::findings::Statement;

use super::About;
use crate::compare::{Against, against_control};
use crate::measures::Measure;
use crate::study::{Study, Whole};

/// The total over the seasons by the levels of a factor.
pub(super) fn of(study: &Study<'_>, whole: &Whole<'_>, term: usize) -> Option<Statement> {
    let about = About {
        study,
        whole,
        term,
        column: whole.column(Measure::Total(study.seasons.len()))?,
    };
    about.p()?;
    if !about.clear() {
        return unclear(&about);
    }
    match against_control(study, whole, term, about.column) {
        Some(found) => {
            let size = |row: &Against| row.difference.value.abs();
            let control = found.control;
            let rows = found.rows.into_iter();
            let far = rows.max_by(|a, b| size(a).total_cmp(&size(b)))?;
            let more = far.difference.value >= 0.0;
            let (size, half) = (size(&far), far.half_width);
            let statement = Statement::new(format!(
                "Over {} seasons together, {} with {} added up to {{a}}, {{d}} {} than the control, {} ({} interval {{low}} to {{high}}; all levels {{p}}).",
                study.seasons.len(),
                study.name(),
                about.words(far.treatment),
                if more { "more" } else { "less" },
                about.words(control),
                study.planner.options.confidence()
            ));
            let statement = about.put(statement, "a", about.mean(far.treatment));
            let statement = about.put(statement, "d", size);
            let statement = about.put(statement, "low", size - half);
            about.with_p(about.put(statement, "high", size + half))
        }
        None => best_and_worst(&about),
    }
}

fn best_and_worst(about: &About<'_, '_, '_>) -> Option<Statement> {
    let study = about.study;
    let order = about.whole.analysed.by_mean(about.term, about.column);
    let (best, worst) = (*order.first()?, *order.last()?);
    let difference = about.difference(best, worst)?;
    let half = least_significant_difference(
        difference.standard_error,
        study.planner.options.level,
        difference.df,
    )
    .ok()?;
    let statement = Statement::new(format!(
        "Over {} seasons together, {} added up to {{a}} with {} and to {{b}} with {}: a difference of {{d}} ({} interval {{low}} to {{high}}; {{p}}).",
        study.seasons.len(),
        study.name(),
        about.words(best),
        about.words(worst),
        study.planner.options.confidence()
    ));
    let statement = about.put(statement, "a", about.mean(best));
    let statement = about.put(statement, "b", about.mean(worst));
    let statement = about.put(statement, "d", difference.value);
    let statement = about.put(statement, "low", difference.value - half);
    about.with_p(about.put(statement, "high", difference.value + half))
}

fn unclear(about: &About<'_, '_, '_>) -> Option<Statement> {
    let study = about.study;
    let order = about.whole.analysed.by_mean(about.term, about.column);
    let (best, worst) = (*order.first()?, *order.last()?);
    let difference = about.difference(best, worst)?;
    let least = least_significant_difference(
        difference.standard_error,
        study.planner.options.level,
        difference.df,
    )
    .ok()?;
    let statement = Statement::new(format!(
        "Over {} seasons together there is no clear difference in total {} between levels of {} ({{p}}): totals ran from {{b}} ({}) to {{a}} ({}), and two had to differ by {{least}} to be told apart.",
        study.seasons.len(),
        study.name(),
        about.factor(),
        about.words(worst),
        about.words(best)
    ));
    let statement = about.put(statement, "b", about.mean(worst));
    let statement = about.put(statement, "a", about.mean(best));
    about.with_p(about.put(statement, "least", least))
}

/// The factor with the clearest total, whose treatments the figures show.
pub(crate) fn leading_factor(study: &Study<'_>, whole: &Whole<'_>) -> Option<usize> {
    let total = Measure::Total(study.seasons.len());
    let column = whole
        .column(total)
        .or_else(|| whole.column(Measure::Mean))?;
    whole.analysed.factors().min_by(|&a, &b| {
        let p = |term| whole.analysed.test(term, column).map_or(1.0, |test| test.p);
        p(a).total_cmp(&p(b))
    })
}
