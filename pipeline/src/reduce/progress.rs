//! How far the reading is, drawn on a terminal and nowhere else.

use indicatif::{ProgressBar, ProgressStyle};

use super::layout::Layout;

/// A bar where the number of records is known, a count where it is not.
#[derive(Debug, Clone)]
pub(super) struct Progress(ProgressBar);

impl Progress {
    /// Begins for the files of a summary.
    pub(super) fn begin(name: &str, layouts: &[Layout]) -> Self {
        let records: Option<u64> = layouts.iter().map(|layout| layout.records).sum();
        let (bar, template) = match records {
            Some(records) => (
                ProgressBar::new(records),
                "{msg} {wide_bar} {human_pos} of {human_len} records, {eta}",
            ),
            None => (
                ProgressBar::new_spinner(),
                "{spinner} {msg}: {human_pos} records",
            ),
        };
        if let Ok(style) = ProgressStyle::with_template(template) {
            bar.set_style(style);
        }
        bar.set_message(name.to_owned());
        Self(bar)
    }

    /// So many records more are read.
    pub(super) fn add(&self, records: usize) {
        self.0.inc(records as u64);
    }

    /// Takes the bar off.
    pub(super) fn end(&self) {
        self.0.finish_and_clear();
    }
}
