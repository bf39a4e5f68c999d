//! Decimal text to exact numbers and to the nearest double, and the order people count in.
//!
//! A number in a file is a decimal and exact; only turning it into a double loses digits. So what
//! can be done in decimals (subtracting an offset, adding up vines) is done in decimals.

use std::cmp::Ordering;

pub use rust_decimal::Decimal;

/// Powers of ten that a double holds exactly.
const EXACT_POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];

/// Why a text is not a number we take.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotExact {
    /// It is not written as a number.
    #[error("not a number")]
    NotANumber,
    /// It is a number with more than 28 digits or out of range.
    #[error("more digits than can be kept exactly (28)")]
    TooLong,
}

/// The exact value of a decimal text: digits, one optional point, an optional sign and an optional
/// power of ten ("-1.20", ".5", "1e-3").
///
/// # Errors
/// [`NotExact`] where it is written otherwise or has more than 28 significant digits.
pub fn exact(text: &str) -> Result<Decimal, NotExact> {
    let (number, power) = match text.find(['e', 'E']) {
        Some(at) => (&text[..at], Some(&text[at + 1..])),
        None => (text, None),
    };
    let unsigned = number.strip_prefix(['+', '-']).unwrap_or(number);
    let digits = unsigned.bytes().filter(u8::is_ascii_digit).count();
    let points = unsigned.bytes().filter(|byte| *byte == b'.').count();
    if digits == 0 || points > 1 || digits + points != unsigned.len() {
        return Err(NotExact::NotANumber);
    }
    let Some(power) = power else {
        return Decimal::from_str_exact(number).map_err(|_| NotExact::TooLong);
    };
    let digits = power.strip_prefix(['+', '-']).unwrap_or(power);
    if digits.is_empty() || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(NotExact::NotANumber);
    }
    let mantissa = Decimal::from_str_exact(number).map_err(|_| NotExact::TooLong)?;
    let power: i64 = power.parse().map_err(|_| NotExact::TooLong)?;
    let scale = i64::from(mantissa.scale()) - power;
    let scaled = if scale >= 0 {
        u32::try_from(scale)
            .ok()
            .and_then(|scale| Decimal::try_from_i128_with_scale(mantissa.mantissa(), scale).ok())
    } else {
        u32::try_from(-scale)
            .ok()
            .and_then(|zeros| 10_i128.checked_pow(zeros))
            .and_then(|ten| mantissa.mantissa().checked_mul(ten))
            .and_then(|whole| Decimal::try_from_i128_with_scale(whole, 0).ok())
    };
    scaled.ok_or(NotExact::TooLong)
}

/// The double nearest to a decimal (ties to even).
///
/// The shortcut divides two doubles that are both exact, which IEEE 754 rounds once; everything
/// else goes through the decimal text, which the standard library reads correctly rounded.
#[must_use]
pub fn nearest_f64(value: Decimal) -> f64 {
    let (mantissa, scale) = (value.mantissa(), value.scale() as usize);
    if mantissa.unsigned_abs() < (1 << 53)
        && let Some(power) = EXACT_POWERS.get(scale)
    {
        return mantissa as f64 / power;
    }
    value
        .to_string()
        .parse()
        .unwrap_or_else(|_| unreachable_double(value))
}

/// Every text a decimal prints is a number to the standard library; should that ever change, the
/// crate's own conversion is within one unit in the last place.
fn unreachable_double(value: Decimal) -> f64 {
    use rust_decimal::prelude::ToPrimitive;
    value.to_f64().unwrap_or(0.0)
}

/// The decimal with the digits of a double as it prints: 0.45359237 gives exactly that. `None`
/// for a double that is not finite, out of a decimal's range, or loses digits in it.
#[must_use]
pub fn as_written(value: f64) -> Option<Decimal> {
    exact(&format!("{value}"))
        .or_else(|_| exact(&format!("{value:e}")))
        .ok()
}

/// Orders names as people count: "B2" before "B10"; text decides where the numbers are equal.
#[must_use]
pub fn natural(a: &str, b: &str) -> Ordering {
    let (mut left, mut right) = (a, b);
    loop {
        let (Some(x), Some(y)) = (left.chars().next(), right.chars().next()) else {
            return left.len().cmp(&right.len()).then_with(|| a.cmp(b));
        };
        if x.is_ascii_digit() && y.is_ascii_digit() {
            let (m, rest_left) = digits_of(left);
            let (n, rest_right) = digits_of(right);
            let (m, n) = (m.trim_start_matches('0'), n.trim_start_matches('0'));
            let order = m.len().cmp(&n.len()).then_with(|| m.cmp(n));
            if order != Ordering::Equal {
                return order;
            }
            (left, right) = (rest_left, rest_right);
        } else {
            if x != y {
                return x.cmp(&y);
            }
            (left, right) = (&left[x.len_utf8()..], &right[y.len_utf8()..]);
        }
    }
}

fn digits_of(text: &str) -> (&str, &str) {
    let end = text
        .find(|letter: char| !letter.is_ascii_digit())
        .unwrap_or(text.len());
    text.split_at(end)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_that_is_no_plain_number_is_refused() {
        for text in [
            "", ".", "1,5", "2.1 kg", "1_000", "n/a", "1e", "0x10", "1.2.3", "NaN", "inf", "--1",
        ] {
            assert_eq!(exact(text), Err(NotExact::NotANumber), "{text}");
        }
        assert_eq!(exact("1e99"), Err(NotExact::TooLong));
        assert_eq!(exact(&"9".repeat(40)), Err(NotExact::TooLong));
    }

    #[test]
    fn a_power_of_ten_moves_the_point_exactly() {
        for (text, same) in [
            ("1e-3", "0.001"),
            ("1.25E+2", "125"),
            ("-.5", "-0.5"),
            ("+3", "3"),
        ] {
            assert_eq!(exact(text), exact(same), "{text}");
        }
    }

    #[test]
    fn large_decimals_keep_their_last_digit_when_centred() {
        let value = exact("1000000000000.4").unwrap() - exact("1000000000000.2").unwrap();
        assert_eq!(nearest_f64(value), 0.2);
    }

    #[test]
    fn names_sort_as_people_count() {
        let mut names = ["B10", "B2", "b1", "B2a", "10", "9", "1.10", "1.9", "B02"];
        names.sort_by(|a, b| natural(a, b));
        assert_eq!(
            names,
            ["1.9", "1.10", "9", "10", "B02", "B2", "B2a", "B10", "b1"]
        );
    }

    proptest::proptest! {
        #[test]
        fn doubles_from_decimals_are_correctly_rounded(mantissa in proptest::num::i64::ANY, scale in 0_u32..=28) {
            let value = Decimal::from_i128_with_scale(i128::from(mantissa), scale);
            let through_text: f64 = value.to_string().parse().unwrap();
            proptest::prop_assert_eq!(nearest_f64(value).to_bits() << 1, through_text.to_bits() << 1);
        }

        #[test]
        fn natural_order_is_an_order(a in "[a-c0-3.]{0,6}", b in "[a-c0-3.]{0,6}", c in "[a-c0-3.]{0,6}") {
            proptest::prop_assert_eq!(natural(&a, &b), natural(&b, &a).reverse());
            if natural(&a, &b).is_le() && natural(&b, &c).is_le() {
                proptest::prop_assert!(natural(&a, &c).is_le());
            }
        }
    }
}
