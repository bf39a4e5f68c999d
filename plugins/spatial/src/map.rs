//! Maps of the plots: values as recorded; and after treatments beside after treatments and blocks, in
//! one shade, so that what blocks take up can be seen. Lines part the blocks.

use caneplot_numerics::spatial::Place;
use caneplot_plugin::findings::{Axis, Figure, Mark, Panel, Scale, Width};
use caneplot_plugin::words::{axis, counted};

use crate::field::Field;
use crate::look::Look;
use crate::options::Options;
use crate::words::{parts, taken_out};

/// Rows longer than so many positions are drawn one map over the other.
const WIDE: f64 = 40.0;

/// The map of the values, and that of what treatments and blocks leave of them.
pub(crate) fn figures(field: &Field<'_>, options: &Options, look: &Look<'_>) -> Vec<Figure> {
    let Some(boxes) = Boxes::of(field, look) else {
        return Vec::new();
    };
    let seasons = match look.seasons.len() {
        0 | 1 => String::new(),
        many => format!(", means of {many} seasons"),
    };
    let plots = counted(look.plots.len(), "plot");
    let borders = match boxes.borders.is_empty() {
        true => "",
        false => " Lines part the blocks.",
    };
    let taken = taken_out(look.trial);
    let label = &look.response.label;
    let mut maps = vec![Figure {
        id: "values".to_owned(),
        caption: format!(
            "{label} as recorded in the field ({plots}{seasons}).{borders} Not to scale."
        ),
        alt: format!(
            "A map of {plots} by vineyard row and position, shaded by {} as recorded.",
            look.name()
        ),
        foot: boxes.foot(look.seasons.len()),
        width: Width::Middle,
        panels: vec![boxes.panel(None, &look.values)],
        columns: 1,
        series: Vec::new(),
        series_title: Some(axis(label, look.unit())),
    }];
    let after = format!("After {taken}");
    maps.push(Figure {
        id: "left".to_owned(),
        caption: format!(
            "{label} in the field ({plots}{seasons}) after treatments, and what is left after {taken}, as differences from the mean.{borders} Not to scale."
        ),
        alt: format!(
            "Two maps of {plots} by vineyard row and position, shaded by {}: after treatments, and after {taken}. {}",
            look.name(),
            crate::sentences::seen(look, options)
        ),
        foot: boxes.foot(look.seasons.len()),
        width: Width::Double,
        panels: vec![
            boxes.panel(Some("After treatments"), &look.untreated),
            boxes.panel(Some(&after), &look.residuals),
        ],
        columns: if boxes.reach() > WIDE { 1 } else { 2 },
        series_title: Some(axis("Difference from the mean", look.unit())),
        ..Figure::default()
    });
    // Without blocks the two panels would be one.
    if parts(look.trial).is_none()
        && let Some(map) = maps.last_mut()
    {
        map.panels.truncate(1);
        map.width = Width::Middle;
    }
    maps
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
    /// Line of each plot with a value among them, and its left and right end.
    plots: Vec<Span>,
    /// Plots of the field without a value.
    empty: Vec<Span>,
    borders: Vec<Mark>,
}

/// The line of a plot and its ends along the row.
#[derive(Debug, Clone, Copy)]
struct Span {
    line: f64,
    from: f64,
    to: f64,
}

impl Span {
    /// A dashed line round the plot, a little inside its edges, where the lines of blocks run.
    fn outline(&self) -> Mark {
        let inside = 0.06 * (self.to - self.from).min(1.0);
        let (left, right) = (self.from + inside, self.to - inside);
        let (low, high) = (self.line - 0.44, self.line + 0.44);
        Mark::Line {
            x: vec![left, right, right, left, left],
            y: vec![low, low, high, high, low],
            series: None,
            dashed: true,
        }
    }
}

impl Boxes {
    fn of(field: &Field<'_>, look: &Look<'_>) -> Option<Self> {
        let placed: Vec<(usize, Place)> = field
            .places
            .iter()
            .enumerate()
            .filter_map(|(plot, place)| Some((plot, (*place)?)))
            .collect();
        let mut rows: Vec<f64> = placed.iter().map(|(_, place)| place.row).collect();
        rows.sort_by(f64::total_cmp);
        rows.dedup();
        let half = if field.spans {
            0.5
        } else {
            step(&placed) / 2.0
        };
        let span = |place: &Place| -> Option<Span> {
            Some(Span {
                line: rows.iter().position(|row| *row == place.row)? as f64,
                from: place.first - half,
                to: place.last + half,
            })
        };
        let plots: Option<Vec<Span>> = look.places.iter().map(span).collect();
        let without = placed.iter().filter(|(plot, _)| !look.plots.contains(plot));
        let empty = without.filter_map(|(_, place)| span(place)).collect();
        let all: Option<Vec<Span>> = placed.iter().map(|(_, place)| span(place)).collect();
        let numbers: Vec<usize> = placed.iter().map(|(plot, _)| *plot).collect();
        let block = field.register.sheet(&numbers).block;
        let borders = block.map(|block| borders(&all.unwrap_or_default(), &block.codes));
        Some(Self {
            plots: plots.filter(|plots| !plots.is_empty())?,
            empty,
            borders: borders.unwrap_or_default(),
            rows,
        })
    }

    fn panel(&self, title: Option<&str>, values: &[f64]) -> Panel {
        let column = |of: &dyn Fn(&Span) -> f64| self.plots.iter().map(of).collect();
        let cells = Mark::Cells {
            x: column(&|span| (span.from + span.to) / 2.0),
            y: column(&|span| span.line),
            value: values.to_vec(),
            widths: column(&|span| span.to - span.from),
        };
        Panel {
            title: title.map(str::to_owned),
            x: Axis {
                title: "Position in the row".to_owned(),
                ..Axis::default()
            },
            y: Axis {
                title: "Vineyard row".to_owned(),
                scale: Scale::Category {
                    labels: self.rows.iter().map(|row| plain(*row)).collect(),
                },
            },
            marks: std::iter::once(cells)
                .chain(self.borders.iter().cloned())
                .chain(self.empty.iter().map(Span::outline))
                .collect(),
        }
    }

    /// What the outlines are, where there are any.
    fn foot(&self, seasons: usize) -> Option<String> {
        let plots = match self.empty.len() {
            0 => return None,
            1 => "a plot".to_owned(),
            many => format!("{many} plots"),
        };
        let each = if seasons > 1 { " in every season" } else { "" };
        Some(format!(
            "Empty with a dashed outline: {plots} without a value{each}."
        ))
    }

    /// Positions from one end to the other.
    fn reach(&self) -> f64 {
        let from = self.plots.iter().map(|span| span.from);
        let to = self.plots.iter().map(|span| span.to);
        to.fold(f64::NEG_INFINITY, f64::max) - from.fold(f64::INFINITY, f64::min)
    }
}

/// Lines between plots of different blocks that lie beside each other.
fn borders(plots: &[Span], block: &[usize]) -> Vec<Mark> {
    let mut order: Vec<usize> = (0..plots.len()).collect();
    order.sort_by(|&a, &b| {
        let lines = plots[a].line.total_cmp(&plots[b].line);
        lines.then(plots[a].from.total_cmp(&plots[b].from))
    });
    let mut marks = Vec::new();
    let mut line = |x: [f64; 2], y: [f64; 2]| {
        marks.push(Mark::Line {
            x: x.to_vec(),
            y: y.to_vec(),
            series: None,
            dashed: false,
        });
    };
    for pair in order.windows(2) {
        let (a, b) = (plots[pair[0]], plots[pair[1]]);
        if a.line == b.line && block[pair[0]] != block[pair[1]] {
            let x = (a.to + b.from) / 2.0;
            line([x, x], [a.line - 0.5, a.line + 0.5]);
        }
    }
    for &one in &order {
        for &other in &order {
            let (a, b) = (plots[one], plots[other]);
            let (from, to) = (a.from.max(b.from), a.to.min(b.to));
            if a.line + 1.0 == b.line && block[one] != block[other] && from < to {
                line([from, to], [a.line + 0.5, a.line + 0.5]);
            }
        }
    }
    marks
}

/// The smallest step between positions of one row; 1 where there is none.
fn step(places: &[(usize, Place)]) -> f64 {
    let mut least = f64::INFINITY;
    for (_, a) in places {
        for (_, b) in places {
            let between = b.first - a.first;
            if a.row == b.row && between > 0.0 {
                least = least.min(between);
            }
        }
    }
    if least.is_finite() { least } else { 1.0 }
}
