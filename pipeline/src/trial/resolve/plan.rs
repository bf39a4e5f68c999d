//! The plan file of a trial that is not laid out yet. It shares its tables `[trial]`, `[about]`,
//! `[vineyard]`, `[factors]` and `[responses]` with trial.toml, word for word; `[design]` says numbers
//! instead of columns, `[field]` describes the rows and `[records]` the visits.

use std::path::Path;
use std::sync::Arc;

use caneplot_plugin::request::DesignKind;
use toml::de::DeValue;

use super::{covariates, design, factors, general, names, responses, vineyard};
use crate::diagnostic::{Diagnostic, Source};
use crate::hash::sha256;
use crate::plan::Plan;
use crate::trial::faults::Faults;
use crate::trial::file;
use crate::trial::scalar::scalar_text;
use crate::trial::section::Section;
use crate::trial::words::KINDS;
use crate::trial::{Design, Written};

mod field;
mod records;
mod size;

/// Tables of a plan file.
const TABLES: &[&str] = &[
    "trial",
    "about",
    "vineyard",
    "design",
    "factors",
    "covariates",
    "field",
    "records",
    "responses",
    "size",
];

/// Keys of its `[design]`.
const DESIGN: &[&str] = &["kind", "blocks", "replicates", "vines", "buffers", "apart"];

/// Lengths of `[vineyard]`.
const LENGTHS: [&str; 3] = ["row_spacing", "vine_spacing", "canopy_per_vine"];

/// The text of a plan file, without a byte order mark.
///
/// # Errors
/// The file cannot be read or is not UTF-8.
pub fn source(path: &Path) -> Result<Arc<Source>, Diagnostic> {
    let help = "give the path of a plan file; trials/PLANNING.md shows one";
    file::other(path, "plan-file", "the plan", help)
}

/// The plan of a text.
///
/// # Errors
/// Every mistake of the file, in the order of the file.
pub fn read(source: Arc<Source>) -> Result<Plan, Vec<Diagnostic>> {
    let mut faults = Faults::new(Arc::clone(&source));
    match read_into(&source, &mut faults) {
        Some(plan) if faults.is_empty() => Ok(plan),
        _ => Err(faults
            .into_sorted()
            .into_iter()
            .map(|fault| fault.about("the plan"))
            .collect()),
    }
}

fn read_into(source: &Arc<Source>, faults: &mut Faults) -> Option<Plan> {
    let document = file::tables(source, faults)?;
    let mut root = Section::new("", 0..0, document.get_ref());
    root.only(TABLES, faults);

    let general = general::general(&root, faults);
    let vineyard = vineyard::vineyard(&root, faults);
    let numbers = numbers(&root, faults);
    let stand_in = numbers.as_ref().map(|numbers| columns(numbers.kind.value));
    let factors = factors::factors(&root, &stand_in, faults);
    let own = match root.has("responses") {
        true => responses::responses(&root, &vineyard, faults).all,
        false => Vec::new(),
    };
    let records = records::records(&root, own, faults);
    let covariates = covariates::covariates(&root, &vineyard, faults);
    let field = field::field(&root, faults);
    let size = size::wanted(&root, faults);
    names::are_distinct(&root, faults);
    records::names_are_free(&factors, &records, &covariates, faults);
    let (seed, seed_goes) = seed(&root, source, general.seed, faults);
    vines_are_said_once(&root, faults);

    let (numbers, records) = (numbers?, records?);
    let order: usize = factors.iter().map(|factor| factor.levels.len()).product();
    let blocks = numbers.blocks.unwrap_or_else(|| Written {
        value: u32::try_from(order).unwrap_or(u32::MAX),
        span: numbers.kind.span.clone(),
    });
    let lengths = root
        .section("vineyard", faults)
        .map(|section| {
            LENGTHS
                .into_iter()
                .filter_map(|key| {
                    let text = scalar_text(section.value(key)?.get_ref())?;
                    Some((key.to_owned(), text))
                })
                .collect()
        })
        .unwrap_or_default();
    Some(Plan {
        title: general.title,
        question: general.question,
        seasons: general.seasons,
        seasons_span: general.seasons_span.unwrap_or(0..0),
        about: general.about,
        vineyard,
        lengths,
        kind: numbers.kind,
        blocks,
        vines: numbers.vines,
        buffers: numbers.buffers,
        apart: numbers.apart,
        factors,
        field,
        records,
        covariates,
        size,
        seed,
        seed_goes,
        source: Arc::clone(source),
    })
}

/// Reports vines per plot among the geometry, where trial.toml has them.
fn vines_are_said_once(root: &Section<'_>, faults: &mut Faults) {
    let key = root
        .section("vineyard", faults)
        .and_then(|section| section.key("vines_per_plot"));
    if let Some(key) = key {
        faults.add(
            &key.span,
            Diagnostic::error("plan-design", "a plan says the vines of a plot in [design]")
                .help("write vines = 4 there and take vines_per_plot out"),
        );
    }
}

/// What `[design]` says.
struct Numbers {
    kind: Written<DesignKind>,
    blocks: Option<Written<u32>>,
    vines: Written<u32>,
    buffers: u32,
    apart: Option<Written<bool>>,
}

fn numbers(root: &Section<'_>, faults: &mut Faults) -> Option<Numbers> {
    if !root.has("design") {
        let example = "[design] with kind = \"randomised block\", blocks = 5 and vines = 4";
        root.missing("design", example, faults);
    }
    let mut section = root.section("design", faults)?;
    section.only(DESIGN, faults);
    if !section.has("kind") {
        section.missing("kind", "kind = \"randomised block\"", faults);
    }
    let kind = section.word("kind", &KINDS, faults);
    let vines = whole(&section, "vines", 1..=1000, true, faults);
    let buffers = whole(&section, "buffers", 0..=20, false, faults).map_or(0, |n| n.value);
    let apart = truth(&section, "apart", faults);
    let kind = kind?;
    let (right, wrong) = match kind.value {
        DesignKind::LatinSquare => (None, &["blocks", "replicates"][..]),
        DesignKind::CompletelyRandomised => (Some("replicates"), &["blocks"][..]),
        _ => (Some("blocks"), &["replicates"][..]),
    };
    for key in wrong.iter().filter_map(|key| section.key(key)) {
        let help = match right {
            Some(right) => format!("write {right} instead"),
            None => "take it out: a square has as many rows and columns as treatments".to_owned(),
        };
        faults.add(
            &key.span,
            Diagnostic::error(
                "plan-design",
                format!(
                    "a {} design has no number of {}",
                    KINDS.word(kind.value),
                    key.value
                ),
            )
            .help(help),
        );
    }
    let blocks = match right {
        Some(key) => Some(whole(&section, key, 1..=500, true, faults)?),
        None => None,
    };
    Some(Numbers {
        kind,
        blocks,
        vines: vines?,
        buffers,
        apart,
    })
}

/// A whole number of a range.
fn whole(
    section: &Section<'_>,
    key: &str,
    range: std::ops::RangeInclusive<u32>,
    needed: bool,
    faults: &mut Faults,
) -> Option<Written<u32>> {
    let example = format!("{key} = {}", (*range.start()).max(4).min(*range.end()));
    let Some(value) = section.value(key) else {
        if needed {
            section.missing(key, &example, faults);
        }
        return None;
    };
    let number = match value.get_ref() {
        DeValue::Integer(_) => scalar_text(value.get_ref()).and_then(|text| text.parse().ok()),
        _ => None,
    };
    match number.filter(|number| range.contains(number)) {
        Some(number) => Some(Written {
            value: number,
            span: value.span(),
        }),
        None => {
            let wanted = format!("a whole number from {} to {}", range.start(), range.end());
            section.wrong(key, value, &wanted, &example, faults);
            None
        }
    }
}

/// True or false.
fn truth(section: &Section<'_>, key: &str, faults: &mut Faults) -> Option<Written<bool>> {
    let value = section.value(key)?;
    match value.get_ref() {
        DeValue::Boolean(truth) => Some(Written {
            value: *truth,
            span: value.span(),
        }),
        _ => {
            let example = format!("{key} = true");
            section.wrong(key, value, "true or false", &example, faults);
            None
        }
    }
}

/// The design as the trial file will declare it, which decides the roles of factors.
fn columns(kind: DesignKind) -> Design {
    let column = |name: &str| Written {
        value: name.to_owned(),
        span: 0..0,
    };
    let places = design::places(kind);
    let place = |name: &str| places.contains(&name).then(|| column(name));
    Design {
        kind,
        block: place("block"),
        row: place("row"),
        column: place("column"),
        plot: column("plot"),
        vine: Some(column("vine")),
        season: Some(column("season")),
    }
}

/// The seed, and where it would be written in a plan that lacks it. Such a plan gets one made from
/// its own text, so that the same plan still gives the same layout and another plan another.
fn seed(
    root: &Section<'_>,
    source: &Source,
    written: u64,
    faults: &mut Faults,
) -> (u64, Option<usize>) {
    let Some(section) = root.section("trial", faults) else {
        return (written, None);
    };
    if section.has("seed") {
        return (written, None);
    }
    if !source.text[section.header.clone()].starts_with('[') {
        section.missing(
            "seed",
            "seed = 20261125, any whole number of your own",
            faults,
        );
        return (written, None);
    }
    let line_end = source.text[section.header.end..]
        .find('\n')
        .map_or(source.text.len(), |at| section.header.end + at + 1);
    let digits = sha256(source.text.as_bytes());
    // Nine hexadecimal digits: a number short enough to be copied by hand.
    let seed = u64::from_str_radix(digits.get(..9).unwrap_or("1"), 16).unwrap_or(1);
    (seed, Some(line_end))
}
