//! The answer: one sentence with a number and its likely range, how sure it is, and what else was
//! found beside it.

use caneplot_plugin::estimates::{Difference, Estimates};

use super::story::{Focus, Story};
use super::topic::Topic;
use super::verdict::{Verdict, changes_with_season, leading, verdict};
use crate::messages::Said;

/// What may be said of one thing measured.
#[derive(Debug)]
pub struct Answer<'a> {
    /// The factors it is about.
    pub focus: &'a Focus<'a>,
    /// What was measured.
    pub topic: &'a Topic<'a>,
    /// The difference it is about.
    pub difference: &'a Difference,
    /// What may be said of it.
    pub verdict: Verdict,
    /// The same difference in each season, where it changed with the season; else empty.
    pub years: Vec<(&'a str, &'a Difference, Verdict)>,
}

/// The answer for one thing measured, about its leading difference.
#[must_use]
pub fn answer<'a>(story: &Story, focus: &'a Focus<'a>, topic: &'a Topic<'a>) -> Option<Answer<'a>> {
    let difference = leading(topic.over, story.band(topic.name))?;
    Some(about(story, focus, topic, difference))
}

/// The answer for one thing measured, about a difference of its own.
fn about<'a>(
    story: &Story,
    focus: &'a Focus<'a>,
    topic: &'a Topic<'a>,
    difference: &'a Difference,
) -> Answer<'a> {
    let band = story.band(topic.name);
    let years = match changes_with_season(topic.over) {
        true => in_years(topic, difference)
            .into_iter()
            .map(|(year, of, found)| (year, found, verdict(of, found, band)))
            .collect(),
        false => Vec::new(),
    };
    Answer {
        focus,
        topic,
        difference,
        verdict: verdict(topic.over, difference, band),
        years,
    }
}

/// A difference in each season.
fn in_years<'a>(
    topic: &Topic<'a>,
    difference: &Difference,
) -> Vec<(&'a str, &'a Estimates, &'a Difference)> {
    let levels = |of: &'a Estimates, at: usize| of.treatments.get(at).map(|one| &one.levels);
    let wanted = (
        levels(topic.over, difference.of),
        levels(topic.over, difference.against),
    );
    let found = topic.years.iter().filter_map(|of| {
        let same = |one: &&Difference| (levels(of, one.of), levels(of, one.against)) == wanted;
        Some((
            of.season.as_deref()?,
            *of,
            of.differences.iter().find(same)?,
        ))
    });
    found.collect()
}

impl Answer<'_> {
    /// The treatments compared, in words.
    #[must_use]
    pub fn treatments(&self, story: &Story) -> (String, String) {
        let (factors, of) = (&self.focus.factors, self.topic.over);
        (
            story.treatment(factors, of, self.difference.of),
            story.other_treatment(factors, of, self.difference.against),
        )
    }

    /// Whether every season shows a clear difference in the same direction.
    fn same_in_all_years(&self) -> bool {
        let more = self.difference.value > 0.0;
        let alike = |(_, one, verdict): &(&str, &Difference, Verdict)| {
            verdict.is_clear() && (one.value > 0.0) == more
        };
        self.years.len() > 1 && self.years.iter().all(alike)
    }

    /// The answer in one sentence.
    #[must_use]
    pub fn sentence(&self, story: &Story) -> String {
        let (language, shown) = (story.language, &self.topic.shown);
        let (treatment, control) = self.treatments(story);
        let mut values: Vec<(&str, Said)> = vec![
            ("what", (&self.topic.what).into()),
            ("treatment", treatment.into()),
            ("control", control.into()),
            ("direction", direction(self.difference.value).into()),
            (
                "longer",
                if self.topic.is_time { "yes" } else { "no" }.into(),
            ),
        ];
        let size = |one: &Difference| -> Said { shown.size(one.value, language).into() };
        let sizes = |one: &Difference| -> Said { shown.sizes(one.low, one.high, language).into() };
        if self.same_in_all_years() {
            let by_size = |a: &&(&str, &Difference, Verdict), b: &&(&str, &Difference, Verdict)| {
                a.1.value.abs().total_cmp(&b.1.value.abs())
            };
            if let (Some(least), Some(most)) = (
                self.years.iter().min_by(by_size),
                self.years.iter().max_by(by_size),
            ) {
                values.extend([
                    ("n", self.years.len().into()),
                    ("least", size(least.1)),
                    ("leastyear", least.0.into()),
                    ("leastrange", sizes(least.1)),
                    ("most", size(most.1)),
                    ("mostyear", most.0.into()),
                    ("mostrange", sizes(most.1)),
                ]);
                return language.say("answer-years-all", &values);
            }
        }
        if self.years.len() > 1 {
            values.push(("years", self.in_years(story).into()));
            return language.say("answer-years-mixed", &values);
        }
        let when = match story.report.trial.seasons.len() {
            0 => language.text("season-single"),
            n => language.say("season-average", &[("n", n.into())]),
        };
        values.extend([
            ("when", when.into()),
            ("amount", size(self.difference)),
            ("range", sizes(self.difference)),
            ("bounds", self.bounds(story)),
        ]);
        match self.verdict {
            Verdict::Strong | Verdict::Clear => language.say("answer-clear", &values),
            Verdict::Hint => language.say("answer-hint", &values),
            Verdict::Unclear => language.say("answer-unclear", &values),
            Verdict::Same => {
                values.push(("band", story.band_words(self.topic).into()));
                language.say("answer-same", &values)
            }
        }
    }

    fn bounds(&self, story: &Story) -> Said {
        let (low, high) = (self.difference.low, self.difference.high);
        self.topic.shown.bounds(low, high, story.language).into()
    }

    /// Each season's difference, as a list.
    fn in_years(&self, story: &Story) -> String {
        let (language, shown) = (story.language, &self.topic.shown);
        let one = |(year, one, verdict): &(&str, &Difference, Verdict)| {
            let values: [(&str, Said); 5] = [
                ("year", (*year).into()),
                ("direction", direction(one.value).into()),
                ("amount", shown.size(one.value, language).into()),
                ("range", shown.sizes(one.low, one.high, language).into()),
                ("bounds", shown.bounds(one.low, one.high, language).into()),
            ];
            match verdict.is_clear() {
                true => language.say("year-clear", &values),
                false => language.say("year-unclear", &values),
            }
        };
        let phrases: Vec<String> = self.years.iter().map(one).collect();
        language.list(&phrases)
    }

    /// How sure it is, in one sentence.
    #[must_use]
    pub fn how_sure(&self, story: &Story) -> String {
        let language = story.language;
        if self.years.len() > 1 {
            return language.text("sure-years");
        }
        match self.verdict {
            Verdict::Strong => language.text("sure-strong"),
            Verdict::Clear => language.text("sure-clear"),
            Verdict::Hint => language.text("sure-hint"),
            Verdict::Unclear => language.text("sure-unclear"),
            Verdict::Same => language.text("sure-same"),
        }
    }

    /// The other treatments beside the control, one phrase each; none where there is no control.
    #[must_use]
    pub fn other_levels(&self, story: &Story) -> Vec<String> {
        let of = self.topic.over;
        if story.control(&self.focus.factors, of).is_none() {
            return Vec::new();
        }
        let others = of
            .differences
            .iter()
            .filter(|one| (one.of, one.against) != (self.difference.of, self.difference.against));
        others
            .map(|one| about(story, self.focus, self.topic, one).phrase(story, true))
            .collect()
    }

    /// What else was measured on the same two treatments, one phrase each with its name before it.
    #[must_use]
    pub fn also(&self, story: &Story) -> Vec<(String, String)> {
        let levels =
            |of: &Estimates, at: usize| of.treatments.get(at).map(|one| one.levels.clone());
        let wanted = (
            levels(self.topic.over, self.difference.of),
            levels(self.topic.over, self.difference.against),
        );
        let others = self
            .focus
            .topics
            .iter()
            .filter(|one| one.name != self.topic.name);
        others
            .filter_map(|topic| {
                let of = topic.over;
                let same =
                    |one: &&Difference| (levels(of, one.of), levels(of, one.against)) == wanted;
                let difference = of.differences.iter().find(same)?;
                let found = about(story, self.focus, topic, difference);
                Some((topic.heading.clone(), found.phrase(story, false)))
            })
            .collect()
    }

    /// The answer as a phrase in a list under a sentence that names what is missing here: the
    /// control, and the treatment where it is not named.
    fn phrase(&self, story: &Story, named: bool) -> String {
        let (language, shown) = (story.language, &self.topic.shown);
        let (treatment, _) = self.treatments(story);
        if self.years.len() > 1 {
            let values = self.years.iter().map(|(_, one, _)| one.value);
            let low = values.clone().fold(f64::INFINITY, f64::min);
            let high = values.fold(f64::NEG_INFINITY, f64::max);
            let bounds = shown.bounds(low, high, language);
            let said: [(&str, Said); 2] =
                [("treatment", treatment.into()), ("bounds", bounds.into())];
            return match (self.same_in_all_years(), named) {
                (true, true) => language.say("level-years", &said),
                (true, false) => language.say("also-years", &said),
                (false, true) => language.say("level-years-unclear", &said),
                (false, false) => language.say("also-years-unclear", &said),
            };
        }
        let one = self.difference;
        let values: [(&str, Said); 5] = [
            ("treatment", treatment.into()),
            ("direction", direction(one.value).into()),
            ("amount", shown.size(one.value, language).into()),
            ("range", shown.sizes(one.low, one.high, language).into()),
            ("bounds", self.bounds(story)),
        ];
        match (self.verdict, named) {
            (Verdict::Strong | Verdict::Clear, true) => language.say("level-clear", &values),
            (Verdict::Strong | Verdict::Clear, false) => language.say("also-clear", &values),
            (Verdict::Hint | Verdict::Unclear, true) => language.say("level-unclear", &values),
            (Verdict::Hint | Verdict::Unclear, false) => language.say("also-unclear", &values),
            (Verdict::Same, true) => language.say("level-same", &values),
            (Verdict::Same, false) => language.say("also-same", &values),
        }
    }
}

fn direction(value: f64) -> &'static str {
    if value < 0.0 { "less" } else { "more" }
}

impl Story<'_> {
    /// The band that counts as no difference, in words.
    fn band_words(&self, topic: &Topic) -> String {
        match self.band(topic.name) {
            Some(super::edits::Band::Share(share)) => {
                let percent = self.language.text("unit-percent");
                format!("{} {percent}", self.language.number(share * 100.0, 0))
            }
            Some(super::edits::Band::Amount(amount)) => topic.shown.size(*amount, self.language),
            None => String::new(),
        }
    }
}
