//! Manifests: what is accepted, what is said of the others, which values fit an option.

use caneplot_plugin::Manifest;
use caneplot_plugin::manifest::OptionKind;
use serde_json::{Value as Json, json};

fn manifest(options: Json) -> Result<Manifest, String> {
    let text = json!({ "name": "means", "version": "1.0", "purpose": "Means", "options": options });
    Manifest::read(&text.to_string())
}

#[test]
fn a_manifest_is_read_with_what_it_leaves_out() {
    let option = json!({ "name": "level", "help": "Level", "type": "number", "min": 0, "max": 1,
                         "default": 0.05 });
    let read = manifest(json!([option]));
    assert!(
        read.is_ok_and(|manifest| manifest.options.len() == 1 && !manifest.needs.ratio),
        "the defaults of what is not written"
    );
}

#[test]
fn faults_are_named() {
    let option = |name: &str, more: Json| {
        let mut option = json!({ "name": name, "help": "", "default": null });
        if let (Json::Object(option), Json::Object(more)) = (&mut option, more) {
            option.extend(more);
        }
        option
    };
    let number = json!({ "type": "number" });
    for (options, expected) in [
        (
            json!([option("A", number.clone())]),
            "the option 'A' is not a small letter",
        ),
        (
            json!([option("a", number.clone()), option("a", number)]),
            "the option 'a' stands twice",
        ),
        (
            json!([option("a", json!({ "type": "number", "min": 2, "max": 1 }))]),
            "the option 'a' has a smallest value above its largest",
        ),
        (
            json!([option("a", json!({ "type": "choice", "of": [] }))]),
            "the option 'a' has no words to choose from",
        ),
        (
            json!([option(
                "a",
                json!({ "type": "integer", "min": 1, "default": 0 })
            )]),
            "the default of the option 'a' is not a whole number of at least 1",
        ),
        (
            json!([option("a", json!({ "type": "colour" }))]),
            "unknown variant `colour`",
        ),
    ] {
        let fault = manifest(options).err().unwrap_or_default();
        assert!(fault.starts_with(expected), "{fault}");
    }
    let other = r#"{"name": "m", "version": "1", "purpose": "x", "colour": 1}"#;
    assert!(Manifest::read(other).is_err_and(|fault| fault.contains("unknown field `colour`")));
    let bare = r#"{"name": "m", "version": " ", "purpose": "x"}"#;
    assert_eq!(
        Manifest::read(bare),
        Err("the version is not one line of text".to_owned())
    );
}

#[test]
fn a_value_fits_its_kind_and_range_only() {
    let level = OptionKind::Number {
        min: Some(0.0),
        max: Some(1.0),
    };
    let count = OptionKind::Integer {
        min: Some(1),
        max: None,
    };
    let choice = OptionKind::Choice {
        of: vec!["lsd".into(), "tukey".into()],
    };
    for (kind, fits, not) in [
        (
            &level,
            vec![json!(0), json!(0.5), json!(1)],
            vec![json!(1.1), json!("0.5")],
        ),
        (
            &count,
            vec![json!(1), json!(99)],
            vec![json!(0), json!(1.5), json!(true)],
        ),
        (&choice, vec![json!("lsd")], vec![json!("LSD"), json!(1)]),
        (
            &OptionKind::Boolean,
            vec![json!(true)],
            vec![json!("true"), json!(1)],
        ),
        (&OptionKind::Text, vec![json!("")], vec![json!(1)]),
        (
            &OptionKind::Responses,
            vec![json!([]), json!(["yield"])],
            vec![json!("yield"), json!([1])],
        ),
    ] {
        assert!(
            fits.iter().all(|value| kind.fits(value).is_ok()),
            "{kind:?}"
        );
        assert!(
            not.iter().all(|value| kind.fits(value).is_err()),
            "{kind:?}"
        );
    }
    assert_eq!(level.wanted(), "a number from 0 to 1");
    assert_eq!(count.wanted(), "a whole number of at least 1");
    assert_eq!(choice.wanted(), "one of lsd, tukey");
}
