//! The bulletin as Markdown: its parts in their order.

use std::fmt::Write as _;

use super::edits::{PARTS, Part};
use super::story::Story;
use super::values::Values;
use super::{balance, closing, done, figures, money, table};
use crate::messages::Language;
use crate::write::markdown::escaped;

/// The bulletin as Markdown, with the figures that could be described.
#[must_use]
pub fn markdown(story: &Story, values: &Values, drawn: &[figures::Drawn]) -> String {
    let mut out = String::new();
    let title = title(story);
    let _ = writeln!(out, "# {}\n", escaped(title));
    if let Some(audience) = &story.edits.audience {
        let said = story
            .language
            .say("for-audience", &[("audience", audience.into())]);
        let _ = writeln!(out, "*{}*\n", escaped(&said));
    }
    for (name, part) in PARTS {
        if !story.edits.has(*part) {
            continue;
        }
        let mut text = body(story, *part, drawn);
        for sentence in story.edits.added(*part) {
            let _ = writeln!(text, "{}\n", escaped(&values.filled(&sentence.value)));
        }
        if !text.is_empty() {
            let heading = escaped(&heading(*part, story.language));
            let _ = write!(out, "## <a id=\"{name}\"></a>{heading}\n\n{text}");
        }
    }
    out.truncate(out.trim_end().len());
    out.push('\n');
    out
}

/// The title: the writer's, or that of the trial.
#[must_use]
pub fn title<'a>(story: &'a Story) -> &'a str {
    let own = story.edits.title.as_deref();
    own.unwrap_or(&story.report.trial.title)
}

fn heading(part: Part, language: &Language) -> String {
    match part {
        Part::Question => language.text("heading-question"),
        Part::Answer => language.text("heading-answer"),
        Part::Why => language.text("heading-why"),
        Part::Done => language.text("heading-done"),
        Part::Table => language.text("heading-table"),
        Part::Figures => language.text("heading-figures"),
        Part::Balance => language.text("heading-balance"),
        Part::Money => language.text("heading-money"),
        Part::Limits => language.text("heading-limits"),
        Part::Cautions => language.text("heading-cautions"),
        Part::Ask => language.text("heading-ask"),
        Part::Glossary => language.text("heading-glossary"),
    }
}

fn body(story: &Story, part: Part, drawn: &[figures::Drawn]) -> String {
    match part {
        Part::Question => {
            let own = story.edits.question.as_deref();
            paragraph(own.unwrap_or(&story.report.trial.question))
        }
        Part::Answer => answers(story),
        Part::Why => paragraph(&closing::why(story)),
        Part::Done => done::body(story),
        Part::Table => table::body(story),
        Part::Figures => figures::body(drawn),
        Part::Balance => balance::body(story),
        Part::Money => money::body(story),
        Part::Limits => closing::limits(story),
        Part::Cautions => closing::cautions(story),
        Part::Ask => closing::ask(story),
        Part::Glossary => closing::glossary(story),
    }
}

/// A paragraph; nothing for an empty text.
pub(super) fn paragraph(text: &str) -> String {
    if text.is_empty() {
        String::new()
    } else {
        format!("{}\n\n", escaped(text))
    }
}

/// A list; nothing where it is empty.
pub(super) fn list(lines: &[String]) -> String {
    let mut out = String::new();
    for line in lines {
        let _ = writeln!(out, "- {line}");
    }
    if !out.is_empty() {
        out.push('\n');
    }
    out
}

fn answers(story: &Story) -> String {
    let language = story.language;
    let mut out = String::new();
    for answer in story.answers() {
        let _ = writeln!(out, "**{}**\n", escaped(&answer.sentence(story)));
        let _ = writeln!(out, "{}\n", escaped(&answer.how_sure(story)));
        let others = answer.other_levels(story);
        let control = answer.difference.against;
        let factors = &answer.focus.factors;
        if !others.is_empty() {
            let lead = language.say(
                "also-levels",
                &[
                    (
                        "control",
                        story.treatment(factors, answer.topic.over, control).into(),
                    ),
                    ("what", (&answer.topic.what).into()),
                ],
            );
            out.push_str(&paragraph(&lead));
            let lines: Vec<String> = others
                .iter()
                .map(|line| escaped(&format!("{line}.")))
                .collect();
            out.push_str(&list(&lines));
        }
        let also = answer.also(story);
        if !also.is_empty() {
            let (treatment, _) = answer.treatments(story);
            let lead = language.say(
                "also-lead",
                &[
                    (
                        "control",
                        story.treatment(factors, answer.topic.over, control).into(),
                    ),
                    ("treatment", treatment.into()),
                ],
            );
            out.push_str(&paragraph(&lead));
            let lines: Vec<String> = also
                .iter()
                .map(|(name, phrase)| {
                    let name = format!("**{}**", escaped(name));
                    language.say(
                        "also-line",
                        &[("name", name.into()), ("phrase", escaped(phrase).into())],
                    )
                })
                .collect();
            out.push_str(&list(&lines));
        }
    }
    if story.focuses.len() > 1 || story.depends == Some(true) {
        let labels: Vec<String> = story
            .report
            .trial
            .factors
            .iter()
            .map(|factor| done::factor_name(story, factor))
            .collect();
        let factors = language.list(&labels);
        let note = match story.depends {
            Some(true) => language.say("interaction-note", &[("factors", factors.into())]),
            Some(false) => language.say("no-interaction-note", &[("factors", factors.into())]),
            None => String::new(),
        };
        out.push_str(&paragraph(&note));
    }
    if out.is_empty() {
        out.push_str(&paragraph(&language.text("answer-none")));
    }
    out
}
