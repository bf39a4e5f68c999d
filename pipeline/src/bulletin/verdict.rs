//! How sure a difference is, in words that hang on its likely range and on nothing else.

use caneplot_plugin::estimates::{Difference, Estimates};

use super::edits::Band;

/// What may be said of a difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// The nearer end of the range is at least half the difference away from zero.
    Strong,
    /// The range does not reach zero.
    Clear,
    /// The range does not reach zero, but among the comparisons made one like it is no rarity.
    Hint,
    /// The range reaches from less to more.
    Unclear,
    /// The whole range lies inside the band that counts as no difference.
    Same,
}

impl Verdict {
    /// Whether a difference is claimed.
    #[must_use]
    pub fn is_clear(self) -> bool {
        matches!(self, Verdict::Strong | Verdict::Clear)
    }
}

/// What may be said of a difference of some estimates, with the band that counts as none, if any.
///
/// "About the same" is said only where the whole range lies inside a band that was declared: that a
/// trial saw no difference is no sign that there is none.
#[must_use]
pub fn verdict(of: &Estimates, difference: &Difference, band: Option<&Band>) -> Verdict {
    let against = of.treatments.get(difference.against);
    let reach = band.map(|band| match band {
        Band::Amount(amount) => *amount,
        Band::Share(share) => share * against.map_or(0.0, |one| one.value.abs()),
    });
    let within = reach.is_some_and(|reach| difference.low >= -reach && difference.high <= reach);
    if within {
        return Verdict::Same;
    }
    if difference.low <= 0.0 && difference.high >= 0.0 {
        return Verdict::Unclear;
    }
    // The range is that of one comparison; P allows for the others.
    if difference.p.is_some_and(|p| p >= 1.0 - of.level) {
        return Verdict::Hint;
    }
    let nearer = difference.low.abs().min(difference.high.abs());
    match nearer >= difference.value.abs() / 2.0 {
        true => Verdict::Strong,
        false => Verdict::Clear,
    }
}

/// Whether the differences changed with the season, as far as the report says.
#[must_use]
pub fn changes_with_season(of: &Estimates) -> bool {
    let clear = |test: &caneplot_plugin::estimates::Test| test.p < 1.0 - of.level;
    of.seasons_test.as_ref().is_some_and(clear)
}

/// The difference an answer is about: the largest of those that are clear, else the largest.
#[must_use]
pub fn leading<'a>(of: &'a Estimates, band: Option<&Band>) -> Option<&'a Difference> {
    let size = |one: &&Difference| one.value.abs();
    let clear = of
        .differences
        .iter()
        .filter(|one| verdict(of, one, band).is_clear())
        .max_by(|a, b| size(a).total_cmp(&size(b)));
    clear.or_else(|| {
        let all = of.differences.iter();
        all.max_by(|a, b| size(a).total_cmp(&size(b)))
    })
}

/// Half the width of the widest likely range of a difference: a smaller one would not have been
/// clear in every comparison.
#[must_use]
pub fn least_seen(of: &Estimates) -> Option<f64> {
    let widths = of.differences.iter().map(|one| (one.high - one.low) / 2.0);
    widths.reduce(f64::max)
}

#[cfg(test)]
mod tests {
    use caneplot_plugin::estimates::{Kind, Treatment};
    use caneplot_plugin::findings::Format;

    use super::*;

    fn estimates() -> Estimates {
        Estimates {
            name: "yield".into(),
            label: "Yield".into(),
            unit: "t/ha".into(),
            kind: Kind::Mean,
            factors: vec!["nodes".into()],
            season: None,
            level: 0.95,
            format: Format::Decimals(2),
            treatments: vec![
                Treatment {
                    value: 10.0,
                    ..Treatment::default()
                };
                2
            ],
            covariance: Vec::new(),
            df: None,
            differences: Vec::new(),
            test: None,
            seasons_test: None,
            ranges: Vec::new(),
        }
    }

    fn difference(low: f64, value: f64, high: f64, p: f64) -> Difference {
        Difference {
            of: 1,
            against: 0,
            value,
            low,
            high,
            p: Some(p),
            ..Difference::default()
        }
    }

    #[test]
    fn words_hang_on_the_range() {
        let of = estimates();
        for (low, value, high, p, wanted) in [
            (0.6, 1.0, 1.4, 0.001, Verdict::Strong),
            (0.1, 1.0, 1.9, 0.03, Verdict::Clear),
            (-1.9, -1.0, -0.1, 0.03, Verdict::Clear),
            (0.1, 1.0, 1.9, 0.09, Verdict::Hint),
            (-0.1, 1.0, 2.1, 0.06, Verdict::Unclear),
        ] {
            assert_eq!(verdict(&of, &difference(low, value, high, p), None), wanted);
        }
    }

    #[test]
    fn about_the_same_needs_a_band_and_the_whole_range_inside() {
        let of = estimates();
        let (narrow, wide) = (
            difference(-0.3, 0.1, 0.5, 0.6),
            difference(-0.3, 0.6, 1.5, 0.2),
        );
        assert_eq!(verdict(&of, &narrow, None), Verdict::Unclear);
        let band = Band::Amount(0.5);
        assert_eq!(verdict(&of, &narrow, Some(&band)), Verdict::Same);
        assert_eq!(verdict(&of, &wide, Some(&band)), Verdict::Unclear);
        // 5 % of 10 is 0.5.
        assert_eq!(
            verdict(&of, &narrow, Some(&Band::Share(0.05))),
            Verdict::Same
        );
        assert_eq!(
            verdict(&of, &narrow, Some(&Band::Share(0.04))),
            Verdict::Unclear
        );
    }

    #[test]
    fn the_answer_is_about_the_largest_clear_difference() {
        let mut of = estimates();
        of.differences = vec![
            difference(-0.5, 3.0, 6.5, 0.1),
            difference(0.8, 1.0, 1.2, 0.001),
        ];
        assert!((leading(&of, None).unwrap().value - 1.0).abs() < 1e-12);
        assert!((least_seen(&of).unwrap() - 3.5).abs() < 1e-12);
    }
}
