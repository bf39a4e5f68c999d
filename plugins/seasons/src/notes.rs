//! What a reader must know to use the tables of a response.

use caneplot_plugin::Refusal;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::words;

use crate::compare::Judged;
use crate::measures::Measure;
use crate::study::{Study, Whole, named};

/// The notes of a response.
pub(crate) fn of(study: &Study<'_>, judged: &[Judged]) -> Vec<Statement> {
    let mut all = Vec::new();
    let mut say = |text: String| all.push(Statement::new(text));
    if let Some(how) = &study.response().derived {
        say(format!(
            "Not recorded but reckoned: {}.",
            words::safe(how.trim_end_matches('.'))
        ));
    }
    let unrecorded = study.unrecorded();
    if !unrecorded.is_empty() && !study.seasons.is_empty() {
        say(format!(
            "{} has no value in {}, so what is said of its seasons is about the others.",
            study.beginning(),
            study.season_words(&unrecorded)
        ));
    }
    for season in &study.by_season {
        if season.lacking.is_empty() || gaps_of_several(study).is_some() {
            continue;
        }
        let label = words::safe(study.planner.calendar.label(season.season));
        let text = match &season.analysed {
            Ok(_) => format!(
                "{label} is tested on {}: {}.",
                words::counted(season.plots, "plot"),
                named(&season.lacking)
            ),
            Err(_) => format!(
                "{label} is not tested: {}, and what is left does not make up the design.",
                named(&season.lacking)
            ),
        };
        say(text);
    }
    for season in study
        .by_season
        .iter()
        .filter(|season| season.lacking.is_empty())
    {
        if let Err(refusal) = &season.analysed
            && !said_of_all(study, refusal)
        {
            let label = words::safe(study.planner.calendar.label(season.season));
            say(format!(
                "{label} is not tested: {}.",
                words::safe(refusal.message.trim_end_matches('.'))
            ));
        }
    }
    if let Ok(whole) = &study.whole
        && study.seasons.len() > 1
    {
        all.extend(over_seasons(study, whole));
        all.extend(margins(study, judged));
    }
    all.into_iter()
        .map(|note| note.rank(Rank::Detail))
        .collect()
}

/// Whether the same was said of all seasons together.
fn said_of_all(study: &Study<'_>, refusal: &Refusal) -> bool {
    let of_all = study.whole.as_ref().err();
    of_all.is_some_and(|all| all.message == refusal.message)
}

/// Numbers of plots of the seasons that lack some, "29 in 2023 and 28 in 2024", where one sentence
/// can tell of all of them.
fn gaps_of_several(study: &Study<'_>) -> Option<String> {
    let lacking = study.by_season.iter();
    let lacking: Vec<_> = lacking.filter(|one| !one.lacking.is_empty()).collect();
    let told = study.whole.is_ok()
        && lacking.len() > 1
        && lacking
            .iter()
            .all(|one| one.analysed.is_ok() && study.seasons.contains(&one.season));
    let label = |season| words::safe(study.planner.calendar.label(season));
    let plots = lacking.iter();
    let plots = plots.map(|one| format!("{} in {}", one.plots, label(one.season)));
    told.then(|| words::list(&plots.collect::<Vec<_>>()))
}

fn over_seasons(study: &Study<'_>, whole: &Whole<'_>) -> Vec<Statement> {
    let calendar = study.planner.calendar;
    let mut all = Vec::new();
    if let Some(plots) = gaps_of_several(study) {
        all.push(Statement::new(format!(
            "Each season is tested on the plots it has ({plots}), totals, trends and steadiness on the {} with every season: {}.",
            words::counted(whole.plots, "plot"),
            named(&study.lacking)
        )));
    } else if !study.lacking.is_empty() {
        all.push(Statement::new(format!(
            "Totals, trends and steadiness rest on the {} with every season: {}.",
            words::counted(whole.plots, "plot"),
            named(&study.lacking)
        )));
    }
    let untreated: Vec<usize> = study
        .by_season
        .iter()
        .map(|season| season.season)
        .filter(|&season| !calendar.treated(season))
        .collect();
    if !untreated.is_empty() {
        all.push(Statement::new(format!(
            "Treatments were not yet in force in {}: shown season by season, and in nothing else.",
            study.season_words(&untreated)
        )));
    }
    for (measure, why) in &whole.failed {
        let heading = measure.heading(&study.seasons, calendar);
        all.push(Statement::new(format!(
            "{} is not worked out for {}.",
            words::safe(&heading),
            words::safe(why)
        )));
    }
    let trial = study.planner.trial();
    for term in whole.analysed.factors() {
        let Some(test) = whole.with_season[term] else {
            continue;
        };
        let label = &trial.factors[whole.analysed.planned.terms[term].factors[0]].label;
        let text = if study.clear(Some(test)) {
            format!(
                "The effect of {} on {} changed with the season ({{p}}, within plots over all seasons): the seasons one by one are the result, and totals only say what came together.",
                words::inside(label),
                study.name()
            )
        } else {
            format!(
                "There is no clear sign that the effect of {} on {} changed with the season ({{p}}, within plots over all seasons).",
                words::inside(label),
                study.name()
            )
        };
        all.push(Statement::new(text).with("p", test.p, Format::Probability));
    }
    let bent = [Measure::Spread, Measure::Variation, Measure::Bienniality];
    if whole.measures.iter().any(|measure| bent.contains(measure)) {
        all.push(Statement::new(
            "Steadiness is reckoned plot by plot over few seasons, so it holds the plot's own chance of each season too, and its distribution leans to one side: take its tests as a guide.",
        ));
    }
    all
}

fn margins(study: &Study<'_>, judged: &[Judged]) -> Option<Statement> {
    let options = study.planner.options;
    let margin = options.margin(&study.response().name)?;
    let trial = study.planner.trial();
    if judged.is_empty() {
        let controls = trial.factors.iter().any(|factor| factor.control.is_some());
        let why = if controls {
            "no difference from the control has a standard error and a margin above zero"
        } else {
            "no factor declares a control"
        };
        return Some(Statement::new(format!(
            "A margin is declared, but {why}: equivalence is not judged."
        )));
    }
    Some(Statement::new(match margin {
        crate::margin::Margin::Share(_) => {
            "The margin must come from what matters in the vineyard, before the data are seen. As a share of the control it is taken of the mean this trial found, whose own error is not counted."
        }
        crate::margin::Margin::Amount(_) => {
            "The margin must come from what matters in the vineyard, before the data are seen."
        }
    }))
}

/// What holds for the whole analysis, said once under the first section.
pub(crate) fn of_the_trial(study: &Study<'_>) -> Vec<Statement> {
    let calendar = study.planner.calendar;
    let mut all = vec![
        "Every plot is taken to have come under treatment in the same season, so that years of treatment and calendar years cannot be told apart: a trend may be the vines growing used to their pruning, or the weather of those years. Differences between treatments in their trends are free of the weather all plots shared.".to_owned(),
    ];
    if calendar.year_of_treatment(calendar.treated_seasons()[0]) == 1 {
        all.push("The crop of the first season was set by buds formed before the treatments began, so it shows what the pruning of that winter did with old buds and not yet what the new canopy does to the next.".to_owned());
    }
    let between = calendar.skipped();
    if !between.is_empty() {
        all.push(format!(
            "The seasons are not one year apart: {} between them {} not recorded. A change a year goes by the calendar, and bienniality uses only seasons that follow one another.",
            words::list(&between.iter().map(i64::to_string).collect::<Vec<_>>()),
            if between.len() == 1 { "was" } else { "were" }
        ));
    }
    if !calendar.dated {
        all.push("Names of seasons are no years, so seasons are taken as one apart.".to_owned());
    }
    all.into_iter()
        .map(|text| Statement::new(text).rank(Rank::Detail))
        .collect()
}
