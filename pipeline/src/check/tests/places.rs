//! Where plots lie.

use super::*;

fn trial(field: &str) -> String {
    let rest = format!(
        "[[data]]\nfile = \"layout.csv\"\n[[data]]\nfile = \"harvest.csv\"\n\
         [responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n[field]\n{field}"
    );
    blocks("", &rest)
}

const SPANS: &str = "row = \"vine_row\"\nfirst = \"from\"\nlast = \"to\"\n";

/// `block,plot,vine_row,from,to` for the plots of [`harvest`]: a row a block.
fn layout() -> String {
    let mut text = String::from("block,plot,vine_row,from,to\n");
    for block in 1..=4 {
        for plot in 1..=3 {
            text.push_str(&format!(
                "B{block},{block}0{plot},{block},{},{}\n",
                plot * 5 - 4,
                plot * 5 - 1
            ));
        }
    }
    text
}

fn found(field: &str, layout: &str) -> Vec<Diagnostic> {
    let files = [("layout.csv", layout), ("harvest.csv", &harvest())];
    Bench::new(&trial(field), &files).checked()
}

#[test]
fn a_place_a_plot_is_passed_in_silence() {
    let sound = found(SPANS, &layout());
    assert!(sound.is_empty(), "{}", shown(&sound));
    let one = "row = \"vine_row\"\nposition = \"from\"\n";
    assert!(grave(&found(one, &layout())).is_empty());
}

#[test]
fn two_plots_in_one_place_name_both_cells() {
    let text = layout().replace("B2,202,2,6,9", "B2,202,2,4,9");
    contains(
        &alone(&found(SPANS, &text), "place-taken-twice"),
        &[
            "plots 201 and 202 both lie at position 4 of row 2",
            "layout.csv, line 6, column 'from'",
            "layout.csv, line 5, column 'from'",
            "do: correct the row or the position",
        ],
    );
    // A plot inside another hides none behind it.
    let text = layout().replace("B2,201,2,1,4", "B2,201,2,1,14");
    let twice = found(SPANS, &text);
    assert_eq!(grave(&twice), ["place-taken-twice"; 2], "{}", shown(&twice));
}

#[test]
fn a_cell_that_is_no_number_is_shown_with_its_line() {
    let text = layout().replace("B3,302,3,6,9", "B3,302,third,6,9");
    let found = found(SPANS, &text);
    assert_eq!(
        grave(&found),
        ["place-not-a-number", "place-missing"],
        "{}",
        shown(&found)
    );
    contains(
        &only(&found, "place-not-a-number").to_string(),
        &["'third' in column 'vine_row' of layout.csv", "line 9"],
    );
}

#[test]
fn a_plot_has_one_place_and_goes_forward() {
    let mut text = layout();
    text.push_str("B1,101,9,1,4\n");
    contains(
        &alone(&found(SPANS, &text), "place-changes"),
        &["plot 101 has row 1 and 9", "line 14", "line 2"],
    );
    let text = layout().replace("B4,403,4,11,14", "B4,403,4,14,11");
    contains(
        &alone(&found(SPANS, &text), "place-backwards"),
        &["plot 403 ends at position 11 and begins at 14", "line 13"],
    );
}

#[test]
fn plots_without_a_place_are_named() {
    let text = layout().replace("B4,403,4,11,14", "B4,403,,11,14");
    contains(
        &alone(&found(SPANS, &text), "place-missing"),
        &["plot 403 has no row or position in the field", "fill in"],
    );
}

/// Layout and crop of eight blocks, a vineyard row each, with every treatment at every position; the
/// plots that `raised` names by row and order are out by so much.
fn field(raised: impl Fn(usize, usize) -> f64) -> Vec<Diagnostic> {
    let mut layout = String::from("block,plot,vine_row,from,to\n");
    let mut crop = String::from("block,plot,nodes,kg\n");
    for block in 1..=8 {
        for plot in 1..=3 {
            let treatment = (block + plot) % 3;
            let noise = [0.97, 1.03, 1.0, 0.98, 1.04, 1.02, 0.96][(block * 5 + plot * 3) % 7];
            let slope = 1.0 + 0.03 * block as f64;
            let kg = [3.2, 4.2, 5.0][treatment] * noise * slope * raised(block, plot);
            let nodes = [12, 24, 36][treatment];
            layout.push_str(&format!(
                "B{block},{block}0{plot},{block},{},{}\n",
                plot * 5 - 4,
                plot * 5 - 1
            ));
            crop.push_str(&format!("B{block},{block}0{plot},{nodes},{kg:.2}\n"));
        }
    }
    let files = [("layout.csv", layout.as_str()), ("harvest.csv", &crop)];
    Bench::new(&trial(SPANS), &files).checked()
}

#[test]
fn a_position_that_lies_apart_beyond_treatments_and_blocks_is_named() {
    let out = field(|_, plot| if plot == 3 { 1.5 } else { 1.0 });
    contains(
        &only(&out, "field-drift").to_string(),
        &[
            "plots at position 12.5 of the field lie",
            "above what their treatments and blocks make",
            "(median of 8 plots)",
            "harvest.csv, line 4",
        ],
    );
}

#[test]
fn a_slope_that_the_blocks_take_up_is_no_drift_and_neither_is_chance() {
    for steep in [1.0, 1.2] {
        let sound = field(|block, _| f64::powi(steep, block as i32));
        let named = sound.iter().any(|one| one.rule == "field-drift");
        assert!(!named, "{}", shown(&sound));
    }
}
