//! The list of contents: every heading below the title, those of a report nested.

use super::super::Kind;
use super::super::tree::{Block, plain};
use super::super::words::Words;
use super::escape;

/// A heading in the list.
struct Entry<'a> {
    level: u8,
    id: &'a str,
    text: String,
}

/// Writes the list; nothing where there are no headings.
pub fn write(blocks: &[Block], kind: Kind, words: &Words, out: &mut String) {
    let deepest = match kind {
        Kind::Report => 4,
        Kind::Bulletin => 2,
    };
    let entries: Vec<Entry> = blocks
        .iter()
        .filter_map(|block| match block {
            Block::Heading { level, id, spans } if (2..=deepest).contains(level) => Some(Entry {
                level: *level,
                id,
                text: plain(spans),
            }),
            _ => None,
        })
        .collect();
    if entries.is_empty() {
        return;
    }
    // Open where there is no script; the script closes it in a small window.
    let open = match kind {
        Kind::Report => " open=\"\"",
        Kind::Bulletin => "",
    };
    out.push_str("<nav aria-labelledby=\"contents.title\">\n");
    out.push_str(&format!("<details{open}>\n<summary id=\"contents.title\">"));
    escape(words.contents, out);
    out.push_str("</summary>\n");
    list(&entries, out);
    out.push_str("</details>\n</nav>\n");
}

/// A list of headings, each with the deeper ones that follow it inside.
fn list(entries: &[Entry], out: &mut String) {
    out.push_str("<ul>\n");
    let mut rest = entries;
    while let Some((first, after)) = rest.split_first() {
        let inside = after
            .iter()
            .take_while(|entry| entry.level > first.level)
            .count();
        out.push_str("<li><a href=\"#");
        escape(first.id, out);
        out.push_str("\">");
        escape(&first.text, out);
        out.push_str("</a>");
        if inside > 0 {
            out.push('\n');
            list(&after[..inside], out);
        }
        out.push_str("</li>\n");
        rest = &after[inside..];
    }
    out.push_str("</ul>\n");
}
