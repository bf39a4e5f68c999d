//! Figures of a response: means over one factor or two, means from season to season, residuals.

mod marks;
mod one_factor;
mod residuals;
mod seasons;
mod two_factors;

use caneplot_plugin::findings::Figure;

use crate::study::Study;

/// The figures of a response, at most three; one of a response made from others.
pub(crate) fn of(study: &Study<'_>) -> Vec<Figure> {
    let count = study.trial.factors.len();
    let mut all = Vec::new();
    if count == 1 {
        all.extend(one_factor::one_factor(study, 0));
    } else {
        let pairs = (0..count).flat_map(|a| (a + 1..count).map(move |b| (a, b)));
        let p = |pair: &(usize, usize)| {
            study
                .term(&[pair.0, pair.1], false)
                .and_then(|term| study.line(term).p)
                .unwrap_or(1.0)
        };
        // With three factors or more the pair whose interaction is least likely chance is shown.
        if let Some((a, b)) = pairs.min_by(|a, b| p(a).total_cmp(&p(b))) {
            all.extend(two_factors::two_factors(study, a, b));
        }
    }
    // Made from responses that have all three of their own: one is enough.
    if study.response.derived.is_some() {
        return all;
    }
    all.extend(seasons::over_seasons(study));
    if seasons::seasons_first(study) {
        all.reverse();
    }
    all.extend(residuals::of(study));
    all
}
