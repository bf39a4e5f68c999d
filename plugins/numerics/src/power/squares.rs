//! Sums of squares of many simulated vectors of one layout, without an allocation a vector.
//!
//! For the cells of a step let Q = Σ total²/size. The sums of squares of all steps coarser than it
//! are contained in Q, so its own is what is left after taking them off (Tjur 1984, *Int. Stat. Rev.*
//! 52:33). This differs by rounding only from the sweep of means, which keeps more digits where values
//! lie far from zero; simulated values do not.

use crate::cells::Cells;
use crate::strata::Layout;

/// A partition to be summed over.
struct Step {
    of_unit: Vec<u32>,
    /// One over the number of units in each cell.
    shares: Vec<f64>,
    /// Earlier steps that are coarser.
    coarser: Vec<usize>,
}

/// The steps of a layout and room to work in.
pub(super) struct Squares {
    steps: Vec<Step>,
    /// The step of each term, then of each stratum.
    terms: Vec<usize>,
    errors: Vec<usize>,
    totals: Vec<f64>,
    sums: Vec<f64>,
}

impl Squares {
    pub fn new(layout: &Layout) -> Self {
        let whole = Cells::whole(layout.units());
        let mut cells: Vec<&Cells> = vec![&whole];
        let mut terms = vec![0; layout.terms().len()];
        let mut errors = Vec::new();
        for (at, stratum) in layout.strata().iter().enumerate() {
            for (place, term) in layout.terms().iter().enumerate() {
                if term.stratum == at {
                    terms[place] = cells.len();
                    cells.push(&term.cells);
                }
            }
            errors.push(cells.len());
            cells.push(&stratum.cells);
        }
        let steps: Vec<Step> = cells
            .iter()
            .enumerate()
            .map(|(at, own)| Step {
                of_unit: own.of_unit().iter().map(|&cell| cell as u32).collect(),
                shares: own.sizes().iter().map(|&size| 1.0 / size as f64).collect(),
                coarser: (0..at).filter(|&other| own.refines(cells[other])).collect(),
            })
            .collect();
        Self {
            totals: vec![
                0.0;
                steps
                    .iter()
                    .map(|step| step.shares.len())
                    .max()
                    .unwrap_or(0)
            ],
            sums: vec![0.0; steps.len()],
            steps,
            terms,
            errors,
        }
    }

    /// Puts the sums of squares of a vector in place.
    pub fn take(&mut self, values: &[f64]) {
        for (at, step) in self.steps.iter().enumerate() {
            let totals = &mut self.totals[..step.shares.len()];
            totals.fill(0.0);
            for (&cell, value) in step.of_unit.iter().zip(values) {
                totals[cell as usize] += value;
            }
            let squares = totals
                .iter()
                .zip(&step.shares)
                .map(|(total, share)| share * total * total);
            let inside: f64 = step.coarser.iter().map(|&other| self.sums[other]).sum();
            self.sums[at] = squares.sum::<f64>() - inside;
        }
    }

    /// Sum of squares of a term.
    pub fn of_term(&self, term: usize) -> f64 {
        self.sums[self.terms[term]]
    }

    /// Sum of squares of the error of a stratum.
    pub fn of_error(&self, stratum: usize) -> f64 {
        self.sums[self.errors[stratum]]
    }
}
