//! What a report keeps so that its trial can be run again with other data: the trial file as it was,
//! and the form of every data file, which is its keys without what was measured.

use std::fmt::Write as _;

use crate::load::{Coded, File, Loaded, Part};
use crate::trial::{DataFile, DecimalMark, Trial};
use crate::write::csv;

/// The trial file in a report.
pub const TRIAL: &str = "data/trial.toml";

/// Folder of the forms in a report.
pub const FORMS: &str = "data/forms/";

/// The tables of data files for forms that are not laid out as the originals were.
pub const TABLES: &str = "data/forms.toml";

/// Records beyond which a form is a burden: a trial of that size has its records from machines.
const MOST_RECORDS: usize = 200_000;

/// The files a report keeps, by their path in it. Forms are left out of trials with very many records.
#[must_use]
pub fn kept(trial: &Trial, loaded: &Loaded) -> Vec<(String, Vec<u8>)> {
    // The bytes of the file, which may begin with a mark that the text is without.
    let bytes = std::fs::read(&trial.source.path)
        .unwrap_or_else(|_| trial.source.text.clone().into_bytes());
    let mut kept = vec![(TRIAL.to_owned(), bytes)];
    if loaded.files.iter().map(File::height).sum::<usize>() > MOST_RECORDS {
        return kept;
    }
    let pairs = || trial.data.iter().zip(&loaded.files);
    for (at, (data, file)) in pairs().enumerate() {
        let form = form(loaded, at, data, file);
        kept.push((format!("{FORMS}{}", name(data, file)), form.into_bytes()));
    }
    if pairs().any(|(data, _)| !is_plain(data)) {
        let tables: Vec<String> = pairs().map(|(data, file)| table(data, file)).collect();
        kept.push((TABLES.to_owned(), tables.join("\n").into_bytes()));
    }
    kept
}

/// Whether the form of a file is laid out as the file itself, so that its table in the trial file
/// serves both.
fn is_plain(data: &DataFile) -> bool {
    !data.is_workbook()
        && !data.is_typed()
        && data.summary.is_none()
        && data.sheet.is_none()
        && data.headings.is_none()
        && data.header_row.as_ref().is_none_or(|row| row.value == 1)
        && data.units_row != Some(true)
}

/// Name of a form: that of its file, with the sheet behind it where it is one of a workbook; of a
/// summary, the words of its pattern.
fn name(data: &DataFile, file: &File) -> String {
    let path = file.origin.path.replace('\\', "/");
    if data.summary.is_some() {
        return format!("{}.csv", caneplot_plugin::words::id(&path));
    }
    if !data.is_workbook() && !data.is_typed() {
        return path;
    }
    let (stem, _) = path.rsplit_once('.').unwrap_or((&path, ""));
    match &file.origin.sheet {
        Some(sheet) => format!("{stem}-{}.csv", caneplot_plugin::words::id(sheet)),
        None => format!("{stem}.csv"),
    }
}

/// The table of a form.
fn table(data: &DataFile, file: &File) -> String {
    let quoted = |text: &str| toml::Value::String(text.to_owned()).to_string();
    let mut out = format!("[[data]]\nfile = {}\n", quoted(&name(data, file)));
    // Writing to a string cannot fail, here and below.
    if let Some(winter) = &data.winter {
        let _ = writeln!(
            out,
            "winter = {}",
            quoted(crate::trial::winter_in_words(winter.value))
        );
    }
    let missing: Vec<String> = data.missing.iter().map(|text| quoted(text)).collect();
    let _ = writeln!(out, "missing = [{}]", missing.join(", "));
    if data.decimal == Some(DecimalMark::Comma) {
        let _ = writeln!(out, "decimal = \",\"");
    }
    out
}

/// A column of a form: its heading and, for keys, its cells.
struct Field<'a> {
    heading: &'a str,
    cells: Cells<'a>,
}

enum Cells<'a> {
    Names(&'a Coded),
    Numbers(&'a Part),
    Empty,
}

impl Field<'_> {
    fn cell(&self, row: usize) -> String {
        match self.cells {
            Cells::Names(names) => names.name(row).unwrap_or_default().to_owned(),
            Cells::Numbers(part) => {
                part.values[row].map_or_else(String::new, |value| value.to_string())
            }
            Cells::Empty => String::new(),
        }
    }
}

fn form(loaded: &Loaded, at: usize, data: &DataFile, file: &File) -> String {
    let fields = fields(loaded, at, file);
    let headings = fields.iter().map(|field| field.heading.to_owned());
    let mut out = line(data.decimal, &headings.collect::<Vec<_>>());
    for row in 0..file.height() {
        let cells: Vec<String> = fields.iter().map(|field| field.cell(row)).collect();
        out.push_str(&line(data.decimal, &cells));
    }
    out
}

/// A line of a form: where decimals have commas, other marks stand between the cells.
#[must_use]
pub fn line(decimal: Option<DecimalMark>, cells: &[String]) -> String {
    if decimal != Some(DecimalMark::Comma) {
        return csv::line(cells);
    }
    let quoted = cells
        .iter()
        .map(|cell| match cell.contains([';', '"', '\n']) {
            true => format!("\"{}\"", cell.replace('"', "\"\"")),
            false => cell.clone(),
        });
    quoted.collect::<Vec<_>>().join(";") + "\n"
}

/// The columns of a form: keys first, then places in the field, then what is to be filled in.
fn fields<'a>(loaded: &'a Loaded, at: usize, file: &'a File) -> Vec<Field<'a>> {
    let keys = [
        file.season.as_ref(),
        file.block.as_ref(),
        file.row.as_ref(),
        file.column.as_ref(),
        Some(&file.plot),
        file.vine.as_ref(),
    ];
    let keys = keys
        .into_iter()
        .chain(file.factors.iter().map(Option::as_ref));
    let mut fields: Vec<Field<'a>> = keys
        .flatten()
        .map(|names| Field {
            heading: &names.heading,
            cells: Cells::Names(names),
        })
        .collect();
    for part in loaded.field.iter().flatten().filter(|part| part.file == at) {
        fields.push(Field {
            heading: &part.heading,
            cells: Cells::Numbers(part),
        });
    }
    let status = file.status.as_ref().map(|names| names.heading.as_str());
    let measured = loaded
        .measured
        .iter()
        .flat_map(|one| one.values.iter().chain(&one.totals));
    let measured = measured.chain(loaded.covariates.iter().flatten());
    let measured = measured.filter(|part| part.file == at);
    for heading in status
        .into_iter()
        .chain(measured.map(|part| part.heading.as_str()))
    {
        // One column may be the total of several counts.
        if fields.iter().all(|field| field.heading != heading) {
            fields.push(Field {
                heading,
                cells: Cells::Empty,
            });
        }
    }
    fields
}
