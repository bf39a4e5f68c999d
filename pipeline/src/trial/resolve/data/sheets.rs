//! Sheets of a workbook: `sheet`, `sheets` and `season_from`.

use std::path::Path;

use crate::diagnostic::Diagnostic;
use crate::trial::faults::Faults;
use crate::trial::section::Section;
use crate::trial::words::SEASON_SOURCES;
use crate::trial::{Written, is_workbook};

/// A sheet and the season its name says, where it does.
type Sheet = (Written<String>, Option<Written<String>>);

/// The sheets a file is to be read from; none where the file does not say.
pub(super) fn sheets(section: &Section<'_>, faults: &mut Faults) -> Vec<Sheet> {
    let one = section.text("sheet", "sheet = \"winter\"", faults);
    let many = section.texts("sheets", "sheets = [\"2022\", \"2023\"]", faults);
    let is_season = section.word("season_from", &SEASON_SOURCES, faults);
    if let (Some(one), Some(_)) = (&one, &many) {
        faults.add(
            &one.span,
            Diagnostic::error("sheets", "a file has either 'sheet' or 'sheets'")
                .help("leave one of the two; sheets = [...] takes several"),
        );
    }
    if let (Some(key), Some(list)) = (section.key("sheets"), &many)
        && list.is_empty()
    {
        faults.add(
            &key.span,
            Diagnostic::error("sheets", "'sheets' names none")
                .help("name the sheets: sheets = [\"2022\", \"2023\"]"),
        );
    }
    let named: Vec<Written<String>> = match many {
        Some(many) => many,
        None => one.into_iter().collect(),
    };
    if let (Some(season), true) = (&is_season, named.is_empty()) {
        faults.add(
            &season.span,
            Diagnostic::error("sheets", "season_from speaks of sheets, and none is named")
                .help("add sheets = [\"2022\", \"2023\"]"),
        );
    }
    named
        .into_iter()
        .map(|sheet| {
            let season = is_season.as_ref().map(|_| Written {
                value: sheet.value.trim().to_owned(),
                span: sheet.span.clone(),
            });
            (sheet, season)
        })
        .collect()
}

/// Reports keys that the kind of the file has no use for.
pub(super) fn fit(section: &Section<'_>, file: &Written<String>, faults: &mut Faults) {
    let is_workbook = is_workbook(Path::new(&file.value));
    let idle: &[&str] = if is_workbook {
        &[]
    } else {
        &["sheet", "sheets", "season_from"]
    };
    for key in idle {
        if let Some(written) = section.key(key) {
            faults.add(
                &written.span,
                Diagnostic::error(
                    "sheets",
                    format!("'{}' is a text and has no sheets", file.value),
                )
                .help(format!(
                    "take {key} out, or name the workbook (.xlsx, .ods)"
                )),
            );
        }
    }
}
