//! `[checks]`: how strictly the rules on the data look.

use toml::Spanned;
use toml::de::DeValue;

use crate::diagnostic::Diagnostic;
use crate::trial::checks::{Checks, KNOWN, Known, Setting};
use crate::trial::faults::Faults;
use crate::trial::scalar::number;
use crate::trial::section::Section;

/// The thresholds of a trial; the usual ones where the table or a key is absent.
pub(super) fn checks(root: &Section<'_>, faults: &mut Faults) -> Checks {
    let mut checks = Checks::default();
    let Some(mut section) = root.section("checks", faults) else {
        return checks;
    };
    let keys: Vec<&str> = KNOWN.iter().map(|known| known.key).collect();
    section.only(&keys, faults);
    for known in KNOWN {
        let Some(value) = section.value(known.key) else {
            continue;
        };
        match setting(value.get_ref(), known.usual) {
            Some(setting) if fits(setting, known.limits) => checks.set(known.threshold, setting),
            Some(_) => {
                let (low, high) = known.limits;
                faults.add(
                    &value.span(),
                    Diagnostic::error(
                        "checks",
                        format!("'{}' does not lie between {low} and {high}", known.key),
                    )
                    .help(format!(
                        "it counts {}; write {} or \"off\"",
                        known.counts,
                        example(known)
                    )),
                );
            }
            None => wrong(&section, known, value, faults),
        }
    }
    checks
}

fn example(known: &Known) -> String {
    format!("{} = {}", known.key, known.usual.written())
}

fn wrong(section: &Section<'_>, known: &Known, value: &Spanned<DeValue<'_>>, faults: &mut Faults) {
    let wanted = match known.usual {
        Setting::Range(..) => "[lowest, highest] or \"off\"",
        _ => "a number or \"off\"",
    };
    section.wrong(known.key, value, wanted, &example(known), faults);
}

/// What is written, if it is of the kind of the usual setting.
fn setting(value: &DeValue<'_>, usual: Setting) -> Option<Setting> {
    match (value, usual) {
        (DeValue::String(word), _) if word.trim().eq_ignore_ascii_case("off") => Some(Setting::Off),
        (DeValue::Array(list), Setting::Range(..)) => match list.iter().collect::<Vec<_>>()[..] {
            [low, high] => {
                let (low, high) = (number(low.get_ref())?, number(high.get_ref())?);
                (low < high).then_some(Setting::Range(low, high))
            }
            _ => None,
        },
        (value, Setting::Number(_)) => Some(Setting::Number(number(value)?)),
        _ => None,
    }
}

fn fits(setting: Setting, (low, high): (f64, f64)) -> bool {
    let inside = |number: f64| (low..=high).contains(&number);
    match setting {
        Setting::Off => true,
        Setting::Number(number) => inside(number),
        Setting::Range(low, high) => inside(low) && inside(high),
    }
}
