//! Evenness within plots: whether the vines of a plot are more alike under one treatment than under
//! another.
//!
//! The plot is the unit: its vines give one number, the logarithm of their variance, and that number
//! is analysed in the design like any other. `vines` reads, `compare` computes for any number of a
//! plot, `spread` is the answer for measurements and `course` that for dates of bud break.

mod compare;
mod course;
mod figure;
mod methods;
mod notes;
mod options;
mod spread;
mod spread_tables;
mod spread_words;
mod vines;

#[cfg(test)]
mod tests;

use caneplot_plugin::findings::{FINDINGS_SCHEMA, Rank, Section, Statement};
use caneplot_plugin::request::Response;
use caneplot_plugin::{Analysis, Call, Findings, Refusal, words};
use caneplot_readings::{Occasion, Register};

use crate::options::Options;
use crate::vines::Vines;

/// The plugin.
struct Evenness;

caneplot_plugin::export_plugin!(Evenness);

impl Analysis for Evenness {
    const MANIFEST: &'static str = include_str!("manifest.json");

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let options = Options::of(call)?;
        let register = Register::of(call)?;
        let responses = options.responses(call)?;
        let mut used = methods::Used::default();
        let sections = responses
            .into_iter()
            .enumerate()
            .map(|(place, response)| {
                // The first page has room for what was asked, or for the first that was recorded.
                let rank = if place == 0 || options.asked() {
                    Rank::Headline
                } else {
                    Rank::Result
                };
                let found = section(call, &register, response, &options, rank, &mut used);
                found.unwrap_or_else(|refusal| refused(response, &refusal))
            })
            .collect();
        let (methods, references) = used.methods();
        Ok(Findings {
            schema: FINDINGS_SCHEMA,
            sections,
            methods,
            references,
        })
    }
}

fn section(
    call: &Call,
    register: &Register<'_>,
    response: &Response,
    options: &Options,
    rank: Rank,
    used: &mut methods::Used,
) -> Result<Section, Refusal> {
    let vines = Vines::of(call, register, response)?;
    if vines.dates() {
        course::section(call, register, &vines, options, rank, used)
    } else {
        spread::section(call, register, &vines, options, rank, used)
    }
}

/// The section of a response whose evenness cannot be told, with the reason.
fn refused(response: &Response, refusal: &Refusal) -> Section {
    let mut text = format!(
        "The evenness of {} is not analysed: {}.",
        words::inside(&response.label),
        words::safe(refusal.message.trim_end_matches('.'))
    );
    if let Some(hint) = &refusal.hint {
        text.push_str(&format!(
            " {}.",
            words::beginning(hint.trim_end_matches('.'))
        ));
    }
    Section {
        id: words::id(&response.name),
        title: title(response),
        response: Some(response.name.clone()),
        statements: vec![Statement::new(text)],
        ..Section::default()
    }
}

/// Why nothing is said over several seasons: no plot stands for all of them.
fn never_complete(register: &Register<'_>, overall: &Occasion) -> Refusal {
    let seasons: Vec<&str> = overall
        .seasons
        .iter()
        .map(|&season| register.season(season))
        .collect();
    Refusal::new(format!(
        "no plot has vines to compare in every one of the seasons {}, so no plot can stand for all of them",
        words::list(&seasons)
    ))
    .hint("fill in the values if they exist, or leave out the seasons concerned")
}

fn title(response: &Response) -> String {
    format!("Evenness of {}", words::inside(&response.label))
}
