//! Trials planned, filled in and run, with no hand on any file in between.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use crate::support::{assert_same, caneplot, files, said};

/// A plan with a vineyard of rows of unequal length, gaps and guards.
pub fn plan(design: &str, factors: &str) -> String {
    format!(
        "[trial]\ntitle = \"Trial & trellis <of> the upper block\"\nquestion = \"How many nodes?\"\n\
         seasons = \"2027-2028\"\nseed = 20261125\n\n\
         [about]\nsite = \"an invented slope\"\n\n\
         [vineyard]\nrow_spacing = \"2.4 m\"\nvine_spacing = \"1.5 m\"\ncanopy_per_vine = \"1.5 m\"\n\n\
         [design]\n{design}\nvines = 4\nbuffers = 1\n\n{factors}\n\
         [field]\nguard_rows = [1, 20]\ngradient = \"to the last row\"\ngaps = \"count\"\n\
         missing = [\"3:4\", \"5:8-9\"]\nunusable = [\"4:2\"]\n\n\
         [[field.rows]]\nrows = \"1-8\"\npositions = 60\n\n\
         [[field.rows]]\nrows = \"9-20\"\npositions = \"5-56\"\n"
    )
}

pub const NODES: &str =
    "[factors.nodes]\nlevels = [12, 24, 36, 48]\nunit = \"nodes/vine\"\ncontrol = 24\n";
const TWO: &str = "[factors.system]\nrole = \"whole plot\"\nlevels = [\"HT\", \"SC\", \"CP\"]\n\
                   [factors.nodes]\nrole = \"sub plot\"\nlevels = [24, 40]\nunit = \"nodes/vine\"\n";
/// Fewer records than usual, where a design is tried and not the records.
const FEW: &str = "[records]\npruning = [\"pruning_weight\"]\nharvest = [\"yield\", \"brix\"]\n\n";
const LEAF: &str = "[factors.leaf]\nrole = \"sub-sub plot\"\nlevels = [\"kept\", \"pulled\"]\n";

pub struct Place(tempfile::TempDir);

impl Place {
    pub fn new() -> Self {
        Self(tempfile::tempdir().expect("a scratch folder"))
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    /// `caneplot plan` on a text.
    pub fn plan(&self, text: &str, out: &str) -> Output {
        fs::write(self.path("plan.toml"), text).expect("written");
        caneplot()
            .arg("plan")
            .arg(self.path("plan.toml"))
            .arg("--out")
            .arg(self.path(out))
            .output()
            .expect("the program starts")
    }
}

fn check(trial: &Path) -> Output {
    caneplot()
        .arg("check")
        .arg(trial)
        .output()
        .expect("the program starts")
}

/// Plans, checks, fills in, checks and runs.
fn goes_through(design: &str, factors: &str) {
    let place = Place::new();
    let output = place.plan(&plan(design, factors), "trial");
    assert!(output.status.success(), "{}", said(&output));
    let trial = place.path("trial");
    let output = check(&trial);
    assert!(
        output.status.success(),
        "without records: {}",
        said(&output)
    );
    caneplot_tests::fill::fill(&trial, 7).expect("filled in");
    let output = check(&trial);
    assert!(output.status.success(), "{}", said(&output));
    // Vines are as unlike as vines are: one may lie far from its like, and nothing else is wrong.
    for line in said(&output)
        .lines()
        .filter(|line| line.starts_with("warning"))
    {
        assert!(
            line.contains("far from the same treatment"),
            "{}",
            said(&output)
        );
    }
    let output = caneplot()
        .arg("run")
        .arg(&trial)
        .arg("--out")
        .arg(place.path("out"))
        .output()
        .expect("the program starts");
    assert!(output.status.success(), "{}", said(&output));
    let report = fs::read_to_string(place.path("out/trial/report.md")).expect("a report");
    assert!(report.contains("How many nodes?"));
    // The layout says where plots lie, so every design is looked at in the field at once.
    assert!(report.contains("The field in short"));
    assert!(
        place
            .path("out/trial/figures/spatial-yield-left.png")
            .exists()
    );
}

#[test]
fn a_randomised_block_trial_goes_from_plan_to_report() {
    goes_through(
        "kind = \"randomised block\"\nblocks = 4\napart = true",
        NODES,
    );
}

#[test]
fn a_latin_square_goes_from_plan_to_report() {
    goes_through("kind = \"Latin square\"", &format!("{NODES}{FEW}"));
}

#[test]
fn a_completely_randomised_trial_goes_from_plan_to_report() {
    goes_through(
        "kind = \"completely randomised\"\nreplicates = 4",
        &format!("{NODES}{FEW}"),
    );
}

#[test]
fn a_split_plot_trial_goes_from_plan_to_report() {
    goes_through("kind = \"split plot\"\nblocks = 4", &format!("{TWO}{FEW}"));
}

#[test]
fn a_strip_plot_trial_goes_from_plan_to_report() {
    let strips = TWO
        .replace("whole plot", "row strip")
        .replace("sub plot", "cross strip");
    goes_through(
        "kind = \"strip plot\"\nblocks = 4",
        &format!("{strips}{FEW}"),
    );
}

#[test]
fn a_split_split_plot_trial_goes_from_plan_to_report() {
    goes_through(
        "kind = \"split-split plot\"\nblocks = 3",
        &format!("{TWO}{LEAF}{FEW}"),
    );
}

#[test]
fn the_same_plan_gives_the_same_bytes_and_its_record_gives_them_again() {
    let place = Place::new();
    let text = plan("kind = \"randomised block\"\nblocks = 4", NODES);
    assert!(place.plan(&text, "one").status.success());
    assert!(place.plan(&text, "two").status.success());
    let one = files(&place.path("one"));
    assert_same(&one, &files(&place.path("two")));
    let record = fs::read_to_string(place.path("one/plan.toml")).expect("the record");
    assert!(place.plan(&record, "three").status.success());
    assert_same(&one, &files(&place.path("three")));
    let other = text.replace("seed = 20261125", "seed = 20261126");
    assert!(place.plan(&other, "four").status.success());
    assert_ne!(one["layout.csv"], files(&place.path("four"))["layout.csv"]);
}

#[test]
fn nothing_that_is_there_is_replaced_and_nothing_half_is_left() {
    let place = Place::new();
    let text = plan("kind = \"randomised block\"\nblocks = 4", NODES);
    fs::create_dir(place.path("trial")).expect("a folder");
    let output = place.plan(&text, "trial");
    assert_eq!(output.status.code(), Some(1));
    assert!(
        said(&output).contains("a plan never replaces anything"),
        "{}",
        said(&output)
    );
    let crowded = text.replace("blocks = 4", "blocks = 40");
    let output = place.plan(&crowded, "crowded");
    assert_eq!(output.status.code(), Some(1));
    assert!(
        said(&output).contains("plan.toml:") && said(&output).contains("finds no room"),
        "{}",
        said(&output)
    );
    let left: Vec<String> = files(place.0.path()).into_keys().collect();
    assert_eq!(left, ["plan.toml"]);
}

#[test]
fn options_stand_for_a_plan_file() {
    let place = Place::new();
    let output = caneplot()
        .args([
            "plan",
            "--design",
            "randomised block",
            "--factor",
            "nodes=12,24,36,48",
        ])
        .args(["--blocks", "5", "--vines", "4", "--out"])
        .arg(place.path("trial"))
        .output()
        .expect("the program starts");
    assert!(output.status.success(), "{}", said(&output));
    let layout = fs::read_to_string(place.path("trial/layout.csv")).expect("a layout");
    assert_eq!(layout.lines().count(), 21);
    assert!(check(&place.path("trial")).status.success());
}

#[test]
fn sheets_guard_what_is_typed_and_keep_treatments_to_themselves() {
    let place = Place::new();
    let text = plan("kind = \"randomised block\"\nblocks = 4", NODES);
    assert!(place.plan(&text, "trial").status.success());
    let made = files(&place.path("trial"));
    // Parts are stored as they are, so that they can be read in the archive's bytes.
    let book = String::from_utf8_lossy(&made["sheets/2027.xlsx"]).into_owned();
    for part in [
        "<sheet name=\"Harvest B4\"",
        "<formula1>&quot;alive,missing,dead,replanted&quot;</formula1>",
        "<formula1>2</formula1><formula2>5</formula2>",
        "prompt=\"Yield, kg/vine: a number from 0 to 200. Leave empty what was not recorded.\"",
        "state=\"frozen\"",
        "orientation=\"landscape\"",
        "'Harvest B1'!$1:$1",
        "Trial &amp; trellis &lt;of&gt; the upper block",
    ] {
        assert!(book.contains(part), "{part}");
    }
    let harvest = String::from_utf8_lossy(&made["harvest.csv"]).into_owned();
    assert!(!harvest.contains("nodes"), "scorers do not see treatments");
    let shown = text.replace(
        "[field]",
        "[records]\ntreatments_on = [\"sheets\"]\n\n[field]",
    );
    assert!(place.plan(&shown, "shown").status.success());
    let harvest = fs::read_to_string(place.path("shown/harvest.csv")).expect("a sheet");
    assert!(
        harvest.starts_with("season,block,plot,vine,vineyard_row,position,nodes,status"),
        "{harvest}"
    );
}

#[test]
fn what_is_recorded_before_the_treatments_has_a_sheet_of_its_own() {
    let place = Place::new();
    let text = plan("kind = \"randomised block\"\nblocks = 4", NODES);
    let before = "[covariates.prunings_before]\ncolumn = \"wood_before_kg\"\nis = \"pruning weight\"\n\
                  unit = \"kg/vine\"\n\n[covariates.brix_before]\nis = \"soluble solids\"\nunit = \"Brix\"\n\n";
    let text = text.replace("[field]", &format!("{before}{FEW}[field]"));
    let output = place.plan(&text, "trial");
    assert!(output.status.success(), "{}", said(&output));
    let trial = place.path("trial");
    let made = files(&trial);
    let of = |name: &str| String::from_utf8_lossy(&made[name]).into_owned();
    assert!(
        of("baseline.csv").starts_with("block,plot,vine,vineyard_row,position,wood_before_kg,date"),
        "{}",
        of("baseline.csv")
    );
    assert_eq!(of("baseline.csv").lines().count(), 1 + 4 * 4 * 4);
    assert_eq!(of("baseline-plots.csv").lines().count(), 1 + 4 * 4);
    assert!(of("sheets/baseline.xlsx").contains("<sheet name=\"Baseline B4\""));
    assert!(!of("sheets/2027.xlsx").contains("Baseline"));
    assert!(of("README.md").contains("- **Baseline**, once, before the treatments begin"));
    caneplot_tests::fill::fill(&trial, 7).expect("filled in");
    caneplot_tests::fill_workbooks::fill_workbooks(&trial).expect("filled in");
    let output = caneplot()
        .arg("run")
        .arg(&trial)
        .arg("--out")
        .arg(place.path("out"))
        .output()
        .expect("the program starts");
    assert!(output.status.success(), "{}", said(&output));
    let report = fs::read_to_string(place.path("out/trial/report.md")).expect("a report");
    assert!(report.contains("prunings before"), "adjusted for");
}

#[test]
fn a_covariate_of_a_plan_cannot_take_the_column_of_a_response() {
    let place = Place::new();
    let text = plan("kind = \"randomised block\"\nblocks = 4", NODES);
    let taken =
        "[covariates.crop_before]\ncolumn = \"crop_kg\"\nis = \"yield\"\nunit = \"kg/vine\"\n\n";
    let output = place.plan(
        &text.replace("[field]", &format!("{taken}[field]")),
        "trial",
    );
    assert_eq!(output.status.code(), Some(1));
    assert!(
        said(&output).contains("the column 'crop_kg' is taken"),
        "{}",
        said(&output)
    );
}
