//! README.md of a trial folder: what lies in it, what is done when, how it will be analysed, and the
//! cautions of the trade.

use std::fmt::Write as _;

use caneplot_plugin::request::DesignKind;

use super::super::records::Sheet;
use super::super::{Layout, skeleton};
use super::trial_file::kind_word;
use caneplot_plugin::words::list;

/// The text of README.md.
pub fn text(layout: &Layout, sheets: &[Sheet]) -> String {
    let plan = &layout.plan;
    let mut out = format!(
        "# {}\n\n**The question.** {}\n\n",
        plan.title, plan.question
    );
    out.push_str(&laid_out(layout));
    contents(&mut out, layout, sheets);
    calendar(&mut out, sheets);
    analysis(&mut out, layout);
    cautions(&mut out, layout);
    out
}

fn laid_out(layout: &Layout) -> String {
    let plan = &layout.plan;
    let drawn = match plan.kind.value {
        DesignKind::CompletelyRandomised => "treatments drawn at random over all plots",
        DesignKind::RandomisedBlock => "treatments drawn at random within every block",
        DesignKind::LatinSquare => {
            "a Latin square drawn at random: every treatment once in every row and column"
        }
        DesignKind::SplitPlot => {
            "whole plots drawn at random within blocks, sub plots within whole plots"
        }
        DesignKind::SplitSplitPlot => {
            "whole plots drawn at random within blocks, sub plots within whole plots, sub-sub plots \
             within sub plots"
        }
        DesignKind::StripPlot => "both sets of strips drawn at random within every block",
    };
    let method = match plan.kind.value {
        DesignKind::LatinSquare if plan.treatments() <= 6 => {
            " Every square of this order was equally likely: one of the reduced squares, then orders of \
             its columns and rows (Fisher & Yates 1934)."
        }
        DesignKind::LatinSquare => {
            " The square is the end of a long walk whose moves reach every square of this order and \
             favour none (Jacobson & Matthews 1996), with its rows, columns and treatments shuffled."
        }
        _ => "",
    };
    let apart = match &plan.apart {
        Some(apart) if apart.value && plan.kind.value != DesignKind::LatinSquare => format!(
            " Layouts were drawn until no treatment stood side by side with itself in neighbouring \
             blocks ({} drawn); each such layout was equally likely. Say so in the methods.",
            layout.tries
        ),
        _ => String::new(),
    };
    format!(
        "Laid out by caneplot {} with the seed {}: a {} design, {drawn} (ChaCha8 random numbers).{method}{apart} \
         `caneplot plan plan.toml --out NEW` makes the same layout again.\n\n",
        env!("CARGO_PKG_VERSION"),
        plan.seed,
        kind_word(plan.kind.value),
    )
}

fn contents(out: &mut String, layout: &Layout, sheets: &[Sheet]) {
    out.push_str("## What lies here\n\n| file | what |\n| :--- | :--- |\n");
    let mut line = |file: &str, what: &str| {
        // Writing to a string cannot fail, here and below.
        let _ = writeln!(out, "| `{file}` | {what} |");
    };
    line("plan.toml", "the plan with its seed");
    line(
        "trial.toml",
        "the trial as `caneplot check` and `caneplot run` read it",
    );
    line("layout.csv", "every plot: its vines and its treatment");
    line(
        "field-map.pdf, .svg, .png",
        "the map: print it, and put a copy where it will be found in ten years",
    );
    line("labels.pdf", "labels for the posts of the plots");
    for sheet in sheets {
        let per = if sheet.by_vine {
            "a line a vine"
        } else {
            "a line a plot"
        };
        let seasons = if sheet.in_seasons() {
            ", all seasons"
        } else {
            ""
        };
        line(
            &sheet.file,
            &format!(
                "records {} ({per}{seasons}; columns waiting to be filled)",
                sheet.when
            ),
        );
    }
    let books = match layout.plan.seasons.len() {
        0 => "sheets/field-sheets.xlsx",
        _ => "sheets/*.xlsx",
    };
    line(
        books,
        "the same lines as printable sheets, one a visit and block, for typing or for the clipboard",
    );
    out.push('\n');
}

fn calendar(out: &mut String, sheets: &[Sheet]) {
    out.push_str("## The year\n\n");
    for sheet in sheets {
        let entries: Vec<String> = sheet
            .entries
            .iter()
            .map(|entry| format!("`{}` ({})", entry.heading, entry.words))
            .collect();
        let status = if sheet.has_status {
            " and the status of every vine (alive, missing, dead, replanted)"
        } else {
            ""
        };
        let _ = writeln!(
            out,
            "- **{}**, {}: {}{status}.",
            sheet.title,
            sheet.when,
            list(&entries)
        );
    }
    if sheets.iter().any(|sheet| sheet.winter.is_some()) {
        out.push_str(
            "\nA winter lies between two seasons. What is cut then is written under the season it grew \
             in (`prunings`), what is left under the season it will bear (`pruning`).\n",
        );
    }
    out.push('\n');
}

fn analysis(out: &mut String, layout: &Layout) {
    let plan = &layout.plan;
    let primary = plan
        .records
        .visits
        .iter()
        .flat_map(|(_, responses)| responses)
        .find(|response| response.name == plan.records.primary.value);
    let primary = primary.map_or(plan.records.primary.value.as_str(), |response| {
        &response.label
    });
    let _ = write!(
        out,
        "## How it will be analysed\n\nWritten down before the first record. The trial is judged by one \
         response: **{primary}**. The others describe and explain; what they show by chance among many is \
         not a result of the trial. Every treatment is compared with the residual of its own group:\n\n\
         | Source of variation | df |\n| :--- | ---: |\n"
    );
    for source in skeleton::sources(plan) {
        let _ = match source.df {
            Some(df) => writeln!(out, "| {} | {df} |", source.name),
            None => writeln!(out, "| *{}* | |", source.name),
        };
    }
    let before: Vec<&str> = plan
        .covariates
        .iter()
        .map(|covariate| covariate.label.as_str())
        .collect();
    if !before.is_empty() {
        let _ = write!(
            out,
            "\nPlots are compared as if they had been alike before the treatments began, in: {}. Each \
             takes one degree of freedom from a residual.\n",
            list(&before)
        );
    }
    let numeric: Vec<&str> = plan
        .factors
        .iter()
        .filter(|factor| factor.levels.iter().all(|level| level.value.is_some()))
        .map(|factor| factor.label.as_str())
        .collect();
    if !numeric.is_empty() {
        let _ = write!(
            out,
            "\n{} has levels that are amounts: the answer is the course of the response over them (trend \
             and curve), not letters between neighbouring levels.\n",
            list(&numeric)
        );
    }
    let controls: Vec<String> = plan
        .factors
        .iter()
        .filter_map(|factor| {
            let control = factor.control.as_ref()?;
            let unit = factor
                .unit
                .as_ref()
                .map_or(String::new(), |unit| format!(" {unit}"));
            Some(format!("{}{unit} ({})", control.value, factor.label))
        })
        .collect();
    if !controls.is_empty() {
        let _ = write!(
            out,
            "\nOther levels are compared with the control: {}.\n",
            list(&controls)
        );
    }
    out.push('\n');
}

fn cautions(out: &mut String, layout: &Layout) {
    let plan = &layout.plan;
    out.push_str("## Before and while it runs\n\n");
    for caution in &layout.cautions {
        let help = caution.help.as_deref().unwrap_or_default();
        let _ = writeln!(
            out,
            "- **Think over:** {}. {}.",
            first_up(&caution.message),
            first_up(help)
        );
    }
    let vines = plan.vines.value;
    let buffers = match plan.buffers {
        0 => "There are no buffers: record inner vines only where a plot has them".to_owned(),
        1 => "The buffer vine at each end of a plot gets its treatment and is never recorded"
            .to_owned(),
        n => format!(
            "The {n} buffer vines at each end of a plot get its treatment and are never recorded"
        ),
    };
    let shown = "Scorers work from sheets without treatments; pruners need the map";
    for sentence in [
        "Never draw the layout again once it is in use: a plot keeps its treatment to the end".to_owned(),
        "Tag the first and the last vine of every plot on the vine and on the post, and check the tags \
         against `layout.csv` before the first cut"
            .to_owned(),
        buffers,
        format!(
            "The plot is the unit that got a treatment. Its {vines} vines are samples of it and no \
             replicates, and seasons are no replicates either"
        ),
        shown.to_owned(),
        "Prune, record and harvest block by block: let one person finish a block, and begin another \
         day or another person with another block, never with another treatment"
            .to_owned(),
        "Write down what happened and when (frost, hail, drift, a missed irrigation, a machine in the \
         wrong row), and never replace a lost plot"
            .to_owned(),
        "Count the nodes that were left: what was done is not always what was meant".to_owned(),
        "Weigh the prunings of the last year's growth only, without older wood".to_owned(),
        "Keep dead, missing and replanted vines in the records by their status; they are not zeros".to_owned(),
        "Sharp, clean tools; gloves and eye protection; mind the wires under tension. Disinfect between \
         vines where trunk diseases or viruses are known, and follow product labels and local rules"
            .to_owned(),
        "The first season shows the change rather than the treatment: the buds it bears were made the \
         year before"
            .to_owned(),
        "Ask your extension service or a statistician to read this page before the first cut".to_owned(),
    ] {
        let _ = writeln!(out, "- {sentence}.");
    }
    out.push_str(
        "\nWhen records are in: `caneplot check` on this folder names what does not fit, `caneplot run` \
         writes the report.\n",
    );
}

fn first_up(words: &str) -> String {
    let mut letters = words.chars();
    letters
        .next()
        .into_iter()
        .flat_map(char::to_uppercase)
        .chain(letters)
        .collect()
}
