//! `[field]`: where plots lie in the vineyard.

use crate::diagnostic::Diagnostic;
use crate::trial::Field;
use crate::trial::faults::Faults;
use crate::trial::keys;
use crate::trial::section::Section;

/// The columns of places; `None` where the file declares none.
pub(super) fn field(root: &Section<'_>, faults: &mut Faults) -> Option<Field> {
    let mut section = root.section("field", faults)?;
    section.only(keys::FIELD, faults);
    let row = section.needed_text(
        "row",
        "row = \"vineyard_row\", the heading of the numbers of vineyard rows",
        faults,
    );
    let text = |key: &str, example: &str, faults: &mut Faults| section.text(key, example, faults);
    let position = text("position", "position = \"position\"", faults);
    let first = text("first", "first = \"first_position\"", faults);
    let last = text("last", "last = \"last_position\"", faults);
    let speaks = |key: &str| section.speaks_of(key);
    match (speaks("position"), speaks("first"), speaks("last")) {
        (true, false, false) => Some(Field {
            row: row?,
            first: position?,
            last: None,
        }),
        (false, true, true) => Some(Field {
            row: row?,
            first: first?,
            last: Some(last?),
        }),
        (true, ..) => {
            let span = section.key("position").map(|key| key.span);
            faults.add(
                &span.unwrap_or(section.header),
                Diagnostic::error(
                    "field",
                    "[field] names the position of plots and their first or last vine as well",
                )
                .help("keep either position, or first and last"),
            );
            None
        }
        (false, true, false) => {
            section.missing(
                "last",
                "last = \"last_position\", or write position instead of first",
                faults,
            );
            None
        }
        (false, false, true) => {
            section.missing(
                "first",
                "first = \"first_position\", or write position instead of last",
                faults,
            );
            None
        }
        (false, false, false) => {
            section.missing(
                "position",
                "position = \"position\", or first = \"first_position\" and last = \"last_position\"",
                faults,
            );
            None
        }
    }
}
