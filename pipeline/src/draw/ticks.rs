//! Where the ticks of a number axis stand and how their numbers are written.

/// Steps between ticks, as multiples of a power of ten.
const STEPS: [(f64, i32); 4] = [(1.0, 0), (2.0, 0), (2.5, 1), (5.0, 0)];

/// Numbers of this size or larger are written with a power of ten.
const LARGE: f64 = 1e6;

/// Axes whose largest number is below this are written with a power of ten.
const SMALL: f64 = 1e-3;

/// Ticks with the numbers written at them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ticks {
    /// Values on the axis, rising.
    pub places: Vec<f64>,
    /// What is written at each; `^{…}` raises.
    pub labels: Vec<String>,
}

/// Round places inside `low..=high`, at most `most` steps apart, in steps of 1, 2, 2.5 or 5 times a
/// power of ten. The range must be positive and finite.
pub fn round_ticks(low: f64, high: f64, most: usize) -> Ticks {
    let wanted = (high - low) / most.max(1) as f64;
    if !(wanted > 0.0 && wanted.is_finite()) {
        return exact_ticks(&[low]);
    }
    let exponent = exponent(wanted);
    let (step, decimals) = (exponent..=exponent + 1)
        .flat_map(|e| STEPS.iter().map(move |(m, extra)| (*m, e, e - extra)))
        .map(|(m, e, finest)| (scaled(m, e), (-finest).max(0)))
        .find(|(step, _)| *step >= wanted * (1.0 - 1e-9))
        .unwrap_or((scaled(10.0, exponent), (-exponent - 1).max(0)));
    // A tick that misses an end by rounding only still belongs to the axis.
    let slack = 1e-9;
    let first = (low / step - slack).ceil();
    let last = (high / step + slack).floor();
    let count = (last - first).clamp(0.0, 1000.0) as usize + 1;
    let places: Vec<f64> = (0..count)
        .map(|i| ((first + i as f64) * step).clamp(low, high))
        .collect();
    let labels = written(&places, decimals as usize);
    Ticks { places, labels }
}

/// Round ticks about `usual` steps apart, but up to `most` where fewer than three would stand there.
pub fn readable_ticks(low: f64, high: f64, usual: usize, most: usize) -> Ticks {
    const FEWEST: usize = 3;
    (usual..=most)
        .map(|steps| round_ticks(low, high, steps))
        .find(|ticks| ticks.places.len() >= FEWEST)
        .unwrap_or_else(|| round_ticks(low, high, usual))
}

/// Ticks at places that were asked for, written with as many decimals as the finest needs.
pub fn exact_ticks(asked: &[f64]) -> Ticks {
    let mut places = asked.to_vec();
    places.sort_by(f64::total_cmp);
    places.dedup();
    let largest = places.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
    let decimals = (0..12)
        .find(|d| {
            let power = scaled(1.0, *d);
            places.iter().all(|v| {
                (v * power - (v * power).round()).abs() <= 1e-6 * (largest * power).max(1.0)
            })
        })
        .unwrap_or(12);
    let labels = written(&places, decimals as usize);
    Ticks { places, labels }
}

/// The numbers of one axis, all with the same decimals and the same power of ten.
fn written(places: &[f64], decimals: usize) -> Vec<String> {
    let largest = places.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
    if largest != 0.0 && !(SMALL..LARGE).contains(&largest) {
        return with_power(places, largest);
    }
    places
        .iter()
        .map(|v| grouped(&format!("{v:.decimals$}")))
        .collect()
}

fn with_power(places: &[f64], largest: f64) -> Vec<String> {
    let power = exponent(largest);
    // Dividing twice keeps numbers below 1e-308 from overflowing the scale.
    let half = power / 2;
    let mantissas: Vec<f64> = places
        .iter()
        .map(|v| v / scaled(1.0, half) / scaled(1.0, power - half))
        .collect();
    let decimals = (0..9)
        .find(|d| {
            let scale = scaled(1.0, *d);
            mantissas
                .iter()
                .all(|m| (m * scale - (m * scale).round()).abs() < 1e-6)
        })
        .unwrap_or(9) as usize;
    places
        .iter()
        .zip(&mantissas)
        .map(|(v, m)| {
            if *v == 0.0 {
                "0".to_owned()
            } else {
                format!("{}×10^{{{power}}}", grouped(&format!("{m:.decimals$}")))
                    .replace("{-", "{\u{2212}")
            }
        })
        .collect()
}

/// A number with a proper minus sign, no negative zero, and thousands set apart from 10 000 on.
fn grouped(number: &str) -> String {
    let (negative, digits) = match number.strip_prefix('-') {
        Some(rest) => (rest.bytes().any(|b| (b'1'..=b'9').contains(&b)), rest),
        None => (false, number),
    };
    let (whole, fraction) = match digits.split_once('.') {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (digits, None),
    };
    let mut out = String::with_capacity(number.len() + 4);
    if negative {
        out.push('\u{2212}');
    }
    for (i, digit) in whole.chars().enumerate() {
        if whole.len() > 4 && i > 0 && (whole.len() - i) % 3 == 0 {
            out.push('\u{a0}');
        }
        out.push(digit);
    }
    if let Some(fraction) = fraction {
        out.push('.');
        out.push_str(fraction);
    }
    out
}

/// The power of ten of the first digit. Read from the decimal form, because a logarithm may round
/// to the wrong side of a power of ten on one machine and not on another.
fn exponent(value: f64) -> i32 {
    format!("{value:e}")
        .rsplit_once('e')
        .and_then(|(_, e)| e.parse().ok())
        .unwrap_or(0)
}

/// `mantissa × 10^exponent`, rounded once.
fn scaled(mantissa: f64, exponent: i32) -> f64 {
    format!("{mantissa}e{exponent}").parse().unwrap_or(mantissa)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_one_two_two_and_a_half_or_five() {
        assert_eq!(
            round_ticks(0.0, 10.0, 5).labels,
            ["0", "2", "4", "6", "8", "10"]
        );
        assert_eq!(
            round_ticks(0.0, 10.0, 4).labels,
            ["0.0", "2.5", "5.0", "7.5", "10.0"]
        );
        assert_eq!(round_ticks(0.0, 1.0, 2).labels, ["0.0", "0.5", "1.0"]);
        assert_eq!(round_ticks(3.2, 4.9, 4).labels, ["3.5", "4.0", "4.5"]);
        assert_eq!(round_ticks(0.0, 100.0, 10).places.len(), 11);
    }

    #[test]
    fn ticks_stay_inside_and_are_never_more_than_asked() {
        for (low, high) in [(-3.7, 11.2), (0.001, 0.0013), (21.4, 21.9), (1e5, 9e5)] {
            for most in 1..12 {
                let ticks = round_ticks(low, high, most);
                assert!(ticks.places.len() <= most + 1, "{low} {high} {most}");
                assert!(ticks.places.iter().all(|t| (low..=high).contains(t)));
            }
        }
    }

    #[test]
    fn a_scale_has_three_ticks_where_there_is_room() {
        assert_eq!(round_ticks(7.6, 13.9, 2).places, [10.0]);
        assert_eq!(readable_ticks(7.6, 13.9, 2, 6).labels, ["8", "10", "12"]);
        assert_eq!(readable_ticks(7.6, 13.9, 2, 2).places, [10.0]);
    }

    #[test]
    fn a_minus_is_a_minus_and_zero_has_none() {
        assert_eq!(
            round_ticks(-1.0, 1.0, 4).labels,
            ["\u{2212}1.0", "\u{2212}0.5", "0.0", "0.5", "1.0"]
        );
    }

    #[test]
    fn thousands_are_set_apart_from_five_digits_on() {
        assert_eq!(
            exact_ticks(&[5000.0, 12000.0]).labels,
            ["5000", "12\u{a0}000"]
        );
    }

    #[test]
    fn very_large_and_very_small_numbers_are_written_with_a_power() {
        assert_eq!(
            round_ticks(0.0, 2e9, 4).labels,
            ["0", "0.5×10^{9}", "1.0×10^{9}", "1.5×10^{9}", "2.0×10^{9}"]
        );
        assert_eq!(exact_ticks(&[0.0002]).labels, ["2×10^{\u{2212}4}"]);
    }

    #[test]
    fn asked_places_keep_their_own_decimals() {
        assert_eq!(exact_ticks(&[36.0, 12.0, 24.0]).labels, ["12", "24", "36"]);
        assert_eq!(exact_ticks(&[0.5, 1.25]).labels, ["0.50", "1.25"]);
    }

    #[test]
    fn an_empty_range_gives_one_tick() {
        assert_eq!(round_ticks(3.0, 3.0, 5).places, [3.0]);
    }
}
