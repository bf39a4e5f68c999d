//! Prints the tables of the simulation: `cargo run -p caneplot-calibration -- [PART …]`.

use std::io::Write;
use std::time::Instant;

use caneplot_calibration::table::Table;
use caneplot_calibration::tally::Run;
use caneplot_calibration::{curve, family, means, null, odds, ratio, season, shuffle};

/// The parts that can be named, each with its tables.
type Part = (&'static str, fn(Run) -> Vec<Table>);
const PARTS: [Part; 8] = [
    ("null", |run| vec![null::table(run)]),
    ("ratio", |run| vec![ratio::table(run)]),
    ("curve", |run| vec![curve::table(run)]),
    ("odds", |run| vec![odds::table(run)]),
    ("family", |run| vec![family::table(run)]),
    ("means", |run| vec![means::table(run)]),
    ("season", season::tables),
    ("shuffle", |run| vec![shuffle::table(run)]),
];

/// Seed of the committed results.
const SEED: u64 = 20_261_125;
/// Trials a figure in the committed results.
const TRIALS: u64 = 10_000;

fn run(arguments: impl Iterator<Item = String>) -> Result<(), String> {
    let mut settings = Run {
        seed: SEED,
        trials: TRIALS,
        threads: std::thread::available_parallelism().map_or(1, |count| count.get() as u64),
    };
    let mut named = Vec::new();
    let mut arguments = arguments.peekable();
    while let Some(argument) = arguments.next() {
        let place = match argument.as_str() {
            "--seed" => &mut settings.seed,
            "--trials" => &mut settings.trials,
            "--threads" => &mut settings.threads,
            _ => {
                named.push(argument);
                continue;
            }
        };
        let value = arguments.next().unwrap_or_default();
        *place = value
            .parse()
            .map_err(|_| format!("{argument} needs a whole number, not '{value}'"))?;
    }
    let known = || PARTS.map(|(name, _)| name).join(", ");
    if let Some(wrong) = named
        .iter()
        .find(|name| !PARTS.iter().any(|(known, _)| known == name))
    {
        return Err(format!("there is no part '{wrong}'; there are {}", known()));
    }
    let mut out = std::io::stdout().lock();
    for (name, tables) in PARTS {
        if !(named.is_empty() || named.iter().any(|own| own == name)) {
            continue;
        }
        let start = Instant::now();
        for table in tables(settings) {
            writeln!(out, "{table}").map_err(|error| error.to_string())?;
        }
        eprintln!("{name}: {:.0} s", start.elapsed().as_secs_f64());
    }
    Ok(())
}

fn main() -> std::process::ExitCode {
    match run(std::env::args().skip(1)) {
        Ok(()) => std::process::ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            std::process::ExitCode::FAILURE
        }
    }
}
