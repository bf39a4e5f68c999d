//! From the request to the findings: one section a response.

use caneplot_plugin::findings::{FINDINGS_SCHEMA, Findings, Statement};
use caneplot_plugin::{Call, Refusal};

use crate::methods;
use crate::options::Options;
use crate::section::{empty, section};
use crate::subject::{chosen, subject};
use crate::words::capital;

/// The findings of a call.
///
/// # Errors
/// Where the trial records no count, or its tables are not as declared.
pub fn findings(call: &Call) -> Result<Findings, Refusal> {
    let options: Options = call.options()?;
    let responses = chosen(call, &options)?;
    if responses.is_empty() {
        return Err(Refusal::new("the trial records no counts").hint(
            "declare a response with 'of' (a count out of a total), or one counted in clusters, shoots or canes",
        ));
    }
    let mut sections = Vec::new();
    for response in responses {
        match subject(call, response, &options)? {
            Ok(subject) => sections.push(section(call, subject, &options)?),
            Err(sentence) => {
                let mut section = empty(&response.name, &capital(&response.label));
                section.statements.push(Statement::new(sentence));
                sections.push(section);
            }
        }
    }
    Ok(Findings {
        schema: FINDINGS_SCHEMA,
        methods: methods::methods(options.level),
        references: methods::references(),
        sections,
    })
}
