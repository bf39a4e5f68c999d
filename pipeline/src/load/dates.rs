//! Dates written year-month-day (ISO 8601), as days of the year.

/// A date as it counts here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Date {
    /// Year.
    pub year: u16,
    /// Day of the year, 1 January being 1.
    pub day: u16,
}

/// The date a text means: "2021-04-17".
#[must_use]
pub fn date(text: &str) -> Option<Date> {
    let mut parts = text.split('-');
    let mut part = |digits: usize| {
        let part = parts.next()?;
        let plain = part.len() == digits && part.bytes().all(|byte| byte.is_ascii_digit());
        plain.then(|| part.parse::<u16>().ok()).flatten()
    };
    let (year, month, day) = (part(4)?, part(2)?, part(2)?);
    if parts.next().is_some() {
        return None;
    }
    let lengths = month_lengths(year);
    let before = usize::from(month.checked_sub(1)?);
    let length = *lengths.get(before)?;
    (1..=length).contains(&day).then(|| Date {
        year,
        day: lengths[..before].iter().sum::<u16>() + day,
    })
}

/// Days of each month of a year.
#[must_use]
pub fn month_lengths(year: u16) -> [u16; 12] {
    let is_leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let february = 28 + u16::from(is_leap);
    [31, february, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_counted_from_the_first_of_january() {
        let day = |text| date(text).map(|date| (date.year, date.day));
        assert_eq!(day("2021-01-01"), Some((2021, 1)));
        // 31 + 28 + 31 + 17, a day later in a leap year.
        assert_eq!(day("2021-04-17"), Some((2021, 107)));
        assert_eq!(day("2020-04-17"), Some((2020, 108)));
        assert_eq!(day("2020-12-31"), Some((2020, 366)));
        assert_eq!(day("1900-12-31"), Some((1900, 365)));
    }

    #[test]
    fn what_is_no_date_is_none() {
        for wrong in [
            "2021-02-29",
            "2021-13-01",
            "2021-00-10",
            "2021-04-31",
            "2021-04-00",
            "2021-4-7",
            "17.04.2021",
            "2021-04",
            "2021-04-17-1",
            "",
            "107",
            "-2021-04-17",
        ] {
            assert_eq!(date(wrong), None, "{wrong}");
        }
    }
}
