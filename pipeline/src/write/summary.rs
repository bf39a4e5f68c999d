//! "In short": the main results as a list a busy reader gets through.
//!
//! Several analyses may have something to say of one response; of those that speak for it the first
//! in rank does, and the others are read in its section.

use caneplot_plugin::findings::{Rank, Section, Statement};

use super::{Analysed, Report};

/// The main results, those on declared responses first and in the order of the trial file.
#[must_use]
pub(super) fn summary<'a>(report: &Report<'a>) -> Vec<&'a Statement> {
    let info = &report.derived.info;
    let mut lines = Vec::new();
    // What the program made from declared responses has a section, not a line.
    for response in info.responses.iter().filter(|one| one.derived.is_none()) {
        let own: Vec<_> = sections(report.analysed)
            .filter(|(_, section)| section.response.as_ref() == Some(&response.name))
            .collect();
        let first = own
            .iter()
            .filter(|(_, section)| headlines(section).next().is_some())
            .filter_map(|(analysed, _)| analysed.place.voice)
            .min();
        for (analysed, section) in own {
            if analysed.place.voice.is_none() || analysed.place.voice == first {
                lines.extend(headlines(section));
            }
        }
    }
    for (_, section) in sections(report.analysed) {
        let elsewhere = |name: &String| info.responses.iter().any(|one| one.name == *name);
        if !section.response.as_ref().is_some_and(elsewhere) {
            lines.extend(headlines(section));
        }
    }
    lines
}

/// Every section with its analysis, in the order of the report.
pub(super) fn sections(analysed: &[Analysed]) -> impl Iterator<Item = (&Analysed, &Section)> {
    analysed.iter().flat_map(|one| {
        let sections = one.findings().into_iter().flat_map(|f| &f.sections);
        sections.map(move |section| (one, section))
    })
}

fn headlines(section: &Section) -> impl Iterator<Item = &Statement> {
    let main = |statement: &&Statement| statement.rank == Rank::Headline;
    section.statements.iter().filter(main)
}
