//! Records by the million (a yield monitor, a proximal sensor) to one summary a plot and season, or a
//! vine, before the rest of the program sees them.
//!
//! The files are read by the streaming engine of the data frame, batch by batch, so that memory does
//! not grow with them. `layout.rs` finds out what columns they have, `plan.rs` which of them are
//! keys and which values, `scan.rs` reads them, `keys.rs` and `tally.rs` add up a batch, `table.rs`
//! makes an ordinary file of the sums, `remarks.rs` says what was left out, `inputs.rs` hashes.
//!
//! Sums are exact (see `tally.rs`), so that the order in which threads take batches is of no
//! consequence.

mod inputs;
mod keys;
mod layout;
mod locate;
mod plan;
mod progress;
mod remarks;
#[cfg(feature = "cloud")]
mod remote;
mod scan;
mod table;
mod tally;
#[cfg(test)]
mod tests;

use std::sync::{Arc, Mutex, PoisonError};

pub use inputs::{Input, records};

use crate::diagnostic::Diagnostic;
use crate::load::heads::Wanted;
use crate::load::opened::{Body, Opened, Origin};
use crate::trial::Summary;

use layout::Layout;
use progress::Progress;
use tally::Tally;

/// Heading of the number of records that a summary is of.
pub const COUNTED: &str = "records_counted";

/// What the records of a summary are called and where they come from.
#[derive(Debug, Clone, Default)]
pub struct Summarised {
    /// Each record in words: "mean of plot 101 in 2024".
    pub names: Vec<String>,
    /// Decimals that are worth printing, by heading.
    pub decimals: Vec<(String, u32)>,
    /// The files that were read.
    pub inputs: Vec<Input>,
}

impl Summarised {
    /// Decimals of a column that are worth printing, where it is a summary.
    #[must_use]
    pub fn decimals(&self, heading: &str) -> Option<u32> {
        let of = self.decimals.iter().find(|(known, _)| known == heading);
        of.map(|(_, decimals)| *decimals)
    }
}

/// Files whose columns are known and whose records are not read yet.
#[derive(Debug)]
pub struct Pending {
    layouts: Vec<Layout>,
}

/// Looks at the columns of the files of a summary; the file has headings and no records yet.
///
/// # Errors
/// Files that are neither texts nor Parquet, or damaged; columns that cannot be read.
pub fn begun(wanted: &Wanted<'_>, summary: &Summary) -> Result<(Opened, Pending), Vec<Diagnostic>> {
    let layouts = layout::layouts(wanted, summary)?;
    let mut headings: Vec<String> = Vec::new();
    let vine = wanted.trial.design.vine.as_ref();
    let is_vine = |heading: &str| vine.is_some_and(|vine| vine.value == heading);
    for heading in layouts.iter().flat_map(Layout::headings) {
        if summary.of_plots && is_vine(heading) {
            continue;
        }
        if !headings.iter().any(|known| known == heading) {
            headings.push(heading.to_owned());
        }
    }
    headings.push(COUNTED.to_owned());
    let opened = Opened {
        origin: Origin {
            path: wanted.data.file.value.clone(),
            numbered: true,
            summary: Some(Arc::default()),
            ..Origin::default()
        },
        sha256: String::new(),
        bytes: layouts
            .iter()
            .flat_map(|layout| &layout.inputs)
            .map(|input| input.bytes)
            .sum(),
        body: Body::Cells(vec![Vec::new(); headings.len()]),
        headings,
        header_line: 0,
        lines: Vec::new(),
        remarks: Vec::new(),
    };
    Ok((opened, Pending { layouts }))
}

/// Reads the records and puts their summaries into the file.
///
/// # Errors
/// Columns that are in some of the files only, cells that are no numbers, files that cannot be read.
pub fn finish(
    opened: &mut Opened,
    pending: Pending,
    wanted: &Wanted<'_>,
    summary: &Summary,
) -> Result<(), Vec<Diagnostic>> {
    let plan = Arc::new(plan::plan(wanted, summary, &pending.layouts)?);
    let tally = Arc::new(Mutex::new(Tally::new(&plan)));
    let progress = Progress::begin(&opened.origin.path, &pending.layouts);
    let mut layouts = pending.layouts.iter();
    let read = layouts.try_for_each(|layout| scan::run(layout, &plan, &tally, &progress));
    progress.end();
    read.map_err(|fault| vec![fault])?;
    let tally = std::mem::replace(
        &mut *tally.lock().unwrap_or_else(PoisonError::into_inner),
        Tally::new(&plan),
    );
    opened.remarks = remarks::remarks(wanted, &plan, &tally, &pending.layouts);
    table::fill(opened, &plan, tally, pending.layouts).map_err(|fault| vec![fault])
}
