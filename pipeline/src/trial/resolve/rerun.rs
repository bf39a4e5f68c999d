//! `[rerun]`: the trial this one repeats, and the versions that was analysed with. `caneplot new` writes
//! it.

use crate::trial::Rerun;
use crate::trial::faults::Faults;
use crate::trial::keys;
use crate::trial::section::Section;

/// What is repeated, where it is said.
pub(super) fn rerun(root: &Section<'_>, faults: &mut Faults) -> Option<Rerun> {
    let mut section = root.section("rerun", faults)?;
    section.only(keys::RERUN, faults);
    let of = section.needed_text("of", "of = \"node-number\", the trial it repeats", faults);
    let findings = section.text("findings", "findings = \"...\", a SHA-256", faults);
    let program = section.text("program", "program = \"0.1.0\"", faults);
    let mut analyses = Vec::new();
    if let Some(section) = section.section("analyses", faults) {
        for entry in section.entries() {
            let name = entry.key.value;
            let example = format!("{name} = \"0.1.0\"");
            if let Some(version) = section.text(&name, &example, faults) {
                analyses.push((name, version));
            }
        }
    }
    Some(Rerun {
        of: of?.value,
        findings: findings.map(|text| text.value),
        program,
        analyses,
    })
}
