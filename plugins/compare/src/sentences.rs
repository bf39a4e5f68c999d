//! What was found, in sentences.

use caneplot_numerics::sites::{Moved, Summary};
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::sentence::Sentence;
use caneplot_plugin::words::{self, inside};

use crate::study::{Over, Pair, Study};

pub(crate) fn statements(study: &Study) -> Vec<Statement> {
    let mut found = if study.several() {
        several(study)
    } else {
        two(study)
    };
    let Some(first) = found.first_mut() else {
        return vec![beside_only(study)];
    };
    first.rank = Rank::Headline;
    found.extend(direction(study));
    found
}

impl Study<'_> {
    /// A number in the unit of the question.
    fn number(&self, sentence: Sentence, value: f64) -> Sentence {
        sentence.number_in(value, self.question.format, self.unit())
    }

    /// The unit as it is written behind numbers: shares are written in %, which is one already.
    fn unit(&self) -> &str {
        match self.question.format {
            Format::Percent(_) => "",
            _ => &self.question.unit,
        }
    }

    /// "(95 % interval 0.2 to 1.4 kg/vine)".
    fn interval(&self, sentence: Sentence, low: f64, high: f64) -> Sentence {
        let start = sentence
            .text(&format!(" ({} interval ", self.confidence()))
            .number(low, self.question.format)
            .text(" to ");
        self.number(start, high).text(")")
    }

    /// "in yield between 48 nodes/vine and 24 nodes/vine".
    fn between(&self, pair: &Pair) -> String {
        let treatments = &self.question.treatments;
        format!(
            "in {} between {} and {}",
            inside(&self.question.label),
            treatments[pair.of],
            treatments[pair.against]
        )
    }
}

/// Two trials: what moved from the first to the second.
fn two(study: &Study) -> Vec<Statement> {
    let (first, second) = (study.name(0), study.name(1));
    let known: Vec<(&Pair, &Moved)> = study
        .pairs
        .iter()
        .filter_map(|pair| Some((pair, pair.moved.as_ref()?)))
        .collect();
    let clear: Vec<_> = known
        .iter()
        .filter(|(_, moved)| moved.p < study.level)
        .collect();
    let mut found = Vec::new();
    for (pair, moved) in &clear {
        let start = Sentence::new(&format!("The difference {} moved by ", study.between(pair)));
        let sentence = study.interval(study.number(start, moved.value), moved.low, moved.high);
        let sentence = study.number(
            sentence.text(&format!(" from {first} to {second}: from ")),
            pair.seen[0].value,
        );
        found.push(
            study
                .number(sentence.text(" to "), pair.seen[1].value)
                .text(".")
                .statement(),
        );
    }
    if clear.is_empty() {
        let largest = known.iter().copied().reduce(|a, b| {
            let size = |moved: &Moved| (moved.value / moved.standard_error).abs();
            if size(b.1) > size(a.1) { b } else { a }
        });
        if let Some((pair, moved)) = largest {
            let start = match known.len() {
                1 => Sentence::new(&format!(
                    "The difference {} did not change clearly from {first} to {second}: it moved by ",
                    study.between(pair)
                )),
                _ => Sentence::new(&format!(
                    "No difference in {} changed clearly from {first} to {second}. The largest change for its error, between {} and {}, is ",
                    inside(&study.question.label),
                    study.question.treatments[pair.of],
                    study.question.treatments[pair.against]
                )),
            };
            let sentence = study.interval(study.number(start, moved.value), moved.low, moved.high);
            found.push(
                sentence
                    .text("; a change inside that interval may be there all the same.")
                    .statement(),
            );
        }
    }
    found
}

/// Where no difference can be judged; no main result.
fn beside_only(study: &Study) -> Statement {
    let without: Vec<&str> = (0..study.question.trials.len())
        .filter(|&trial| {
            let mut pairs = study.pairs.iter();
            pairs.all(|pair| pair.seen[trial].measured().is_none())
        })
        .map(|trial| study.name(trial))
        .collect();
    let (who, give) = match without.as_slice() {
        [] => ("each trial".to_owned(), "gives errors of other differences"),
        [one] => ((*one).to_owned(), "gives no error of a difference"),
        some => (words::list(some), "give no error of a difference"),
    };
    Sentence::new(&format!(
        "Differences in {} stand side by side only: {who} {give}, so nobody can say how much of a change is chance.",
        inside(&study.question.label)
    ))
    .statement()
}

/// How many differences point the same way in all trials.
fn direction(study: &Study) -> Option<Statement> {
    let same = |pair: &&Pair| {
        let up = pair.seen.iter().filter(|value| value.value > 0.0).count();
        let down = pair.seen.iter().filter(|value| value.value < 0.0).count();
        up == pair.seen.len() || down == pair.seen.len()
    };
    let count = study.pairs.iter().filter(same).count();
    let all = match study.question.trials.len() {
        2 => "both".to_owned(),
        n => format!("all {n}"),
    };
    let start = match study.pairs.len() {
        1 if count == 1 => {
            return Some(
                Sentence::new(&format!("The difference points the same way in {all}.")).statement(),
            );
        }
        1 => {
            return Some(
                Sentence::new(&format!(
                    "The difference does not point the same way in {all}."
                ))
                .statement(),
            );
        }
        _ => Sentence::new(""),
    };
    Some(
        start
            .number(count as f64, Format::Count)
            .text(" of ")
            .number(study.pairs.len() as f64, Format::Count)
            .text(&format!(" differences point the same way in {all}."))
            .statement(),
    )
}

/// Several trials: what holds over them, the surest difference first.
fn several(study: &Study) -> Vec<Statement> {
    let mut known: Vec<(&Pair, &Over)> = study
        .pairs
        .iter()
        .filter_map(|pair| Some((pair, pair.over.as_ref()?)))
        .collect();
    known.sort_by(|a, b| a.1.summary.p.total_cmp(&b.1.summary.p));
    let mut found = Vec::new();
    for (pair, over) in &known {
        found.push(average(study, pair, over));
    }
    for (pair, over) in &known {
        found.push(heterogeneity(study, pair, over));
    }
    found
}

fn average(study: &Study, pair: &Pair, over: &Over) -> Statement {
    let summary = &over.summary;
    let (trials, label) = (over.trials.len(), &study.question.label);
    let treatments = &study.question.treatments;
    let (of, against) = (&treatments[pair.of], &treatments[pair.against]);
    let start = match summary.p < study.level {
        true => format!(
            "Over {trials} trials {} {} ",
            inside(label),
            words::was(label)
        ),
        false => format!(
            "Over {trials} trials there is no clear difference {}: on average it was ",
            study.between(pair)
        ),
    };
    let sentence = study.number(Sentence::new(&start), summary.value.abs());
    let way = if summary.value < 0.0 {
        "lower"
    } else {
        "higher"
    };
    let sentence = match summary.p < study.level {
        true => sentence.text(&format!(" {way} with {of} than with {against}, on average")),
        false => sentence.text(&format!(" {way} with {of}")),
    };
    // The interval reads in the direction of the words before it.
    let (low, high) = match summary.value < 0.0 {
        true => (-summary.high, -summary.low),
        false => (summary.low, summary.high),
    };
    study.interval(sentence, low, high).text(".").statement()
}

fn heterogeneity(study: &Study, pair: &Pair, over: &Over) -> Statement {
    let Summary {
        between,
        share,
        q_p,
        expected,
        ..
    } = &over.summary;
    let treatments = &study.question.treatments;
    let start = Sentence::new(&format!(
        "From trial to trial the difference between {} and {} ",
        treatments[pair.of], treatments[pair.against]
    ));
    let sentence = if *between > 0.0 {
        study
            .number(
                start.text("varied with a standard deviation of "),
                between.sqrt(),
            )
            .text(" beyond the errors of the trials; ")
            .number(*share, Format::Percent(0))
            .text(" of their disagreement is more than those errors explain (")
            .number(*q_p, Format::Probability)
            .text(")")
    } else {
        start
            .text("varied no more than the errors of the trials let expect (")
            .number(*q_p, Format::Probability)
            .text(")")
    };
    let sentence = match expected {
        Some((low, high)) => study
            .number(
                sentence
                    .text(". At one more site like these it would be expected between ")
                    .number(*low, study.question.format)
                    .text(" and "),
                *high,
            )
            .text("."),
        None => sentence.text("."),
    };
    sentence.ranked(Rank::Detail)
}
