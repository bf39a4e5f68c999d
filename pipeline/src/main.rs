//! The program: parse, dispatch.

use std::process::ExitCode;

use caneplot::cli::{plugins, worker};
use clap::Parser;

#[derive(Parser)]
#[command(version)]
enum Command {
    /// List, show and trust plugins
    Plugins(plugins::PluginsArgs),
    #[command(hide = true)]
    Worker(worker::WorkerArgs),
}

fn main() -> ExitCode {
    match Command::parse() {
        Command::Plugins(args) => {
            plugins::run(&args, &mut std::io::stdout(), &mut std::io::stderr())
                .unwrap_or(ExitCode::FAILURE)
        }
        Command::Worker(args) => worker::run(&args),
    }
}
