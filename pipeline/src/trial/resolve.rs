//! From what is written to what it means: [`read`] walks trial.toml table by table and reports every
//! mistake of the file, each at its place.
//!
//! A part that is wrong leaves a harmless stand-in behind so that the rest can be read; it never
//! gets out, because a trial is only handed over when nothing was reported.

use std::path::Path;
use std::sync::Arc;

use caneplot_plugin::request::DesignKind;

use super::Trial;
use super::faults::Faults;
use super::file;
use super::keys;
use super::prices;
use super::section::Section;
use super::words::KINDS;
use crate::diagnostic::Diagnostic;

mod analyses;
mod balanced;
pub mod bulletin;
mod checks;
mod covariates;
mod data;
mod design;
mod factors;
mod field;
mod general;
mod levels;
mod measures;
mod names;
pub mod plan;
pub mod published;
mod ratios;
mod rerun;
mod responses;
mod status;
mod vineyard;
mod winter;

/// A kind of design in the words of a trial file.
#[must_use]
pub fn kind_in_words(kind: DesignKind) -> &'static str {
    KINDS.word(kind)
}

/// Name of the trial of a folder, which is that of its report.
#[must_use]
pub fn name(folder: &Path) -> String {
    general::folder_name(folder)
}

/// The trial of a folder.
///
/// # Errors
/// Every mistake of trial.toml, in the order of the file; or the one that keeps it from being read.
pub fn read(folder: &Path) -> Result<Trial, Vec<Diagnostic>> {
    let source = file::source(folder).map_err(|fault| vec![fault])?;
    let mut faults = Faults::new(Arc::clone(&source));
    let Some(document) = file::tables(&source, &mut faults) else {
        return Err(faults.into_sorted());
    };
    let mut root = Section::new("", 0..0, document.get_ref());
    root.only(keys::TABLES, &mut faults);

    let general = general::general(&root, &mut faults);
    let vineyard = vineyard::vineyard(&root, &mut faults);
    let checks = checks::checks(&root, &mut faults);
    let design = design::design(&root, &mut faults);
    let field = field::field(&root, &mut faults);
    let factors = factors::factors(&root, &design, &mut faults);
    let data = data::files(&root, folder, &mut faults);
    let status = status::status(&root, &design, &mut faults);
    let responses = responses::responses(&root, &vineyard, &mut faults);
    let covariates = covariates::covariates(&root, &vineyard, &mut faults);
    let ratios = ratios::ratios(&root, &responses, &vineyard, &mut faults);
    let analyses = analyses::analyses(&root, &mut faults);
    let rerun = rerun::rerun(&root, &mut faults);

    general::seasons_fit_columns(&root, &general, &design, &mut faults);
    winter::is_told(&root, &responses.all, &design, &data, &mut faults);
    names::are_distinct(&root, &mut faults);
    names::columns_are_distinct(
        &design,
        &field,
        &factors,
        &status,
        &responses.all,
        &covariates,
        &mut faults,
    );

    let (Some(design), true) = (design, faults.is_empty()) else {
        return Err(faults.into_sorted());
    };
    let mut trial = Trial {
        name: general::folder_name(folder),
        folder: folder.to_owned(),
        title: general.title,
        question: general.question,
        seasons: general.seasons,
        seasons_span: general.seasons_span,
        about: general.about,
        vineyard,
        design,
        field,
        factors,
        data,
        responses: responses.all,
        covariates,
        ratios,
        status,
        analyses,
        checks,
        seed: general.seed,
        rerun,
        source,
        prices: None,
    };
    trial.prices = prices::read(&trial)?;
    Ok(trial)
}
