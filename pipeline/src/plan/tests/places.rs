//! Plots on real vine positions.

use super::*;

const RCB: &str = "kind = \"randomised block\"\nblocks = 3\nvines = 4\nbuffers = 1";

fn field(lines: &str, rows: &str) -> String {
    format!("{NODES}\n[field]\n{lines}\n{rows}")
}

fn rows(numbers: &str, positions: &str) -> String {
    format!("[[field.rows]]\nrows = {numbers}\npositions = {positions}\n")
}

#[test]
fn plots_lie_in_one_row_and_share_no_vine() {
    let rest = field(
        "missing = [\"2:5\", \"3:10-12\"]\nunusable = [\"2:20\"]\nguard_rows = [1, 9]",
        &(rows("\"1-4\"", "30") + &rows("\"5-9\"", "\"11-30\"")),
    );
    let laid = layout(&text(RCB, &rest));
    let mut taken = std::collections::BTreeSet::new();
    for plot in &laid.plots {
        let row = &laid.field.rows[plot.site.row];
        assert!(!row.guard);
        assert_eq!(
            (
                plot.site.vines.len(),
                plot.site.before.len(),
                plot.site.behind.len()
            ),
            (4, 1, 1)
        );
        for at in plot
            .site
            .before
            .iter()
            .chain(&plot.site.vines)
            .chain(&plot.site.behind)
        {
            assert!((row.first..=row.last).contains(at));
            assert!(!row.missing.contains(at) && !row.unusable.contains(at));
            assert!(
                taken.insert((row.number, *at)),
                "row {} position {at} twice",
                row.number
            );
        }
    }
    // Row 2 has 28 usable positions, room for four plots of six; rows 5 to 8 have room for three.
    let in_row = |number| {
        laid.plots
            .iter()
            .filter(|plot| laid.field.rows[plot.site.row].number == number)
            .count()
    };
    assert_eq!([2, 3, 4, 5, 6].map(in_row), [4, 4, 4, 0, 0]);
    // The first plot passes over the gap at position 5.
    assert_eq!(laid.plots[0].site.vines, [2, 3, 4, 6]);
}

#[test]
fn counted_gaps_are_places_of_their_plot() {
    let rest = field(
        "missing = [\"1:3\"]\ngaps = \"count\"",
        &rows("\"1-3\"", "24"),
    );
    let laid = layout(&text(RCB, &rest));
    assert_eq!(laid.plots[0].site.vines, [2, 3, 4, 5]);
    let sheets = records::sheets(&laid.plan);
    let harvest = sheets
        .iter()
        .find(|sheet| sheet.file == "harvest.csv")
        .unwrap();
    assert!(harvest.has_status);
    let files = folder::files(&laid).unwrap();
    let (_, csv) = files
        .iter()
        .find(|(name, _)| name == "harvest.csv")
        .unwrap();
    let csv = String::from_utf8(csv.clone()).unwrap();
    assert!(csv.contains("2027,B1,101,2,1,3,missing,,,,,\n"), "{csv}");
    assert!(csv.contains("2027,B1,101,1,1,2,,,,,,\n"), "{csv}");
}

#[test]
fn blocks_follow_the_gradient() {
    let along = field("gradient = \"to the last vine\"", &rows("\"1-2\"", "40"));
    let laid = layout(&text(RCB, &along));
    for block in 0..3 {
        let plots: Vec<&Plot> = laid
            .plots
            .iter()
            .filter(|plot| plot.site.block == block)
            .collect();
        let first = plots.iter().map(|plot| plot.site.reach().0).min().unwrap();
        let last = plots.iter().map(|plot| plot.site.reach().1).max().unwrap();
        assert_eq!(
            (first, last),
            (block as u32 * 12 + 1, block as u32 * 12 + 12)
        );
        assert_eq!(plots.iter().filter(|plot| plot.site.row == 0).count(), 2);
    }
    let across = field(
        "gradient = \"to the last row\"\nrows_per_block = 2",
        &rows("\"1-6\"", "40"),
    );
    let laid = layout(&text(RCB, &across));
    assert!(
        laid.plots
            .iter()
            .all(|plot| plot.site.row / 2 == plot.site.block)
    );
}

#[test]
fn the_columns_of_a_square_are_straight() {
    let rest = field("missing = [\"2:3\"]", &rows("\"1-4\"", "40"));
    let laid = layout(&text(
        "kind = \"Latin square\"\nvines = 4\nbuffers = 1",
        &rest,
    ));
    for plot in &laid.plots {
        let (first, last) = plot.site.reach();
        for other in laid
            .plots
            .iter()
            .filter(|other| other.site.along > plot.site.along)
        {
            assert!(
                other.site.reach().0 > last,
                "columns do not overlap, whatever the row"
            );
        }
        assert!(first >= 1);
    }
    assert_eq!(laid.plots[5].number, 202);
}

#[test]
fn a_whole_plot_is_never_broken() {
    let split = format!("{SYSTEM}{SUB}");
    let rest = format!("{split}\n[field]\n{}", rows("\"1-12\"", "20"));
    let laid = layout(&text(
        "kind = \"split plot\"\nblocks = 3\nvines = 3\nbuffers = 1",
        &rest,
    ));
    for pair in laid.plots.chunks(2) {
        assert_eq!(pair[0].site.row, pair[1].site.row);
        assert_eq!(pair[0].treatment[0], pair[1].treatment[0]);
        assert_eq!(pair[0].site.reach().1 + 1, pair[1].site.reach().0);
    }
}

#[test]
fn too_little_room_names_the_row_and_its_positions() {
    let short = field(
        "rows_per_block = 1",
        &(rows("\"1-2\"", "24") + &rows("7", "22")),
    );
    let words = refused(&text(RCB, &short));
    assert!(
        words.contains("row 7 has 22 usable positions (1 to 22), block B3 needs 24 there"),
        "{words}"
    );
    assert!(
        words.contains("positions = 22"),
        "the line is shown: {words}"
    );
    let few = field("", &rows("\"1-2\"", "24"));
    let words = refused(&text(RCB, &few));
    assert!(
        words.contains("block B3 finds no room: no row is left"),
        "{words}"
    );
}
