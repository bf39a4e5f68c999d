//! One response: its sets of counts (a season each, and all seasons together) and what is said of
//! them.

use caneplot_numerics::counts::CountError;
use caneplot_plugin::findings::{Rank, Section, Statement};
use caneplot_plugin::{Call, Refusal};

use crate::apparent::apparent;
use crate::frame::{Frame, frame};
use crate::levels::{Levels, Source, levels};
use crate::model::{Modelled, NoModel, Numbers, modelled};
use crate::options::Options;
use crate::subject::{Kind, Record, Subject};
use crate::words::{capital, listed, literal};
use crate::{estimates, figures, headline, lost, notes, tables};

/// A set of counts with what came of it.
#[derive(Debug, Clone)]
pub struct Set {
    /// The season, or "all seasons"; `None` in a trial of one season.
    pub label: Option<String>,
    /// Whether it covers several seasons.
    pub seasons: bool,
    /// Its design.
    pub frame: Frame,
    /// Its records.
    pub records: Vec<Record>,
    /// Its model with the levels, or why there is none.
    pub outcome: Result<(Modelled, Levels), NoModel>,
}

/// A response with its sets.
#[derive(Debug, Clone)]
pub struct Subjected<'a> {
    /// The response.
    pub subject: Subject<'a>,
    /// Sets, seasons first, all seasons last.
    pub sets: Vec<Set>,
    /// Level of significance.
    pub level: f64,
}

impl Subjected<'_> {
    /// The set that conclusions are drawn from: all seasons, else the only season, with its model.
    #[must_use]
    pub fn main(&self) -> Option<(&Set, &Modelled, &Levels)> {
        let mut sets = self.sets.iter().rev();
        sets.find_map(|set| {
            let (model, levels) = set.outcome.as_ref().ok()?;
            Some((set, model, levels))
        })
    }

    /// Whether treatments clearly act differently from season to season.
    #[must_use]
    pub fn seasons_differ(&self) -> bool {
        self.main().is_some_and(|(set, model, _)| {
            model.tests.iter().any(|test| {
                let of_season = test.term.of.len() > 1 && test.term.has_season(&set.frame);
                of_season && test.probability < self.level
            })
        })
    }

    /// Sets that have a model.
    pub fn fitted(&self) -> impl Iterator<Item = (&Set, &Modelled, &Levels)> {
        self.sets.iter().filter_map(|set| {
            let (model, levels) = set.outcome.as_ref().ok()?;
            Some((set, model, levels))
        })
    }

    /// Whether counts are out of a total.
    #[must_use]
    pub fn is_share(&self) -> bool {
        self.subject.kind == Kind::Share
    }
}

fn set(
    call: &Call,
    records: &[Record],
    label: Option<String>,
    seasons: bool,
    options: &Options,
    share: bool,
) -> Result<Set, Refusal> {
    let rows: Vec<usize> = records.iter().map(|record| record.row).collect();
    let frame = frame(&call.request.trial, call.table("plots")?, &rows)?;
    let numbers = Numbers {
        counts: records.iter().map(|record| record.count).collect(),
        sizes: records.iter().map(|record| record.size).collect(),
    };
    let outcome = options
        .family
        .family(share)
        .map_err(|_| NoModel::OneTreatment)
        .and_then(|family| modelled(&frame, &numbers, family))
        .and_then(|model| {
            let source = Source {
                frame: &frame,
                model: &model,
                numbers: &numbers,
                records,
                level: options.level,
            };
            let levels = levels(&source)?;
            Ok((model, levels))
        });
    Ok(Set {
        label,
        seasons,
        frame,
        records: records.to_vec(),
        outcome,
    })
}

/// The season of each record, where the trial repeats seasons.
fn seasons(call: &Call, records: &[Record]) -> Result<Vec<String>, Refusal> {
    if !call.request.trial.design.season {
        return Ok(Vec::new());
    }
    let words = call.table("plots")?.texts("season")?;
    Ok(records
        .iter()
        .map(|record| words[record.row].clone().unwrap_or_default())
        .collect())
}

fn sets(call: &Call, subject: &Subject, options: &Options) -> Result<Vec<Set>, Refusal> {
    let share = subject.kind == Kind::Share;
    let of_record = seasons(call, &subject.records)?;
    let mut names = call.request.trial.seasons.clone();
    names.retain(|name| of_record.contains(name));
    if names.len() < 2 {
        // What a plot lost, it lost over the trial.
        let of_trial = subject.response.is_of_the_stand();
        let label = names.first().cloned().filter(|_| !of_trial);
        return Ok(vec![set(
            call,
            &subject.records,
            label,
            false,
            options,
            share,
        )?]);
    }
    let mut sets = Vec::new();
    for name in names {
        let of_season: Vec<Record> = subject
            .records
            .iter()
            .zip(&of_record)
            .filter(|(_, season)| **season == name)
            .map(|(record, _)| *record)
            .collect();
        sets.push(set(call, &of_season, Some(name), false, options, share)?);
    }
    let all = Some("all seasons".to_owned());
    sets.push(set(call, &subject.records, all, true, options, share)?);
    Ok(sets)
}

/// Why sets have no model, one sentence for all of which the same is to be said.
#[must_use]
pub fn refusals(subjected: &Subjected) -> Vec<Statement> {
    let label = literal(&capital(&subjected.subject.response.label));
    let mut found: Vec<(String, Vec<String>)> = Vec::new();
    for set in &subjected.sets {
        let Err(why) = &set.outcome else { continue };
        let words = refusal(subjected, why);
        let at = found.iter().position(|(known, _)| *known == words);
        let at = at.unwrap_or_else(|| {
            found.push((words, Vec::new()));
            found.len() - 1
        });
        found[at].1.extend(set.label.clone());
    }
    // What stands for a whole response is its result; beside other sets it is a detail.
    let rank = match subjected.fitted().next() {
        None => Rank::Result,
        Some(_) => Rank::Detail,
    };
    found
        .into_iter()
        .map(|(words, labels)| {
            let of = if labels.is_empty() {
                label.clone()
            } else {
                format!("{label}, {}", literal(&listed(&labels)))
            };
            Statement::new(format!("{of}: {words}.")).rank(rank)
        })
        .collect()
}

/// Why a set has no model.
fn refusal(subjected: &Subjected, why: &NoModel) -> String {
    match why {
        NoModel::OneTreatment => {
            "all counts are of one treatment, so there is nothing to compare. Add the data of the other levels"
                .to_owned()
        }
        NoModel::Unreplicated => format!(
            "there is no test, because each treatment stands on one plot (or in one block): the {} of one plot are not replicates, however many were counted. A second block or replicate is needed",
            subjected.subject.words.items
        ),
        NoModel::Counts(CountError::Dependent(_)) => {
            "there are no results, because some treatments cannot be told from one another, or from blocks or seasons, by the counts there are. Compare the data with the layout of the trial"
                .to_owned()
        }
        NoModel::Counts(CountError::TooFew { counts, .. }) => format!(
            "there are no results, because {counts} counts are too few for so many treatments. A second block or replicate is needed"
        ),
        NoModel::Counts(error) => format!(
            "there are no results, because {}",
            literal(error.to_string().trim_end_matches('.'))
        ),
    }
}

/// The section of a response.
///
/// # Errors
/// Where the tables are not as declared.
pub fn section(call: &Call, subject: Subject, options: &Options) -> Result<Section, Refusal> {
    let response = subject.response;
    let mut section = empty(&response.name, &capital(&response.label));
    if let Err(why) = options.family.family(subject.kind == Kind::Share) {
        let label = literal(&capital(&response.label));
        section
            .statements
            .push(Statement::new(format!("{label} is not analysed: {why}.")));
        return Ok(section);
    }
    let sets = sets(call, &subject, options)?;
    let subjected = Subjected {
        subject,
        sets,
        level: options.level,
    };
    section.statements = headline::statements(&subjected);
    section.statements.extend(refusals(&subjected));
    let apparent = apparent(call, &subjected)?;
    section.statements.extend(apparent.statement);
    section.statements.extend(lost::as_counted(&subjected));
    section.statements.extend(lost::differs(&subjected));
    section.tables = tables::tables(&subjected);
    section.tables.extend(apparent.table);
    section.figures = figures::figures(&subjected);
    section.notes = notes::notes(&subjected);
    section.notes.extend(apparent.note);
    section.notes.extend(lost::note(&subjected));
    section.estimates = estimates::of(&call.request.trial, &subjected);
    Ok(section)
}

/// A section with its heading only.
#[must_use]
pub fn empty(name: &str, label: &str) -> Section {
    Section {
        id: id(name),
        title: format!("{label} as counts"),
        response: Some(name.to_owned()),
        ..Section::default()
    }
}

/// A name as an id: a-z, 0-9, _ and -.
fn id(name: &str) -> String {
    let letters = name
        .chars()
        .map(|letter| match letter.to_ascii_lowercase() {
            letter @ ('a'..='z' | '0'..='9' | '_' | '-') => letter,
            _ => '-',
        });
    letters.collect()
}

/// Seasons of a trial in words: "2021 to 2023", or "2021, 2023 and 2024" where one was left out.
#[must_use]
pub fn season_words(set: &Set) -> String {
    let season = set
        .frame
        .dimensions
        .iter()
        .find(|dimension| dimension.factor.is_none());
    let labels = season.map_or(&[][..], |season| season.labels.as_slice());
    let years: Vec<i64> = labels
        .iter()
        .filter_map(|label| label.parse().ok())
        .collect();
    let follow = years.len() == labels.len() && years.windows(2).all(|pair| pair[1] == pair[0] + 1);
    match (follow, labels) {
        (true, [first, .., last]) if labels.len() > 2 => format!("{first} to {last}"),
        _ => literal(&listed(labels)),
    }
}
