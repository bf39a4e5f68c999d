//! All text of a figure made fit for an SVG before anything is measured.

use caneplot_plugin::findings::{Axis, Figure, Mark, Scale};

use super::text::cleaned;

/// The figure with every text cleaned.
pub fn legible(figure: &Figure) -> Figure {
    let mut figure = figure.clone();
    let clean = |text: &mut String| *text = cleaned(text);
    let clean_axis = |axis: &mut Axis| {
        clean(&mut axis.title);
        if let Scale::Category { labels } = &mut axis.scale {
            labels.iter_mut().for_each(clean);
        }
    };
    figure.series.iter_mut().for_each(clean);
    figure.series_title.iter_mut().for_each(clean);
    figure.foot.iter_mut().for_each(clean);
    for panel in &mut figure.panels {
        panel.title.iter_mut().for_each(clean);
        clean_axis(&mut panel.x);
        clean_axis(&mut panel.y);
        for mark in &mut panel.marks {
            match mark {
                Mark::Letters { text, .. } | Mark::Names { text, .. } => {
                    text.iter_mut().for_each(clean);
                }
                Mark::Zone { label, .. } | Mark::Rule { label, .. } => {
                    label.iter_mut().for_each(clean);
                }
                _ => {}
            }
        }
    }
    figure
}
