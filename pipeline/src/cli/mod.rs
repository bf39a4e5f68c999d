//! The command line: what was typed, and which command it is.

use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Duration;

use clap::{Args, Parser, Subcommand};

use crate::Settings;
use crate::host::Limits;

pub mod bulletin;
pub mod check;
pub mod compare;
pub mod journal;
pub mod new;
pub mod nodes;
pub mod plan;
pub mod plugins;
pub mod run;
pub mod size;
pub mod verify;
pub mod worker;

/// Replicated vineyard pruning trials: from a trial folder to a checked analysis and a report.
#[derive(Debug, Parser)]
#[command(name = "caneplot", version, max_term_width = 100)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Check, analyse and report one or more trials
    Run(run::RunArguments),
    /// Check the trial file and the data only
    Check(check::CheckArguments),
    /// Lay out a new trial and make its folder
    Plan(plan::PlanArguments),
    /// Say how many blocks, vines and seasons a planned trial needs
    Size(Box<size::SizeArguments>),
    /// Tell a report again for growers, in two to four pages
    Bulletin(bulletin::BulletinArguments),
    /// Make the folder of another run of a trial from its report
    New(new::NewArguments),
    /// Hold reports beside each other, or beside a published table
    Compare(compare::CompareArguments),
    /// Compare a report with its own record, or with its trial computed again
    Verify(verify::VerifyArguments),
    /// Make tables, figures and texts for a paper from a report
    Journal(journal::JournalArguments),
    /// How many nodes to leave on a vine, by its prunings or after a hard winter
    Nodes(nodes::NodesArguments),
    /// List, show and trust analysis plugins
    Plugins(plugins::PluginsArgs),
    /// Run one job folder (used by the program itself, and to repeat a failed analysis)
    #[command(hide = true)]
    Worker(worker::WorkerArgs),
}

/// Where plugins come from and what they may use.
#[derive(Debug, Clone, Args)]
pub struct PluginArguments {
    /// A folder of plugins, searched before the usual ones; may be given again
    #[arg(long = "plugin-dir", value_name = "FOLDER")]
    plugin_dirs: Vec<PathBuf>,
    /// Seconds one analysis may take
    #[arg(long, value_name = "SECONDS", default_value_t = 120, value_parser = clap::value_parser!(u64).range(1..))]
    time_limit: u64,
    /// Memory one analysis may use, in MiB
    #[arg(long, value_name = "MIB", default_value_t = 4096, value_parser = clap::value_parser!(u64).range(64..))]
    memory_limit: u64,
    /// Threads and analyses at one time [default: one a core]; results do not depend on it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    threads: Option<u16>,
    /// Keep the job folders of failed analyses here
    #[arg(long, value_name = "FOLDER")]
    keep_jobs: Option<PathBuf>,
}

impl PluginArguments {
    /// What was typed, as settings of a run that writes into `out`.
    fn settings(&self, out: PathBuf) -> Settings {
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        Settings {
            out,
            plugin_dirs: self.plugin_dirs.clone(),
            limits: Limits {
                wall: Duration::from_secs(self.time_limit),
                memory: self.memory_limit << 20,
                program: None,
            },
            threads: self.threads.map_or(cores, usize::from),
            paper: None,
            keep_jobs: self.keep_jobs.clone(),
        }
    }
}

/// Parses the command line and does what it says. Exit status 0: all well; 1: a mistake in the
/// trial, or a report that lacks something; 2: the command line was not understood.
#[must_use]
pub fn main() -> ExitCode {
    match Arguments::parse().command {
        Command::Run(arguments) => run::run(&arguments),
        Command::Check(arguments) => check::run(&arguments),
        Command::Plan(arguments) => plan::run(&arguments),
        Command::Size(arguments) => size::run(&arguments),
        Command::Bulletin(arguments) => bulletin::run(&arguments),
        Command::New(arguments) => new::run(&arguments),
        Command::Compare(arguments) => compare::run(&arguments),
        Command::Verify(arguments) => verify::run(&arguments),
        Command::Journal(arguments) => journal::run(&arguments),
        Command::Nodes(arguments) => nodes::run(&arguments),
        Command::Plugins(arguments) => {
            plugins::run(&arguments, &mut std::io::stdout(), &mut std::io::stderr())
                .unwrap_or(ExitCode::FAILURE)
        }
        Command::Worker(arguments) => worker::run(&arguments),
    }
}
