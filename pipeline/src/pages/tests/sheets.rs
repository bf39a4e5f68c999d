//! What a PDF must hold.

use super::reading::texts;
use super::*;
use crate::pages::Paper;

const TEXT: &str = "# Prueba\n\n## Uno\n\nLa *poda* dejó 24 yemas por cepa, t ha⁻¹.\n\n\
    ![La cosecha subió.](figures/a.png)\n\n*Cosecha.* ([vector file](figures/a.svg))\n\n\
    **Medias**\n\n| Yemas | Cosecha (kg/cepa) |\n| :--- | ---: |\n| 12 | −1,0 |\n| **24** | |\n\n\
    *Una nota.*\n\n[as CSV](tables/a.csv)\n\n## Dos\n\n1. [uno](#uno)\n2. `dos` \"tres\" \\\\ #let\n\n\
    - a\n- b\n\n> dicho\n\n---\n\n```\nuna línea\n```\n\n[fuera](https://example.org/)\n";

fn count(pdf: &[u8], mark: &str) -> usize {
    pdf.windows(mark.len())
        .filter(|part| *part == mark.as_bytes())
        .count()
}

fn sheets(pdf: &[u8]) -> usize {
    count(pdf, "/Type/Page/") + count(pdf, "/Type/Page\n") + count(pdf, "/Type/Page ")
}

/// A document long enough for several sheets.
fn long() -> String {
    let rows: String = (0..90)
        .map(|row| format!("| {row} | {row}.0 |\n"))
        .collect();
    TEXT.replace("| 12 | −1,0 |\n", &rows)
}

#[test]
fn sheets_are_tagged_and_hold_their_fonts_and_their_text() {
    let text = long();
    let pdf = super::super::pdf(&document(&text, "es-MX")).unwrap();
    assert!(sheets(&pdf) > 1, "{} sheets", sheets(&pdf));
    for mark in [
        "/MarkInfo",
        "/StructTreeRoot",
        "/Lang(es-MX)",
        "pdfuaid:part>1<",
        "/S/Table",
        "/S/TH",
        "/Scope/Row",
        "/S/Figure",
        "/Title",
    ] {
        assert!(count(&pdf, mark) > 0, "{mark}");
    }
    assert_eq!(count(&pdf, "/CreationDate"), 0, "a clock");
    let fonts = count(&pdf, "/Subtype/Type0");
    assert!(
        fonts > 0 && fonts == count(&pdf, "/FontFile2"),
        "{fonts} fonts"
    );
    let texts = texts(&pdf);
    for sentence in ["dejó 24 yemas por cepa", "\"tres\" \\ #let", "Página 1 de"] {
        assert!(
            texts.iter().any(|text| text.contains(sentence)),
            "{sentence} in {texts:?}"
        );
    }
}

#[test]
fn the_same_document_gives_the_same_sheets() {
    let text = long();
    let made = || super::super::pdf(&document(&text, "en")).unwrap();
    assert!(made() == made());
}

#[test]
fn sheets_have_the_size_of_the_paper() {
    let on = |paper| super::super::pdf_on(&document(TEXT, "en"), paper).unwrap();
    assert!(count(&on(Paper::A4), "/MediaBox[0 0 595.27") > 0);
    assert!(count(&on(Paper::Letter), "/MediaBox[0 0 612 792]") > 0);
}

#[test]
fn letters_that_the_font_lacks_cost_the_standard_and_not_the_document() {
    let pdf = super::super::pdf(&document("# T\n\n葡萄\n", "en")).unwrap();
    assert_eq!(count(&pdf, "pdfuaid:part"), 0);
    assert!(count(&pdf, "/StructTreeRoot") > 0);
}

#[test]
fn what_is_missing_is_named_here_too() {
    let why = super::super::pdf(&document("# T\n\n![x](figures/lost.png)\n", "en")).unwrap_err();
    assert!(matches!(why, PagesError::NoFigure { .. }), "{why}");
}
