//! Probabilities adjusted so that the share of false discoveries among those called clear is held.
//!
//! Of m hypotheses with sorted P p₁ ≤ … ≤ pₘ, those up to the largest k with p_k ≤ k q/m are called
//! clear; the expected share of wrong ones among them is then at most q for independent tests
//! (Benjamini & Hochberg 1995, *J. R. Stat. Soc. B* 57:289) and for positively dependent ones
//! (Benjamini & Yekutieli 2001, *Ann. Stat.* 29:1165). The adjusted P of a hypothesis is the smallest
//! q at which it is called clear: min over j ≥ k of m p_j / j.
//!
//! Refused: probabilities that are not numbers from 0 to 1.

use crate::separation::SeparationError;

/// Probabilities adjusted by the step-up rule, in the order given.
///
/// ```
/// # use caneplot_numerics::discovery::false_discovery;
/// assert_eq!(false_discovery(&[0.5, 0.125, 0.25]).unwrap(), vec![0.5, 0.375, 0.375]);
/// ```
///
/// # Errors
/// For a probability that is not a number from 0 to 1.
pub fn false_discovery(probabilities: &[f64]) -> Result<Vec<f64>, SeparationError> {
    if let Some(bad) = probabilities.iter().find(|p| !(0.0..=1.0).contains(*p)) {
        return Err(SeparationError::Probability(*bad));
    }
    let count = probabilities.len() as f64;
    let mut order: Vec<usize> = (0..probabilities.len()).collect();
    order.sort_by(|a, b| probabilities[*a].total_cmp(&probabilities[*b]));
    let mut adjusted = vec![0.0; probabilities.len()];
    let mut lowest = 1.0_f64;
    for (rank, place) in order.iter().enumerate().rev() {
        // The quotient is at least 1, so that rounding never takes an adjusted P below its raw one.
        lowest = lowest.min(probabilities[*place] * (count / (rank + 1) as f64));
        adjusted[*place] = lowest;
    }
    Ok(adjusted)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::separation::holm;

    /// The fifteen P of Benjamini & Hochberg (1995), section 3.2, from memory of the paper: at 5 %
    /// its rule calls the first four clear, Bonferroni's three.
    const PAPER: [f64; 15] = [
        0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262,
        0.5719, 0.6528, 0.7590, 1.0000,
    ];

    #[test]
    fn the_example_of_the_paper_has_four_discoveries() {
        let adjusted = false_discovery(&PAPER).unwrap();
        assert_eq!(adjusted.iter().filter(|p| **p <= 0.05).count(), 4);
        assert_eq!(PAPER.iter().filter(|p| **p * 15.0 <= 0.05).count(), 3);
        // By hand: 0.0095 × 15/4 = 0.035625; 0.0201 × 15/5 = 0.0603; 0.0278, 0.0298 and 0.0344 give
        // 0.0695, 0.06386 and 0.0645, so that the first of them takes over the second's.
        for (place, by_hand) in [
            (0, 0.0015),
            (3, 0.035625),
            (4, 0.0603),
            (5, 0.0298 * 15.0 / 7.0),
            (6, 0.0298 * 15.0 / 7.0),
            (14, 1.0),
        ] {
            assert!((adjusted[place] - by_hand).abs() < 1e-15, "{place}");
        }
    }

    #[test]
    fn nothing_is_adjusted_to_nothing_and_no_number_is_refused() {
        assert_eq!(false_discovery(&[]).unwrap(), Vec::<f64>::new());
        assert_eq!(false_discovery(&[0.04]).unwrap(), vec![0.04]);
        assert!(false_discovery(&[0.1, f64::NAN]).is_err());
        assert!(false_discovery(&[1.5]).is_err());
    }

    /// The rule as it is defined: the hypotheses called clear at `q`.
    fn step_up(probabilities: &[f64], q: f64) -> Vec<bool> {
        let mut sorted = probabilities.to_vec();
        sorted.sort_by(f64::total_cmp);
        let count = sorted.len() as f64;
        let limit = (1..=sorted.len())
            .rev()
            .find(|&k| sorted[k - 1] * (count / k as f64) <= q)
            .map(|k| sorted[k - 1]);
        probabilities
            .iter()
            .map(|p| limit.is_some_and(|limit| *p <= limit))
            .collect()
    }

    proptest! {
        #[test]
        fn what_is_clear_after_adjustment_is_what_the_rule_calls_clear(
            probabilities in prop::collection::vec(0.0..=1.0_f64, 1..30),
            q in 0.001..0.999_f64,
        ) {
            let adjusted = false_discovery(&probabilities).unwrap();
            let clear: Vec<bool> = adjusted.iter().map(|p| *p <= q).collect();
            prop_assert_eq!(clear, step_up(&probabilities, q));
        }

        #[test]
        fn it_lies_between_the_raw_p_and_holms(
            probabilities in prop::collection::vec(0.0..=1.0_f64, 1..30),
        ) {
            let adjusted = false_discovery(&probabilities).unwrap();
            let stricter = holm(&probabilities).unwrap();
            for ((raw, own), strict) in probabilities.iter().zip(&adjusted).zip(&stricter) {
                prop_assert!(raw <= own && *own <= strict + 1e-15);
            }
        }
    }
}
