//! Changes of a trial file's text that leave the rest of it as it stands, comments and all.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The text without the tables of some names, header and all, up to the next header.
///
/// A text that is no TOML is returned as it is.
#[must_use]
pub fn without(text: &str, names: &[&str]) -> String {
    let Ok(root) = DeTable::parse(text) else {
        return text.to_owned();
    };
    let mut headers = Vec::new();
    for value in root.get_ref().values() {
        collect(value, text, &mut headers);
    }
    headers.sort_unstable();
    headers.dedup();
    let mut gone: Vec<Range<usize>> = Vec::new();
    for name in names {
        let mut own = Vec::new();
        if let Some(value) = root.get_ref().get(*name) {
            collect(value, text, &mut own);
        }
        for start in own {
            let next = headers.iter().find(|header| **header > start);
            gone.push(start..next.copied().unwrap_or(text.len()));
        }
    }
    gone.sort_by_key(|range| range.start);
    let (mut out, mut from) = (String::new(), 0);
    for range in gone {
        out.push_str(&text[from..range.start.max(from)]);
        from = range.end.max(from);
    }
    out.push_str(&text[from..]);
    out
}

/// Where the headers of a table, and of those inside it, begin.
fn collect(value: &Spanned<DeValue<'_>>, text: &str, headers: &mut Vec<usize>) {
    match value.get_ref() {
        DeValue::Table(table) => {
            let start = value.span().start;
            let line = text[..start].rfind('\n').map_or(0, |at| at + 1);
            let begins = text[line..start].trim().is_empty() && text[start..].starts_with('[');
            if begins {
                headers.push(start);
            }
            for value in table.values() {
                collect(value, text, headers);
            }
        }
        DeValue::Array(list) => {
            for value in list
                .iter()
                .filter(|it| matches!(it.get_ref(), DeValue::Table(_)))
            {
                collect(value, text, headers);
            }
        }
        _ => {}
    }
}

/// The text with other seasons; `None` where it has none to be changed.
#[must_use]
pub fn with_seasons(text: &str, seasons: &str) -> Option<String> {
    let root = DeTable::parse(text).ok()?;
    let DeValue::Table(trial) = root.get_ref().get("trial")?.get_ref() else {
        return None;
    };
    let span = trial.get("seasons")?.span();
    let quoted = |text: &str| toml::Value::String(text.trim().to_owned()).to_string();
    let written = match seasons.contains(',') {
        true => {
            let all: Vec<String> = seasons.split(',').map(quoted).collect();
            format!("[{}]", all.join(", "))
        }
        false => quoted(seasons),
    };
    Some(format!(
        "{}{written}{}",
        &text[..span.start],
        &text[span.end..]
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "# top\n[trial]\nseasons = \"2021-2024\" # four\n\n[[data]]\nfile = \"a.csv\"\nmissing = [\n  \"x\",\n]\n\n[[data]]\nfile = \"b.csv\"\n\n# kept\n[responses.yield]\nunit = \"kg/vine\"\n[rerun]\nof = \"t\"\n";

    #[test]
    fn tables_go_and_the_rest_stays() {
        let found = without(TEXT, &["data", "rerun"]);
        assert_eq!(
            found,
            "# top\n[trial]\nseasons = \"2021-2024\" # four\n\n[responses.yield]\nunit = \"kg/vine\"\n"
        );
        assert_eq!(without(TEXT, &["status"]), TEXT);
    }

    #[test]
    fn seasons_are_exchanged_in_their_place() {
        let span = with_seasons(TEXT, "2025-2028").unwrap();
        assert!(span.contains("seasons = \"2025-2028\" # four\n"), "{span}");
        let list = with_seasons(TEXT, "2024/25, 2025/26").unwrap();
        assert!(
            list.contains("seasons = [\"2024/25\", \"2025/26\"] # four"),
            "{list}"
        );
        assert_eq!(with_seasons("[trial]\n", "2025"), None);
    }
}
