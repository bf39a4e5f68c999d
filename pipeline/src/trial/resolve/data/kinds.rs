//! Keys of `[[data]]` that the kind of a file has no use for.

use std::path::Path;

use crate::diagnostic::Diagnostic;
use crate::trial::faults::Faults;
use crate::trial::section::Section;
use crate::trial::{Written, is_typed};

/// Keys that say how a text is written.
const OF_TEXTS: &[&str] = &["header_row", "units_row", "decimal"];

/// Reports keys for texts on a table whose columns have names and types anyway.
pub(super) fn fit(section: &Section<'_>, file: &Written<String>, faults: &mut Faults) {
    if !is_typed(Path::new(&file.value)) {
        return;
    }
    for key in OF_TEXTS {
        if let Some(written) = section.key(key) {
            faults.add(
                &written.span,
                Diagnostic::error(
                    "data-file",
                    format!(
                        "{key} is for texts, and the columns of '{}' have names and types",
                        file.value
                    ),
                )
                .help(format!("take {key} out")),
            );
        }
    }
}
