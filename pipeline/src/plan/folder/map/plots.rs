//! Plots with their words, and the frames of blocks.

use super::{BUFFER, LETTERS, MARK, MOST_LETTERS, Sheet, outline};
use crate::draw::canvas::{Anchor, Area, Ink};
use crate::draw::palette::{self, Colour};
use crate::draw::text::{self, Face};
use crate::plan::{Layout, Lie, Plot};

impl Sheet<'_> {
    pub(super) fn plot(&mut self, plot: &Plot) {
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
    pub(super) fn arrangement(&self) -> (bool, f64) {
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
        let code = match self.lettered {
            true => self.letter(&plot.treatment),
            false => self.layout.plan.code(&plot.treatment),
        };
        (plot.number.to_string(), code)
    }

    /// The letter that stands for a treatment whose levels are too long to be read in a plot.
    pub(super) fn letter(&self, treatment: &[usize]) -> String {
        let at = u8::try_from(self.order(treatment)).unwrap_or(u8::MAX);
        char::from(b'A' + at.min(MOST_LETTERS)).to_string()
    }

    /// The place of a treatment among all, the last factor varying fastest.
    fn order(&self, treatment: &[usize]) -> usize {
        let factors = &self.layout.plan.factors;
        factors
            .iter()
            .zip(treatment)
            .fold(0, |at, (factor, level)| at * factor.levels.len() + level)
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

    pub(super) fn series(&self, treatment: &[usize]) -> usize {
        if self.layout.plan.treatments() > 6 {
            return treatment.first().copied().unwrap_or(0);
        }
        self.order(treatment)
    }

    /// Every block framed, row by row where its rows are of different reach, and named.
    pub(super) fn blocks(&mut self) {
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
            let beside = self.layout.field.lie == Lie::RunsOfRows;
            let (spot, anchor) = if beside {
                ((frame.left - 3.0, frame.middle().1 + 4.0), Anchor::End)
            } else {
                ((frame.middle().0, frame.bottom + 11.0), Anchor::Middle)
            };
            self.text(spot, &name, 10.0, Face::Bold, anchor);
        }
    }
}
