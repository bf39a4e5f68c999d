//! What the colours and signs of the map mean, and the way the site changes.

use super::{FIELD, HEIGHT, Sheet, WIDTH, fitted, outline};
use crate::draw::canvas::{Anchor, Area, Ink, Lettering};
use crate::draw::palette;
use crate::draw::text::{self, Face};
use crate::plan::Gradient;

impl Sheet<'_> {
    /// An arrow the way the site changes.
    pub(super) fn gradient(&mut self) {
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

    pub(super) fn legend(&mut self) {
        let layout = self.layout;
        let plan = &layout.plan;
        let mut entries: Vec<(usize, String)> = Vec::new();
        if plan.treatments() > 6 && !self.lettered {
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
                let plain = |text: &str| text.replace(", ", " ");
                let words = if self.lettered {
                    format!("{}: {words}", self.letter(treatment))
                } else if words.starts_with(&code) || plain(&words) == plain(&code) {
                    words
                } else {
                    format!("{code} = {words}")
                };
                entries.push((self.series(treatment), format!("{words}{note}")));
            }
        }
        let (mut x, mut y) = (30.0, 496.0);
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
