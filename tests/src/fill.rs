//! Fills the sheets of a planned trial with invented records, so that the trial can be run.
//!
//! The plot has its own level beside those of its block, its treatment and the season, and vines
//! vary inside it; counts are whole numbers. Which treatment a plot has comes from layout.csv, what
//! a column is from its heading. Positions without a vine stay empty.

use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::Path;

use crate::Stream;

/// Fields of a line of CSV; those in quotes may hold commas.
#[must_use]
pub fn fields(line: &str) -> Vec<String> {
    let (mut fields, mut quoted) = (vec![String::new()], false);
    let mut letters = line.chars().peekable();
    while let Some(letter) = letters.next() {
        let last = fields.len() - 1;
        match letter {
            '"' if quoted && letters.peek() == Some(&'"') => {
                letters.next();
                fields[last].push('"');
            }
            '"' => quoted = !quoted,
            ',' if !quoted => fields.push(String::new()),
            _ => fields[last].push(letter),
        }
    }
    fields
}

fn line(fields: &[String]) -> String {
    let quoted: Vec<String> = fields
        .iter()
        .map(|field| match field.contains([',', '"']) {
            true => format!("\"{}\"", field.replace('"', "\"\"")),
            false => field.clone(),
        })
        .collect();
    quoted.join(",")
}

/// A table of texts.
pub(crate) struct Table {
    pub(crate) headings: Vec<String>,
    pub(crate) rows: Vec<Vec<String>>,
}

impl Table {
    fn read(path: &Path) -> io::Result<Self> {
        let text = std::fs::read_to_string(path)?;
        let mut lines = text.lines();
        Ok(Self {
            headings: fields(lines.next().unwrap_or_default()),
            rows: lines.map(fields).collect(),
        })
    }

    pub(crate) fn column(&self, heading: &str) -> Option<usize> {
        self.headings.iter().position(|other| other == heading)
    }

    fn get(&self, row: &[String], heading: &str) -> String {
        self.column(heading)
            .map(|at| row[at].clone())
            .unwrap_or_default()
    }
}

/// A plot as the simulation knows it.
struct Plot {
    /// Effect of its treatment, about 1.
    effect: f64,
    /// Nodes a vine is pruned to.
    nodes: f64,
    /// Its own level, about 1.
    own: f64,
}

impl Plot {
    fn before(&self) -> Self {
        Self {
            effect: 1.0,
            nodes: 30.0,
            own: self.own,
        }
    }
}

/// Fills every CSV sheet of the folder of a planned trial, except layout.csv.
///
/// # Errors
/// What the system says about a file.
pub fn fill(folder: &Path, seed: u64) -> io::Result<()> {
    let mut stream = Stream::new(seed);
    let plots = plots(&Table::read(&folder.join("layout.csv"))?, &mut stream);
    let tables = tables(folder)?;
    let mut gaps = BTreeSet::new();
    for (_, table) in &tables {
        let empty = table
            .rows
            .iter()
            .filter(|row| table.get(row, "status") == "missing");
        gaps.extend(empty.map(|row| (table.get(row, "plot"), table.get(row, "vine"))));
    }
    let mut seasons: BTreeMap<String, f64> = BTreeMap::new();
    for (name, mut table) in tables {
        for at in 0..table.rows.len() {
            let mut row = table.rows[at].clone();
            let season = table.get(&row, "season");
            let year = match seasons.get(&season) {
                Some(year) => *year,
                None => *seasons
                    .entry(season)
                    .or_insert_with(|| 1.0 + stream.normal(0.08)),
            };
            if gaps.contains(&(table.get(&row, "plot"), table.get(&row, "vine"))) {
                continue;
            }
            let Some(plot) = plots.get(&table.get(&row, "plot")) else {
                continue;
            };
            // Before the treatments began there was no effect of them and no season.
            match name.starts_with("baseline") {
                true => write_row(&table, &mut row, &plot.before(), 1.0, &mut stream),
                false => write_row(&table, &mut row, plot, year, &mut stream),
            }
            table.rows[at] = row;
        }
        let mut text = line(&table.headings) + "\n";
        for row in &table.rows {
            text.push_str(&(line(row) + "\n"));
        }
        std::fs::write(folder.join(name), text)?;
    }
    Ok(())
}

/// The CSV sheets of a folder with their names, without layout.csv.
pub(crate) fn tables(folder: &Path) -> io::Result<Vec<(String, Table)>> {
    let mut names: Vec<String> = std::fs::read_dir(folder)?
        .flatten()
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter(|name| name.ends_with(".csv") && name != "layout.csv")
        .collect();
    names.sort();
    names
        .into_iter()
        .map(|name| Ok((name.clone(), Table::read(&folder.join(&name))?)))
        .collect()
}

/// The plots of layout.csv: factors stand behind the column of positions.
fn plots(layout: &Table, stream: &mut Stream) -> BTreeMap<String, Plot> {
    let factors = layout
        .column("positions")
        .map_or(layout.headings.len(), |at| at + 1);
    let mut levels: Vec<Vec<String>> = vec![Vec::new(); layout.headings.len() - factors];
    for row in &layout.rows {
        for (seen, level) in levels.iter_mut().zip(&row[factors..]) {
            if !seen.contains(level) {
                seen.push(level.clone());
            }
        }
    }
    for seen in &mut levels {
        seen.sort();
    }
    let mut blocks: BTreeMap<String, f64> = BTreeMap::new();
    let mut plots = BTreeMap::new();
    for row in &layout.rows {
        let place = layout.get(row, "block") + &layout.get(row, "row");
        let block = *blocks.entry(place).or_insert_with(|| stream.normal(0.08));
        let (mut effect, mut nodes) = (1.0, 30.0);
        for (seen, level) in levels.iter().zip(&row[factors..]) {
            match level.parse::<f64>() {
                Ok(amount) => {
                    nodes = amount;
                    effect *= 0.55 + 0.9 * amount / (amount + 24.0);
                }
                Err(_) => {
                    let at = seen.iter().position(|other| other == level).unwrap_or(0);
                    effect *= 1.0 + 0.09 * at as f64;
                }
            }
        }
        plots.insert(
            layout.get(row, "plot"),
            Plot {
                effect,
                nodes,
                own: 1.0 + block + stream.normal(0.05),
            },
        );
    }
    plots
}

fn write_row(table: &Table, row: &mut [String], plot: &Plot, year: f64, stream: &mut Stream) {
    let vine = 1.0 + stream.normal(0.12);
    let level = (plot.effect * plot.own * year * vine).max(0.1);
    let mut total = 0;
    for (at, heading) in table.headings.iter().enumerate() {
        if !row[at].is_empty() {
            continue;
        }
        let whole = |value: f64| (value.round().max(1.0)).to_string();
        let small = 1.0 + stream.normal(0.02);
        row[at] = match heading.as_str() {
            "status" => "alive".to_owned(),
            "crop_kg" => format!("{:.2}", 4.2 * level * small),
            "clusters" => whole(38.0 * level * small),
            "prunings_kg" => format!("{:.3}", 0.85 * plot.own * year * vine / plot.effect * small),
            "canes" => whole(plot.nodes * 0.9 * small + stream.normal(1.5)),
            // Pruners leave one too many sooner than one too few; nobody counts more than there are.
            "nodes_left" => whole(plot.nodes.ceil() + stream.normal(0.6).abs()),
            "shoots" => whole(plot.nodes * 0.92 * small + stream.normal(1.5)),
            "nodes_counted" | "buds_cut" => {
                total = (plot.nodes.floor() - stream.normal(0.6).abs())
                    .round()
                    .max(4.0) as u32;
                total.to_string()
            }
            "nodes_broken" | "buds_alive" => stream
                .successes(total, (0.97 - 0.002 * plot.nodes).clamp(0.2, 0.98))
                .to_string(),
            "prune_min" => format!("{:.1}", 2.5 * level * small),
            "brix" => format!("{:.1}", 23.5 - 1.2 * plot.effect + stream.normal(0.3)),
            "ph" => format!("{:.2}", 3.45 + stream.normal(0.03)),
            "acid_g_l" => format!("{:.1}", 6.0 + 0.5 * plot.effect + stream.normal(0.2)),
            "berry_g" => format!("{:.2}", 1.45 - 0.08 * plot.effect + stream.normal(0.03)),
            "date" | "recorder" | "note" => String::new(),
            _ => format!("{:.2}", 10.0 * level * small),
        };
    }
}
