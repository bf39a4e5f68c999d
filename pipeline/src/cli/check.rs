//! `caneplot check`: the trial file and the data, without any statistics.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use crate::diagnostic::{Diagnostic, Severity};
use crate::{check, derive, load, passed, plan, size, trial};

/// What `check` takes.
#[derive(Debug, Args)]
pub struct CheckArguments {
    /// Trial folders
    #[arg(required_unless_present = "rules", value_name = "TRIAL")]
    trials: Vec<PathBuf>,
    /// List the rules instead, each with its source
    #[arg(long)]
    rules: bool,
}

/// Prints everything the checks find; exit status 1 where there is an error among it.
#[allow(clippy::print_stdout, reason = "the list is the command's answer")]
#[must_use]
pub fn run(arguments: &CheckArguments) -> ExitCode {
    if arguments.rules {
        println!("The trial file (each an error):");
        for (name, about) in trial::RULES {
            println!("  {name:<24} {about}");
        }
        println!("\nA plan, beside those of the trial file:");
        for (name, about) in plan::judge::RULES {
            println!("  {name:<24} {about}");
        }
        println!("\nThe size of a planned trial:");
        for (name, about) in size::RULES {
            println!("  {name:<24} {about}");
        }
        println!("\nThe data:");
        for rule in check::rules() {
            println!(
                "  {:<24} {}: {}",
                rule.name,
                rule.severity.word(),
                rule.summary
            );
            println!("  {:<24} source: {}", "", rule.source);
        }
        return ExitCode::SUCCESS;
    }
    let mut all_well = true;
    for folder in &arguments.trials {
        let found = found(folder);
        print(&found);
        let errors = found.iter().any(|one| one.severity == Severity::Error);
        println!("{}: {}", folder.display(), counted(&found));
        all_well &= !errors;
    }
    if all_well {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}

fn found(folder: &std::path::Path) -> Vec<Diagnostic> {
    let remarks = || {
        let trial = trial::resolve::read(folder)?;
        let loaded = load::load(&trial)?;
        let mut remarks = passed(check::check(&trial, &loaded))?;
        remarks.extend(derive::derive(&trial, &loaded)?.remarks);
        Ok(remarks)
    };
    remarks().unwrap_or_else(|errors: Vec<Diagnostic>| errors)
}

/// Prints diagnostics to standard error, an empty line between them.
pub fn print(found: &[Diagnostic]) {
    for one in found {
        eprintln!("{one}");
    }
}

/// "2 errors, 1 warning", "nothing to remark".
#[must_use]
pub fn counted(found: &[Diagnostic]) -> String {
    let parts: Vec<String> = [Severity::Error, Severity::Warning, Severity::Note]
        .into_iter()
        .filter_map(|severity| {
            let count = found.iter().filter(|one| one.severity == severity).count();
            let plural = if count == 1 { "" } else { "s" };
            (count > 0).then(|| format!("{count} {}{plural}", severity.word()))
        })
        .collect();
    if parts.is_empty() {
        "nothing to remark".to_owned()
    } else {
        parts.join(", ")
    }
}
