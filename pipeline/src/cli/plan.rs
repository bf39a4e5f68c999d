//! `caneplot plan`: from a plan to a laid-out trial folder that waits for its records.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

use clap::Args;

use super::check::print;
use crate::diagnostic::{Diagnostic, Source};
use crate::plan::{self, Layout};

/// What `plan` takes.
#[derive(Debug, Args)]
pub struct PlanArguments {
    /// A plan file; without it, the options below are the plan
    #[arg(value_name = "PLAN.toml", required_unless_present = "design")]
    plan: Option<PathBuf>,
    /// The trial folder to make; it must not be there yet
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
    #[command(flatten)]
    simple: Simple,
}

/// A plan without a file: no field is described, so that rows and positions are made up.
#[derive(Debug, Args)]
#[group(conflicts_with = "plan", multiple = true)]
pub(super) struct Simple {
    /// Kind of design: "randomised block", "completely randomised", "Latin square", "split plot", ...
    #[arg(long, value_name = "KIND")]
    design: Option<String>,
    /// A factor with its levels: "nodes=12,24,36,48", "system(whole plot)=HT,SC"; may be given again
    #[arg(long = "factor", value_name = "NAME=LEVELS", requires = "design")]
    factors: Vec<String>,
    /// Blocks, or plots of each treatment in a completely randomised design
    #[arg(long, value_name = "N", requires = "design")]
    blocks: Option<u32>,
    /// Vines recorded in a plot
    #[arg(long, value_name = "N", requires = "design")]
    vines: Option<u32>,
    /// Buffer vines at each end of a plot
    #[arg(long, value_name = "N", requires = "design")]
    buffers: Option<u32>,
    /// Seasons, as in 2027-2030
    #[arg(long, value_name = "SEASONS", requires = "design")]
    seasons: Option<String>,
    /// Seed of the layout
    #[arg(long, value_name = "N", requires = "design")]
    seed: Option<u64>,
    /// Title of the trial
    #[arg(long, value_name = "TEXT", requires = "design")]
    title: Option<String>,
    /// The question it is to answer
    #[arg(long, value_name = "TEXT", requires = "design")]
    question: Option<String>,
    /// Keep the same treatment from standing side by side in neighbouring blocks
    #[arg(long, requires = "design")]
    apart: bool,
}

/// Lays the trial out and writes its folder; exit status 1 where the plan or the place is refused.
#[allow(
    clippy::print_stdout,
    reason = "the place of the folder is the command's answer"
)]
#[must_use]
pub fn run(arguments: &PlanArguments) -> ExitCode {
    match made(arguments) {
        Ok(layout) => {
            print(&layout.cautions);
            println!(
                "{}: {} plots laid out with the seed {}; read {} before the first post is driven",
                arguments.out.display(),
                layout.plots.len(),
                layout.plan.seed,
                arguments.out.join("README.md").display()
            );
            ExitCode::SUCCESS
        }
        Err(found) => {
            print(&found);
            eprintln!("nothing was written");
            ExitCode::FAILURE
        }
    }
}

fn made(arguments: &PlanArguments) -> Result<Layout, Vec<Diagnostic>> {
    let layout = match &arguments.plan {
        Some(path) => plan::laid_out(path)?,
        None => plan::laid_out_from(Arc::new(Source {
            path: Path::new("the plan made from the options").to_owned(),
            text: arguments.simple.text(),
        }))?,
    };
    plan::folder::write(&layout, &arguments.out).map_err(|fault| vec![fault])?;
    Ok(layout)
}

impl Simple {
    /// The options as a plan file.
    pub(super) fn text(&self) -> String {
        let quoted = |text: &str| toml::Value::String(text.to_owned()).to_string();
        let kind = self.design.as_deref().unwrap_or_default();
        let names: Vec<&str> = self
            .factors
            .iter()
            .map(|factor| Part::of(factor).name)
            .collect();
        let names = names.join(" and ");
        let title = self
            .title
            .clone()
            .unwrap_or_else(|| format!("{names}, {kind}"));
        let question = self.question.clone();
        let question = question
            .unwrap_or_else(|| format!("What does {names} do to the vines and their crop?"));
        let mut out = format!(
            "[trial]\ntitle = {}\nquestion = {}\n",
            quoted(&title),
            quoted(&question)
        );
        // Writing to a string cannot fail.
        if let Some(seasons) = &self.seasons {
            let _ = writeln!(out, "seasons = {}", quoted(seasons));
        }
        if let Some(seed) = self.seed {
            let _ = writeln!(out, "seed = {seed}");
        }
        let _ = write!(out, "\n[design]\nkind = {}\n", quoted(kind));
        let free = kind.to_lowercase().starts_with("completely");
        let blocks = if free { "replicates" } else { "blocks" };
        for (key, number) in [
            (blocks, self.blocks),
            ("vines", self.vines),
            ("buffers", self.buffers),
        ] {
            if let Some(number) = number {
                let _ = writeln!(out, "{key} = {number}");
            }
        }
        if self.apart {
            out.push_str("apart = true\n");
        }
        let digit = |letter: char| letter.is_ascii_digit();
        for factor in &self.factors {
            let part = Part::of(factor);
            let _ = write!(out, "\n[factors.{}]\n", part.key());
            if let Some(role) = part.role {
                let _ = writeln!(out, "role = {}", quoted(role));
            }
            let levels: Vec<String> = part
                .levels
                .split(',')
                .map(str::trim)
                .filter(|level| !level.is_empty())
                .map(|level| match level.parse::<f64>() {
                    // As TOML writes numbers: with a digit at both ends.
                    Ok(_)
                        if level.ends_with(digit)
                            && level.trim_start_matches(['-', '+']).starts_with(digit) =>
                    {
                        level.to_owned()
                    }
                    _ => quoted(level),
                })
                .collect();
            let _ = writeln!(out, "levels = [{}]", levels.join(", "));
        }
        out
    }
}

/// A factor as it is typed: NAME=LEVELS or NAME(ROLE)=LEVELS.
struct Part<'a> {
    name: &'a str,
    role: Option<&'a str>,
    levels: &'a str,
}

impl<'a> Part<'a> {
    fn of(typed: &'a str) -> Self {
        let (head, levels) = typed.split_once('=').unwrap_or((typed, ""));
        let (name, role) = match head.trim().split_once('(') {
            Some((name, role)) => (name, Some(role.trim_end().trim_end_matches(')').trim())),
            None => (head, None),
        };
        Self {
            name: name.trim(),
            role,
            levels,
        }
    }

    /// The name as a key of TOML, which may be any text in quotes.
    fn key(&self) -> String {
        toml::Value::String(self.name.to_owned()).to_string()
    }
}
