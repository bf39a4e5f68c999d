//! Cells of a sheet as the texts a person would type.

use calamine::{Data, ExcelDateTime, ExcelDateTimeType};

use crate::load::dates::month_lengths;

/// The text of a cell; `None` where it is empty.
pub(super) fn text(cell: &Data) -> Option<String> {
    let text = match cell {
        Data::Empty => return None,
        Data::String(text) => text.clone(),
        // The shortest decimal that reads back as the same double.
        Data::Float(number) => format!("{number}"),
        Data::Int(number) => number.to_string(),
        Data::Bool(true) => "TRUE".to_owned(),
        Data::Bool(false) => "FALSE".to_owned(),
        Data::DateTime(date) => date_text(date),
        Data::DateTimeIso(text) => text.strip_suffix("T00:00:00").unwrap_or(text).to_owned(),
        Data::DurationIso(text) => text.clone(),
        Data::Error(error) => error.to_string(),
    };
    Some(text).filter(|text| !text.is_empty())
}

/// Days by which the count from 1904 is behind that from 1900 (ECMA-376-1, 18.17.4.1).
const FROM_1904: f64 = 1462.0;
/// The last day that is counted, 31 December 9999 (the same).
const LAST: f64 = 2_958_465.0;

fn date_text(date: &ExcelDateTime) -> String {
    let number = date.as_f64();
    let is = |kind, later| *date == ExcelDateTime::new(number, kind, later);
    let is_span = [false, true]
        .iter()
        .any(|later| is(ExcelDateTimeType::TimeDelta, *later));
    let counted = if is(ExcelDateTimeType::DateTime, true) {
        number + FROM_1904
    } else {
        number
    };
    if !(0.0..=LAST).contains(&counted) {
        return format!("{number}");
    }
    let seconds = (counted * 86_400.0).round() as u64;
    let (days, rest) = (seconds / 86_400, seconds % 86_400);
    let time = format!("{:02}:{:02}:{:02}", rest / 3600, rest / 60 % 60, rest % 60);
    // A time of day has no date, a span of time neither; both are no number of days.
    if is_span || days < 1 {
        return time;
    }
    // Day 1 is 1 January 1900; day 60 is a 29 February that never was (the same).
    let day = match days {
        60 => "1900-02-29".to_owned(),
        early if early < 60 => day_text(early - 1),
        days => day_text(days - 2),
    };
    if rest == 0 {
        day
    } else {
        format!("{day} {time}")
    }
}

/// The date so many days after 1 January 1900.
fn day_text(mut days: u64) -> String {
    let mut year = 1900;
    loop {
        for (month, length) in (1..).zip(month_lengths(year)) {
            if days < u64::from(length) {
                return format!("{year:04}-{month:02}-{:02}", days + 1);
            }
            days -= u64::from(length);
        }
        year += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_the_shortest_decimals_and_dates_are_iso() {
        for (cell, expected) in [
            (Data::Float(0.1 + 0.2), "0.30000000000000004"),
            (Data::Float(5.68), "5.68"),
            (Data::Float(2021.0), "2021"),
            (
                Data::DateTimeIso("2021-04-17T00:00:00".to_owned()),
                "2021-04-17",
            ),
        ] {
            assert_eq!(text(&cell).as_deref(), Some(expected));
        }
        // Day 44303 from the start of 1900 is 17 April 2021 (ECMA-376-1, 18.17.4.1).
        let date = |value| {
            let date = ExcelDateTime::new(value, ExcelDateTimeType::DateTime, false);
            text(&Data::DateTime(date)).unwrap()
        };
        assert_eq!(date(44303.0), "2021-04-17");
        assert_eq!(date(44303.5), "2021-04-17 12:00:00");
        assert_eq!(date(0.5), "12:00:00");
        assert_eq!(date(1.0), "1900-01-01");
        assert_eq!(date(61.0), "1900-03-01");
        assert_eq!(date(45351.0), "2024-02-29");
        let later = ExcelDateTime::new(42841.0, ExcelDateTimeType::DateTime, true);
        assert_eq!(text(&Data::DateTime(later)).as_deref(), Some("2021-04-17"));
        let span = ExcelDateTime::new(1.5, ExcelDateTimeType::TimeDelta, false);
        assert_eq!(text(&Data::DateTime(span)).as_deref(), Some("12:00:00"));
    }
}
