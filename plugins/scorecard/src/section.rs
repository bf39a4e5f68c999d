//! The section of one factor of training systems.

use caneplot_plugin::findings::{Column, Format, Rank, Section, Statement, Table};
use caneplot_plugin::request::TrialInfo;
use caneplot_plugin::sentence::Sentence;
use caneplot_plugin::words::{beginning, id, inside, list, safe};

use crate::answers::{Answer, Differs, answer};
use crate::questions::questions;

/// One table, what it says in a sentence or two, and how to read it.
pub(crate) fn of(trial: &TrialInfo, factor: usize) -> Section {
    let asked = questions(trial, factor);
    let answers: Vec<Answer> = asked.iter().map(|one| answer(trial, factor, one)).collect();
    let about = &trial.factors[factor];
    Section {
        id: format!("systems-{}", id(&about.name)),
        title: format!("{} side by side", about.label),
        statements: statements(trial, factor, &answers),
        tables: vec![table(trial, factor, &answers)],
        notes: notes(),
        ..Section::default()
    }
}

fn statements(trial: &TrialInfo, factor: usize, answers: &[Answer]) -> Vec<Statement> {
    let mut asked: Vec<&str> = answers.iter().map(|one| one.asked).collect();
    asked.dedup();
    let answered = |asked: &&&str| {
        answers
            .iter()
            .any(|one| one.asked == **asked && one.answered)
    };
    let open: Vec<String> = asked
        .iter()
        .filter(|asked| !answered(asked))
        .map(|asked| inside(asked))
        .collect();
    let count = asked.len() - open.len();
    let mut headline = Sentence::new("Of ")
        .number(asked.len() as f64, Format::Count)
        .literal(&format!(
            " questions that growers ask of a {}, this trial answers ",
            inside(&trial.factors[factor].label)
        ))
        .number(count as f64, Format::Count);
    if !open.is_empty() {
        headline = headline.literal(&format!("; it has nothing on {}", list(&open)));
    }
    let mut all = vec![headline.text(".").ranked(Rank::Headline)];
    for (kind, start, end) in [
        (Differs::Clearly, "Systems differ clearly in", ""),
        (
            Differs::BySeason,
            "How systems differ in",
            " changed clearly with the season: read the tables by season",
        ),
        (Differs::Unclear, "No clear difference was found in", ""),
    ] {
        let names: Vec<String> = answers
            .iter()
            .filter(|one| one.differs == kind)
            .map(|one| inside(&one.by))
            .collect();
        if !names.is_empty() {
            let text = format!("{start} {}{end}.", list(&names));
            all.push(Sentence::default().literal(&text).statement());
        }
    }
    all
}

fn table(trial: &TrialInfo, factor: usize, answers: &[Answer]) -> Table {
    let about = &trial.factors[factor];
    let by = answers.iter().map(|one| match one.unit.as_str() {
        "" => one.by.clone(),
        unit => format!("{} ({unit})", one.by),
    });
    let mut columns = vec![
        Column::text("Question", answers.iter().map(|one| one.asked)),
        Column::text("Answered by", by),
    ];
    for (at, level) in about.levels.iter().enumerate() {
        let cells = answers.iter().map(|one| one.cells[at].clone());
        columns.push(Column::text(&level.label, cells));
    }
    let words = answers.iter().map(|one| match one.differs {
        Differs::Clearly => "clear",
        Differs::BySeason => "changes with the season",
        Differs::Unclear => "not clear",
        Differs::Untested => "",
    });
    columns.push(Column::text("Difference", words));
    Table {
        id: "scorecard".to_owned(),
        title: format!("What this trial says of each {}", inside(&about.label)),
        columns,
        notes: vec![
            "In brackets the interval of each value, at the confidence of its own analysis."
                .to_owned(),
        ],
        ..Table::default()
    }
}

fn notes() -> Vec<Statement> {
    let say = |text: &str| Sentence::new(text).ranked(Rank::Detail);
    vec![
        say(
            "There is no total and no rank: how much a tonne of crop is worth beside an hour of work, or a sure crop beside a large one, is for the grower to say.",
        ),
        say(
            "Whether two systems differ is not read off their intervals, which may overlap and the difference still be clear: the last column says what the test of all systems found.",
        ),
        say("An empty answer is no sign that a system is good or bad at it: nobody looked."),
        say(&beginning(&safe(
            "Row spacing and canopy are as declared; whether machines can pass was not tried.",
        ))),
    ]
}
