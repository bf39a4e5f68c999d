//! Every table of a trial file and every key in it. `trials/README.md` explains each; a test holds
//! the two together.

/// Tables.
pub(super) const TABLES: &[&str] = &[
    "trial",
    "about",
    "vineyard",
    "design",
    "field",
    "factors",
    "data",
    "status",
    "responses",
    "covariates",
    "ratios",
    "analyses",
    "checks",
    "rerun",
];

/// Keys of `[trial]`.
pub(super) const TRIAL: &[&str] = &["title", "question", "seasons", "seed"];

/// Keys of `[vineyard]`.
pub(super) const VINEYARD: &[&str] = &[
    "row_spacing",
    "vine_spacing",
    "canopy_per_vine",
    "vines_per_plot",
    "canopy",
    "grape",
    "hemisphere",
];

/// Keys of `[design]`.
pub(super) const DESIGN: &[&str] = &["kind", "block", "row", "column", "plot", "vine", "season"];

/// Keys of `[field]`.
pub(super) const FIELD: &[&str] = &["row", "position", "first", "last"];

/// Keys of `[factors.NAME]`.
pub(super) const FACTOR: &[&str] = &[
    "role", "levels", "labels", "canopies", "rules", "unit", "control", "column", "label",
];

/// Keys of a line of `[factors.NAME.rules]`.
pub(super) const RULE: &[&str] = &["rule", "light", "least", "most"];

/// Keys of `[[data]]`.
pub(super) const DATA: &[&str] = &[
    "file",
    "winter",
    "missing",
    "decimal",
    "header_row",
    "units_row",
    "sheet",
    "sheets",
    "season_from",
    "seasons_in_headings",
    "summary",
    "summary_of",
];

/// Keys of `[status]`.
pub(super) const STATUS: &[&str] = &[
    "column",
    "alive",
    "missing",
    "dead",
    "replanted",
    "diseased",
];

/// Keys of `[responses.NAME]`.
pub(super) const RESPONSE: &[&str] = &[
    "column",
    "of",
    "unit",
    "report_in",
    "is",
    "label",
    "possible",
];

/// Keys of `[covariates.NAME]`.
pub(super) const COVARIATE: &[&str] = &["column", "unit", "report_in", "is", "label", "possible"];

/// Keys of a line of `[ratios]`.
pub(super) const RATIO: &[&str] = &["of", "per", "unit", "label"];

/// Keys of `[rerun]`.
pub(super) const RERUN: &[&str] = &["of", "findings", "program", "analyses"];
