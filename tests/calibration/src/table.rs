//! Results as a Markdown table.

use std::fmt;

use crate::tally::Tally;

/// How far from what is wanted a share may be without being marked: half a per cent.
const MARKED: f64 = 0.005;

/// A table of shares.
#[derive(Debug, Clone)]
pub struct Table {
    /// Title.
    pub title: &'static str,
    /// Heads of the labels.
    pub labels: Vec<&'static str>,
    /// Heads of the shares, with what each is to be: 0.05 for rejections, 0.95 for intervals, `None` for
    /// what is only told.
    pub figures: Vec<(&'static str, Option<f64>)>,
    /// Rows.
    pub rows: Vec<Row>,
}

/// A row of shares.
#[derive(Debug, Clone)]
pub struct Row {
    /// What they are of.
    pub labels: Vec<String>,
    /// The shares.
    pub tallies: Vec<Tally>,
}

impl Table {
    /// Per cent ± Monte Carlo standard error, marked where it is off what is wanted.
    fn cell(tally: &Tally, wanted: Option<f64>) -> String {
        let Some(share) = tally.share() else {
            return "–".to_owned();
        };
        let mut cell = format!("{:.2} ± {:.2}", 100.0 * share, 100.0 * tally.error());
        if wanted.is_some_and(|wanted| (share - wanted).abs() > MARKED) {
            cell = format!("**{cell}**");
        }
        if tally.without > 0 {
            cell.push_str(&format!(" ({} without)", tally.without));
        }
        cell
    }
}

impl fmt::Display for Table {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "### {}\n", self.title)?;
        let heads = self
            .labels
            .iter()
            .chain(self.figures.iter().map(|(head, _)| head));
        writeln!(f, "| {} |", heads.copied().collect::<Vec<_>>().join(" | "))?;
        let rules = self.labels.iter().map(|_| "---");
        let rules = rules.chain(self.figures.iter().map(|_| "---:"));
        writeln!(f, "| {} |", rules.collect::<Vec<_>>().join(" | "))?;
        for row in &self.rows {
            let cells = row.tallies.iter().zip(&self.figures);
            let cells = cells.map(|(tally, (_, wanted))| Self::cell(tally, *wanted));
            let all: Vec<String> = row.labels.iter().cloned().chain(cells).collect();
            writeln!(f, "| {} |", all.join(" | "))?;
        }
        Ok(())
    }
}
