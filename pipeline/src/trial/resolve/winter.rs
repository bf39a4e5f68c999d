//! Which season a record of winter belongs to must be said: a winter lies between two harvests, and
//! a file's label of the season may mean either.

use crate::diagnostic::{Diagnostic, nearest};
use crate::trial::faults::Faults;
use crate::trial::keys;
use crate::trial::section::Section;
use crate::trial::words::{QUANTITIES, is_dormant};
use crate::trial::{DataFile, Design, Response};

/// Reports a trial of several seasons with records of winter in which no file says which winter its
/// labels mean. Which file must say it is known once their headings are read.
pub(super) fn is_told(
    root: &Section<'_>,
    responses: &[Response],
    design: &Option<Design>,
    data: &[DataFile],
    faults: &mut Faults,
) {
    let several = design
        .as_ref()
        .is_some_and(|design| design.season.is_some());
    let Some(response) = responses
        .iter()
        .find(|response| is_dormant(response.quantity))
    else {
        return;
    };
    if !several || is_spoken_of(root) {
        return;
    }
    let mut fault = Diagnostic::error(
        "winter",
        format!(
            "'{}' ({}) is recorded in winter, between two harvests, and no data file says which of \
             them its season labels mean",
            response.name,
            QUANTITIES.word(response.quantity)
        ),
    )
    .help(
        "add to the [[data]] of that file winter = \"after harvest\" if what was cut in the winter \
         2021/22 is labelled 2021, the season it grew in; winter = \"before harvest\" if it is \
         labelled 2022, the season that followed",
    );
    for file in data {
        fault = fault.at(faults.place(&file.file.span));
    }
    faults.add(&response.span, fault);
}

/// Whether any `[[data]]` says its winter, be it wrongly, or whether there is none to say it.
fn is_spoken_of(root: &Section<'_>) -> bool {
    let Some(list) = root
        .value("data")
        .and_then(|data| data.get_ref().as_array())
    else {
        return true;
    };
    list.iter()
        .filter_map(|element| element.get_ref().as_table())
        .flat_map(|table| table.keys())
        .any(|key| nearest(key.get_ref(), keys::DATA.iter().copied()) == Some("winter"))
}
