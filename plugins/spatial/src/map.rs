//! The map of the plots: as recorded, and after treatments and blocks, in one shade so that the two
//! can be compared; lines part the blocks.

use caneplot_numerics::spatial::Place;
use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};
use caneplot_plugin::words::{axis, counted};

use crate::field::Field;
use crate::look::Look;
use crate::options::Options;

/// Rows longer than so many positions are drawn one map over the other.
const WIDE: f64 = 40.0;
/// Share of the usual step that a plot known by one position covers.
const COVERED: f64 = 1.0;

/// The figure; `None` where no plot has a place.
pub(crate) fn figure(field: &Field<'_>, options: &Options, look: &Look<'_>) -> Option<Figure> {
    let boxes = Boxes::of(field, look)?;
    let seasons = match look.seasons.len() {
        0 | 1 => String::new(),
        many => format!(", means of {many} seasons"),
    };
    let plots = counted(look.plots.len(), "plot");
    let panel = |title: &str, values: &[f64]| Panel {
        title: Some(title.to_owned()),
        x: Axis {
            title: "Position in the row".to_owned(),
            ..Axis::default()
        },
        y: Axis {
            title: "Vineyard row".to_owned(),
            scale: Scale::Category {
                labels: boxes.rows.iter().map(|row| plain(*row)).collect(),
            },
        },
        marks: std::iter::once(Mark::Cells {
            x: boxes.middles(),
            y: boxes.lines.iter().map(|&line| line as f64).collect(),
            value: values.to_vec(),
            widths: boxes.ends.iter().map(|(from, to)| to - from).collect(),
        })
        .chain(look.block.iter().flat_map(|block| boxes.borders(block)))
        .collect(),
    };
    let reach = boxes.ends.iter().map(|end| end.1).fold(0.0, f64::max)
        - boxes
            .ends
            .iter()
            .map(|end| end.0)
            .fold(f64::INFINITY, f64::min);
    let borders = match &look.block {
        Some(_) => " Lines part the blocks.",
        None => "",
    };
    Some(Figure {
        id: "map".to_owned(),
        caption: format!(
            "{} in the field ({plots}{seasons}), as differences from the mean of the trial: as recorded, and what is left after treatments and blocks.{borders} Not to scale.",
            look.response.label
        ),
        alt: format!(
            "Two maps of {plots} by vineyard row and position, shaded by {}: as recorded, and after treatments and blocks. {}",
            look.name(),
            crate::sentences::seen(look, options)
        ),
        foot: None,
        width: Width::Double,
        panels: vec![
            panel("As recorded", &look.centred),
            panel("After treatments and blocks", &look.residuals),
        ],
        columns: if reach > WIDE { 1 } else { 2 },
        series: Vec::new(),
        series_title: Some(axis("Difference from the mean", look.unit())),
    })
}

/// A number of a row or position as people write it.
pub(crate) fn plain(value: f64) -> String {
    // Display writes the shortest decimal that is the number.
    format!("{value}")
}

/// Where each plot is drawn.
struct Boxes {
    /// The vineyard rows that hold plots.
    rows: Vec<f64>,
    /// Line of each plot among them.
    lines: Vec<usize>,
    /// Left and right end of each plot.
    ends: Vec<(f64, f64)>,
}

impl Boxes {
    fn of(field: &Field<'_>, look: &Look<'_>) -> Option<Self> {
        let mut rows: Vec<f64> = look.places.iter().map(|place| place.row).collect();
        rows.sort_by(f64::total_cmp);
        rows.dedup();
        let lines: Option<Vec<usize>> = look
            .places
            .iter()
            .map(|place| rows.iter().position(|row| *row == place.row))
            .collect();
        let step = if field.spans { 1.0 } else { step(&look.places) };
        let half = step * COVERED / 2.0;
        let ends = look.places.iter();
        let ends = ends.map(|place| (place.first - half, place.last + half));
        Some(Self {
            ends: ends.collect(),
            lines: lines.filter(|lines| !lines.is_empty())?,
            rows,
        })
    }

    fn middles(&self) -> Vec<f64> {
        self.ends
            .iter()
            .map(|(from, to)| (from + to) / 2.0)
            .collect()
    }

    /// Lines between plots of different blocks that lie beside each other.
    fn borders(&self, block: &[usize]) -> Vec<Mark> {
        let mut marks = Vec::new();
        let mut line = |x: [f64; 2], y: [f64; 2]| {
            marks.push(Mark::Line {
                x: x.to_vec(),
                y: y.to_vec(),
                series: None,
                dashed: false,
            });
        };
        for (a, b) in self.followers() {
            if block[a] != block[b] {
                let (x, y) = (
                    (self.ends[a].1 + self.ends[b].0) / 2.0,
                    self.lines[a] as f64,
                );
                line([x, x], [y - 0.5, y + 0.5]);
            }
        }
        for a in 0..self.lines.len() {
            for b in 0..self.lines.len() {
                let from = self.ends[a].0.max(self.ends[b].0);
                let to = self.ends[a].1.min(self.ends[b].1);
                if self.lines[a] + 1 == self.lines[b] && block[a] != block[b] && from < to {
                    let y = self.lines[a] as f64 + 0.5;
                    line([from, to], [y, y]);
                }
            }
        }
        marks
    }

    /// Plots with the next in their row.
    fn followers(&self) -> Vec<(usize, usize)> {
        let mut order: Vec<usize> = (0..self.lines.len()).collect();
        order.sort_by(|&a, &b| {
            let starts = self.ends[a].0.total_cmp(&self.ends[b].0);
            self.lines[a].cmp(&self.lines[b]).then(starts)
        });
        let pairs = order.windows(2).map(|pair| (pair[0], pair[1]));
        pairs
            .filter(|(a, b)| self.lines[*a] == self.lines[*b])
            .collect()
    }
}

/// The smallest step between positions of one row; 1 where there is none.
fn step(places: &[Place]) -> f64 {
    let mut least = f64::INFINITY;
    for a in places {
        for b in places {
            let between = b.first - a.first;
            if a.row == b.row && between > 0.0 {
                least = least.min(between);
            }
        }
    }
    if least.is_finite() { least } else { 1.0 }
}
