//! A table in a box of its own, which scrolls where the window is narrower.

use super::super::PagesError;
use super::super::tree::{Side, Span, Table, plain};
use super::blocks::Writer;
use super::escape;

/// Writes a table with its title, its notes and the link to its file.
///
/// Rows that stand in groups keep their order, so such a table is marked as not to be sorted.
///
/// # Errors
/// [`PagesError`] where a figure in a cell is missing or is no SVG.
pub fn write(writer: &mut Writer, table: &Table) -> Result<(), PagesError> {
    let name = writer.next_table();
    let fixed = if table.is_grouped() || table.rows.len() < 2 {
        " data-fixed=\"\""
    } else {
        ""
    };
    writer.out.push_str("<div class=\"table\">\n");
    if table.title.is_empty() {
        writer
            .out
            .push_str("<div class=\"scroll\" role=\"group\" tabindex=\"0\" aria-label=\"");
        escape(&described(writer.words.table, table), &mut writer.out);
        writer.out.push_str(&format!("\">\n<table{fixed}>\n"));
    } else {
        writer.out.push_str(&format!(
            "<div class=\"scroll\" role=\"group\" tabindex=\"0\" aria-labelledby=\"{name}\">\n\
             <table{fixed}>\n<caption id=\"{name}\">"
        ));
        writer.spans(&table.title)?;
        writer.out.push_str("</caption>\n");
    }
    head(writer, table)?;
    body(writer, table)?;
    writer.out.push_str("</table>\n</div>\n");
    for note in &table.notes {
        writer.out.push_str("<p class=\"note\">");
        writer.spans(note)?;
        writer.out.push_str("</p>\n");
    }
    writer.out.push_str("<p class=\"tools\">");
    if let Some((path, _)) = &table.file {
        let words = Span::Text(writer.words.file.to_owned());
        writer.link(path, &[words])?;
    }
    writer.out.push_str("</p>\n</div>\n");
    Ok(())
}

/// "Table: Response, Unit": a name for a table that has none.
fn described(word: &str, table: &Table) -> String {
    let heads: Vec<String> = table
        .head
        .iter()
        .map(|spans| plain(spans))
        .filter(|text| !text.trim().is_empty())
        .collect();
    format!("{word}: {}", heads.join(", "))
}

fn head(writer: &mut Writer, table: &Table) -> Result<(), PagesError> {
    writer.out.push_str("<thead>\n<tr>");
    for (column, spans) in table.head.iter().enumerate() {
        let class = class(table.sides.get(column));
        if plain(spans).trim().is_empty() {
            // A heading that says nothing is none.
            writer.out.push_str(&format!("<td{class}></td>"));
            continue;
        }
        writer.out.push_str(&format!("<th scope=\"col\"{class}>"));
        writer.spans(spans)?;
        writer.out.push_str("</th>");
    }
    writer.out.push_str("</tr>\n</thead>\n");
    Ok(())
}

fn body(writer: &mut Writer, table: &Table) -> Result<(), PagesError> {
    writer.out.push_str("<tbody>\n");
    for (row, cells) in table.rows.iter().enumerate() {
        writer.out.push_str(if table.begins_group(row) {
            "<tr class=\"group\">"
        } else {
            "<tr>"
        });
        for (column, spans) in cells.iter().enumerate() {
            let class = class(table.sides.get(column));
            let names_row = column == 0 && table.sides.first() == Some(&Side::Left);
            if names_row && !plain(spans).trim().is_empty() {
                writer.out.push_str("<th scope=\"row\">");
                writer.spans(unmarked(spans))?;
                writer.out.push_str("</th>");
            } else {
                writer.out.push_str(&format!("<td{class}>"));
                writer.spans(spans)?;
                writer.out.push_str("</td>");
            }
        }
        writer.out.push_str("</tr>\n");
    }
    writer.out.push_str("</tbody>\n");
    Ok(())
}

/// The words of a row that begins a group: the style of the row makes them strong.
fn unmarked(spans: &[Span]) -> &[Span] {
    match spans {
        [Span::Strong(inner)] => inner,
        spans => spans,
    }
}

fn class(side: Option<&Side>) -> &'static str {
    match side {
        Some(Side::Right) => " class=\"n\"",
        Some(Side::Middle) => " class=\"m\"",
        Some(Side::Left) | None => "",
    }
}
