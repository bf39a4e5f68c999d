//! Tables as LaTeX: rules of `booktabs`, notes of `threeparttable`, `longtable` where a table is longer
//! than a page.

use std::fmt::Write as _;

use caneplot_plugin::findings::{Cells, Column, Format};

use super::tables::{Named, rows};
use crate::write::numbers;

/// Rows that fit on a page together with caption and notes; longer tables run over several.
const ROWS_OF_A_PAGE: usize = 40;

/// A file that holds all tables: `pdflatex all`, `bibtex all` in its folder.
#[must_use]
pub fn all(title: &str, tables: &[Named<'_>]) -> String {
    let mut out = format!(
        "\\documentclass{{article}}\n\
         \\usepackage[T1]{{fontenc}}\n\
         \\usepackage[utf8]{{inputenc}}\n\
         \\usepackage{{textcomp}}\n\
         \\usepackage[a4paper, landscape, margin=15mm]{{geometry}}\n\
         \\usepackage{{booktabs, longtable, threeparttable}}\n\
         \\title{{{}}}\n\
         \\date{{}}\n\
         \\begin{{document}}\n\
         \\maketitle\n",
        escaped(title)
    );
    for one in tables {
        // Writing to a string cannot fail, here and below.
        let _ = writeln!(out, "\\input{{{}}}\n\\clearpage", one.stem);
    }
    out.push_str("\\bibliographystyle{plain}\n\\bibliography{../references}\n\\end{document}\n");
    out
}

/// A table by itself, to be put into a text with `\input`.
#[must_use]
pub fn table(one: &Named<'_>) -> String {
    let table = one.table;
    let form: String = table
        .columns
        .iter()
        .map(|column| match column.cells {
            Cells::Text { .. } => 'l',
            _ => 'r',
        })
        .collect();
    let caption = format!(
        "\\caption{{{}: {}}}\n\\label{{tab:{}}}",
        escaped(&one.section.title),
        escaped(&table.title),
        one.stem
    );
    let headings: Vec<String> = table.columns.iter().map(heading).collect();
    let headings = format!("{} \\\\", headings.join(" & "));
    let body = body(one);
    let notes: Vec<String> = table.notes.iter().map(|note| escaped(note)).collect();
    if rows(table) > ROWS_OF_A_PAGE {
        let notes: String = notes
            .iter()
            .map(|note| format!("\\noindent{{\\footnotesize {note}}}\\par\n"))
            .collect();
        let caption = caption.replacen('\n', "", 1);
        return format!(
            "\\begin{{longtable}}{{{form}}}\n{caption} \\\\\n\\toprule\n{headings}\n\\midrule\n\
             \\endfirsthead\n\\toprule\n{headings}\n\\midrule\n\\endhead\n\\bottomrule\n\\endfoot\n\
             {body}\\end{{longtable}}\n{notes}"
        );
    }
    let notes = match notes.is_empty() {
        true => String::new(),
        false => {
            let items: String = notes
                .iter()
                .map(|note| format!("\\item {note}\n"))
                .collect();
            format!("\\begin{{tablenotes}}\n\\footnotesize\n{items}\\end{{tablenotes}}\n")
        }
    };
    format!(
        "\\begin{{table}}[htbp]\n\\centering\n\\begin{{threeparttable}}\n{caption}\n\
         \\begin{{tabular}}{{{form}}}\n\\toprule\n{headings}\n\\midrule\n{body}\\bottomrule\n\
         \\end{{tabular}}\n{notes}\\end{{threeparttable}}\n\\end{{table}}\n"
    )
}

fn body(one: &Named<'_>) -> String {
    let table = one.table;
    let mut out = String::new();
    for row in 0..rows(table) {
        if row > 0 && table.groups.len() > 1 && table.groups.contains(&row) {
            out.push_str("\\addlinespace\n");
        }
        let cells = table.columns.iter().map(|column| cell(column, row));
        let _ = writeln!(out, "{} \\\\", cells.collect::<Vec<_>>().join(" & "));
    }
    out
}

fn heading(column: &Column) -> String {
    match &column.unit {
        Some(unit) => format!("{} ({})", escaped(&column.name), escaped(unit)),
        None => escaped(&column.name),
    }
}

fn cell(column: &Column, row: usize) -> String {
    let number = |values: &[Option<f64>], format| {
        let value = values.get(row).copied().flatten();
        value.map(|value| escaped(&numbers::cell(value, format)))
    };
    match &column.cells {
        Cells::Text { values } => values.get(row).and_then(Option::as_deref).map(escaped),
        Cells::Count { values } => {
            let value = values.get(row).copied().flatten();
            value.map(|value| escaped(&value.to_string().replace('-', "−")))
        }
        Cells::Number { values, format } => number(values, *format),
        Cells::Probability { values } => number(values, Format::Probability),
        Cells::Lettered {
            values,
            letters,
            format,
        } => number(values, *format).map(|number| match letters.get(row).map(String::as_str) {
            Some("") | None => number,
            Some(letters) => format!("{number}\\,{}", escaped(letters)),
        }),
    }
    .unwrap_or_default()
}

/// Plain text for LaTeX: nothing in it can become a command, `[@key]` becomes a citation, and signs
/// that fonts of text lack are set as mathematics.
#[must_use]
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    let mut rest = text;
    while let Some(at) = rest.find("[@") {
        let Some(end) = rest[at..].find(']') else {
            break;
        };
        out.push_str(&letters(&rest[..at]));
        let keys: Vec<&str> = rest[at + 1..at + end]
            .split(';')
            .map(|key| key.trim().trim_start_matches('@'))
            .collect();
        let _ = write!(out, "\\cite{{{}}}", keys.join(","));
        rest = &rest[at + end + 1..];
    }
    out + &letters(rest)
}

fn letters(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for letter in text.chars() {
        let set = match letter {
            '\\' => "\\textbackslash{}",
            '{' => "\\{",
            '}' => "\\}",
            '$' => "\\$",
            '&' => "\\&",
            '#' => "\\#",
            '%' => "\\%",
            '_' => "\\_",
            '^' => "\\textasciicircum{}",
            '~' => "\\textasciitilde{}",
            '<' => "$<$",
            '>' => "$>$",
            '−' => "$-$",
            '×' => "$\\times$",
            '±' => "$\\pm$",
            '≤' => "$\\leq$",
            '≥' => "$\\geq$",
            '≈' => "$\\approx$",
            '÷' => "$\\div$",
            '√' => "$\\surd$",
            '∞' => "$\\infty$",
            '°' => "\\textdegree{}",
            'µ' | 'μ' => "\\textmu{}",
            '–' => "--",
            '—' => "---",
            '…' => "\\ldots{}",
            '\u{a0}' | '\u{202f}' => "~",
            '\n' | '\r' => " ",
            _ => {
                out.push_str(&raised_or_plain(letter));
                continue;
            }
        };
        out.push_str(set);
    }
    out
}

/// Raised and lowered digits and Greek letters, which the usual text fonts lack; anything else as it
/// is.
fn raised_or_plain(letter: char) -> String {
    const RAISED: &str = "⁰¹²³⁴⁵⁶⁷⁸⁹";
    const GREEK: [(char, &str); 12] = [
        ('α', "alpha"),
        ('β', "beta"),
        ('γ', "gamma"),
        ('δ', "delta"),
        ('Δ', "Delta"),
        ('ε', "varepsilon"),
        ('λ', "lambda"),
        ('π', "pi"),
        ('ρ', "rho"),
        ('σ', "sigma"),
        ('φ', "varphi"),
        ('χ', "chi"),
    ];
    if let Some(digit) = RAISED.chars().position(|one| one == letter) {
        return format!("\\textsuperscript{{{digit}}}");
    }
    match letter {
        '⁻' => return "\\textsuperscript{$-$}".to_owned(),
        '₀'..='₉' => {
            return format!("$_{}$", letter as u32 - '₀' as u32);
        }
        _ => {}
    }
    let greek = GREEK.iter().find(|(one, _)| *one == letter);
    greek.map_or_else(|| letter.to_string(), |(_, name)| format!("$\\{name}$"))
}

#[cfg(test)]
mod tests {
    use super::escaped;

    #[test]
    fn nothing_in_a_text_becomes_a_command() {
        assert_eq!(
            escaped("5 % of A_1 & {B} \\x <0.001 −2 kg m²"),
            "5 \\% of A\\_1 \\& \\{B\\} \\textbackslash{}x $<$0.001 $-$2 kg m\\textsuperscript{2}"
        );
        assert_eq!(escaped("see [@a-1; @b-2]."), "see \\cite{a-1,b-2}.");
        assert_eq!(escaped("an open [@bracket"), "an open [@bracket");
    }
}
