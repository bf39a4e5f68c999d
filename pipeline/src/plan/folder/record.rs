//! The plan as it was laid out: its own text, with the seed in it.

use crate::plan::Layout;

/// How the line begins that says what made the layout.
const MADE: &str = "# Laid out by caneplot ";

/// The text of plan.toml: laying it out again gives the same folder.
pub fn text(layout: &Layout) -> String {
    let plan = &layout.plan;
    let mut text = plan.source.text.clone();
    if let Some(at) = plan.seed_goes {
        let line_end = if text[..at].ends_with('\n') { "" } else { "\n" };
        text.insert_str(at, &format!("{line_end}seed = {}\n", plan.seed));
    }
    // A plan taken from an earlier folder already says so.
    let own = match text
        .strip_prefix(MADE)
        .and_then(|rest| rest.split_once('\n'))
    {
        Some((_, rest)) => rest,
        None => &text,
    };
    format!(
        "{MADE}{} with the seed {}. `caneplot plan` on this file makes the same layout.\n{own}",
        env!("CARGO_PKG_VERSION"),
        plan.seed
    )
}
