//! What the data of a panel cover, so that text can keep clear of it.

use caneplot_plugin::findings::Mark;

use super::canvas::{Area, Spot};
use super::stage::Stage;

/// What the data of a panel cover, in small rectangles.
pub fn covered(stage: &Stage) -> Vec<Area> {
    let mut areas = Vec::new();
    for mark in &stage.panel.marks {
        match mark {
            Mark::Points {
                x,
                y,
                series,
                faint,
            } => {
                let radius = stage.radius(*faint, x.len());
                let spots = stage.point_spots((x, y), *series, *faint);
                areas.extend(
                    spots
                        .into_iter()
                        .map(|spot| Area::around(spot, radius, radius)),
                );
            }
            Mark::Interval {
                x,
                low,
                high,
                series,
            } => {
                for ((x, low), high) in x.iter().zip(low).zip(high) {
                    let ends = [
                        stage.spot(*x, *low, *series),
                        stage.spot(*x, *high, *series),
                    ];
                    areas.push(between(ends, stage.cap(), 0.5));
                }
            }
            Mark::Across {
                low,
                high,
                y,
                series,
            } => {
                for ((low, high), y) in low.iter().zip(high).zip(y) {
                    let ends = [
                        stage.spot(*low, *y, *series),
                        stage.spot(*high, *y, *series),
                    ];
                    areas.push(between(ends, 0.5, stage.cap()));
                }
            }
            Mark::Bar { x, y, series } => {
                let half = stage.bar_width(*series) / 2.0;
                for (x, y) in x.iter().zip(y) {
                    let ends = [stage.spot(*x, *y, *series), stage.spot(*x, 0.0, *series)];
                    areas.push(between(ends, half, 0.0));
                }
            }
            Mark::Line { x, y, series, .. } => {
                let spots: Vec<Spot> = x
                    .iter()
                    .zip(y)
                    .map(|(x, y)| stage.spot(*x, *y, *series))
                    .collect();
                for pair in spots.windows(2) {
                    areas.extend(along(pair[0], pair[1]));
                }
            }
            Mark::Rule { y: Some(y), .. } => {
                let at = stage.spot(0.0, *y, None).1;
                areas.push(Area {
                    top: at - 0.3,
                    bottom: at + 0.3,
                    ..stage.plot
                });
            }
            _ => {}
        }
    }
    areas
}

fn between(ends: [Spot; 2], half_width: f64, half_height: f64) -> Area {
    Area {
        left: ends[0].0.min(ends[1].0) - half_width,
        right: ends[0].0.max(ends[1].0) + half_width,
        top: ends[0].1.min(ends[1].1) - half_height,
        bottom: ends[0].1.max(ends[1].1) + half_height,
    }
}

/// Small squares along a line.
fn along(from: Spot, to: Spot) -> impl Iterator<Item = Area> {
    let length = (to.0 - from.0).abs().max((to.1 - from.1).abs());
    let pieces = (length / 3.0).clamp(1.0, 400.0) as usize;
    (0..=pieces).map(move |i| {
        let part = i as f64 / pieces as f64;
        let spot = (
            from.0 + (to.0 - from.0) * part,
            from.1 + (to.1 - from.1) * part,
        );
        Area::around(spot, 1.0, 1.0)
    })
}
