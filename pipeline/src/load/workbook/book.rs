//! A workbook opened and its sheets by name.

use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use calamine::{Data, Ods, Range, Reader, Xlsx};

use super::cells;
use super::layout::Layout;
use crate::diagnostic::{Diagnostic, nearest};
use crate::load::heads::Wanted;
use crate::load::opened::Origin;
use crate::load::text::list;

/// The bytes of a workbook, shared by those who read in it.
type Bytes = Cursor<Arc<[u8]>>;

/// A workbook.
pub(super) struct Book {
    kind: Kind,
    bytes: Arc<[u8]>,
}

enum Kind {
    Excel(Box<Xlsx<Bytes>>),
    OpenDocument(Box<Ods<Bytes>>),
}

/// A sheet as it stands.
pub(super) struct Sheet {
    /// Its name.
    pub(super) name: String,
    /// Its values.
    pub(super) values: Range<Data>,
    /// Its formulas.
    pub(super) formulas: Range<String>,
    /// Merged cells, hidden rows and columns.
    pub(super) layout: Layout,
}

impl Book {
    /// Opens a workbook.
    pub(super) fn open(bytes: Vec<u8>, wanted: &Wanted<'_>) -> Result<Self, Diagnostic> {
        let name = &wanted.data.file.value;
        let bytes: Arc<[u8]> = bytes.into();
        let all = Cursor::new(Arc::clone(&bytes));
        let opened = if name.to_lowercase().ends_with(".ods") {
            guarded(|| Ods::new(all)).map(|book| Kind::OpenDocument(Box::new(book)))
        } else {
            guarded(|| Xlsx::new(all)).map(|book| Kind::Excel(Box::new(book)))
        };
        let opened = opened.map(|kind| Self { kind, bytes });
        opened.map_err(|error| {
            unreadable(
                wanted,
                &format!("{name} cannot be read as a workbook: {error}"),
            )
        })
    }

    fn names(&self) -> Vec<String> {
        match &self.kind {
            Kind::Excel(book) => book.sheet_names(),
            Kind::OpenDocument(book) => book.sheet_names(),
        }
    }

    fn values(&mut self, name: &str) -> Result<Range<Data>, String> {
        match &mut self.kind {
            Kind::Excel(book) => guarded(|| book.worksheet_range(name)),
            Kind::OpenDocument(book) => guarded(|| book.worksheet_range(name)),
        }
    }

    fn formulas(&mut self, name: &str) -> Result<Range<String>, String> {
        match &mut self.kind {
            Kind::Excel(book) => guarded(|| book.worksheet_formula(name)),
            Kind::OpenDocument(book) => guarded(|| book.worksheet_formula(name)),
        }
    }

    fn layout(&mut self, name: &str) -> Result<Layout, String> {
        match &self.kind {
            Kind::Excel(_) => Layout::of_excel(&self.bytes, name),
            Kind::OpenDocument(_) => Layout::of_open_document(&self.bytes, name),
        }
        .map_err(|error| error.to_string())
    }

    /// The sheet that the trial file means.
    pub(super) fn sheet(&mut self, wanted: &Wanted<'_>) -> Result<Sheet, Diagnostic> {
        let name = self.chosen(wanted)?;
        let failed = |error: String| {
            unreadable(
                wanted,
                &format!(
                    "sheet '{name}' of {} cannot be read: {error}",
                    wanted.data.file.value
                ),
            )
        };
        let values = self.values(&name).map_err(failed)?;
        let formulas = self.formulas(&name).map_err(failed)?;
        let layout = self.layout(&name).map_err(failed)?;
        Ok(Sheet {
            name,
            values,
            formulas,
            layout,
        })
    }

    fn chosen(&mut self, wanted: &Wanted<'_>) -> Result<String, Diagnostic> {
        let file = &wanted.data.file.value;
        let names = self.names();
        let quoted = |names: &[String]| {
            list(
                &names
                    .iter()
                    .map(|name| format!("'{name}'"))
                    .collect::<Vec<_>>(),
            )
        };
        if let Some(sheet) = &wanted.data.sheet {
            if names.contains(&sheet.value) {
                return Ok(sheet.value.clone());
            }
            let help = match nearest(&sheet.value, names.iter().map(String::as_str)) {
                Some(near) => format!(
                    "write \"{near}\" if that is meant; its sheets are {}",
                    quoted(&names)
                ),
                None => format!("name one of its sheets: {}", quoted(&names)),
            };
            return Err(Diagnostic::error(
                "sheet",
                format!("{file} has no sheet '{}'", sheet.value),
            )
            .at(wanted.trial.place(&sheet.span))
            .help(help));
        }
        let mut filled = Vec::new();
        for name in names {
            let values = self
                .values(&name)
                .map_err(|error| unreadable(wanted, &format!("{file}: {error}")))?;
            if values.used_cells().next().is_some() {
                filled.push(name);
            }
        }
        match filled.as_slice() {
            [one] => Ok(one.clone()),
            [] => Err(Diagnostic::error("empty-file", format!("{file} has no filled sheet"))
                .at(wanted.trial.place(&wanted.data.file.span))
                .help("check that this is the file that was meant")),
            [first, ..] => Err(Diagnostic::error(
                "sheet",
                format!("{file} has several sheets: {}", quoted(&filled)),
            )
            .at(wanted.trial.place(&wanted.data.file.span))
            .help(format!(
                "add sheet = \"{first}\" under the file, or sheets = [...] where each holds a season"
            ))),
        }
    }
}

impl Sheet {
    /// The first rows with anything in them as texts, from column A on, with their numbers.
    pub(super) fn texts(&self, most: usize) -> Vec<(usize, Vec<String>)> {
        let Some((first, left)) = self.values.start() else {
            return Vec::new();
        };
        self.values
            .rows()
            .enumerate()
            .map(|(at, row)| {
                let mut texts = vec![String::new(); left as usize];
                let cells = row.iter().map(|cell| cells::text(cell).unwrap_or_default());
                texts.extend(cells.map(|text| text.trim().to_owned()));
                (first as usize + at + 1, texts)
            })
            .filter(|(_, texts)| texts.iter().any(|text| !text.is_empty()))
            .take(most)
            .collect()
    }
}

/// What the reader of workbooks gives. Some damaged workbooks make it panic, where an error is due.
fn guarded<T, E: std::fmt::Display>(read: impl FnOnce() -> Result<T, E>) -> Result<T, String> {
    match catch_unwind(AssertUnwindSafe(read)) {
        Ok(read) => read.map_err(|error| error.to_string()),
        Err(_) => Err("what it holds contradicts itself".to_owned()),
    }
}

fn unreadable(wanted: &Wanted<'_>, message: &str) -> Diagnostic {
    let origin = Origin {
        path: wanted.data.file.value.clone(),
        ..Origin::default()
    };
    Diagnostic::error("unreadable-file", message)
        .at(wanted.trial.place(&wanted.data.file.span))
        .at(origin.place(None, None))
        .help("open it in the program it was made with and save it again, without a password")
}
