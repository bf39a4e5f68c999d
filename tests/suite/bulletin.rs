//! The grower bulletin: what it says hangs on the data and on nothing else.

use std::path::PathBuf;

use crate::support::{Scratch, caneplot, files, root, said};

/// What a trial's bulletin says in a language.
fn bulletin(scratch: &Scratch, language: &str) -> String {
    told(scratch, language).0
}

/// What a trial's bulletin says in a language, and what the program says of it.
fn told(scratch: &Scratch, language: &str) -> (String, String) {
    let output = caneplot()
        .arg("bulletin")
        .arg(scratch.trial())
        .args(["--language", language, "--out"])
        .arg(scratch.out())
        .output()
        .expect("the program starts");
    assert!(output.status.success(), "{}", said(&output));
    let page = folder(scratch, language).join("bulletin.md");
    (
        std::fs::read_to_string(page).expect("written"),
        said(&output),
    )
}

/// The number behind some words of the program.
fn number_after(said: &str, words: &str) -> f64 {
    let rest = said.split(words).nth(1).expect("the words");
    let end = rest.find([')', ' ']).expect("an end");
    rest[..end].parse().expect("a number")
}

fn folder(scratch: &Scratch, language: &str) -> PathBuf {
    scratch.out().join(match language {
        "en" => "trial-bulletin".to_owned(),
        other => format!("trial-bulletin-{other}"),
    })
}

/// The part under a heading.
fn part<'a>(text: &'a str, id: &str) -> &'a str {
    let start = text
        .find(&format!("<a id=\"{id}\"></a>"))
        .expect("the part");
    let rest = &text[start..];
    rest.find("\n## ").map_or(rest, |end| &rest[..end])
}

#[test]
fn another_number_in_the_data_gives_another_answer() {
    let scratch = Scratch::demo("training-system");
    let before = bulletin(&scratch, "en");
    let harvest = scratch.read("harvest.csv");
    let mut lines: Vec<String> = harvest.lines().map(str::to_owned).collect();
    let crop = lines[0]
        .split(',')
        .position(|name| name == "crop_lb")
        .expect("the crop");
    let mut cells: Vec<String> = lines[1].split(',').map(str::to_owned).collect();
    let old: f64 = cells[crop].parse().expect("a number");
    cells[crop] = format!("{:.2}", old * 0.8);
    lines[1] = cells.join(",");
    scratch.write("harvest.csv", &(lines.join("\n") + "\n"));
    let after = bulletin(&scratch, "en");
    assert_ne!(part(&before, "answer"), part(&after, "answer"));
    assert_eq!(part(&before, "cautions"), part(&after, "cautions"));
}

#[test]
fn edits_survive_another_run_and_their_values_follow_the_data() {
    let scratch = Scratch::demo("node-number");
    let edits = scratch.read("bulletin.toml");
    let before = bulletin(&scratch, "en");
    let own = |page: &str| {
        let lines = page.lines();
        let found = lines.filter(|line| line.starts_with("With 24 nodes a vine the crop was"));
        found
            .map(str::to_owned)
            .next()
            .expect("the writer's sentence")
    };
    let harvest = scratch.read("harvest.csv");
    let line = harvest.lines().nth(1).expect("a record");
    let crop = harvest.lines().next().expect("headings");
    let crop = crop
        .split(',')
        .position(|name| name == "crop_kg")
        .expect("the crop");
    let cells: Vec<String> = line
        .split(',')
        .enumerate()
        .map(|(at, cell)| {
            if at == crop {
                "12.4".to_owned()
            } else {
                cell.to_owned()
            }
        })
        .collect();
    scratch.write("harvest.csv", &harvest.replacen(line, &cells.join(","), 1));
    let after = bulletin(&scratch, "en");
    assert_eq!(scratch.read("bulletin.toml"), edits);
    assert_ne!(part(&before, "answer"), part(&after, "answer"));
    assert_eq!(
        own(&before).split(' ').count(),
        own(&after).split(' ').count()
    );
}

#[test]
fn another_wage_changes_the_money_and_nothing_else() {
    let scratch = Scratch::demo("node-number");
    let before = bulletin(&scratch, "en");
    scratch.change(
        "prices.toml",
        "wage = { likely = 17, low = 14, high = 20 }",
        "wage = { likely = 40, low = 35, high = 45 }",
    );
    let after = bulletin(&scratch, "en");
    let (old, new) = (part(&before, "money"), part(&after, "money"));
    assert_ne!(old, new);
    assert_eq!(before.replace(old, new), after);
}

#[test]
fn cautions_stay_whatever_the_edits_say() {
    let scratch = Scratch::demo("node-number");
    let edits = scratch.read("bulletin.toml");
    scratch.write(
        "bulletin.toml",
        &format!("leave_out = [\"money\", \"cautions\"]\n{edits}"),
    );
    let output = caneplot()
        .arg("bulletin")
        .arg(scratch.trial())
        .arg("--out")
        .arg(scratch.out())
        .output()
        .expect("the program starts");
    assert!(!output.status.success());
    let said = said(&output);
    assert!(said.contains("'cautions' cannot be left out"), "{said}");
    assert!(said.contains("bulletin.toml:1:23"), "{said}");
}

#[test]
fn mistakes_in_the_edits_are_named_with_their_place() {
    let scratch = Scratch::demo("node-number");
    scratch.write("bulletin.toml", "tilte = \"x\"\nresponses = [\"yeild\"]\n");
    let run = |scratch: &Scratch| {
        let output = caneplot()
            .arg("bulletin")
            .arg(scratch.trial())
            .arg("--out")
            .arg(scratch.out())
            .output()
            .expect("the program starts");
        assert!(!output.status.success());
        said(&output)
    };
    let text = run(&scratch);
    assert!(
        text.contains("bulletin.toml:1:1") && text.contains("title"),
        "{text}"
    );
    scratch.write("bulletin.toml", "responses = [\"yeild\"]\n");
    let text = run(&scratch);
    assert!(
        text.contains("bulletin.toml:1:14") && text.contains("'yield'"),
        "{text}"
    );
    scratch.write(
        "bulletin.toml",
        "[sentences]\nwhy = [\"It gave {yield.diference} more.\"]\n",
    );
    let text = run(&scratch);
    assert!(text.contains("bulletin.toml:2:17"), "{text}");
    assert!(text.contains("{yield.difference}"), "{text}");
}

#[test]
fn a_typed_result_is_warned_of_and_a_called_one_is_filled_in() {
    let scratch = Scratch::demo("node-number");
    scratch.write(
        "bulletin.toml",
        "[sentences]\nwhy = [\"We saw 1.2 t/ha more, and {yield.24} with 24 nodes.\"]\n",
    );
    let output = caneplot()
        .arg("bulletin")
        .arg(scratch.trial())
        .arg("--out")
        .arg(scratch.out())
        .output()
        .expect("the program starts");
    assert!(output.status.success());
    let text = said(&output);
    assert!(text.contains("'1.2' looks like a result"), "{text}");
    let page =
        std::fs::read_to_string(folder(&scratch, "en").join("bulletin.md")).expect("written");
    assert!(!page.contains("{yield"), "{page}");
    assert!(
        part(&page, "why").contains("We saw 1.2 t/ha more, and 10."),
        "{page}"
    );
}

#[test]
fn both_demos_read_at_the_ninth_grade_or_below_and_hold_no_p() {
    for name in ["node-number", "training-system"] {
        let scratch = Scratch::demo(name);
        let (page, said) = told(&scratch, "en");
        let grade = number_after(&said, "reads at school grade ");
        println!("{name}: grade {grade}");
        assert!(grade <= 9.0, "{name} reads at grade {grade}");
        for never in ["P =", "P <", "P &lt;", "no effect", "significant", "***"] {
            assert!(!page.contains(never), "{name} says '{never}'");
        }
        let (spanish, said) = told(&scratch, "es");
        println!("{name}: ease {}", number_after(&said, "reading ease "));
        assert!(!said.contains("stays as it is"), "{said}");
        for (made, folder) in [(&page, "bulletin"), (&spanish, "bulletin-es")] {
            let kept = root().join(format!("reports/{name}-{folder}/bulletin.md"));
            let kept = std::fs::read_to_string(kept).expect("the committed bulletin");
            assert_eq!(*made, kept, "{name}-{folder} is as committed");
        }
        for english in ["nodes", "likely", "the crop", "head-trained"] {
            assert!(
                !spanish.contains(english),
                "{name} in Spanish says '{english}'"
            );
        }
    }
}

#[test]
fn a_bulletin_is_verified_and_the_same_bytes_again() {
    let scratch = Scratch::demo("training-system");
    bulletin(&scratch, "es-MX");
    let place = folder(&scratch, "es-MX");
    let verified = caneplot()
        .arg("verify")
        .arg(&place)
        .output()
        .expect("starts");
    assert!(verified.status.success(), "{}", said(&verified));
    let page = std::fs::read_to_string(place.join("bulletin.md")).expect("written");
    let before = files(&place);
    bulletin(&scratch, "es-MX");
    for (name, bytes) in files(&place) {
        if name != "manifest.json" {
            assert_eq!(before.get(&name), Some(&bytes), "{name}");
        }
    }
    assert!(page.contains("toneladas cortas/acre"), "{page}");
}
