//! The names of the mistakes a trial file can hold, as diagnostics carry them.

/// Name and what it looks for, one line each.
pub const RULES: &[(&str, &str)] = &[
    (
        "trial-folder",
        "the folder holds a trial.toml that can be read",
    ),
    ("trial-encoding", "trial.toml is UTF-8"),
    ("trial-syntax", "trial.toml is TOML"),
    ("duplicate-key", "every table and key is written once"),
    ("unknown-key", "every table and key is one that is known"),
    ("missing-key", "what is needed is there"),
    (
        "wrong-type",
        "texts, numbers, lists and tables stand where they belong",
    ),
    ("unknown-word", "a word is one of those to choose from"),
    (
        "seasons",
        "seasons are spelt out and fit the column of seasons",
    ),
    (
        "length",
        "lengths have a unit and a size a vineyard can have",
    ),
    (
        "unit",
        "units are known, fit what is measured and convert through the geometry",
    ),
    (
        "design",
        "the design has the columns and the roles of its kind, and no others",
    ),
    (
        "levels",
        "levels are distinct, and what speaks of one names one that exists",
    ),
    (
        "rule",
        "rules of balanced pruning are lines of nodes by a weight of prunings",
    ),
    (
        "field",
        "the places of plots are a row and either a position, or a first and a last one",
    ),
    ("name-taken", "no two things share a name"),
    ("name-shape", "names can head a column and name a file"),
    (
        "column-twice",
        "a column of the data is declared to be one thing",
    ),
    (
        "data-file",
        "data files are in the trial folder, can be read and are named once",
    ),
    (
        "summary",
        "summaries are of texts and Parquet files in the trial folder",
    ),
    ("sheets", "sheets are of workbooks, and said in one way"),
    (
        "headings-pattern",
        "headings with seasons say where the column and the season stand",
    ),
    ("winter", "the season of what is recorded in winter is said"),
    (
        "status",
        "the words for vines mean one thing, and vines are told apart",
    ),
    (
        "quantity",
        "what sounds like a record of winter says what it measures",
    ),
    ("count", "a count out of a count has a total and no unit"),
    ("possible", "the lowest possible value is below the highest"),
    ("ratio", "ratios are of two responses that exist"),
    (
        "checks",
        "thresholds of the rules on the data lie where they make sense",
    ),
    (
        "rerun",
        "a trial that repeats another is analysed with the versions that was analysed with (a warning)",
    ),
    (
        "hemisphere",
        "a latitude is one, and lies in the hemisphere that is named",
    ),
];
