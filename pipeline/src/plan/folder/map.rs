//! The field map: rows, positions, blocks, plots with their treatments, buffers, gaps and the way
//! the site changes, on one page that fits A4 and US Letter.

use caneplot_plugin::words::counted;

use super::super::{Gradient, Layout, Plot};
use crate::draw::canvas::{Anchor, Area, Canvas, Ink, Lettering};
use crate::draw::palette::{self, Colour};
use crate::draw::text::{self, Face};
use crate::draw::{pdf, raster, svg};

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
    let png = raster::png(&svg, WIDTH, HEIGHT)?;
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
        let high = (FIELD.height() / shown.len() as f64).min(34.0);
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
        };
        sheet.letters = sheet.arrangement();
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
            "{}: {blocks}{} plots of {}, {} at each end. Seed {}, caneplot {}.",
            super::trial_file::kind_word(plan.kind.value),
            self.layout.plots.len(),
            counted(plan.vines.value as usize, "vine"),
            counted(plan.buffers as usize, "buffer"),
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

    fn plot(&mut self, plot: &Plot) {
        let Some((top, bottom)) = self.y(plot.site.row) else {
            return;
        };
        let buffers: Vec<u32> = plot
            .site
            .before
            .iter()
            .chain(&plot.site.behind)
            .copied()
            .collect();
        for position in buffers {
            let area = Area {
                left: self.x(position),
                top,
                right: self.x(position) + self.cell.0,
                bottom,
            };
            self.canvas.block(area, BUFFER);
        }
        let (from, to) = plot.site.reach();
        let whole = Area {
            left: self.x(from),
            top,
            right: self.x(to) + self.cell.0,
            bottom,
        };
        outline(&mut self.canvas, whole, palette::COLUMN, 0.4);
        let (Some(&first), Some(&last)) = (plot.site.vines.first(), plot.site.vines.last()) else {
            return;
        };
        let area = Area {
            left: self.x(first),
            top,
            right: self.x(last) + self.cell.0,
            bottom,
        };
        let look = self.look(plot);
        self.canvas.block(area, palette::PAPER);
        self.canvas.block(
            area,
            Ink {
                colour: look,
                opacity: 0.38,
            },
        );
        outline(&mut self.canvas, area, palette::SPINE, 0.7);
        self.write_inside(plot);
    }

    /// Where a plot's words stand: above the marks of gaps, where it has any.
    fn inside(&self, plot: &Plot) -> Option<Area> {
        let (top, bottom) = self.y(plot.site.row)?;
        let (&first, &last) = (plot.site.vines.first()?, plot.site.vines.last()?);
        let row = &self.layout.field.rows[plot.site.row];
        let gap = |at: u32| row.missing.contains(&at) || row.unusable.contains(&at);
        let foot = match (first..=last).any(gap) {
            true => (2.0 * MARK + 1.0).min((bottom - top) / 3.0),
            false => 0.0,
        };
        Some(Area {
            left: self.x(first),
            top,
            right: self.x(last) + self.cell.0,
            bottom: bottom - foot,
        })
    }

    /// How number and treatment stand in every plot: beside each other or not, and their size; the
    /// way that lets the narrowest plot have the larger letters.
    fn arrangement(&self) -> (bool, f64) {
        let (mut beside, mut above) = (LETTERS, LETTERS);
        for plot in &self.layout.plots {
            let Some(area) = self.inside(plot) else {
                continue;
            };
            let (wide, high) = (area.width() - 3.0, area.height() - 2.0);
            let (number, code) = self.words(plot);
            let one = text::width(&format!("{number}  {code}"), 1.0, Face::Bold);
            let two =
                text::width(&number, 1.0, Face::Regular).max(text::width(&code, 1.0, Face::Bold));
            beside = beside.min(wide / one).min(high / text::LEADING);
            above = above.min(wide / two).min(high / (2.0 * text::LEADING));
        }
        if above >= beside {
            (false, above)
        } else {
            (true, beside)
        }
    }

    fn words(&self, plot: &Plot) -> (String, String) {
        (
            plot.number.to_string(),
            self.layout.plan.code(&plot.treatment),
        )
    }

    fn write_inside(&mut self, plot: &Plot) {
        let Some(area) = self.inside(plot) else {
            return;
        };
        let (number, code) = self.words(plot);
        let (beside, size) = self.letters;
        let (x, y) = area.middle();
        if beside {
            let half = text::width(&format!("{number}  {code}"), size, Face::Bold) / 2.0;
            let base = y + size * text::CAPITAL / 2.0;
            self.text(
                (x - half, base),
                &number,
                size,
                Face::Regular,
                Anchor::Start,
            );
            self.text((x + half, base), &code, size, Face::Bold, Anchor::End);
        } else {
            let step = size * text::LEADING;
            let base = y - step / 2.0 + size * text::CAPITAL / 2.0;
            self.text((x, base), &number, size, Face::Regular, Anchor::Middle);
            self.text((x, base + step), &code, size, Face::Bold, Anchor::Middle);
        }
    }

    /// The colour of a plot: its treatment's, or that of its first factor's level where treatments
    /// are more than colours.
    fn look(&self, plot: &Plot) -> Colour {
        palette::look(Some(self.series(&plot.treatment))).colour
    }

    fn series(&self, treatment: &[usize]) -> usize {
        let factors = &self.layout.plan.factors;
        if self.layout.plan.treatments() > 6 {
            return treatment.first().copied().unwrap_or(0);
        }
        factors
            .iter()
            .zip(treatment)
            .fold(0, |at, (factor, level)| at * factor.levels.len() + level)
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

    /// Every block framed, row by row where its rows are of different reach, and named.
    fn blocks(&mut self) {
        if !self.layout.has_blocks() {
            return;
        }
        for block in 0..self.layout.groups() {
            let plots: Vec<&Plot> = self
                .layout
                .plots
                .iter()
                .filter(|plot| plot.site.block == block)
                .collect();
            let mut areas: Vec<Area> = Vec::new();
            for plot in plots {
                let Some((top, bottom)) = self.y(plot.site.row) else {
                    continue;
                };
                let (first, last) = plot.site.reach();
                areas.push(Area {
                    left: self.x(first),
                    top,
                    right: self.x(last) + self.cell.0,
                    bottom,
                });
            }
            let edge = |pick: fn(&Area) -> f64, choose: fn(f64, f64) -> f64| {
                areas.iter().map(pick).reduce(choose).unwrap_or(0.0)
            };
            let gap = self.cell.1 * (1.0 - self.thick) / 2.0 * 0.6;
            let frame = Area {
                left: edge(|area| area.left, f64::min) - 0.8,
                top: edge(|area| area.top, f64::min) - gap,
                right: edge(|area| area.right, f64::max) + 0.8,
                bottom: edge(|area| area.bottom, f64::max) + gap,
            };
            outline(&mut self.canvas, frame, palette::INK, 1.6);
            let name = Layout::block_name(block);
            let beside = self.layout.field.lie == super::super::Lie::RunsOfRows;
            let (spot, anchor) = if beside {
                ((frame.left - 3.0, frame.middle().1 + 4.0), Anchor::End)
            } else {
                ((frame.middle().0, frame.bottom + 11.0), Anchor::Middle)
            };
            self.text(spot, &name, 10.0, Face::Bold, anchor);
        }
    }

    /// An arrow the way the site changes.
    fn gradient(&mut self) {
        let Some(gradient) = self.layout.field.gradient else {
            return;
        };
        let bottom = FIELD.top + self.cell.1 * self.shown.len() as f64;
        let middle = f64::midpoint(FIELD.top, bottom);
        let (from, to) = match gradient {
            Gradient::ToLastRow => ((722.0, FIELD.top + 6.0), (722.0, bottom - 6.0)),
            Gradient::ToFirstRow => ((722.0, bottom - 6.0), (722.0, FIELD.top + 6.0)),
            Gradient::ToLastVine => ((300.0, 74.0), (560.0, 74.0)),
            Gradient::ToFirstVine => ((560.0, 74.0), (300.0, 74.0)),
        };
        self.canvas.line(&[from, to], palette::INK, 2.0);
        let (dx, dy) = ((to.0 - from.0).signum(), (to.1 - from.1).signum());
        let (dx, dy) = if gradient.is_across() {
            (0.0, dy)
        } else {
            (dx, 0.0)
        };
        let tip = [
            (to.0 + 4.0 * dx, to.1 + 4.0 * dy),
            (to.0 - 7.0 * dx - 5.0 * dy, to.1 - 7.0 * dy - 5.0 * dx),
            (to.0 - 7.0 * dx + 5.0 * dy, to.1 - 7.0 * dy + 5.0 * dx),
        ];
        self.canvas.polygon(&tip, palette::INK);
        let words = self.layout.field.gradient_is.clone();
        if gradient.is_across() {
            let look = Lettering {
                size: 9.0,
                face: Face::Italic,
                colour: palette::TEXT,
                anchor: Anchor::Middle,
                upright: true,
            };
            self.canvas
                .text((738.0, middle), &text::cleaned(&words), look);
        } else {
            self.text((430.0, 69.0), &words, 9.0, Face::Italic, Anchor::Middle);
        }
    }

    fn legend(&mut self) {
        let layout = self.layout;
        let plan = &layout.plan;
        let mut entries: Vec<(usize, String)> = Vec::new();
        if plan.treatments() > 6 {
            if let Some(factor) = plan.factors.first() {
                for (at, level) in factor.levels.iter().enumerate() {
                    entries.push((at, format!("{}: {}", factor.label, level.label)));
                }
            }
        } else {
            let mut seen: Vec<&Vec<usize>> =
                layout.plots.iter().map(|plot| &plot.treatment).collect();
            seen.sort();
            seen.dedup();
            for treatment in seen {
                let (code, words) = (plan.code(treatment), plan.words(treatment));
                let control = plan.factors.iter().zip(treatment).all(|(factor, &level)| {
                    factor.control.as_ref().map(|control| &control.value)
                        == Some(&factor.levels[level].name)
                });
                let note = if control { " (control)" } else { "" };
                let words = match words.starts_with(&code) {
                    true => words,
                    false => format!("{code} = {words}"),
                };
                entries.push((self.series(treatment), format!("{words}{note}")));
            }
        }
        let (mut x, mut y) = (30.0, 506.0);
        for (series, words) in entries {
            let words = fitted(&words, 8.5, Face::Regular, 300.0);
            let wide = 18.0 + text::width(&words, 8.5, Face::Regular) + 16.0;
            if x + wide > WIDTH - 30.0 {
                x = 30.0;
                y += 14.0;
            }
            let area = Area {
                left: x,
                top: y - 8.0,
                right: x + 13.0,
                bottom: y + 1.0,
            };
            let colour = palette::look(Some(series)).colour;
            self.canvas.block(
                area,
                Ink {
                    colour,
                    opacity: 0.38,
                },
            );
            outline(&mut self.canvas, area, palette::SPINE, 0.7);
            self.text((x + 18.0, y), &words, 8.5, Face::Regular, Anchor::Start);
            x += wide;
        }
        let foot = "Grey: buffer vines, treated but not recorded. Pale: not in the trial. × no vine. – of no use. \
                    In every plot: its number, then its treatment.";
        self.text(
            (30.0, HEIGHT - 22.0),
            foot,
            8.0,
            Face::Regular,
            Anchor::Start,
        );
        if layout.field.made_up {
            let words = "Rows and positions are made up: the plan describes no field.";
            self.text((30.0, HEIGHT - 10.0), words, 8.0, Face::Bold, Anchor::Start);
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
