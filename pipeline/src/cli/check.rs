//! `caneplot check`: the trial file and the data, without any statistics.

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;

use crate::diagnostic::{Diagnostic, Severity};
use crate::{bulletin, check, compare, correct, derive, load, passed, plan, rerun, size, trial};

/// What `check` takes.
#[derive(Debug, Args)]
pub struct CheckArguments {
    /// Trial folders
    #[arg(required_unless_present = "rules", value_name = "TRIAL")]
    trials: Vec<PathBuf>,
    /// List the rules instead, each with its source
    #[arg(long)]
    rules: bool,
    /// Write the cells that warnings and errors speak of as a list to go through with the field
    /// book, in the form of corrections.csv
    #[arg(long, value_name = "FILE", conflicts_with = "rules")]
    write_remarks: Option<PathBuf>,
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
        println!("\nA grower bulletin:");
        for (name, about) in bulletin::check::RULES {
            println!("  {name:<24} {about}");
        }
        println!("\nComparisons and published tables:");
        for (name, about) in compare::RULES {
            println!("  {name:<24} {about}");
        }
        println!("\nAnother run of a trial:");
        for (name, about) in rerun::RULES {
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
            if let Some(threshold) = rule.threshold {
                let known = threshold.known();
                println!(
                    "  {:<24} [checks] {} = {} ({}), or \"off\"",
                    "",
                    known.key,
                    known.usual.written(),
                    known.counts
                );
            }
        }
        return ExitCode::SUCCESS;
    }
    if arguments.write_remarks.is_some() && arguments.trials.len() > 1 {
        eprintln!(
            "error: --write-remarks takes one trial, because its lines name files of one folder"
        );
        return ExitCode::from(2);
    }
    let mut all_well = true;
    for folder in &arguments.trials {
        let looked = look(folder);
        print(&looked.found);
        let errors = looked
            .found
            .iter()
            .any(|one| one.severity == Severity::Error);
        println!("{}: {}", folder.display(), counted(&looked.found));
        all_well &= !errors;
        if let Some(file) = &arguments.write_remarks {
            match write_remarks(&looked, file) {
                Ok(cells) => println!("{}: {cells}", file.display()),
                Err(fault) => {
                    print(&[fault]);
                    all_well = false;
                }
            }
        }
    }
    if all_well {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}

/// What the checks of a folder found, and the data where they could be read.
struct Looked {
    found: Vec<Diagnostic>,
    data: Option<(trial::Trial, load::Loaded)>,
}

fn look(folder: &Path) -> Looked {
    let read = || {
        let trial = trial::resolve::read(folder)?;
        let loaded = load::load(&trial)?;
        Ok((trial, loaded))
    };
    let (trial, loaded) = match read() {
        Ok(read) => read,
        Err(found) => return Looked { found, data: None },
    };
    let remarks = || {
        let mut remarks = passed(check::check(&trial, &loaded))?;
        remarks.extend(derive::derive(&trial, &loaded)?.remarks);
        Ok(remarks)
    };
    Looked {
        found: remarks().unwrap_or_else(|errors: Vec<Diagnostic>| errors),
        data: Some((trial, loaded)),
    }
}

/// Writes the suspicious cells into a new file; how many there are, in words.
fn write_remarks(looked: &Looked, file: &Path) -> Result<String, Diagnostic> {
    let fault = |message: String| Diagnostic::error("write-remarks", message);
    let Some((trial, loaded)) = &looked.data else {
        return Err(fault(
            "no list of cells is written, because the data cannot be read".to_owned(),
        )
        .help("correct the errors above first"));
    };
    let opened = load::read::opened(trial).map_err(|mut faults| faults.remove(0))?;
    let (text, count) = correct::listed(loaded, &opened, &looked.found)?;
    let new = std::fs::File::create_new(file);
    new.and_then(|mut new| new.write_all(text.as_bytes()))
        .map_err(|error| {
            fault(format!("{} cannot be written: {error}", file.display()))
                .help("name a file that is not there yet: a list somebody has worked on is never overwritten")
        })?;
    Ok(format!("{} to look at", load::text::count(count, "cell")))
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
