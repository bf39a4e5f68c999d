//! trial.toml of a layout.

use std::fmt::Write as _;

use caneplot_plugin::request::{Canopy, DesignKind, Quantity, Role};

use crate::plan::records::{self, Sheet};
use crate::plan::{Layout, Plan};
use crate::trial::{Factor, Level, Response};

/// The columns of layout.csv that say where plots lie.
const FIELD: &str = "
[field]
row = \"vineyard_row\"
first = \"first_position\"
last = \"last_position\"
";

/// The text of trial.toml.
pub fn text(layout: &Layout, sheets: &[Sheet]) -> String {
    let plan = &layout.plan;
    let mut out = format!(
        "# Made by caneplot {} from plan.toml; trials/README.md of the program explains every key.\n\
         # The response the trial is judged by: {}.\n\n[trial]\n",
        env!("CARGO_PKG_VERSION"),
        plan.records.primary.value
    );
    key(&mut out, "title", &quoted(&plan.title));
    key(&mut out, "question", &quoted(&plan.question));
    if !plan.seasons.is_empty() {
        key(&mut out, "seasons", &list(&plan.seasons));
    }
    key(&mut out, "seed", &plan.seed.to_string());
    if !plan.about.is_empty() {
        out.push_str("\n[about]\n");
        for (name, words) in &plan.about {
            key(&mut out, &bare(name), &quoted(words));
        }
    }
    vineyard(&mut out, plan);
    design(&mut out, plan, sheets);
    out.push_str(FIELD);
    for factor in &plan.factors {
        self::factor(&mut out, plan, factor);
    }
    if sheets.iter().any(|sheet| sheet.has_status) {
        out.push_str("\n[status]\ncolumn = \"status\"\n");
    }
    out.push_str("\n[[data]]\nfile = \"layout.csv\"\n");
    for sheet in sheets {
        let _ = write!(out, "\n# Filled in {}.\n[[data]]\nfile = ", sheet.when);
        let _ = writeln!(out, "{}", quoted(&sheet.file));
        if let (Some(winter), false) = (sheet.winter, plan.seasons.is_empty()) {
            key(&mut out, "winter", &quoted(winter));
        }
    }
    let all = || plan.records.visits.iter().flat_map(|(_, list)| list);
    let primary = &plan.records.primary.value;
    let first = all().filter(|response| response.name == *primary);
    for response in first.chain(all().filter(|response| response.name != *primary)) {
        self::response(&mut out, response);
    }
    for covariate in &plan.covariates {
        self::covariate(&mut out, covariate);
    }
    ratios(&mut out, &all().collect::<Vec<_>>());
    out
}

fn key(out: &mut String, key: &str, value: &str) {
    // Writing to a string cannot fail.
    let _ = writeln!(out, "{key} = {value}");
}

/// A text as TOML writes it.
fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// A key as TOML writes it.
fn bare(name: &str) -> String {
    let plain = |letter: char| letter.is_ascii_alphanumeric() || "_-".contains(letter);
    if !name.is_empty() && name.chars().all(plain) {
        name.to_owned()
    } else {
        quoted(name)
    }
}

fn list(texts: &[String]) -> String {
    let texts: Vec<String> = texts.iter().map(|text| quoted(text)).collect();
    format!("[{}]", texts.join(", "))
}

fn vineyard(out: &mut String, plan: &Plan) {
    out.push_str("\n[vineyard]\n");
    for (name, length) in &plan.lengths {
        key(out, name, &quoted(length));
    }
    key(out, "vines_per_plot", &plan.vines.value.to_string());
    if let Some(canopy) = plan.vineyard.canopy {
        key(out, "canopy", &quoted(canopy_word(canopy)));
    }
    if let Some(grape) = &plan.vineyard.grape {
        key(out, "grape", &quoted(grape));
    }
}

fn design(out: &mut String, plan: &Plan, sheets: &[Sheet]) {
    out.push_str("\n[design]\n");
    key(out, "kind", &quoted(kind_word(plan.kind.value)));
    for place in records::place_columns(plan.kind.value) {
        key(out, place, &quoted(place));
    }
    key(out, "plot", "\"plot\"");
    if records::has_vines(sheets) {
        key(out, "vine", "\"vine\"");
    }
    if !plan.seasons.is_empty() {
        key(out, "season", "\"season\"");
    }
}

fn factor(out: &mut String, plan: &Plan, factor: &Factor) {
    let _ = write!(out, "\n[factors.{}]\n", bare(&factor.name));
    key(out, "role", &quoted(role_word(factor.role)));
    key(out, "label", &quoted(&factor.label));
    let level = |level: &Level| match level.value {
        Some(_) => level.name.clone(),
        None => quoted(&level.name),
    };
    let levels: Vec<String> = factor.levels.iter().map(level).collect();
    key(out, "levels", &format!("[{}]", levels.join(", ")));
    if let Some(unit) = &factor.unit {
        key(out, "unit", &quoted(unit));
    }
    let control = factor.control.as_ref().and_then(|control| {
        factor
            .levels
            .iter()
            .find(|level| level.name == control.value)
    });
    if let Some(control) = control {
        key(out, "control", &level(control));
    }
    if factor.column.value != factor.name {
        key(out, "column", &quoted(&factor.column.value));
    }
    let table = |words: &dyn Fn(&Level) -> Option<String>| {
        let pairs: Vec<String> = factor
            .levels
            .iter()
            .filter_map(|level| {
                Some(format!(
                    "{} = {}",
                    bare(&level.name),
                    quoted(&words(level)?)
                ))
            })
            .collect();
        (!pairs.is_empty()).then(|| format!("{{ {} }}", pairs.join(", ")))
    };
    let labels = table(&|level| (level.label != level.name).then(|| level.label.clone()));
    let canopies = table(&|level| {
        let canopy = level.canopy?;
        (Some(canopy) != plan.vineyard.canopy).then(|| canopy_word(canopy).to_owned())
    });
    for (name, table) in [("labels", labels), ("canopies", canopies)] {
        if let Some(table) = table {
            key(out, name, &table);
        }
    }
}

fn response(out: &mut String, response: &Response) {
    let _ = write!(out, "\n[responses.{}]\n", bare(&response.name));
    key(out, "label", &quoted(&response.label));
    key(out, "column", &quoted(&response.column.value));
    match &response.of {
        Some(of) => key(out, "of", &quoted(&of.value)),
        None => key(out, "unit", &quoted(&response.unit.to_string())),
    }
    if let Some(unit) = &response.report_unit {
        key(out, "report_in", &quoted(&unit.to_string()));
    }
    key(out, "is", &quoted(&quantity_word(response.quantity)));
    if let Some((low, high)) = response.possible {
        key(out, "possible", &format!("[{low}, {high}]"));
    }
}

fn covariate(out: &mut String, covariate: &Response) {
    let _ = write!(out, "\n[covariates.{}]\n", bare(&covariate.name));
    key(out, "label", &quoted(&covariate.label));
    key(out, "column", &quoted(&covariate.column.value));
    key(out, "unit", &quoted(&covariate.unit.to_string()));
    if let Some(unit) = &covariate.report_unit {
        key(out, "report_in", &quoted(&unit.to_string()));
    }
    key(out, "is", &quoted(&quantity_word(covariate.quantity)));
    if let Some((low, high)) = covariate.possible {
        key(out, "possible", &format!("[{low}, {high}]"));
    }
}

fn ratios(out: &mut String, responses: &[&Response]) {
    let of = |quantity| {
        responses
            .iter()
            .find(|response| response.quantity == quantity)
    };
    if let (Some(crop), Some(wood)) = (of(Quantity::Yield), of(Quantity::PruningWeight)) {
        let _ = write!(
            out,
            "\n[ratios]\nyield_to_pruning = {{ of = {}, per = {}, label = \"Yield to pruning weight\" }}\n",
            quoted(&crop.name),
            quoted(&wood.name)
        );
    }
}

/// The word trial.toml has for a kind of design.
pub fn kind_word(kind: DesignKind) -> &'static str {
    match kind {
        DesignKind::CompletelyRandomised => "completely randomised",
        DesignKind::RandomisedBlock => "randomised block",
        DesignKind::LatinSquare => "Latin square",
        DesignKind::SplitPlot => "split plot",
        DesignKind::StripPlot => "strip plot",
        DesignKind::SplitSplitPlot => "split-split plot",
    }
}

fn role_word(role: Role) -> &'static str {
    match role {
        Role::Treatment => "treatment",
        Role::WholePlot => "whole plot",
        Role::SubPlot => "sub plot",
        Role::SubSubPlot => "sub-sub plot",
        Role::RowStrip => "row strip",
        Role::CrossStrip => "cross strip",
    }
}

fn canopy_word(canopy: Canopy) -> &'static str {
    match canopy {
        Canopy::Single => "single",
        Canopy::Divided => "divided",
        Canopy::MinimallyPruned => "minimally pruned",
        Canopy::Hedged => "hedged",
        Canopy::FreeStanding => "free standing",
    }
}

/// A quantity is written as its name in requests, which are the words of trial.toml.
fn quantity_word(quantity: Quantity) -> String {
    match serde_json::to_value(quantity) {
        Ok(serde_json::Value::String(word)) => word,
        // A name without content cannot fail to be written.
        _ => "other".to_owned(),
    }
}
