//! The spatial look: is there a slope or patchiness left in the field that the blocks do not take up?
//!
//! `field` knows where plots lie and which are neighbours, `look` computes for one response, `map`
//! draws it, `tables`, `sentences` and `methods` write, `overview` sums all responses up.

mod field;
mod look;
mod map;
mod methods;
mod options;
mod overview;
mod sentences;
mod tables;
#[cfg(test)]
mod tests;
mod words;

use caneplot_plugin::findings::{FINDINGS_SCHEMA, Section, Statement};
use caneplot_plugin::request::Response;
use caneplot_plugin::words::{beginning, id, inside, safe};
use caneplot_plugin::{Analysis, Call, Findings, Refusal};

use crate::field::Field;
use crate::look::Look;
use crate::options::Options;

/// The plugin.
struct Spatial;

caneplot_plugin::export_plugin!(Spatial);

impl Analysis for Spatial {
    const MANIFEST: &'static str = include_str!("manifest.json");

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let options = Options::of(call)?;
        caneplot_readings::sheets::possible(call)?;
        let field = Field::of(call, &options)?;
        let mut looks = Vec::new();
        let mut sections = Vec::new();
        for response in options.responses(call) {
            match Look::new(call, &field, &options, response) {
                Ok(look) => {
                    sections.push(section(&field, &options, &look));
                    looks.push(look);
                }
                Err(refusal) => sections.push(refused(response, &refusal)),
            }
        }
        sections.insert(0, overview::section(&field, &options, &looks));
        let (methods, references) = methods::methods(&options, &looks);
        Ok(Findings {
            schema: FINDINGS_SCHEMA,
            sections,
            methods,
            references,
        })
    }
}

fn section(field: &Field<'_>, options: &Options, look: &Look<'_>) -> Section {
    Section {
        id: id(&look.response.name),
        title: title(look.response),
        response: Some(look.response.name.clone()),
        statements: sentences::statements(options, look),
        tables: tables::tables(look),
        figures: map::figures(field, options, look),
        notes: sentences::notes(field, look),
        estimates: Vec::new(),
    }
}

/// The section of a response that cannot be looked at, with the reason.
fn refused(response: &Response, refusal: &Refusal) -> Section {
    let mut text = format!(
        "The field is not looked at for {}: {}.",
        inside(&response.label),
        safe(refusal.message.trim_end_matches('.'))
    );
    if let Some(hint) = &refusal.hint {
        let hint = hint.trim_end_matches('.');
        text.push_str(&format!(" {}.", beginning(hint)));
    }
    Section {
        id: id(&response.name),
        title: title(response),
        response: Some(response.name.clone()),
        statements: vec![Statement::new(text)],
        ..Section::default()
    }
}

fn title(response: &Response) -> String {
    format!("The field in {}", inside(&response.label))
}
