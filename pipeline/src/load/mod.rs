//! Data files to columns in memory: names as codes, numbers as exact decimals, keys joined to plots,
//! vines and seasons. Files are opened read-only and hashed. Nothing is judged here beyond what must
//! hold for the columns to mean anything: `check` does that, from what is kept here.

pub mod columns;
pub mod csv;
pub mod dates;
pub mod decimals;
pub mod dialect;
pub mod encoding;
pub mod heads;
pub mod index;
pub mod marks;
pub mod numbers;
pub mod opened;
pub mod places;
pub mod read;
pub mod scan;
pub mod season;
pub mod status;
pub mod text;
pub mod typed;
pub mod units_row;
pub mod wide;
pub mod workbook;

use caneplot_plugin::request::Quantity;

use crate::correct::{self, Corrections};
use crate::diagnostic::{Diagnostic, Place};
use crate::trial::{Trial, Winter};

pub use index::{Index, Plot, Seen, Vine};
pub use numbers::Part;
pub use opened::Origin;
pub use season::Belongs;
pub use text::Coded;

/// Everything the data files hold that the trial speaks of.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// The files in the order of the trial file.
    pub files: Vec<File>,
    /// Plots, vines and seasons, and where files contradict each other about them.
    pub index: Index,
    /// The numbers of each response, in the order of the trial file.
    pub measured: Vec<Measured>,
    /// The numbers of each covariate, in the order of the trial file, a part a file.
    pub covariates: Vec<Vec<Part>>,
    /// Corrections of single cells, which the numbers above have in them.
    pub corrections: Corrections,
    /// The numbers of plots' places: rows, first positions, last positions, a part a file each.
    pub field: [Vec<Part>; 3],
    /// What was noticed on the way.
    pub remarks: Vec<Diagnostic>,
}

/// A data file.
#[derive(Debug, Clone, Default)]
pub struct File {
    /// In words: as written in the trial file, with its sheet.
    pub name: String,
    /// Where its records come from.
    pub origin: Origin,
    /// SHA-256 of its bytes, in hexadecimal.
    pub sha256: String,
    /// Size in bytes.
    pub bytes: u64,
    /// Line (in a sheet, row) each record starts on, counted from 1.
    pub lines: Vec<usize>,
    /// Which winter its season labels mean.
    pub winter: Option<Winter>,
    /// Column of plots.
    pub plot: Coded,
    /// Column of blocks.
    pub block: Option<Coded>,
    /// Column of rows.
    pub row: Option<Coded>,
    /// Column of columns.
    pub column: Option<Coded>,
    /// Column of vines.
    pub vine: Option<Coded>,
    /// Column of seasons.
    pub season: Option<Coded>,
    /// Columns of the factors, in the order of the trial file.
    pub factors: Vec<Option<Coded>>,
    /// Column of vine status.
    pub status: Option<Coded>,
    /// Plot of each record, an index into [`Index::plots`].
    pub plots: Vec<Option<u32>>,
    /// Vine of each record, an index into [`Index::vines`].
    pub vines: Vec<Option<u32>>,
    /// Season of each season code, by what the record belongs to (all the same for a file without
    /// winters); `None` outside the trial's seasons.
    pub seasons: [Vec<Option<u32>>; 3],
    /// The harvest that vine status, labour and other things belong to: the label's beside a crop,
    /// in a file of winter records alone the one before the winter.
    pub otherwise: Belongs,
}

impl File {
    /// Number of records.
    #[must_use]
    pub fn height(&self) -> usize {
        self.lines.len()
    }

    /// The harvest a quantity of this file belongs to.
    #[must_use]
    pub fn belongs(&self, quantity: Quantity) -> Belongs {
        match (season::belongs(quantity), self.otherwise) {
            (Some(belongs), _) => belongs,
            // Work noted among winter records is the pruning for the harvest to come.
            (None, Belongs::Before) if quantity == Quantity::Labour => Belongs::After,
            (None, otherwise) => otherwise,
        }
    }

    /// Season of a record, an index into [`Index::seasons`]; `None` outside the trial's seasons
    /// and in a file without seasons.
    #[must_use]
    pub fn season_of(&self, row: usize, belongs: Belongs) -> Option<u32> {
        let code = self.season.as_ref()?.codes[row]?;
        self.seasons[belongs as usize][code as usize]
    }

    /// The season as the record names it.
    #[must_use]
    pub fn season_label(&self, row: usize) -> Option<&str> {
        self.season.as_ref()?.name(row)
    }

    /// The place of a record, in a column where it is about one.
    #[must_use]
    pub fn place(&self, row: usize, column: Option<&str>) -> Place {
        self.origin.record(&self.lines, row, column)
    }

    /// The file as a place.
    #[must_use]
    pub fn whole(&self) -> Place {
        self.origin.place(None, None)
    }
}

/// The numbers of a response: usually one part; several where files hold a season each.
#[derive(Debug, Clone, Default)]
pub struct Measured {
    /// Values.
    pub values: Vec<Part>,
    /// Totals of a count out of a count.
    pub totals: Vec<Part>,
}

/// Reads the data files of a trial.
///
/// # Errors
/// Files that cannot be read, columns that are missing or in two files, records without a plot,
/// corrections that do not fit the data.
pub fn load(trial: &Trial) -> Result<Loaded, Vec<Diagnostic>> {
    let opened = read::opened(trial)?;
    let found = columns::placed(trial, &opened)?;
    let (corrections, edits) = correct::settled(trial, &opened, &found, correct::read(trial)?)?;
    let mut remarks = columns::unused(&opened, &found);
    remarks.extend(corrections.remarks());
    let mut files = Vec::new();
    let mut numbers = read::Numbers {
        measured: vec![Measured::default(); trial.responses.len()],
        covariates: vec![Vec::new(); trial.covariates.len()],
        ..read::Numbers::default()
    };
    let mut faults = Vec::new();
    for (at, (opened, found)) in opened.into_iter().zip(&found).enumerate() {
        match read::file(trial, at, &opened, found, &edits[at], &mut numbers) {
            Ok((file, notes)) => {
                remarks.extend(opened.remarks);
                remarks.extend(notes);
                files.push(file);
            }
            Err(fault) => faults.push(fault),
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let read::Numbers {
        measured,
        covariates,
        field,
    } = numbers;
    let index = index::joined(trial, &mut files)?;
    let faults = read::in_two_files(trial, &files, &measured);
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(Loaded {
        files,
        index,
        measured,
        covariates,
        corrections,
        field,
        remarks,
    })
}

#[cfg(test)]
pub(crate) mod testing;
#[cfg(test)]
mod tests;
