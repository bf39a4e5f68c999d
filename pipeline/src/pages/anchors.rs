//! A name for every heading, so that contents and links have somewhere to lead.

use std::collections::BTreeSet;

use super::PagesError;
use super::tree::{Block, Span, plain};

/// Names the headings that have no name, each name once.
///
/// # Errors
/// [`PagesError::NoTarget`] where a link leads to a name that no heading has.
pub fn name(blocks: &mut [Block]) -> Result<(), PagesError> {
    let mut taken: BTreeSet<String> = BTreeSet::new();
    // Names that were given come first: links were written for them.
    for_each_heading(blocks, &mut |id, _| {
        if !id.is_empty() && !taken.insert(id.clone()) {
            id.clear();
        }
    });
    for_each_heading(blocks, &mut |id, spans| {
        if id.is_empty() {
            *id = unused(&slug(&plain(spans)), &taken);
            taken.insert(id.clone());
        }
    });
    targets(blocks, &taken)
}

fn for_each_heading(blocks: &mut [Block], act: &mut dyn FnMut(&mut String, &[Span])) {
    for block in blocks {
        if let Block::Heading { id, spans, .. } = block {
            act(id, spans);
        }
    }
}

/// The name that GitHub gives a heading: small letters, digits, hyphens and underscores, a hyphen
/// for each blank.
fn slug(text: &str) -> String {
    let kept = text.trim().chars().filter_map(|c| match c {
        ' ' => Some('-'),
        '-' | '_' => Some(c),
        c if c.is_alphanumeric() => Some(c),
        _ => None,
    });
    kept.flat_map(char::to_lowercase).collect()
}

fn unused(wanted: &str, taken: &BTreeSet<String>) -> String {
    if !wanted.is_empty() && !taken.contains(wanted) {
        return wanted.to_owned();
    }
    let mut number = 1;
    loop {
        let name = format!("{wanted}-{number}");
        if !taken.contains(&name) {
            return name;
        }
        number += 1;
    }
}

fn targets(blocks: &[Block], known: &BTreeSet<String>) -> Result<(), PagesError> {
    for block in blocks {
        match block {
            Block::Heading { spans, .. } | Block::Paragraph(spans) => in_spans(spans, known)?,
            Block::List { items, .. } => {
                for item in items {
                    targets(item, known)?;
                }
            }
            Block::Quote(inner) => targets(inner, known)?,
            Block::Table(table) => {
                let cells = table.head.iter().chain(table.rows.iter().flatten());
                for spans in cells.chain(&table.notes).chain([&table.title]) {
                    in_spans(spans, known)?;
                }
            }
            Block::Figure(figure) => in_spans(&figure.caption, known)?,
            Block::Code(_) | Block::Rule => {}
        }
    }
    Ok(())
}

fn in_spans(spans: &[Span], known: &BTreeSet<String>) -> Result<(), PagesError> {
    for span in spans {
        match span {
            Span::Link { to, spans } => {
                if let Some(target) = to.strip_prefix('#').filter(|name| !known.contains(*name)) {
                    return Err(PagesError::NoTarget {
                        target: target.to_owned(),
                    });
                }
                in_spans(spans, known)?;
            }
            Span::Strong(inner) | Span::Emphasis(inner) => in_spans(inner, known)?,
            Span::Text(_) | Span::Code(_) | Span::Image(_) | Span::Break => {}
        }
    }
    Ok(())
}
