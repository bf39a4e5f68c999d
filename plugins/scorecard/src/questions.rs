//! What a grower asks of a training system, and which responses and ratios of a trial answer it.

use caneplot_plugin::request::{Basis, Index, Quantity, Response, TrialInfo};

/// What answers a question.
pub(crate) enum Source<'a> {
    /// The mean, share or ratio of this name.
    Value(&'a str),
    /// The means of this name season by season.
    Steadiness(&'a str),
    /// Recorded, and answered in another chapter.
    Chapter(&'static str),
    /// As the trial declares it, a text for each level; `None` where it says nothing.
    Declared(Vec<Option<String>>),
    /// Nothing was measured.
    Nothing,
    /// Nothing was declared.
    Undeclared,
}

/// A row of the scorecard.
pub(crate) struct Question<'a> {
    /// What is asked: "Crop".
    pub asked: &'static str,
    /// What answers it, in words: "Yield".
    pub by: String,
    pub source: Source<'a>,
}

/// All questions in the order of the table.
pub(crate) fn questions(trial: &TrialInfo, factor: usize) -> Vec<Question<'_>> {
    let mut all = Vec::new();
    let crop = crop(trial);
    all.push(one("Crop", crop, Source::Value));
    all.push(match crop.filter(|_| trial.seasons.len() > 1) {
        Some(crop) => question(
            "Steadiness of the crop",
            &crop.label,
            Source::Steadiness(&crop.name),
        ),
        None => nothing("Steadiness of the crop"),
    });
    all.extend(values(trial, "Ripeness", &|one| {
        matches!(
            one.quantity,
            Quantity::SolubleSolids | Quantity::Ph | Quantity::TitratableAcidity
        )
    }));
    all.push(evenness(trial));
    let balance = trial.ratios.iter();
    let mut balance = balance.filter(|one| one.index == Some(Index::YieldToPruningWeight));
    all.push(match balance.next() {
        Some(ratio) => question(
            "Balance of the vine",
            &ratio.label,
            Source::Value(&ratio.name),
        ),
        None => nothing("Balance of the vine"),
    });
    all.extend(values(trial, "Buds alive after winter", &|one| {
        one.quantity == Quantity::BudSurvival
    }));
    all.extend(values(trial, "Spring frost", &|one| named(one, &["frost"])));
    all.extend(values(trial, "Bud break", &|one| {
        one.quantity == Quantity::BudBreak
    }));
    all.extend(values(trial, "Vines lost", &Response::is_of_the_stand));
    all.extend(values(trial, "Work", &|one| {
        one.quantity == Quantity::Labour
    }));
    all.push(establishment(trial, factor));
    all.push(declared("Canopy", "as declared", canopies(trial, factor)));
    all.push(declared(
        "Row spacing",
        "as declared, for the whole trial",
        rows(trial, factor),
    ));
    all.extend(values(trial, "Water", &|one| {
        named(one, &["water", "irrigation"])
    }));
    all
}

/// The crop over planted spaces where gaps are known, else as recorded.
fn crop(trial: &TrialInfo) -> Option<&Response> {
    let crops = || {
        let all = trial.responses.iter();
        all.filter(|one| one.quantity == Quantity::Yield)
    };
    crops()
        .find(|one| one.basis == Basis::PlantedSpace)
        .or_else(|| crops().next())
}

fn named(response: &Response, parts: &[&str]) -> bool {
    let name = format!("{} {}", response.name, response.label).to_lowercase();
    response.quantity == Quantity::Other && parts.iter().any(|part| name.contains(part))
}

fn question<'a>(asked: &'static str, by: &str, source: Source<'a>) -> Question<'a> {
    Question {
        asked,
        by: by.to_owned(),
        source,
    }
}

fn nothing(asked: &'static str) -> Question<'static> {
    question(asked, "", Source::Nothing)
}

fn one<'a>(
    asked: &'static str,
    response: Option<&'a Response>,
    source: impl Fn(&'a str) -> Source<'a>,
) -> Question<'a> {
    match response {
        Some(found) => question(asked, &found.label, source(&found.name)),
        None => nothing(asked),
    }
}

/// A row for each response that answers, or one that says that none does.
fn values<'a>(
    trial: &'a TrialInfo,
    asked: &'static str,
    is: &dyn Fn(&Response) -> bool,
) -> Vec<Question<'a>> {
    let found = trial
        .responses
        .iter()
        .filter(|one| is(one) && !one.reckoned_again());
    let rows: Vec<Question<'a>> = found
        .map(|one| question(asked, &one.label, Source::Value(&one.name)))
        .collect();
    match rows.is_empty() {
        true => vec![nothing(asked)],
        false => rows,
    }
}

/// How even fruit ripens is known where its sugar was measured on single vines.
fn evenness(trial: &TrialInfo) -> Question<'_> {
    let mut sugars = trial.responses.iter();
    let found = sugars.find(|one| one.quantity == Quantity::SolubleSolids && one.on_vines);
    match found {
        Some(found) => question(
            "Evenness of ripening",
            &format!("{} of single vines", found.label),
            Source::Chapter("evenness"),
        ),
        None => nothing("Evenness of ripening"),
    }
}

fn declared<'a>(asked: &'static str, by: &str, texts: Vec<Option<String>>) -> Question<'a> {
    match texts.iter().any(Option::is_some) {
        true => question(asked, by, Source::Declared(texts)),
        false => question(asked, "", Source::Undeclared),
    }
}

/// What setting a system up costs, as prices.toml declares it.
fn establishment(trial: &TrialInfo, factor: usize) -> Question<'_> {
    let factor = &trial.factors[factor];
    let costs = trial.prices.iter().flat_map(|prices| &prices.costs);
    let own: Vec<_> = costs
        .filter(|cost| cost.once.is_some() && cost.amounts.factor == factor.name)
        .collect();
    let (Some(prices), false) = (&trial.prices, own.is_empty()) else {
        return question("Cost of setting it up", "", Source::Undeclared);
    };
    let text = |level: &str| {
        let parts: Vec<String> = own
            .iter()
            .filter_map(|cost| {
                let mut amounts = cost.amounts.amounts.iter();
                let (_, amount) = amounts.find(|(name, _)| name == level)?;
                let per = match cost.per {
                    caneplot_plugin::prices::CostPer::Hectare => "ha",
                    caneplot_plugin::prices::CostPer::Acre => "acre",
                    caneplot_plugin::prices::CostPer::Vine => "vine",
                };
                let sum = format!("{} {}/{per}", amount.likely, prices.currency);
                Some(match own.len() {
                    1 => sum,
                    _ => format!("{}: {sum}", cost.label),
                })
            })
            .collect();
        (!parts.is_empty()).then(|| parts.join("; "))
    };
    let labels: Vec<&str> = own.iter().map(|cost| cost.label.as_str()).collect();
    let texts = factor
        .levels
        .iter()
        .map(|level| text(&level.name))
        .collect();
    declared(
        "Cost of setting it up",
        &format!("{}, as declared for {}", labels.join(", "), prices.year),
        texts,
    )
}

fn canopies(trial: &TrialInfo, factor: usize) -> Vec<Option<String>> {
    let word = |level: &caneplot_plugin::request::Level| {
        let canopy = level.canopy.or(trial.vineyard.canopy)?;
        // The words of trial.toml are those of its JSON.
        let word = serde_json::to_value(canopy).ok()?;
        word.as_str().map(str::to_owned)
    };
    trial.factors[factor].levels.iter().map(word).collect()
}

fn rows(trial: &TrialInfo, factor: usize) -> Vec<Option<String>> {
    let metres = trial.vineyard.row_spacing_m;
    let text = metres.map(|metres| format!("{metres:.2} m ({:.1} ft)", metres / 0.3048));
    vec![text; trial.factors[factor].levels.len()]
}
