//! What a reader must know to use the tables.

use caneplot_plugin::findings::{Rank, Statement};
use caneplot_plugin::words;

use crate::section::Study;

pub(crate) fn notes(study: &Study<'_>) -> Vec<Statement> {
    let mut all = vec![
        "Nothing here is estimated: it is a record of the nodes left, so there are no tests and no intervals.".to_owned(),
    ];
    all.push(if study.by_rule {
        "Vines with more prunings were given more nodes by the rule itself. Setting results against the nodes left would compare strong vines with weak ones.".to_owned()
    } else {
        "Treatments stay those that were drawn by lot. Setting results against the nodes left on single vines would compare strong vines with weak ones wherever the pruner left more on the strong.".to_owned()
    });
    if study.response.on_vines {
        all.push(
            "Only living vines with a count of nodes left are held against what was meant."
                .to_owned(),
        );
    }
    all.extend(rules(study));
    all.extend(plots_for_vines(study));
    all.extend(without_prunings(study));
    all.extend(light(study));
    all.into_iter()
        .map(|text| Statement::new(text).rank(Rank::Detail))
        .collect()
}

/// Each rule in full.
fn rules(study: &Study<'_>) -> Vec<String> {
    let levels = study.factor.levels.iter();
    levels
        .filter_map(|level| {
            let rule = level.rule.as_ref()?;
            let least = rule.least.map(|nodes| format!(", at least {nodes}"));
            let most = rule.most.map(|nodes| format!(", at most {nodes}"));
            let name = if level.label == rule.words { String::new() } else { format!("{}: ", level.label) };
            Some(words::safe(&format!(
                "{name}{} ({} kg is one unit of prunings, parts of a unit count in proportion); a vine with less gets {}{}{}.",
                rule.words,
                (rule.unit_kg * 1e5).round() / 1e5,
                rule.light_words(),
                least.unwrap_or_default(),
                most.unwrap_or_default(),
            )))
        })
        .collect()
}

fn seasons(study: &Study<'_>, seasons: &[usize]) -> String {
    let names: Vec<&str> = seasons
        .iter()
        .map(|&season| study.register.season(season))
        .filter(|name| !name.is_empty())
        .collect();
    words::safe(&words::list(&names))
}

fn plots_for_vines(study: &Study<'_>) -> Option<String> {
    let found = &study.records.plots_for_vines;
    if !study.by_rule || found.is_empty() {
        return None;
    }
    let when = match seasons(study, found).as_str() {
        "" => String::new(),
        names => format!(" for {names}"),
    };
    Some(format!(
        "Prunings{when} are known for plots and not for single vines, so the mean of a plot is held against what the rule gives for its mean; where a rule bends (below one unit, at its least or most) that is near, not exact."
    ))
}

fn without_prunings(study: &Study<'_>) -> Option<String> {
    let counts = &study.records.without_prunings;
    if counts.is_empty() {
        return None;
    }
    let each: Vec<String> = counts
        .iter()
        .map(|(&season, &count)| match study.register.season(season) {
            "" => count.to_string(),
            name => format!("{count} in {}", words::safe(name)),
        })
        .collect();
    Some(format!(
        "Nodes left that cannot be judged, because the prunings of that winter are not recorded: {}. For the first season they belong in a covariate that is a pruning weight.",
        words::list(&each)
    ))
}

/// Vines for which the rule for small vines decided.
fn light(study: &Study<'_>) -> Option<String> {
    let light = study.records.all.iter().filter(|one| {
        let rule = study.factor.levels[one.level].rule.as_ref();
        rule.zip(one.prunings_kg)
            .is_some_and(|(rule, kilograms)| rule.is_light(kilograms))
    });
    let count = light.count();
    (count > 0).then(|| {
        format!(
            "{} had less than one unit of prunings and got what the rule says for such.",
            words::counted(count, study.noun())
        )
    })
}
