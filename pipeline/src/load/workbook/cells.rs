//! Cells of a sheet as the texts a person would type.

use calamine::{Data, ExcelDateTime};

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

fn date_text(date: &ExcelDateTime) -> String {
    let (year, month, day, hour, minute, second, _) = date.to_ymd_hms_milli();
    let time = format!("{hour:02}:{minute:02}:{second:02}");
    // A time of day has no date, a span of time neither; both are no number of days.
    if date.is_duration() || date.as_f64() < 1.0 {
        return time;
    }
    let day = format!("{year:04}-{month:02}-{day:02}");
    if (hour, minute, second) == (0, 0, 0) {
        day
    } else {
        format!("{day} {time}")
    }
}

#[cfg(test)]
mod tests {
    use calamine::ExcelDateTimeType;

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
    }
}
