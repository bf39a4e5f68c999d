//! The pages of the demo reports, element by element.

use std::collections::{BTreeMap, BTreeSet};

use quick_xml::events::{BytesStart, Event};
use quick_xml::{Decoder, Reader};

use super::*;

/// An element with its attributes and the text inside it.
#[derive(Debug)]
struct Element {
    name: String,
    attributes: BTreeMap<String, String>,
    text: String,
    within: Vec<String>,
}

impl Element {
    fn get(&self, name: &str) -> &str {
        self.attributes.get(name).map_or("", String::as_str)
    }
}

/// The elements of a page. It is read as XML, which forgives nothing: an element left open, an
/// attribute given twice or a stray `<` stops it. Style and script are no XML and are left out.
fn elements(page: &str) -> Vec<Element> {
    let page = without(&without(page, "style"), "script");
    let mut reader = Reader::from_str(&page);
    let decoder = reader.decoder();
    let mut elements: Vec<Element> = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    loop {
        match reader.read_event() {
            Ok(Event::Start(tag)) => {
                elements.push(element(&tag, decoder, &elements, &open));
                open.push(elements.len() - 1);
            }
            Ok(Event::Empty(tag)) => elements.push(element(&tag, decoder, &elements, &open)),
            Ok(Event::End(_)) => {
                open.pop();
            }
            Ok(Event::Text(text)) => {
                let text = text.unescape().unwrap();
                for at in &open {
                    elements[*at].text.push_str(&text);
                }
            }
            Ok(Event::Eof) => break,
            Ok(_) => {}
            Err(error) => {
                let at = reader.error_position() as usize;
                panic!("{error} near {:?}", &page[at.saturating_sub(80)..at]);
            }
        }
    }
    assert!(open.is_empty(), "left open: {open:?}");
    elements
}

fn element(tag: &BytesStart, decoder: Decoder, elements: &[Element], open: &[usize]) -> Element {
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    Element {
        name: text(tag.name().as_ref()),
        attributes: tag
            .attributes()
            .map(|one| {
                let one = one.unwrap();
                let value = one.decode_and_unescape_value(decoder).unwrap().into_owned();
                (text(one.key.as_ref()), value)
            })
            .collect(),
        text: String::new(),
        within: open.iter().map(|at| elements[*at].name.clone()).collect(),
    }
}

fn without(page: &str, name: &str) -> String {
    let (before, rest) = page.split_once(&format!("<{name}>")).unwrap();
    let (_, after) = rest.split_once(&format!("</{name}>")).unwrap();
    format!("{before}{after}")
}

#[test]
fn the_pages_of_the_demo_reports_are_sound() {
    for folder in demo_reports() {
        let (page, markdown) = with_report(&folder, |document| {
            (
                super::super::html(document).unwrap(),
                document.markdown.to_owned(),
            )
        });
        let elements = elements(&page);
        let named = |name: &'static str| elements.iter().filter(move |one| one.name == name);

        let ids: Vec<&str> = elements.iter().map(|one| one.get("id")).collect();
        let ids: Vec<&str> = ids.into_iter().filter(|id| !id.is_empty()).collect();
        let known: BTreeSet<&str> = ids.iter().copied().collect();
        assert_eq!(known.len(), ids.len(), "a name is given twice");

        for link in named("a") {
            if let Some(target) = link.get("href").strip_prefix('#') {
                assert!(known.contains(target), "no place for #{target}");
            }
            assert!(
                !link.text.trim().is_empty(),
                "a link without words: {link:?}"
            );
        }
        for reference in ["aria-labelledby", "aria-describedby"] {
            for one in elements.iter().filter(|one| !one.get(reference).is_empty()) {
                assert!(known.contains(one.get(reference)), "{one:?}");
            }
        }

        // Nothing to load: what a browser fetches without being asked is in none of these.
        for one in &elements {
            assert!(!one.attributes.contains_key("src"), "{one:?}");
            let fetched = one.name != "a" && one.attributes.contains_key("href");
            assert!(!fetched || one.get("href") == "data:,", "{one:?}");
            for name in [
                "img", "iframe", "object", "embed", "video", "audio", "use", "image",
            ] {
                assert_ne!(one.name, name);
            }
        }
        for loading in ["@import", "url(", "fetch(", "XMLHttpRequest", "import("] {
            assert!(!page.contains(loading), "{loading}");
        }

        let drawings: Vec<&Element> = named("svg").collect();
        assert_eq!(drawings.len(), markdown.matches("\n![").count());
        for drawing in drawings {
            assert_eq!(drawing.get("role"), "img");
            assert!(drawing.get("aria-label").len() > 20, "{drawing:?}");
            assert!(drawing.within.iter().any(|name| name == "figure"));
        }

        let tables = named("table").count();
        let rules = markdown
            .lines()
            .filter(|line| line.starts_with("| :---") || line.starts_with("| ---"));
        assert_eq!(tables, rules.count());
        assert_eq!(named("thead").count(), tables);
        for head in named("th") {
            let scope = if head.within.iter().any(|name| name == "thead") {
                "col"
            } else {
                "row"
            };
            assert_eq!(head.get("scope"), scope, "{head:?}");
            assert!(!head.text.trim().is_empty(), "an empty heading");
        }

        let headings: Vec<&Element> = elements
            .iter()
            .filter(|one| ["h1", "h2", "h3", "h4", "h5", "h6"].contains(&one.name.as_str()))
            .collect();
        let level = |one: &Element| one.name.as_bytes()[1];
        assert_eq!(headings.iter().filter(|one| one.name == "h1").count(), 1);
        for pair in headings.windows(2) {
            assert!(
                level(pair[1]) <= level(pair[0]) + 1,
                "{:?} after {:?}",
                pair[1],
                pair[0]
            );
        }
        let listed: Vec<&str> = named("a")
            .filter(|one| one.within.iter().any(|name| name == "nav"))
            .map(|one| &one.get("href")[1..])
            .collect();
        let wanted: Vec<&str> = headings[1..].iter().map(|one| one.get("id")).collect();
        assert_eq!(listed, wanted, "the contents");

        assert_eq!(named("html").next().unwrap().get("lang"), "en");
        assert_eq!(named("main").count(), 1);
        assert_eq!(named("nav").count(), 1);
        assert!(named("title").next().unwrap().text.len() > 5);
        assert!(named("a").next().unwrap().get("href") == "#text" && known.contains("text"));
    }
}

#[test]
fn the_same_document_gives_the_same_page() {
    let folder = demo_reports().remove(0);
    let page = || with_report(&folder, |document| super::super::html(document).unwrap());
    assert_eq!(page(), page());
}
