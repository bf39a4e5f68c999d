//! Field sheets as workbooks, one a season, with a sheet for every visit and block: keys filled in,
//! entries checked as they are typed, ready to be printed.
//!
//! The parts are written here (ECMA-376, SpreadsheetML) and stored without compression: crates that
//! write workbooks compress them by a library that picks its code by the processor, so that bytes
//! would differ between machines, and that would take the place of the one that writes the PNGs.

use std::fmt::Write as _;
use std::io::{Cursor, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use super::xml::escaped;
use crate::plan::Layout;
use crate::plan::records::Sheet;

mod page;

pub(crate) use page::letters;

/// The date every workbook says it was made on: the same plan gives the same bytes.
const MADE: &str = "2000-01-01T00:00:00Z";

/// Longest name of a sheet.
const NAME: usize = 31;

pub(crate) const SPREADSHEET: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
const RELATIONS: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
const PACKAGE: &str = "http://schemas.openxmlformats.org/package/2006";
pub(crate) const HEAD: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\" standalone=\"yes\"?>\n";

/// The workbooks of all seasons: name without ending, bytes.
///
/// # Errors
/// What the archive's writer said.
pub fn workbooks(layout: &Layout, kinds: &[Sheet]) -> Result<Vec<(String, Vec<u8>)>, String> {
    if layout.plan.seasons.is_empty() {
        let bytes = workbook(layout, kinds, None)?;
        return Ok(vec![("field-sheets".to_owned(), bytes)]);
    }
    let mut books = Vec::new();
    let (kinds, before): (Vec<Sheet>, Vec<Sheet>) =
        kinds.iter().cloned().partition(Sheet::in_seasons);
    if !before.is_empty() {
        books.push(("baseline".to_owned(), workbook(layout, &before, None)?));
    }
    for season in &layout.plan.seasons {
        let fit = |letter: char| match letter {
            letter if letter.is_alphanumeric() || "_-. ".contains(letter) => letter,
            _ => '-',
        };
        let name: String = season.chars().map(fit).collect();
        books.push((name, workbook(layout, &kinds, Some(season))?));
    }
    Ok(books)
}

/// One page of a workbook.
pub(crate) struct Page {
    /// Name of the sheet, at most 31 letters and unlike any other.
    pub(crate) name: String,
    /// Its part of the archive.
    pub(crate) xml: String,
}

fn workbook(layout: &Layout, kinds: &[Sheet], season: Option<&str>) -> Result<Vec<u8>, String> {
    let mut pages = vec![Page {
        name: "Read me".to_owned(),
        xml: page::read_me(layout, kinds, season),
    }];
    for kind in kinds {
        for group in 0..layout.groups() {
            let name = format!("{} {}", kind.title, layout.group_name(group));
            pages.push(Page {
                name: name.chars().take(NAME).collect(),
                xml: page::page(layout, kind, season, group),
            });
        }
    }
    let title = match season {
        Some(season) => format!("{}: field sheets {season}", layout.plan.title),
        None => format!("{}: field sheets", layout.plan.title),
    };
    packed(&pages, &title, &styles()).map_err(|error| error.to_string())
}

/// The archive of all parts, in a fixed order and with fixed dates.
pub(crate) fn packed(
    pages: &[Page],
    title: &str,
    styles: &str,
) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644);
    let mut put = |name: &str, text: &str| -> Result<(), Box<dyn std::error::Error>> {
        zip.start_file(name, options)?;
        zip.write_all(text.as_bytes())?;
        Ok(())
    };
    put("[Content_Types].xml", &content_types(pages.len()))?;
    put("_rels/.rels", &root_relations())?;
    put("docProps/core.xml", &core(title))?;
    put("xl/workbook.xml", &book(pages))?;
    put("xl/_rels/workbook.xml.rels", &book_relations(pages.len()))?;
    put("xl/styles.xml", styles)?;
    for (at, page) in pages.iter().enumerate() {
        put(&format!("xl/worksheets/sheet{}.xml", at + 1), &page.xml)?;
    }
    Ok(zip.finish()?.into_inner())
}

fn content_types(pages: usize) -> String {
    let part = "application/vnd.openxmlformats-officedocument.spreadsheetml";
    let mut xml = format!(
        "{HEAD}<Types xmlns=\"{PACKAGE}/content-types\">\
         <Default Extension=\"rels\" ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/>\
         <Default Extension=\"xml\" ContentType=\"application/xml\"/>\
         <Override PartName=\"/docProps/core.xml\" ContentType=\"application/vnd.openxmlformats-package.core-properties+xml\"/>\
         <Override PartName=\"/xl/workbook.xml\" ContentType=\"{part}.sheet.main+xml\"/>\
         <Override PartName=\"/xl/styles.xml\" ContentType=\"{part}.styles+xml\"/>"
    );
    for page in 1..=pages {
        // Writing to a string cannot fail, here and below.
        let _ = write!(
            xml,
            "<Override PartName=\"/xl/worksheets/sheet{page}.xml\" ContentType=\"{part}.worksheet+xml\"/>"
        );
    }
    xml + "</Types>"
}

fn root_relations() -> String {
    format!(
        "{HEAD}<Relationships xmlns=\"{PACKAGE}/relationships\">\
         <Relationship Id=\"rId1\" Type=\"{RELATIONS}/officeDocument\" Target=\"xl/workbook.xml\"/>\
         <Relationship Id=\"rId2\" Type=\"{PACKAGE}/relationships/metadata/core-properties\" Target=\"docProps/core.xml\"/>\
         </Relationships>"
    )
}

fn core(title: &str) -> String {
    format!(
        "{HEAD}<cp:coreProperties xmlns:cp=\"{PACKAGE}/metadata/core-properties\" \
         xmlns:dc=\"http://purl.org/dc/elements/1.1/\" xmlns:dcterms=\"http://purl.org/dc/terms/\" \
         xmlns:xsi=\"http://www.w3.org/2001/XMLSchema-instance\"><dc:title>{}</dc:title>\
         <dc:creator>caneplot {}</dc:creator>\
         <dcterms:created xsi:type=\"dcterms:W3CDTF\">{MADE}</dcterms:created></cp:coreProperties>",
        escaped(title),
        env!("CARGO_PKG_VERSION")
    )
}

fn book(pages: &[Page]) -> String {
    let mut xml =
        format!("{HEAD}<workbook xmlns=\"{SPREADSHEET}\" xmlns:r=\"{RELATIONS}\"><sheets>");
    for (at, page) in pages.iter().enumerate() {
        let _ = write!(
            xml,
            "<sheet name=\"{}\" sheetId=\"{1}\" r:id=\"rId{1}\"/>",
            escaped(&page.name),
            at + 1
        );
    }
    xml.push_str("</sheets><definedNames>");
    // The first sheet is for reading; the heading of every other is repeated on each of its pages.
    for (at, page) in pages.iter().enumerate().skip(1) {
        let _ = write!(
            xml,
            "<definedName name=\"_xlnm.Print_Titles\" localSheetId=\"{at}\">'{}'!$1:$1</definedName>",
            escaped(&page.name.replace('\'', "''"))
        );
    }
    xml + "</definedNames></workbook>"
}

fn book_relations(pages: usize) -> String {
    let mut xml = format!("{HEAD}<Relationships xmlns=\"{PACKAGE}/relationships\">");
    for page in 1..=pages {
        let _ = write!(
            xml,
            "<Relationship Id=\"rId{page}\" Type=\"{RELATIONS}/worksheet\" Target=\"worksheets/sheet{page}.xml\"/>"
        );
    }
    let _ = write!(
        xml,
        "<Relationship Id=\"rId{}\" Type=\"{RELATIONS}/styles\" Target=\"styles.xml\"/></Relationships>",
        pages + 1
    );
    xml
}

/// The formats: plain, key (grey, bordered), heading (bold), blank to fill in, text that wraps.
fn styles() -> String {
    let side = |name: &str| format!("<{name} style=\"thin\"><color rgb=\"FF808080\"/></{name}>");
    let border: String = ["left", "right", "top", "bottom"].map(side).concat();
    let wrapped = "<alignment vertical=\"top\" wrapText=\"1\"/>";
    let format = |font: u8, fill: u8, border: u8, inner: &str| {
        format!(
            "<xf numFmtId=\"0\" fontId=\"{font}\" fillId=\"{fill}\" borderId=\"{border}\" xfId=\"0\" \
             applyFont=\"1\" applyFill=\"1\" applyBorder=\"1\" applyAlignment=\"1\">{inner}</xf>"
        )
    };
    let formats = [
        format(0, 0, 0, ""),
        format(0, 2, 1, "<alignment vertical=\"center\"/>"),
        format(1, 2, 1, "<alignment vertical=\"center\" wrapText=\"1\"/>"),
        format(0, 0, 1, "<alignment vertical=\"center\"/>"),
        format(0, 0, 0, wrapped),
    ]
    .concat();
    format!(
        "{HEAD}<styleSheet xmlns=\"{SPREADSHEET}\">\
         <fonts count=\"2\"><font><sz val=\"11\"/><name val=\"Arial\"/></font>\
         <font><b/><sz val=\"11\"/><name val=\"Arial\"/></font></fonts>\
         <fills count=\"3\"><fill><patternFill patternType=\"none\"/></fill>\
         <fill><patternFill patternType=\"gray125\"/></fill>\
         <fill><patternFill patternType=\"solid\"><fgColor rgb=\"FFF0F0F0\"/><bgColor indexed=\"64\"/></patternFill></fill></fills>\
         <borders count=\"2\"><border><left/><right/><top/><bottom/><diagonal/></border>\
         <border>{border}<diagonal/></border></borders>\
         <cellStyleXfs count=\"1\"><xf numFmtId=\"0\" fontId=\"0\" fillId=\"0\" borderId=\"0\"/></cellStyleXfs>\
         <cellXfs count=\"5\">{formats}</cellXfs>\
         <cellStyles count=\"1\"><cellStyle name=\"Normal\" xfId=\"0\" builtinId=\"0\"/></cellStyles>\
         </styleSheet>"
    )
}
