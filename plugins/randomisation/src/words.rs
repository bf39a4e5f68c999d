//! Numbers of arrangements as they read inside a sentence.

/// A number of arrangements: "1 296", or "about 4 × 10^27" where it is long.
pub(crate) fn many(log10: f64, number: Option<u64>) -> String {
    if let Some(number) = number {
        return grouped(number);
    }
    if log10 < 9.0 {
        return format!(
            "about {} million",
            (10_f64.powf(log10 - 6.0) * 10.0).round() / 10.0
        );
    }
    let power = log10.floor();
    // 9.96 × 10^8 is rounded to 10 × 10^8 otherwise.
    let lead = (10_f64.powf(log10 - power)).floor();
    format!("more than {lead} × 10^{power}")
}

/// A whole number with its thousands apart.
pub(crate) fn grouped(number: u64) -> String {
    let digits = number.to_string();
    if digits.len() < 5 {
        return digits;
    }
    let mut found = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            found.push('\u{a0}');
        }
        found.push(digit);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_of_arrangements_are_short() {
        assert_eq!(many(3.11, Some(1296)), "1296");
        assert_eq!(many(5.5, Some(331_776)), "331\u{a0}776");
        assert_eq!(many(6.9009, None), "about 8 million");
        assert_eq!(many(27.63, None), "more than 4 × 10^27");
    }
}
