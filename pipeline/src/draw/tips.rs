//! What a viewer shows where the reader points: the series of a mark and its values with their
//! units.

use caneplot_plugin::findings::{Figure, Panel, Scale};

use super::axis::{Axis, Kind};
use super::reach::Range;
use super::text::{self, Level};

/// The words for the marks of one panel.
pub struct Tips<'a> {
    figure: &'a Figure,
    x: Quantity,
    y: Quantity,
}

/// What an axis measures.
struct Quantity {
    name: String,
    unit: String,
    /// The names of its places, on a category axis.
    places: Vec<String>,
    /// Digits after the point that tell values apart.
    decimals: usize,
}

impl<'a> Tips<'a> {
    /// The words of a panel with these axes.
    pub fn new(figure: &'a Figure, panel: &Panel, x: &Axis, y: &Axis) -> Self {
        Self {
            figure,
            x: Quantity::of(&panel.x.title, &panel.x.scale, x),
            y: Quantity::of(&panel.y.title, &panel.y.scale, y),
        }
    }

    /// "Season 2021; Nodes left 24 nodes/vine; Yield 4.53 kg/vine".
    pub fn point(&self, x: f64, y: f64, series: Option<usize>) -> String {
        self.joined(series, [self.x.value(x), self.y.value(y)])
    }

    /// The same for a mark that reaches over a range of heights.
    pub fn upright(&self, x: f64, (low, high): (f64, f64), series: Option<usize>) -> String {
        self.joined(series, [self.x.value(x), self.y.range(low, high)])
    }

    /// The same for a mark that reaches across.
    pub fn lying(&self, (low, high): (f64, f64), y: f64, series: Option<usize>) -> String {
        self.joined(series, [self.x.range(low, high), self.y.value(y)])
    }

    /// The same for a shaded cell; `shades` are the least and the largest value with a shade.
    pub fn cell(&self, x: f64, y: f64, value: f64, shades: Range) -> String {
        let title = self.figure.series_title.as_deref().unwrap_or_default();
        let (name, unit) = parts(title);
        let shade = Quantity {
            name,
            unit,
            places: Vec::new(),
            decimals: decimals(shades),
        };
        let parts = [self.x.value(x), self.y.value(y), shade.value(value)];
        self.joined(None, parts)
    }

    fn joined<const N: usize>(&self, series: Option<usize>, values: [String; N]) -> String {
        let name = series
            .and_then(|series| self.figure.series.get(series))
            .map(|name| {
                let title = self.figure.series_title.as_deref().unwrap_or_default();
                format!("{} {}", plain(title), plain(name))
            });
        let parts: Vec<String> = name
            .into_iter()
            .chain(values)
            .map(|part| part.trim().to_owned())
            .filter(|part| !part.is_empty())
            .collect();
        parts.join("; ")
    }
}

impl Quantity {
    fn of(title: &str, scale: &Scale, axis: &Axis) -> Self {
        let (name, unit) = parts(title);
        let places = match scale {
            Scale::Category { labels } => labels.iter().map(|label| plain(label)).collect(),
            Scale::Linear { .. } => Vec::new(),
        };
        let decimals = match axis.kind {
            Kind::Numbers(range) => decimals(range),
            Kind::Names(_) => 0,
        };
        Self {
            name,
            unit,
            places,
            decimals,
        }
    }

    fn value(&self, value: f64) -> String {
        self.named(&self.written(value))
    }

    fn range(&self, low: f64, high: f64) -> String {
        self.named(&format!("{} to {}", self.written(low), self.written(high)))
    }

    fn named(&self, written: &str) -> String {
        let parts = [&*self.name, written, &self.unit];
        let parts: Vec<&str> = parts.into_iter().filter(|part| !part.is_empty()).collect();
        parts.join(" ")
    }

    fn written(&self, value: f64) -> String {
        // A place is the nearest whole number; checked before anything is drawn.
        if let Some(place) = self.places.get(value.round().max(0.0) as usize) {
            return place.clone();
        }
        let fixed = format!("{value:.*}", self.decimals);
        let short = match fixed.contains('.') {
            true => fixed.trim_end_matches('0').trim_end_matches('.'),
            false => &fixed,
        };
        match short.strip_prefix('-') {
            Some("0") => "0".to_owned(),
            Some(size) => format!("\u{2212}{size}"),
            None => short.to_owned(),
        }
    }
}

/// Digits after the point so that a hundredth of the range is seen.
fn decimals(range: Range) -> usize {
    let size = range.high - range.low;
    let mut decimals = 0;
    let mut step = 100.0;
    while size < step && decimals < 8 {
        decimals += 1;
        step /= 10.0;
    }
    decimals
}

/// Name and unit of a title such as "Yield (t ha^{-1})".
fn parts(title: &str) -> (String, String) {
    let title = plain(title);
    let cut = title
        .strip_suffix(')')
        .and_then(|inner| inner.rsplit_once(" ("));
    match cut {
        Some((name, unit)) if !unit.contains(')') => (name.to_owned(), unit.to_owned()),
        _ => (title, String::new()),
    }
}

/// Text without markup: raised and lowered digits as characters of their own.
fn plain(text: &str) -> String {
    const ABOVE: &str = "⁰¹²³⁴⁵⁶⁷⁸⁹";
    const BELOW: &str = "₀₁₂₃₄₅₆₇₈₉";
    let moved = |text: &str, digits: &str, minus: char| -> String {
        let one = |c: char| match c.to_digit(10) {
            Some(digit) => digits.chars().nth(digit as usize).unwrap_or(c),
            None if c == '\u{2212}' => minus,
            None => c,
        };
        text.chars().map(one).collect()
    };
    let piece = |run: text::Run| match run.level {
        Level::Base => run.text,
        Level::Above => moved(&run.text, ABOVE, '⁻'),
        Level::Below => moved(&run.text, BELOW, '₋'),
    };
    text::runs(text).into_iter().map(piece).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use caneplot_plugin::findings;

    fn axis(title: &str, scale: Scale) -> findings::Axis {
        findings::Axis {
            title: title.into(),
            scale,
        }
    }

    fn planned(kind: Kind) -> Axis {
        Axis {
            kind,
            ticks: Vec::new(),
            size: 8.0,
            turned: false,
        }
    }

    #[test]
    fn a_mark_says_its_series_and_its_values_with_units() {
        let figure = Figure {
            series: vec!["2021".into()],
            series_title: Some("Season".into()),
            ..Figure::default()
        };
        let panel = Panel {
            x: axis(
                "Training",
                Scale::Category {
                    labels: vec!["head".into(), "cordon".into()],
                },
            ),
            y: axis("Yield (t ha^{-1})", Scale::default()),
            marks: Vec::new(),
            title: None,
        };
        let y = planned(Kind::Numbers(Range {
            low: -1.0,
            high: 4.0,
        }));
        let tips = Tips::new(&figure, &panel, &planned(Kind::Names(2)), &y);
        assert_eq!(
            tips.point(1.0, 2.5, Some(0)),
            "Season 2021; Training cordon; Yield 2.5 t ha⁻¹"
        );
        assert_eq!(
            tips.upright(0.0, (-0.5, 1.234), None),
            "Training head; Yield −0.5 to 1.23 t ha⁻¹"
        );
        assert_eq!(
            tips.point(0.0, -0.001, None),
            "Training head; Yield 0 t ha⁻¹"
        );
    }

    #[test]
    fn a_unit_is_what_stands_in_the_last_brackets() {
        let both = |name: &str, unit: &str| (name.to_owned(), unit.to_owned());
        assert_eq!(parts("Yield (kg/vine)"), both("Yield", "kg/vine"));
        assert_eq!(parts("pH"), both("pH", ""));
        assert_eq!(parts("Rows (A) to (B)"), both("Rows (A) to", "B"));
    }
}
