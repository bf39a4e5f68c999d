//! One sheet of a workbook: keys, cells to fill in, what may be typed there, how it is printed.

use std::fmt::Write as _;

use super::super::sheets;
use super::super::xml::escaped;
use super::{HEAD, SPREADSHEET};
use crate::plan::Layout;
use crate::plan::records::{Entry, Sheet};

/// Words that the status of a vine can have, the first of each meaning of `[status]`.
const STATUS: &str = "\"alive,missing,dead,replanted\"";

/// Formats, by their place in the list of `styles.xml`.
const KEY: usize = 1;
const HEADING: usize = 2;
const BLANK: usize = 3;
const PLAIN: usize = 4;

/// The letters of a column, from 0: A, Z, AA.
pub(crate) fn letters(mut column: usize) -> String {
    let mut letters = Vec::new();
    loop {
        letters.push(b'A' + (column % 26) as u8);
        if column < 26 {
            break;
        }
        column = column / 26 - 1;
    }
    letters
        .iter()
        .rev()
        .map(|&letter| char::from(letter))
        .collect()
}

/// A cell: a whole number as a number, else a text; empty for no text.
fn cell(column: usize, row: usize, text: &str, style: usize) -> String {
    let place = format!("{}{row}", letters(column));
    // 15 digits are what a spreadsheet keeps; a code such as 007 stays a text.
    let number = text.len() <= 15
        && !text.is_empty()
        && text.bytes().all(|byte| byte.is_ascii_digit())
        && (text == "0" || !text.starts_with('0'));
    if text.is_empty() {
        format!("<c r=\"{place}\" s=\"{style}\"/>")
    } else if number {
        format!("<c r=\"{place}\" s=\"{style}\"><v>{text}</v></c>")
    } else {
        format!(
            "<c r=\"{place}\" s=\"{style}\" t=\"inlineStr\"><is><t xml:space=\"preserve\">{}</t></is></c>",
            escaped(text)
        )
    }
}

/// The sheet of a visit and block.
pub(super) fn page(layout: &Layout, kind: &Sheet, season: Option<&str>, group: usize) -> String {
    let headings = sheets::headings(layout, kind);
    let keys = sheets::keys(layout, kind).len();
    let lines: Vec<sheets::Line> = sheets::lines(layout, kind, season)
        .into_iter()
        .filter(|line| line.group == group)
        .collect();
    let last = lines.len() + 1;
    let mut xml = format!(
        "{HEAD}<worksheet xmlns=\"{SPREADSHEET}\"><sheetPr><pageSetUpPr fitToPage=\"1\"/></sheetPr>\
         <sheetViews><sheetView workbookViewId=\"0\"><pane xSplit=\"{keys}\" ySplit=\"1\" \
         topLeftCell=\"{}2\" activePane=\"bottomRight\" state=\"frozen\"/></sheetView></sheetViews>\
         <sheetFormatPr defaultRowHeight=\"20\" customHeight=\"1\"/><cols>",
        letters(keys)
    );
    for (at, heading) in headings.iter().enumerate() {
        let wide = match heading.as_str() {
            "note" => 26,
            "date" | "recorder" | "position" => 12,
            heading => (heading.chars().count() + 2).clamp(8, 16),
        };
        let _ = write!(
            xml,
            "<col min=\"{0}\" max=\"{0}\" width=\"{wide}\" customWidth=\"1\"/>",
            at + 1
        );
    }
    xml.push_str("</cols><sheetData><row r=\"1\" ht=\"32\" customHeight=\"1\">");
    for (at, heading) in headings.iter().enumerate() {
        xml.push_str(&cell(at, 1, heading, HEADING));
    }
    xml.push_str("</row>");
    for (at, line) in lines.iter().enumerate() {
        let row = at + 2;
        let _ = write!(xml, "<row r=\"{row}\" ht=\"20\" customHeight=\"1\">");
        for (column, key) in line.keys.iter().enumerate() {
            xml.push_str(&cell(column, row, key, KEY));
        }
        for column in keys..headings.len() {
            let text = match line.status {
                Some(status) if column == keys => status,
                _ => "",
            };
            xml.push_str(&cell(column, row, text, BLANK));
        }
        xml.push_str("</row>");
    }
    xml.push_str("</sheetData>");
    xml.push_str(&validations(kind, keys, last));
    xml.push_str(&printing(layout, kind, season, group));
    xml + "</worksheet>"
}

/// What can be typed where: a list for the status, a range for every number.
fn validations(kind: &Sheet, keys: usize, last: usize) -> String {
    let mut all = Vec::new();
    let mut column = keys;
    let cells = |column: usize| format!("{0}2:{0}{last}", letters(column));
    if kind.has_status {
        all.push(format!(
            "<dataValidation type=\"list\" allowBlank=\"1\" showInputMessage=\"1\" showErrorMessage=\"1\" \
             errorTitle=\"Status\" error=\"alive, missing, dead or replanted\" promptTitle=\"Status of the vine\" \
             prompt=\"alive, missing (no vine), dead, or replanted (young, not yet counted)\" sqref=\"{}\">\
             <formula1>{}</formula1></dataValidation>",
            cells(column),
            escaped(STATUS)
        ));
        column += 1;
    }
    for entry in &kind.entries {
        all.push(number(entry, &cells(column)));
        column += 1;
    }
    format!(
        "<dataValidations count=\"{}\">{}</dataValidations>",
        all.len(),
        all.concat()
    )
}

/// Longest title and longest text of a message beside a cell.
const TITLE: usize = 32;
const MESSAGE: usize = 255;

fn number(entry: &Entry, cells: &str) -> String {
    let kind = if entry.whole { "whole" } else { "decimal" };
    let what = if entry.whole {
        "a whole number"
    } else {
        "a number"
    };
    let message = format!(
        "{}: {what} from {} to {}. Leave empty what was not recorded.",
        entry.words, entry.low, entry.high
    );
    let cut = |text: &str, most: usize| escaped(&text.chars().take(most).collect::<String>());
    format!(
        "<dataValidation type=\"{kind}\" errorStyle=\"warning\" operator=\"between\" allowBlank=\"1\" \
         showInputMessage=\"1\" showErrorMessage=\"1\" errorTitle=\"{0}\" error=\"{1}\" promptTitle=\"{0}\" \
         prompt=\"{1}\" sqref=\"{cells}\"><formula1>{2}</formula1><formula2>{3}</formula2></dataValidation>",
        cut(&entry.heading, TITLE),
        cut(&message, MESSAGE),
        entry.low,
        entry.high
    )
}

/// Landscape on A4, one page wide, with a head that says what the page is.
fn printing(layout: &Layout, kind: &Sheet, season: Option<&str>, group: usize) -> String {
    // & begins a command in the head of a page.
    let plain = |text: &str| escaped(&text.replace('&', "&&"));
    let season = season
        .map(|season| format!(", {season}"))
        .unwrap_or_default();
    format!(
        "<pageMargins left=\"0.4\" right=\"0.4\" top=\"0.75\" bottom=\"0.6\" header=\"0.3\" footer=\"0.3\"/>\
         <pageSetup paperSize=\"9\" orientation=\"landscape\" fitToWidth=\"1\" fitToHeight=\"0\"/>\
         <headerFooter><oddHeader>&amp;L{}&amp;C{}&amp;R{}</oddHeader>\
         <oddFooter>&amp;LDate __________ Recorder __________&amp;RPage &amp;P of &amp;N</oddFooter></headerFooter>",
        plain(&layout.plan.title.chars().take(80).collect::<String>()),
        plain(&format!("{}{season}", kind.title)),
        plain(&layout.group_name(group)),
    )
}

/// The first sheet: what to fill in when, and how.
pub(super) fn read_me(layout: &Layout, kinds: &[Sheet], season: Option<&str>) -> String {
    let mut lines = vec![
        layout.plan.title.clone(),
        match season {
            Some(season) => format!("Field sheets of season {season}"),
            None => "Field sheets".to_owned(),
        },
        String::new(),
    ];
    for kind in kinds {
        lines.push(format!("{}: {}.", kind.title, kind.when));
    }
    lines.extend(
        [
            "",
            "Grey columns are filled in; do not change or sort them.",
            "Leave empty what was not recorded: an empty cell is not a zero, and a zero is a measurement.",
            "Copy the columns of each sheet below the same headings of the CSV file of its visit, \
             where every line is waiting with the same keys.",
            "Which treatment a plot has stands in layout.csv and on the map.",
        ]
        .map(str::to_owned),
    );
    let mut xml = format!(
        "{HEAD}<worksheet xmlns=\"{SPREADSHEET}\"><cols><col min=\"1\" max=\"1\" width=\"100\" \
         customWidth=\"1\"/></cols><sheetData>"
    );
    for (at, line) in lines.iter().enumerate() {
        let row = at + 1;
        let _ = write!(xml, "<row r=\"{row}\">{}</row>", cell(0, row, line, PLAIN));
    }
    xml + "</sheetData></worksheet>"
}
