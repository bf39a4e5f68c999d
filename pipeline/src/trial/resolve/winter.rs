//! Which season a record of winter belongs to must be said: a winter lies between two harvests, and
//! a file's label of the season may mean either.

use crate::diagnostic::Diagnostic;
use crate::trial::section::Faults;
use crate::trial::words::{QUANTITIES, is_dormant};
use crate::trial::{DataFile, Design, Response};

/// Reports a trial of several seasons with records of winter in which no file says which winter its
/// labels mean. Which file must say it is known once their headings are read.
pub(super) fn is_told(
    responses: &[Response],
    design: &Option<Design>,
    data: &[DataFile],
    faults: &mut Faults,
) {
    let several = design
        .as_ref()
        .is_some_and(|design| design.season.is_some());
    let told = data.iter().any(|file| file.winter.is_some());
    let Some(response) = responses
        .iter()
        .find(|response| is_dormant(response.quantity))
    else {
        return;
    };
    if !several || told {
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
