//! The figures of a report drawn again, so that text keeps its size at the width of the page.

use crate::draw::{self, DrawError, ForPrint};
use crate::earlier::EarlierReport;
use crate::journal::Print;
use crate::parallel;
use crate::write::stem;

/// Every figure with its name, in the order of the report.
#[must_use]
pub fn all(report: &EarlierReport, print: &Print) -> Vec<(String, Result<ForPrint, DrawError>)> {
    let figures: Vec<_> = report
        .sections()
        .flat_map(|(analysis, section)| {
            let figures = section.figures.iter();
            figures.map(move |figure| (stem(&analysis.name, section, &figure.id), figure))
        })
        .collect();
    parallel::map(&figures, print.threads, |_, (stem, figure)| {
        let drawn = draw::for_print(figure, print.width_mm, print.dpi);
        (stem.clone(), drawn)
    })
}
