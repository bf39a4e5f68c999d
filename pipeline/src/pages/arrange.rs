//! What belongs together becomes one block: a picture and the caption below it; the title above a
//! table, the table, its notes and the link to its file.

use super::tree::{Block, Figure, Span};

/// The blocks with figures and tables whole.
pub fn arranged(blocks: Vec<Block>) -> Vec<Block> {
    let mut out: Vec<Block> = Vec::with_capacity(blocks.len());
    for block in blocks {
        match block {
            Block::Paragraph(spans) => paragraph(spans, &mut out),
            Block::Table(mut table) => {
                if let Some(title) = title(out.last()) {
                    out.pop();
                    table.title = title;
                }
                out.push(Block::Table(table));
            }
            Block::List { first, items } => out.push(Block::List {
                first,
                items: items.into_iter().map(arranged).collect(),
            }),
            Block::Quote(inner) => out.push(Block::Quote(arranged(inner))),
            other => out.push(other),
        }
    }
    out
}

/// A paragraph that is strong from end to end, as the title of what follows.
fn title(before: Option<&Block>) -> Option<Vec<Span>> {
    match before {
        Some(Block::Paragraph(spans)) => match spans.as_slice() {
            [Span::Strong(inner)] => Some(inner.clone()),
            _ => None,
        },
        _ => None,
    }
}

fn paragraph(mut spans: Vec<Span>, out: &mut Vec<Block>) {
    match (spans.as_mut_slice(), out.last_mut()) {
        ([Span::Image(_)], _) => {
            if let Some(Span::Image(image)) = spans.pop() {
                out.push(Block::Figure(Figure {
                    image,
                    caption: Vec::new(),
                    file: None,
                }));
            }
        }
        ([Span::Emphasis(caption), rest @ ..], Some(Block::Figure(figure)))
            if figure.caption.is_empty() =>
        {
            figure.caption = std::mem::take(caption);
            match rest {
                [] => {}
                [
                    Span::Text(open),
                    Span::Link { to, spans },
                    Span::Text(close),
                ] if open.trim() == "(" && close.trim() == ")" => {
                    figure.file = Some((std::mem::take(to), std::mem::take(spans)));
                }
                rest => figure.caption.extend(rest.iter().cloned()),
            }
        }
        ([Span::Emphasis(note)], Some(Block::Table(table))) if table.file.is_none() => {
            table.notes.push(std::mem::take(note));
        }
        ([Span::Link { to, spans }], Some(Block::Table(table)))
            if table.file.is_none() && is_file(to, "csv") =>
        {
            table.file = Some((std::mem::take(to), std::mem::take(spans)));
        }
        _ => out.push(Block::Paragraph(spans)),
    }
}

/// Whether a link leads to a file of that ending beside the document.
fn is_file(to: &str, ending: &str) -> bool {
    !to.contains(':')
        && to
            .rsplit_once('.')
            .is_some_and(|(_, found)| found.eq_ignore_ascii_case(ending))
}
