//! What is not as it was when the repeated trial was analysed.

use crate::diagnostic::Diagnostic;
use crate::host::Job;
use crate::trial::Trial;

/// A note on the program and a warning on every analysis whose version is another one now, or that
/// does not run; nothing for a trial that repeats none.
#[must_use]
pub fn changed(trial: &Trial, jobs: &[Job<'_>]) -> Vec<Diagnostic> {
    let Some(rerun) = &trial.rerun else {
        return Vec::new();
    };
    let mut found = Vec::new();
    let now = env!("CARGO_PKG_VERSION");
    if let Some(then) = rerun.program.as_ref().filter(|then| then.value != now) {
        found.push(
            Diagnostic::note(
                "rerun",
                format!(
                    "the trial '{}' that this one repeats was analysed with version {} of the program, this is {now}",
                    rerun.of, then.value
                ),
            )
            .at(trial.place(&then.span)),
        );
    }
    for (name, then) in &rerun.analyses {
        let job = jobs.iter().find(|job| job.plugin.name == *name);
        let what = match job {
            Some(job) if job.plugin.manifest.version == then.value => continue,
            Some(job) => format!(
                "the analysis '{name}' is version {} now, and was {} in the trial '{}' that this one repeats: differences between the two may come from that",
                job.plugin.manifest.version, then.value, rerun.of
            ),
            None => format!(
                "the analysis '{name}' ran in the trial '{}' that this one repeats, and does not run here",
                rerun.of
            ),
        };
        found.push(
            Diagnostic::warning("rerun", what)
                .at(trial.place(&then.span))
                .help("run the original trial again with this version before the two are compared"),
        );
    }
    found
}
