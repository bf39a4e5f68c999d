//! One factor that says nodes beside one record of nodes left: its section.

use std::collections::BTreeMap;

use caneplot_plugin::findings::Section;
use caneplot_plugin::request::{Factor, Response};
use caneplot_plugin::{Call, Refusal, words};
use caneplot_readings::Register;

use crate::cells::{Cells, cells};
use crate::options::Options;
use crate::records::{Record, Records, levels, records};
use crate::{deviations, figure, notes, sentences, tables};

/// Heading of a section.
pub(crate) const TITLE: &str = "Pruning as meant and as done";

/// Most treatments told apart; beyond, the levels of the factor of nodes only.
const MOST_TREATMENTS: usize = 24;

/// Everything a section is made from.
pub(crate) struct Study<'a> {
    pub register: &'a Register<'a>,
    pub factor: &'a Factor,
    pub response: &'a Response,
    pub options: &'a Options,
    pub records: Records,
    pub cells: Cells,
    /// Treatments in sentences.
    pub names: Vec<String>,
    /// Treatments in tables.
    pub labels: Vec<String>,
    /// Heading of the treatments.
    pub heading: String,
    /// Whether any level is a rule.
    pub by_rule: bool,
}

impl Study<'_> {
    /// Whether every record is of a single vine, or none is.
    fn of_vines(&self) -> Option<bool> {
        let vines = self
            .records
            .all
            .iter()
            .filter(|one| one.vine.is_some())
            .count();
        match vines {
            0 => Some(false),
            all if all == self.records.all.len() => Some(true),
            _ => None,
        }
    }

    /// What a record is: "vine", "plot".
    pub fn noun(&self) -> &'static str {
        match self.of_vines() {
            Some(true) => "vine",
            Some(false) => "plot mean",
            None => "record",
        }
    }

    /// Records in words, a vine counted once a season: "320 vines over 4 seasons".
    pub fn counted(&self) -> String {
        let seasons = self.seasons().len();
        let count = words::counted(self.records.all.len(), self.noun());
        if seasons > 1 {
            format!("{count} over {seasons} seasons")
        } else {
            count
        }
    }

    /// Seasons with records.
    pub fn seasons(&self) -> Vec<usize> {
        let mut seasons: Vec<usize> = self.records.all.iter().map(|one| one.season).collect();
        seasons.sort_unstable();
        seasons.dedup();
        seasons
    }

    /// A record's vine and season in words.
    pub fn words(&self, record: &Record) -> String {
        let plot = self.register.words(record.plot);
        let whose = match &record.vine {
            Some(vine) => format!("vine {vine} of {plot}"),
            None => plot,
        };
        let season = self.register.season(record.season);
        let whole = if season.is_empty() {
            whose
        } else {
            format!("{whose} in {season}")
        };
        words::safe(&whole)
    }
}

/// An id for the section of a factor and a response.
pub(crate) fn id(call: &Call, factor: usize, response: &Response, responses: usize) -> String {
    let factor = words::id(&call.request.trial.factors[factor].name);
    if responses > 1 {
        format!("{factor}-{}", words::id(&response.name))
    } else {
        factor
    }
}

/// The section.
///
/// # Errors
/// Refuses where nothing can be set against the nodes left.
pub(crate) fn section(
    call: &Call,
    register: &Register<'_>,
    factor: usize,
    response: &Response,
    options: &Options,
    id: &str,
) -> Result<Section, Refusal> {
    let trial = &call.request.trial;
    let (records, own) = records(call, register, factor, response)?;
    let (treatments, parts) = treatments(call, register, factor, &own)?;
    let part_words = |of: &[(usize, usize)]| {
        let all = of.iter().map(|&(factor, level)| {
            let factor = &trial.factors[factor];
            words::level(factor, &factor.levels[level])
        });
        all.collect::<Vec<_>>().join(", ")
    };
    let part_labels = |of: &[(usize, usize)]| {
        let all = of
            .iter()
            .map(|&(factor, level)| trial.factors[factor].levels[level].label.clone());
        all.collect::<Vec<_>>().join(", ")
    };
    let heading: Vec<&str> = parts
        .first()
        .map(|parts| {
            parts
                .iter()
                .map(|&(at, _)| trial.factors[at].label.as_str())
                .collect()
        })
        .unwrap_or_default();
    let study = Study {
        register,
        factor: &trial.factors[factor],
        response,
        options,
        cells: cells(&records.all, &treatments, options),
        records,
        names: parts.iter().map(|of| part_words(of)).collect(),
        labels: parts.iter().map(|of| part_labels(of)).collect(),
        heading: heading.join(", "),
        by_rule: trial.factors[factor]
            .levels
            .iter()
            .any(|level| level.rule.is_some()),
    };
    Ok(Section {
        id: id.to_owned(),
        title: TITLE.to_owned(),
        response: Some(response.name.clone()),
        statements: sentences::statements(&study),
        tables: tables::tables(&study)
            .into_iter()
            .chain(deviations::table(&study))
            .collect(),
        figures: vec![figure::figure(&study)],
        notes: notes::notes(&study),
        estimates: Vec::new(),
    })
}

/// The treatment of each plot, and the factors and levels of each treatment: combinations in the
/// order of the trial file where they are not too many.
type Treatments = (Vec<usize>, Vec<Vec<(usize, usize)>>);

fn treatments(
    call: &Call,
    register: &Register<'_>,
    factor: usize,
    own: &[usize],
) -> Result<Treatments, Refusal> {
    let factors = &call.request.trial.factors;
    let combinations: usize = factors.iter().map(|factor| factor.levels.len()).product();
    let taken: Vec<usize> = if combinations <= MOST_TREATMENTS {
        (0..factors.len()).collect()
    } else {
        vec![factor]
    };
    let mut by_factor = Vec::new();
    for &at in &taken {
        by_factor.push(if at == factor {
            own.to_vec()
        } else {
            levels(call, register, at)?
        });
    }
    let keys: Vec<Vec<usize>> = (0..register.plots())
        .map(|plot| by_factor.iter().map(|levels| levels[plot]).collect())
        .collect();
    let places: BTreeMap<&Vec<usize>, usize> = {
        let mut known: Vec<&Vec<usize>> = keys.iter().collect();
        known.sort();
        known.dedup();
        known
            .into_iter()
            .enumerate()
            .map(|(at, key)| (key, at))
            .collect()
    };
    let parts = places
        .keys()
        .map(|key| taken.iter().copied().zip(key.iter().copied()).collect())
        .collect();
    let of_plots = keys.iter().map(|key| places[key]).collect();
    Ok((of_plots, parts))
}
