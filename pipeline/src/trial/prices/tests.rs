//! The file read whole, and every mistake at its line.

use super::*;

const GOOD: &str = r#"[money]
currency = "USD"
year     = 2025
source   = "invented"
interest = 6

[crop]
price   = { likely = 650, low = 520, high = 780 }
per     = "US ton"
counted = 90
harvest = 110
steps   = [{ from = 21, price = 680 }, { from = 23, price = 720 }]

[labour]
wage = 18

[work.pruning]
measured = "labour"

[work.tying]
by      = "system"
minutes = { VSP = 0.5, GDC = { likely = 1, low = 0.5, high = 2 } }
source  = "assumed"

[costs.trellis]
per     = "acre"
by      = "system"
amounts = { VSP = 0, GDC = 4000 }
once    = true
life    = 20

[conversion]
by                   = "system"
seasons_without_crop = { VSP = 0, GDC = 2 }
years                = 20
"#;

const TRIAL: &str = r#"[trial]
title = "Systems"
question = "Which?"

[vineyard]
row_spacing = "8 ft"
vine_spacing = "6 ft"

[design]
kind = "completely randomised"
plot = "plot"

[factors.system]
levels = ["VSP", "GDC"]
control = "VSP"

[factors.nodes]
levels = [20, 40]

[[data]]
file = "a.csv"

[responses.yield]
unit = "lb/vine"
[responses.brix]
unit = "Brix"
[responses.labour]
unit = "min/vine"
"#;

fn folder(prices: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("trial.toml"), TRIAL).unwrap();
    std::fs::write(folder.path().join("a.csv"), "plot,system,nodes\n").unwrap();
    std::fs::write(folder.path().join(PRICES_FILE), prices).unwrap();
    folder
}

fn read_from(prices: &str) -> Result<crate::trial::Trial, Vec<Diagnostic>> {
    crate::trial::read(folder(prices).path())
}

#[test]
fn everything_written_is_read() {
    use caneplot_plugin::prices::{CostPer, Time};

    let file = read_from(GOOD).unwrap().prices.unwrap();
    let prices = file.prices;
    assert_eq!(file.bytes, GOOD.len() as u64);
    assert_eq!((prices.currency.as_str(), prices.year), ("USD", 2025));
    // The vineyard is measured in feet, so acres are spoken of first.
    assert_eq!(prices.area, Area::Acre);
    assert_eq!(prices.interest, Some(0.06));
    assert_eq!(prices.crop.price.bounds, Some((520.0, 780.0)));
    assert!((prices.crop.per_kg - 907.184_74).abs() < 1e-9);
    assert_eq!(prices.crop.brix.as_deref(), Some("brix"));
    assert!((prices.crop.counted - 0.9).abs() < 1e-15);
    assert_eq!(prices.work[0].time, Time::Measured("labour".to_owned()));
    assert_eq!(prices.work[1].label, "Tying");
    let trellis = &prices.costs[0];
    assert_eq!(trellis.per, CostPer::Acre);
    assert_eq!(trellis.once.unwrap().life, Some(20.0));
    assert_eq!(prices.conversion.unwrap().years, 20);
}

#[test]
fn without_the_file_there_are_no_prices() {
    let folder = folder("");
    std::fs::remove_file(folder.path().join(PRICES_FILE)).unwrap();
    assert!(crate::trial::read(folder.path()).unwrap().prices.is_none());
}

#[test]
#[rustfmt::skip]
fn every_mistake_is_at_its_line_with_what_to_do() {
    for (from, to, line, rule, word) in [
        ("currency", "curency", 2, "unknown-key", "write currency"),
        ("[labour]", "[labor]", 14, "unknown-key", "write labour"),
        ("year     = 2025", "year = 25", 3, "prices", "must be a year"),
        ("interest = 6", "interest = \"6\"", 5, "wrong-type", "a number"),
        ("interest = 6\n", "", 1, "missing-key", "lacks 'interest'"),
        ("per     = \"US ton\"", "per = \"bin\"", 9, "unknown-word", "a weight that prices are of"),
        ("per     = \"US ton\"", "per = \"ton\"", 9, "prices", "2000 lb or 1000 kg"),
        ("low = 520", "low = 720", 8, "prices", "does not lie between"),
        ("{ likely = 650, low = 520, high = 780 }", "-1", 8, "prices", "makes no sense"),
        ("{ likely = 650, low = 520, high = 780 }", "{ likely = 650, low = 520 }", 8, "missing-key", "lacks 'high'"),
        ("counted = 90", "counted = 0", 10, "prices", "per cent"),
        ("from = 23", "from = 20", 12, "prices", "steps must rise"),
        ("wage = 18", "wage = 0", 15, "prices", "makes no sense"),
        ("[labour]\nwage = 18\n", "", 1, "missing-key", "lacks 'labour'"),
        ("measured = \"labour\"", "measured = \"labor\"", 18, "prices", "write \"labour\""),
        ("measured = \"labour\"", "measured = \"brix\"", 18, "prices", "does not measure time"),
        ("source  = \"assumed\"\n", "", 20, "missing-key", "lacks 'source'"),
        ("VSP = 0.5", "VPS = 0.5", 22, "unknown-key", "write VSP"),
        ("by      = \"system\"\nminutes", "by = \"sistem\"\nminutes", 21, "prices", "write \"system\""),
        ("VSP = 0, GDC = 4000", "VSP = 0", 28, "missing-key", "lacks 'GDC'"),
        ("once    = true\n", "", 29, "prices", "does not come once"),
        ("per     = \"acre\"", "per = \"row\"", 26, "unknown-word", "what a cost is reckoned on"),
        ("GDC = 2 }", "GDC = 1.5 }", 34, "prices", "makes no sense"),
        ("years                = 20", "years = 0", 35, "prices", "whole years"),
    ] {
        assert!(GOOD.contains(from), "{from}");
        let faults = read_from(&GOOD.replacen(from, to, 1)).unwrap_err();
        let all: String = faults.iter().map(ToString::to_string).collect();
        assert_eq!(faults.len(), 1, "{from} -> {to}\n{all}");
        assert_eq!(faults[0].rule, rule, "{from} -> {to}\n{all}");
        assert_eq!(faults[0].places[0].line_column().unwrap().0, line, "{from} -> {to}\n{all}");
        assert!(all.contains(word), "'{word}' is not in\n{all}");
        assert!(faults[0].help.is_some(), "{all}");
        assert!(all.contains("prices.toml"), "{all}");
    }
}

#[test]
fn every_key_is_in_the_documentation() {
    let guide = include_str!("../../../../trials/README.md");
    let every = [
        MONEY,
        crop::CROP,
        crop::STEP,
        LABOUR,
        costs::WORK,
        costs::COSTS,
        costs::CONVERSION,
        amounts::AMOUNT,
    ];
    for table in TABLES {
        let written = [format!("`[{table}]`"), format!("`[{table}.NAME]`")];
        assert!(written.iter().any(|title| guide.contains(title)), "{table}");
    }
    for key in every.into_iter().flatten() {
        assert!(guide.contains(&format!("`{key}`")), "{key}");
    }
}
