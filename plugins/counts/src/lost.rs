//! What is said of vines lost, which are an outcome and leave the survivors behind.

use caneplot_plugin::findings::{Format, Statement};
use caneplot_plugin::words::{counted, list};

use crate::frame::level_words;
use crate::section::Subjected;
use crate::subject::Subject;

/// What is said where no vine was lost.
#[must_use]
pub fn none(subject: &Subject) -> String {
    let planted: f64 = subject.records.iter().map(|record| record.size).sum();
    format!(
        "No vine was lost: all {} of {} lived to the end of the records, so no mean of living vines is one of survivors.",
        counted(planted as usize, "vine"),
        counted(subject.records.len(), "plot"),
    )
}

/// The counts behind the shares of the model, of each level of each factor.
#[must_use]
pub fn as_counted(subjected: &Subjected) -> Option<Statement> {
    if !subjected.subject.response.is_of_the_stand() {
        return None;
    }
    let (set, _, levels) = subjected.main()?;
    let mut statement = Statement::default();
    let mut phrases = Vec::new();
    for mean in &levels.means {
        let mut alone = mean
            .levels
            .iter()
            .enumerate()
            .filter_map(|(at, level)| Some((at, (*level)?)));
        let (Some((at, level)), None) = (alone.next(), alone.next()) else {
            continue;
        };
        let number = phrases.len();
        phrases.push(format!(
            "{{lost{number}}} of {{of{number}}} at {}",
            level_words(&set.frame.dimensions[at], level)
        ));
        statement = statement
            .with(&format!("lost{number}"), mean.counted, Format::Count)
            .with(&format!("of{number}"), mean.size, Format::Count);
    }
    Some(Statement {
        text: format!("As counted, vines lost were {}.", list(&phrases)),
        ..statement
    })
}

/// What a difference in losses means for everything else.
#[must_use]
pub fn differs(subjected: &Subjected) -> Option<Statement> {
    if !subjected.subject.response.is_of_the_stand() {
        return None;
    }
    let (_, model, _) = subjected.main()?;
    let clear = model
        .tests
        .iter()
        .any(|test| test.probability < subjected.level);
    clear.then(|| {
        Statement::new(
            "Treatments lost vines unequally, so the living vines of some are a selection: read means per living vine as those of survivors, beside those per planted space.",
        )
    })
}

/// How losses were counted.
#[must_use]
pub fn note(subjected: &Subjected) -> Option<Statement> {
    let response = subjected.subject.response;
    let derived = response
        .derived
        .as_ref()
        .filter(|_| response.is_of_the_stand())?;
    let total = |of: fn(&crate::subject::Record) -> f64| -> f64 {
        subjected.subject.records.iter().map(of).sum()
    };
    Some(Statement::new(format!(
        "{} of {} were lost in all: {}. A space without a bearing vine in the first of several seasons had lost it before the trial and does not count. Shares in sentences are as counted; the means of the model are those of a typical block, which may have lost none where one block lost many. Few losses tell little: no clear difference is no proof that treatments lose alike.",
        total(|record| record.count),
        counted(total(|record| record.size) as usize, "vine"),
        crate::words::literal(derived),
    )))
}
