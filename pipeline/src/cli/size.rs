//! `caneplot size`: how many blocks, vines and seasons a planned trial needs.

use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

use clap::Args;
use serde_json::Value as Json;

use super::PluginArguments;
use super::check::print;
use super::plan::Simple;
use crate::diagnostic::{Diagnostic, Source};
use crate::plan::Plan;
use crate::size::{self, Question, earlier, text};
use crate::trial::resolve;

/// What `size` takes.
#[derive(Debug, Args)]
pub struct SizeArguments {
    /// A plan file; without it, --design, --factor, --blocks ... are the plan
    #[arg(value_name = "PLAN.toml", required_unless_present = "design")]
    plan: Option<PathBuf>,
    #[command(flatten)]
    simple: Simple,
    #[command(flatten)]
    spread: Spread,
    /// The difference that matters: 0.5, or "10 %" of the mean
    #[arg(long, value_name = "AMOUNT")]
    difference: Option<String>,
    /// Mean to expect; amounts in % are shares of it
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true)]
    mean: Option<f64>,
    /// Unit of the response
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// The response: its name in the earlier report, else any words
    #[arg(long, value_name = "NAME")]
    response: Option<String>,
    /// Share of the vines expected to be lost, as 0.05
    #[arg(long, value_name = "SHARE")]
    loss: Option<f64>,
    /// What a plot costs over the whole trial, its vines apart
    #[arg(long, value_name = "PRICE")]
    price_plot: Option<f64>,
    /// What a recorded vine costs over the whole trial
    #[arg(long, value_name = "PRICE")]
    price_vine: Option<f64>,
    /// The power that is wanted [default: 0.8]
    #[arg(long, value_name = "SHARE")]
    wanted: Option<f64>,
    /// Probability below which a difference counts as clear [default: 0.05]
    #[arg(long, value_name = "SHARE")]
    level: Option<f64>,
    /// Trials drawn where power has no formula [default: 2000]
    #[arg(long, value_name = "N")]
    draws: Option<u64>,
    /// Write the answer with figures and tables into this folder
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    #[command(flatten)]
    plugins: PluginArguments,
}

/// How much is expected to vary: standard deviations, as 0.4 or "8 %" of the mean.
#[derive(Debug, Args)]
struct Spread {
    /// Take what is not given below from the report of an earlier trial
    #[arg(long, value_name = "REPORT")]
    from: Option<PathBuf>,
    /// Between plots treated alike, lasting
    #[arg(long, value_name = "SD")]
    between_plots: Option<String>,
    /// Between vines of one plot, lasting
    #[arg(long, value_name = "SD")]
    between_vines: Option<String>,
    /// Of a plot from season to season
    #[arg(long, value_name = "SD")]
    within_seasons: Option<String>,
    /// Of a vine from season to season, beyond its plot
    #[arg(long, value_name = "SD")]
    vines_within_seasons: Option<String>,
    /// Added by whole plots (split plot designs)
    #[arg(long, value_name = "SD")]
    between_whole_plots: Option<String>,
    /// Added by sub plots (split-split plot)
    #[arg(long, value_name = "SD")]
    between_sub_plots: Option<String>,
    /// Added by row strips (strip plot)
    #[arg(long, value_name = "SD")]
    between_row_strips: Option<String>,
    /// Added by cross strips (strip plot)
    #[arg(long, value_name = "SD")]
    between_cross_strips: Option<String>,
    /// Of a treatment from season to season, the same on all plots
    #[arg(long, value_name = "SD")]
    treatments_by_season: Option<String>,
}

/// Prints the answer; exit status 1 where there is none.
#[allow(clippy::print_stdout, reason = "the answer is the command's output")]
#[must_use]
pub fn run(arguments: &SizeArguments) -> ExitCode {
    match answered(arguments) {
        Ok((answer, lacking)) => {
            print!("{answer}");
            if let Some(out) = &arguments.out {
                println!("\n{}", out.join("size.md").display());
            }
            for sentence in &lacking {
                eprintln!("error: {sentence}");
            }
            if lacking.is_empty() {
                ExitCode::SUCCESS
            } else {
                ExitCode::FAILURE
            }
        }
        Err(found) => {
            print(&found);
            ExitCode::FAILURE
        }
    }
}

fn answered(arguments: &SizeArguments) -> Result<(String, Vec<String>), Vec<Diagnostic>> {
    let source = match &arguments.plan {
        Some(path) => resolve::plan::source(path).map_err(|fault| vec![fault])?,
        None => Arc::new(Source {
            path: Path::new("the plan made from the options").to_owned(),
            text: arguments.simple.text(),
        }),
    };
    let plan = resolve::plan::read(source)?;
    let question = question(arguments, &plan).map_err(|fault| vec![*fault])?;
    let out = arguments.out.clone().unwrap_or_default();
    let settings = arguments.plugins.settings(out);
    let sized = size::sized(&plan, question, &settings)?;
    let undrawn = match &arguments.out {
        Some(place) => size::write(&sized, place, &settings).map_err(|fault| vec![fault])?,
        None => Vec::new(),
    };
    let lacking = undrawn.iter().map(|(stem, why)| format!("{stem}: {why}"));
    Ok((text::short(&sized), lacking.collect()))
}

/// What was typed, and what stands in the plan where nothing was.
fn question(arguments: &SizeArguments, plan: &Plan) -> Result<Question, Box<Diagnostic>> {
    let mut question = Question::default();
    for one in &plan.size {
        question
            .options
            .insert(one.name.to_owned(), one.value.clone());
        question
            .written
            .insert(one.name.to_owned(), plan.place(&one.span));
    }
    for (name, value) in typed(arguments) {
        question.written.remove(name);
        question.options.insert(name.to_owned(), value);
    }
    if let Some(report) = from(arguments, plan, &mut question) {
        let wanted = question.options.get("response").and_then(Json::as_str);
        let found = earlier::earlier(&report, wanted).map_err(Box::new)?;
        let label = caneplot_plugin::words::inside(&found.response.label);
        let options = &mut question.options;
        options.insert("earlier".to_owned(), found.text.into());
        options.insert("response".to_owned(), label.into());
        options
            .entry("unit")
            .or_insert_with(|| found.response.unit.into());
        question.inputs.push(found.input);
    }
    if !question.options.contains_key("difference") {
        return Err(Box::new(
            Diagnostic::error("size-difference", "the difference that matters is not given")
                .help("type --difference \"10 %\", or write difference = \"10 %\" under [size] of the plan"),
        ));
    }
    Ok(question)
}

/// The earlier report; one named in the plan lies where the plan says, seen from the plan's folder.
fn from(arguments: &SizeArguments, plan: &Plan, question: &mut Question) -> Option<PathBuf> {
    let written = question.options.remove("from");
    question.written.remove("from");
    let beside = plan.source.path.parent().unwrap_or(Path::new(""));
    let written = written.as_ref().and_then(Json::as_str);
    let typed = arguments.spread.from.clone();
    typed.or_else(|| written.map(|path| beside.join(path)))
}

/// The options that were typed, by the names of the analysis.
fn typed(arguments: &SizeArguments) -> Vec<(&'static str, Json)> {
    let spread = &arguments.spread;
    let texts = [
        ("response", &arguments.response),
        ("unit", &arguments.unit),
        ("difference", &arguments.difference),
        ("between_plots", &spread.between_plots),
        ("between_vines", &spread.between_vines),
        ("within_seasons", &spread.within_seasons),
        ("vines_within_seasons", &spread.vines_within_seasons),
        ("between_whole_plots", &spread.between_whole_plots),
        ("between_sub_plots", &spread.between_sub_plots),
        ("between_row_strips", &spread.between_row_strips),
        ("between_cross_strips", &spread.between_cross_strips),
        ("treatments_by_season", &spread.treatments_by_season),
    ];
    let numbers = [
        ("mean", arguments.mean),
        ("loss", arguments.loss),
        ("price_plot", arguments.price_plot),
        ("price_vine", arguments.price_vine),
        ("wanted", arguments.wanted),
        ("level", arguments.level),
    ];
    let texts = texts
        .into_iter()
        .filter_map(|(name, text)| Some((name, Json::from(text.clone()?))));
    let numbers = numbers
        .into_iter()
        .filter_map(|(name, number)| Some((name, Json::from(number?))));
    let draws = arguments.draws.map(|draws| ("draws", Json::from(draws)));
    texts.chain(numbers).chain(draws).collect()
}
