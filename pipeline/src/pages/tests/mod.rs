//! What pages must hold.

mod arranging;
mod reading;
mod sheets;
mod structure;

use std::path::{Path, PathBuf};

use super::{Document, Kind, PagesError};

/// A drawing as small as one can be.
const SVG: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"40.0pt\" \
                   height=\"30.0pt\" viewBox=\"0 0 400 300\">\n<title>t</title>\n<desc>d</desc>\n\
                   <rect x=\"0\" y=\"0\" width=\"400\" height=\"300\" fill=\"#FFFFFF\"/>\n</svg>\n";

fn document<'a>(markdown: &'a str, language: &'a str) -> Document<'a> {
    Document {
        kind: Kind::Bulletin,
        title: "A trial",
        language,
        markdown,
        figure: &|path| (path == "figures/a.png").then(|| SVG.to_owned()),
    }
}

fn html(markdown: &str) -> Result<String, PagesError> {
    super::html(&document(markdown, "en"))
}

/// The reports of the demo trials.
fn demo_reports() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../reports");
    let mut reports: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.join("report.md").is_file())
        .collect();
    reports.sort();
    assert!(reports.len() >= 3);
    reports
}

/// Does something with a demo report as a document.
fn with_report<T>(folder: &Path, act: impl FnOnce(&Document) -> T) -> T {
    let markdown = std::fs::read_to_string(folder.join("report.md")).unwrap();
    let title = markdown.lines().next().unwrap().trim_start_matches("# ");
    act(&Document {
        kind: Kind::Report,
        title,
        language: "en",
        markdown: &markdown,
        figure: &|path| std::fs::read_to_string(folder.join(path).with_extension("svg")).ok(),
    })
}
