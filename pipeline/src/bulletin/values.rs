//! Numbers the writer may call by name in an added sentence: `{yield.difference}`.

use std::collections::BTreeMap;

use super::story::{Focus, Story};
use super::topic::Topic;
use super::verdict::{leading, least_seen};

/// Values by their names, written out with their units.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Values(BTreeMap<String, String>);

impl Values {
    /// All values of a story.
    #[must_use]
    pub fn new(story: &Story) -> Self {
        let mut values = Values::default();
        let trial = &story.report.trial;
        values.add("trial.title", super::page::title(story).to_owned());
        values.add("trial.seasons", story.seasons().to_string());
        if let (Some(first), Some(last)) = (trial.seasons.first(), trial.seasons.last()) {
            values.add("trial.first_season", first.clone());
            values.add("trial.last_season", last.clone());
        }
        if story.field.plots > 0 {
            values.add("trial.plots", story.field.plots.to_string());
        }
        for focus in &story.focuses {
            for topic in &focus.topics {
                values.of_topic(story, focus, topic);
            }
        }
        values
    }

    /// The first that asks for a name has it: later focuses are called by their factors too.
    fn add(&mut self, name: &str, value: String) {
        self.0.entry(name.to_owned()).or_insert(value);
    }

    fn of_topic(&mut self, story: &Story, focus: &Focus, topic: &Topic) {
        let (shown, language, of) = (&topic.shown, story.language, topic.over);
        let factors: Vec<&str> = focus.factors.iter().map(|one| one.name.as_str()).collect();
        // "yield", and "yield.nodes" where there are several factors.
        for stem in [
            topic.name.to_owned(),
            format!("{}.{}", topic.name, factors.join("+")),
        ] {
            if let Some(one) = leading(of, story.band(topic.name)) {
                let compared = (
                    story.treatment(&focus.factors, of, one.of),
                    story.other_treatment(&focus.factors, of, one.against),
                );
                self.add(
                    &format!("{stem}.difference"),
                    shown.size(one.value, language),
                );
                self.add(
                    &format!("{stem}.range"),
                    shown.bounds(one.low, one.high, language),
                );
                self.add(&format!("{stem}.treatment"), compared.0);
                self.add(&format!("{stem}.control"), compared.1);
            }
            if let Some(least) = least_seen(of) {
                self.add(&format!("{stem}.least"), shown.size(least, language));
            }
        }
        for treatment in &of.treatments {
            let level = treatment.levels.join("+");
            let name = format!("{}.{level}", topic.name);
            self.add(&name, shown.amount(treatment.value, language));
        }
        for year in &topic.years {
            let Some(season) = &year.season else { continue };
            for treatment in &year.treatments {
                let level = treatment.levels.join("+");
                let name = format!("{}.{level}.{season}", topic.name);
                self.add(&name, shown.amount(treatment.value, language));
            }
        }
    }

    /// The value of a name.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&str> {
        self.0.get(name).map(String::as_str)
    }

    /// Names and values in the order of the names.
    pub fn all(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0
            .iter()
            .map(|(name, value)| (name.as_str(), value.as_str()))
    }

    /// A sentence with its values; a name there is no value for stays as it is.
    #[must_use]
    pub fn filled(&self, sentence: &str) -> String {
        let mut out = String::new();
        let mut rest = sentence;
        while let Some((before, after)) = rest.split_once('{') {
            out.push_str(before);
            let Some((name, tail)) = after.split_once('}') else {
                out.push('{');
                rest = after;
                continue;
            };
            match self.get(name.trim()) {
                Some(value) => out.push_str(value),
                None => out.push_str(&format!("{{{name}}}")),
            }
            rest = tail;
        }
        out.push_str(rest);
        out
    }
}

/// Names in braces in a sentence, each with the bytes it stands at.
#[must_use]
pub fn named(sentence: &str) -> Vec<(&str, std::ops::Range<usize>)> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(open) = sentence[at..].find('{').map(|offset| at + offset) {
        let Some(close) = sentence[open..].find('}').map(|offset| open + offset) else {
            break;
        };
        found.push((sentence[open + 1..close].trim(), open..close + 1));
        at = close + 1;
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_in_braces_are_filled() {
        let mut values = Values::default();
        values.add("yield.difference", "1.2 t/ha".to_owned());
        values.add("yield.difference", "a later one".to_owned());
        assert_eq!(
            values.filled("That is { yield.difference } more {sic}."),
            "That is 1.2 t/ha more {sic}."
        );
        let names: Vec<&str> = named("{a} and { b } {c")
            .into_iter()
            .map(|one| one.0)
            .collect();
        assert_eq!(names, ["a", "b"]);
    }
}
