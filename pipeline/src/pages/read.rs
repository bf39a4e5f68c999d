//! Markdown to blocks.
//!
//! The only HTML our writers put into Markdown is the anchor `<a id="name"></a>` in front of a
//! heading's words; any other stays visible as text.

use pulldown_cmark::{Alignment, Event, Options, Parser, Tag, TagEnd};

use super::tree::{Block, Image, Side, Span, Table};

/// The blocks of a text.
pub fn blocks(markdown: &str) -> Vec<Block> {
    let mut events = Parser::new_ext(markdown, Options::ENABLE_TABLES);
    blocks_until(&mut events, None)
}

/// Blocks up to the end of what is open.
fn blocks_until(events: &mut Parser<'_>, end: Option<TagEnd>) -> Vec<Block> {
    let mut blocks = Vec::new();
    // Text outside of a paragraph: items of a list without empty lines have it.
    let mut loose: Vec<Span> = Vec::new();
    while let Some(event) = events.next() {
        if matches!(&event, Event::End(tag) if Some(*tag) == end) {
            break;
        }
        match block(event, events) {
            Piece::Block(block) => {
                flush(&mut loose, &mut blocks);
                blocks.push(block);
            }
            Piece::Span(span) => loose.push(span),
            Piece::Nothing => {}
        }
    }
    flush(&mut loose, &mut blocks);
    blocks
}

fn flush(loose: &mut Vec<Span>, blocks: &mut Vec<Block>) {
    if !loose.is_empty() {
        blocks.push(Block::Paragraph(joined(std::mem::take(loose))));
    }
}

enum Piece {
    Block(Block),
    Span(Span),
    Nothing,
}

fn block(event: Event<'_>, events: &mut Parser<'_>) -> Piece {
    let made = match event {
        Event::Start(Tag::Paragraph) => Block::Paragraph(spans_until(events, TagEnd::Paragraph).0),
        Event::Start(Tag::Heading { level, .. }) => {
            let (spans, id) = spans_until(events, TagEnd::Heading(level));
            Block::Heading {
                level: level as u8,
                id: id.unwrap_or_default(),
                spans,
            }
        }
        Event::Start(Tag::List(first)) => Block::List {
            first,
            items: items(events, first.is_some()),
        },
        Event::Start(Tag::BlockQuote(kind)) => {
            Block::Quote(blocks_until(events, Some(TagEnd::BlockQuote(kind))))
        }
        Event::Start(Tag::CodeBlock(_)) => Block::Code(code(events)),
        Event::Start(Tag::Table(sides)) => Block::Table(table(events, &sides)),
        Event::Start(Tag::HtmlBlock) => Block::Paragraph(spans_until(events, TagEnd::HtmlBlock).0),
        Event::Rule => Block::Rule,
        other => return span(other, events, &mut None).map_or(Piece::Nothing, Piece::Span),
    };
    Piece::Block(made)
}

fn items(events: &mut Parser<'_>, numbered: bool) -> Vec<Vec<Block>> {
    let mut items = Vec::new();
    while let Some(event) = events.next() {
        match event {
            Event::Start(Tag::Item) => items.push(blocks_until(events, Some(TagEnd::Item))),
            Event::End(TagEnd::List(ordered)) if ordered == numbered => break,
            _ => {}
        }
    }
    items
}

fn code(events: &mut Parser<'_>) -> String {
    let mut text = String::new();
    for event in events.by_ref() {
        match event {
            Event::Text(more) => text.push_str(&more),
            Event::End(TagEnd::CodeBlock) => break,
            _ => {}
        }
    }
    text.trim_end_matches('\n').to_owned()
}

fn table(events: &mut Parser<'_>, sides: &[Alignment]) -> Table {
    let mut table = Table {
        sides: sides.iter().map(side).collect(),
        ..Table::default()
    };
    let mut row = Vec::new();
    while let Some(event) = events.next() {
        match event {
            Event::Start(Tag::TableCell) => row.push(spans_until(events, TagEnd::TableCell).0),
            Event::End(TagEnd::TableHead) => table.head = std::mem::take(&mut row),
            Event::End(TagEnd::TableRow) => table.rows.push(std::mem::take(&mut row)),
            Event::End(TagEnd::Table) => break,
            _ => {}
        }
    }
    table
}

fn side(alignment: &Alignment) -> Side {
    match alignment {
        Alignment::None | Alignment::Left => Side::Left,
        Alignment::Center => Side::Middle,
        Alignment::Right => Side::Right,
    }
}

/// Spans up to the end of what is open, and the anchor found among them.
fn spans_until(events: &mut Parser<'_>, end: TagEnd) -> (Vec<Span>, Option<String>) {
    let mut spans = Vec::new();
    let mut anchor = None;
    while let Some(event) = events.next() {
        if matches!(&event, Event::End(tag) if *tag == end) {
            break;
        }
        spans.extend(span(event, events, &mut anchor));
    }
    (joined(spans), anchor)
}

fn span(event: Event<'_>, events: &mut Parser<'_>, anchor: &mut Option<String>) -> Option<Span> {
    Some(match event {
        Event::Text(text) => Span::Text(text.into_string()),
        Event::Code(text) => Span::Code(text.into_string()),
        Event::SoftBreak => Span::Text(" ".to_owned()),
        Event::HardBreak => Span::Break,
        Event::Start(Tag::Strong) => Span::Strong(spans_until(events, TagEnd::Strong).0),
        Event::Start(Tag::Emphasis) => Span::Emphasis(spans_until(events, TagEnd::Emphasis).0),
        Event::Start(Tag::Link { dest_url, .. }) => Span::Link {
            to: dest_url.into_string(),
            spans: spans_until(events, TagEnd::Link).0,
        },
        Event::Start(Tag::Image { dest_url, .. }) => Span::Image(Image {
            path: dest_url.into_string(),
            alt: super::tree::plain(&spans_until(events, TagEnd::Image).0),
        }),
        Event::InlineHtml(tag) | Event::Html(tag) => {
            let named = tag
                .strip_prefix("<a id=\"")
                .and_then(|rest| rest.strip_suffix("\">"));
            match named {
                Some(name) => {
                    *anchor = Some(name.to_owned());
                    return None;
                }
                None if &*tag == "</a>" => return None,
                None => Span::Text(tag.into_string()),
            }
        }
        _ => return None,
    })
}

/// Pieces of plain text that touch become one.
fn joined(spans: Vec<Span>) -> Vec<Span> {
    let mut out: Vec<Span> = Vec::with_capacity(spans.len());
    for span in spans {
        match (out.last_mut(), span) {
            (Some(Span::Text(before)), Span::Text(more)) => before.push_str(&more),
            (_, span) => out.push(span),
        }
    }
    out
}
