//! What typst sees: one text, the drawings, the vendored font. No file system, no clock, no
//! network.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, Source};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Feature, Library, LibraryExt};

use crate::draw::text;

/// Everything there is for one document.
pub struct World {
    main: Source,
    files: BTreeMap<String, Bytes>,
}

/// What is the same for all documents.
struct Shared {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
}

fn shared() -> &'static Shared {
    static SHARED: OnceLock<Shared> = OnceLock::new();
    SHARED.get_or_init(|| {
        let fonts: Vec<Font> = [text::REGULAR, text::BOLD, text::ITALIC]
            .into_iter()
            .filter_map(|bytes| Font::new(Bytes::new(bytes), 0))
            .collect();
        // Rows of a table that are named by their first cell.
        let features = [Feature::A11yExtras].into_iter().collect();
        Shared {
            library: LazyHash::new(Library::builder().with_features(features).build()),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
        }
    })
}

impl World {
    /// A world of a text and the files it names.
    pub fn new(text: String, files: BTreeMap<String, Bytes>) -> Self {
        Self {
            main: Source::detached(text),
            files,
        }
    }
}

impl typst::World for World {
    fn library(&self) -> &LazyHash<Library> {
        &shared().library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &shared().book
    }

    fn main(&self) -> FileId {
        self.main.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main.id() {
            Ok(self.main.clone())
        } else {
            Err(FileError::NotSource)
        }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let path = id.get().vpath().get_without_slash();
        self.files
            .get(path)
            .cloned()
            .ok_or_else(|| FileError::NotFound(path.into()))
    }

    fn font(&self, index: usize) -> Option<Font> {
        shared().fonts.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}
