//! The field map: rows, positions, blocks, plots with their treatments, buffers, gaps and the way
//! the site changes, on one page that fits A4 and US Letter.

use caneplot_plugin::words::counted;

use super::super::Layout;
use crate::draw::canvas::{Anchor, Area, Canvas, Lettering};
use crate::draw::palette::{self, Colour};
use crate::draw::text::{self, Face};
use crate::draw::{RESOLUTION, pdf, raster, svg};

mod legend;
mod plots;

/// The page: as wide as US Letter, as high as A4 allows, lying, without their margins.
const WIDTH: f64 = 770.0;
/// Height of the page in points.
const HEIGHT: f64 = 575.0;

/// Where rows are drawn.
const FIELD: Area = Area {
    left: 74.0,
    top: 96.0,
    right: 700.0,
    bottom: 470.0,
};

/// Largest letters inside a plot, in points.
const LETTERS: f64 = 11.0;

/// Letters smaller than this cannot be read on paper.
const SMALLEST: f64 = 5.5;

/// Most treatments that get a letter of the alphabet instead.
const MOST_LETTERS: u8 = 12;

/// Half the size of the mark of a gap, which stands at the foot of its row.
const MARK: f64 = 2.8;

const BUFFER: Colour = Colour(0xd9, 0xd9, 0xd9);
const FREE: Colour = Colour(0xf4, 0xf4, 0xf4);

/// The map in three forms.
#[derive(Debug, Clone)]
pub struct Map {
    /// As SVG.
    pub svg: String,
    /// As PNG.
    pub png: Vec<u8>,
    /// As a PDF of one page.
    pub pdf: Vec<u8>,
}

/// The map of a layout.
///
/// # Errors
/// What a renderer said.
pub fn drawing(layout: &Layout) -> Result<Map, String> {
    let mut raw = String::new();
    draw(layout, &mut raw)?;
    let title = format!("Field map: {}", layout.plan.title);
    let words = format!(
        "{} plots of {} treatments on rows {} to {}; every plot with its number and treatment.",
        layout.plots.len(),
        layout.plan.treatments(),
        layout.field.rows.first().map_or(0, |row| row.number),
        layout.field.rows.last().map_or(0, |row| row.number),
    );
    let svg = svg::finished(&raw, WIDTH, HEIGHT, &title, &words);
    let png = raster::png(&svg, WIDTH, HEIGHT, RESOLUTION)?;
    let page = pdf::Page {
        svg: svg.clone(),
        width: WIDTH,
        height: HEIGHT,
    };
    let pdf = pdf::document(&title, &[page])?;
    Ok(Map { svg, png, pdf })
}

fn draw(layout: &Layout, raw: &mut String) -> Result<(), String> {
    let mut sheet = Sheet::new(layout, raw);
    sheet.head();
    sheet.rows();
    for plot in &layout.plots {
        sheet.plot(plot);
    }
    sheet.marks();
    sheet.blocks();
    sheet.gradient();
    sheet.legend();
    sheet.canvas.finish()
}

struct Sheet<'a> {
    layout: &'a Layout,
    canvas: Canvas<'a>,
    /// Rows shown, by their place in the field.
    shown: Vec<usize>,
    first: u32,
    /// Width of a position and height of a row, in points.
    cell: (f64, f64),
    /// Share of its cell that a row fills.
    thick: f64,
    /// See [`Sheet::arrangement`].
    letters: (bool, f64),
    /// Whether letters stand for treatments.
    lettered: bool,
}

impl<'a> Sheet<'a> {
    fn new(layout: &'a Layout, raw: &'a mut String) -> Self {
        let rows = &layout.field.rows;
        let used = |at: &usize| layout.plots.iter().any(|plot| plot.site.row == *at);
        let first_used = (0..rows.len()).find(used).unwrap_or(0);
        let last_used = (0..rows.len()).rev().find(used).unwrap_or(0);
        // Two rows beyond the trial on each side show where it stands.
        let from = first_used.saturating_sub(2);
        let to = (last_used + 2).min(rows.len().saturating_sub(1));
        let shown: Vec<usize> = (from..=to).collect();
        let first = shown.iter().map(|&at| rows[at].first).min().unwrap_or(1);
        let last = shown.iter().map(|&at| rows[at].last).max().unwrap_or(1);
        let wide = (FIELD.width() / f64::from(last - first + 1)).min(24.0);
        let high = (FIELD.height() / shown.len() as f64).min(48.0);
        let mut canvas = Canvas::new(raw, WIDTH, HEIGHT);
        let page = Area {
            left: 0.0,
            top: 0.0,
            right: WIDTH,
            bottom: HEIGHT,
        };
        canvas.block(page, palette::PAPER);
        let mut sheet = Self {
            layout,
            canvas,
            shown,
            first,
            cell: (wide, high),
            thick: 0.8,
            letters: (false, LETTERS),
            lettered: false,
        };
        sheet.letters = sheet.arrangement();
        let few = layout.plan.treatments() <= usize::from(MOST_LETTERS);
        if sheet.letters.1 < SMALLEST && few {
            sheet.lettered = true;
            sheet.letters = sheet.arrangement();
        }
        sheet
    }

    fn text(&mut self, spot: (f64, f64), words: &str, size: f64, face: Face, anchor: Anchor) {
        let look = Lettering {
            size,
            face,
            colour: palette::TEXT,
            anchor,
            upright: false,
        };
        self.canvas.text(spot, &text::cleaned(words), look);
    }

    fn x(&self, position: u32) -> f64 {
        FIELD.left + f64::from(position - self.first) * self.cell.0
    }

    /// Top and bottom of a row, where it is shown.
    fn y(&self, row: usize) -> Option<(f64, f64)> {
        let at = self.shown.iter().position(|&shown| shown == row)?;
        let middle = FIELD.top + (at as f64 + 0.5) * self.cell.1;
        let half = self.cell.1 * self.thick / 2.0;
        Some((middle - half, middle + half))
    }

    fn head(&mut self) {
        let plan = &self.layout.plan;
        let title = fitted(&plan.title, 15.0, Face::Bold, WIDTH - 60.0);
        self.text((30.0, 36.0), &title, 15.0, Face::Bold, Anchor::Start);
        let blocks = match self.layout.has_blocks() {
            true => format!("{} blocks, ", plan.blocks.value),
            false => String::new(),
        };
        let words = format!(
            "{}: {blocks}{} plots of {}, {}. Seed {}, caneplot {}.",
            super::trial_file::kind_word(plan.kind.value),
            self.layout.plots.len(),
            counted(plan.vines.value as usize, "vine"),
            match plan.buffers {
                0 => "no buffers".to_owned(),
                buffers => format!("{} at each end", counted(buffers as usize, "buffer")),
            },
            plan.seed,
            env!("CARGO_PKG_VERSION"),
        );
        let words = capital(&words);
        self.text((30.0, 54.0), &words, 9.5, Face::Regular, Anchor::Start);
    }

    /// Rows as strips of positions, with their numbers and an axis of positions.
    fn rows(&mut self) {
        let layout = self.layout;
        for row in self.shown.clone() {
            let Some((top, bottom)) = self.y(row) else {
                continue;
            };
            let vines = &layout.field.rows[row];
            let area = Area {
                left: self.x(vines.first),
                top,
                right: self.x(vines.last) + self.cell.0,
                bottom,
            };
            self.canvas.block(area, FREE);
            outline(&mut self.canvas, area, palette::GRID, 0.5);
            let size = (self.cell.1 * 0.5).clamp(4.0, 9.0);
            let base = f64::midpoint(top, bottom) + size * text::CAPITAL / 2.0;
            let spot = (FIELD.left - 24.0, base);
            self.text(
                spot,
                &vines.number.to_string(),
                size,
                Face::Regular,
                Anchor::End,
            );
            if vines.guard {
                let spot = (area.left + 4.0, base);
                self.text(spot, "guard row", size, Face::Italic, Anchor::Start);
            }
        }
        let last = FIELD.left + FIELD.width();
        let every = [1, 2, 5, 10, 20, 50, 100]
            .into_iter()
            .find(|&every| f64::from(every) * self.cell.0 >= 18.0)
            .unwrap_or(200);
        let most = self
            .shown
            .iter()
            .map(|&at| layout.field.rows[at].last)
            .max()
            .unwrap_or(1);
        let first = self.first;
        for position in (first..=most).filter(|at| at % every == 0) {
            let middle = self.x(position) + self.cell.0 / 2.0;
            if middle < last {
                let spot = (middle, FIELD.top - 6.0);
                self.text(
                    spot,
                    &position.to_string(),
                    7.0,
                    Face::Regular,
                    Anchor::Middle,
                );
            }
        }
        self.text(
            (FIELD.left, FIELD.top - 17.0),
            "vine position in the row",
            7.5,
            Face::Italic,
            Anchor::Start,
        );
        self.text(
            (FIELD.left - 24.0, FIELD.top - 6.0),
            "row",
            7.5,
            Face::Italic,
            Anchor::End,
        );
    }

    /// Gaps and positions of no use.
    fn marks(&mut self) {
        for row in self.shown.clone() {
            let Some((top, bottom)) = self.y(row) else {
                continue;
            };
            let vines = &self.layout.field.rows[row];
            let (missing, unusable) = (vines.missing.clone(), vines.unusable.clone());
            let half = (self.cell.0 / 2.0).min((bottom - top) / 6.0).min(MARK);
            for position in missing {
                let (x, y) = (self.x(position) + self.cell.0 / 2.0, bottom - half - 1.5);
                for rising in [half, -half] {
                    let line = [(x - half, y - rising), (x + half, y + rising)];
                    self.canvas.line(&line, palette::INK, 1.0);
                }
            }
            for position in unusable {
                let (x, y) = (self.x(position) + self.cell.0 / 2.0, bottom - half - 1.5);
                self.canvas
                    .line(&[(x - half, y), (x + half, y)], palette::INK, 1.2);
            }
        }
    }
}

fn outline(canvas: &mut Canvas<'_>, area: Area, colour: Colour, thickness: f64) {
    let corners = [
        (area.left, area.top),
        (area.right, area.top),
        (area.right, area.bottom),
        (area.left, area.bottom),
        (area.left, area.top),
    ];
    canvas.line(&corners, colour, thickness);
}

/// The text, cut with an ellipsis where it is wider than the room.
pub fn fitted(words: &str, size: f64, face: Face, room: f64) -> String {
    if text::width(words, size, face) <= room {
        return words.to_owned();
    }
    let mut cut: String = words.to_owned();
    while !cut.is_empty() && text::width(&format!("{cut}…"), size, face) > room {
        cut.pop();
    }
    format!("{}…", cut.trim_end())
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters
        .next()
        .into_iter()
        .flat_map(char::to_uppercase)
        .chain(letters)
        .collect()
}
