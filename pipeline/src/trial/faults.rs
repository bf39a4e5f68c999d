//! The mistakes of a trial file, collected while it is read.

use std::ops::Range;
use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Place, Source};

/// The mistakes of one trial file.
pub(super) struct Faults {
    source: Arc<Source>,
    found: Vec<(usize, Diagnostic)>,
}

impl Faults {
    /// No mistake yet.
    pub(super) fn new(source: Arc<Source>) -> Self {
        Self {
            source,
            found: Vec::new(),
        }
    }

    /// The place of a span.
    pub(super) fn place(&self, span: &Range<usize>) -> Place {
        Place::Span {
            source: Arc::clone(&self.source),
            start: span.start,
            end: span.end,
        }
    }

    /// Adds a mistake whose main place is a span.
    pub(super) fn add(&mut self, span: &Range<usize>, mut diagnostic: Diagnostic) {
        diagnostic.places.insert(0, self.place(span));
        self.found.push((span.start, diagnostic));
    }

    /// Whether there is none.
    pub(super) fn is_empty(&self) -> bool {
        self.found.is_empty()
    }

    /// All of them in the order of the file.
    pub(super) fn into_sorted(mut self) -> Vec<Diagnostic> {
        self.found.sort_by_key(|(start, _)| *start);
        self.found.into_iter().map(|(_, fault)| fault).collect()
    }
}
