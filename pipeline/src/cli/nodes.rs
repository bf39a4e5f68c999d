//! `caneplot nodes`: how many nodes to leave on a vine, by its prunings or after a hard winter.

use std::path::PathBuf;
use std::process::ExitCode;

use caneplot_plugin::balanced::{Light, PruningRule};
use clap::{Args, Subcommand};

use super::check::print;
use crate::balanced::{Line, LineError, kilograms};
use crate::diagnostic::Diagnostic;
use crate::nodes::sample::{Sample, read, total};
use crate::nodes::winter::{RULES, exact};
use crate::nodes::{columns, whole};
use crate::trial::light_of;

/// What `nodes` takes.
#[derive(Debug, Args)]
pub struct NodesArguments {
    #[command(subcommand)]
    question: Question,
}

#[derive(Debug, Subcommand)]
enum Question {
    /// By a rule of balanced pruning, from the weight of a vine's prunings
    Prunings(PruningsArguments),
    /// After buds died in winter: every published rule, and the exact sum, side by side
    Winter(WinterArguments),
}

#[derive(Debug, Args)]
struct PruningsArguments {
    /// The rule: "30 + 10 per lb" (30 nodes for the first pound, 10 for each further one), "20 + 20 per 0.5 kg", "44 per kg"
    #[arg(long, value_name = "RULE")]
    rule: String,
    /// A vine with less than one unit of prunings: "as one unit", "in proportion", "on the line", or a number of nodes; a rule of two numbers needs it for such vines
    #[arg(long, value_name = "HOW")]
    light: Option<String>,
    /// Fewest nodes left on any vine
    #[arg(long, value_name = "NODES")]
    least: Option<f64>,
    /// Most nodes left on any vine
    #[arg(long, value_name = "NODES")]
    most: Option<f64>,
    /// Prunings of vines with their unit: 2.5lb, 900g, "1.2 kg"
    #[arg(required = true, value_name = "PRUNINGS")]
    prunings: Vec<String>,
}

#[derive(Debug, Args)]
#[command(group(clap::ArgGroup::new("buds").required(true).args(["cut", "counts"])))]
struct WinterArguments {
    /// Live nodes meant on a vine
    #[arg(long, value_name = "NODES", value_parser = clap::value_parser!(u32).range(1..=1000))]
    target: u32,
    /// Buds cut open
    #[arg(long, value_name = "BUDS", requires = "dead")]
    cut: Option<u32>,
    /// Primary buds among them found dead
    #[arg(long, value_name = "BUDS", requires = "cut")]
    dead: Option<u32>,
    /// Secondary buds among them found dead
    #[arg(long, value_name = "BUDS", requires = "cut")]
    secondary_dead: Option<u32>,
    /// A file of samples with the columns buds_cut and primary_dead, perhaps secondary_dead; other columns name the sample
    #[arg(long, value_name = "CSV")]
    counts: Option<PathBuf>,
}

/// Answers the question.
#[allow(clippy::print_stdout, reason = "the numbers are the command's answer")]
#[must_use]
pub fn run(arguments: &NodesArguments) -> ExitCode {
    let answer = match &arguments.question {
        Question::Prunings(arguments) => by_prunings(arguments),
        Question::Winter(arguments) => after_winter(arguments),
    };
    match answer {
        Ok(text) => {
            print!("{text}");
            ExitCode::SUCCESS
        }
        Err(faults) => {
            print(&faults);
            ExitCode::FAILURE
        }
    }
}

fn by_prunings(arguments: &PruningsArguments) -> Result<String, Vec<Diagnostic>> {
    let fault =
        |fault: LineError| vec![Diagnostic::error("rule", fault.to_string()).help(fault.help())];
    let line = Line::parse(&arguments.rule).map_err(fault)?;
    let (is_ratio, light) = (line.is_ratio, light(arguments.light.as_deref())?);
    if let (Some(least), Some(most)) = (arguments.least, arguments.most)
        && least > most
    {
        let words = format!("at least {least} nodes and at most {most}");
        return Err(vec![
            Diagnostic::error("rule", words).help("--least is the smaller number"),
        ]);
    }
    let rule = line.rule(
        light.unwrap_or(Light::InProportion),
        arguments.least,
        arguments.most,
    );
    let mut rows = vec![
        ["prunings", "kg", "by the rule", "nodes to leave"]
            .map(str::to_owned)
            .to_vec(),
    ];
    for written in &arguments.prunings {
        let weight = kilograms(written).map_err(fault)?;
        if light.is_none() && !is_ratio && rule.is_light(weight) {
            return Err(vec![
                Diagnostic::error(
                    "rule",
                    format!("{written} is less than one unit of '{}', and rules differ in what such a vine gets", rule.words),
                )
                .help("add --light \"as one unit\", \"in proportion\" or \"on the line\", or a number of nodes"),
            ]);
        }
        let nodes = rule.nodes(weight);
        rows.push(vec![
            written.trim().to_owned(),
            format!("{weight:.3}"),
            format!("{nodes:.1}"),
            format!("{:.0}", nodes.round()),
        ]);
    }
    let said = is_ratio || light.is_some();
    Ok(format!(
        "{}\n\n{}\nWeigh one-year-old wood only, of the vine itself. The rule suits the varieties and the \
         climate it was\nmade in: ask the local advisory service for yours.\n",
        described(&rule, said),
        columns(&rows, &[false, true, true, true])
    ))
}

/// The rule in full.
fn described(rule: &PruningRule, light_is_said: bool) -> String {
    let mut text = format!("Rule: {}", rule.words);
    if light_is_said {
        text.push_str(&format!("; less than one unit gets {}", rule.light_words()));
    }
    for (words, nodes) in [("at least", rule.least), ("at most", rule.most)] {
        if let Some(nodes) = nodes {
            text.push_str(&format!("; {words} {nodes}"));
        }
    }
    text
}

fn light(written: Option<&str>) -> Result<Option<Light>, Vec<Diagnostic>> {
    let Some(written) = written else {
        return Ok(None);
    };
    let number = written
        .trim()
        .parse::<f64>()
        .ok()
        .filter(|nodes| (0.0..=1000.0).contains(nodes));
    number.map(Light::Nodes).or_else(|| light_of(written)).map(Some).ok_or_else(|| {
        vec![
            Diagnostic::error("rule", format!("'{written}' does not say what a small vine gets"))
                .help("write \"as one unit\", \"in proportion\" or \"on the line\", or a number of nodes"),
        ]
    })
}

fn after_winter(arguments: &WinterArguments) -> Result<String, Vec<Diagnostic>> {
    let samples = match (&arguments.counts, arguments.cut, arguments.dead) {
        (Some(path), ..) => read(path)?,
        (None, Some(cut), Some(primary_dead)) => {
            vec![Sample {
                name: String::new(),
                cut,
                primary_dead,
                secondary_dead: arguments.secondary_dead,
            }]
        }
        // The command line is not understood without one or the other.
        (None, ..) => Vec::new(),
    };
    if let Some(wrong) = samples.iter().find(|sample| !sample.is_possible()) {
        let words = format!(
            "of {} buds cut, {} cannot be dead",
            wrong.cut,
            wrong.primary_dead.max(wrong.secondary_dead.unwrap_or(0))
        );
        return Err(vec![Diagnostic::error("bud-sample", words).help(
            "at least one bud is cut, and no more are dead than were cut",
        )]);
    }
    let target = f64::from(arguments.target);
    let mut text = String::new();
    for sample in samples
        .iter()
        .chain(total(&samples).filter(|_| samples.len() > 1).iter())
    {
        text.push_str(&sample_text(sample, target));
        text.push('\n');
    }
    text.push_str(&cautions());
    Ok(text)
}

fn sample_text(sample: &Sample, target: f64) -> String {
    let name = if sample.name.is_empty() {
        String::new()
    } else {
        format!("{}: ", sample.name)
    };
    let killed = sample.killed();
    let mut text = format!(
        "{name}{} of {} primary buds dead, {:.1} % killed; {target} live nodes meant\n",
        sample.primary_dead,
        sample.cut,
        killed * 100.0
    );
    if let Some(dead) = sample.secondary_dead {
        text.push_str(&format!(
            "Secondary buds: {dead} of {} dead ({:.1} %).\n",
            sample.cut,
            100.0 * f64::from(dead) / f64::from(sample.cut)
        ));
    }
    let mut rows = vec![
        ["rule", "says", "nodes to leave"]
            .map(str::to_owned)
            .to_vec(),
    ];
    let number =
        |nodes: Option<f64>| nodes.map_or("no number".to_owned(), |nodes| format!("{nodes:.0}"));
    rows.push(vec![
        "exact, N / (1 - p)".to_owned(),
        "as many as leave the number meant alive".to_owned(),
        number(exact(target, killed).map(whole)),
    ]);
    for rule in RULES {
        let answers = rule.answers(target, killed);
        if answers.is_empty() {
            rows.push(vec![
                rule.name.to_owned(),
                "nothing for this kill".to_owned(),
                number(None),
            ]);
        }
        for answer in answers {
            rows.push(vec![
                rule.name.to_owned(),
                answer.says,
                number(answer.nodes),
            ]);
        }
    }
    text + &columns(&rows, &[false, false, true])
}

fn cautions() -> String {
    let mut text =
        "The rules disagree: they are printed as they are, and none is chosen here.\n".to_owned();
    for rule in RULES {
        text.push_str(&format!("- {}: {}", rule.name, rule.source));
        text.push_str(
            &rule
                .open
                .map_or(".\n".to_owned(), |open| format!("; {open}.\n")),
        );
    }
    text.push_str(
        "Before you prune:\n\
         - Cut buds after the last hard frost of the winter, 50 to 100 of each variety and site: a later frost kills more. The share of a sample is taken as it is; how far it may be from that of the vineyard is not reckoned here.\n\
         - The sums take a node with a dead primary bud as lost. Secondary buds may be alive and bear some fruit, on many hybrids much, on most vinifera little.\n\
         - They take the nodes left as dying like those cut, and say nothing of trunks and canes that are hurt.\n\
         - Where many are dead, leave more and finish after bud break. Ask the local advisory service.\n",
    );
    text
}
