//! Where the axes of all panels end: shared between panels, and long enough for letters.

use caneplot_plugin::findings::{Figure, Panel, Scale};

use super::check::Along;
use super::frame::PanelPlan;
use super::letters;
use super::reach::{self, Range, Reach};
use super::stage::Stage;

/// Ends of the horizontal and the vertical axis of each panel; none of an axis of names, or of
/// numbers that are not there.
pub type Ends = Vec<(Option<Range>, Option<Range>)>;

/// Ends of all axes; number axes of the same title share theirs, so that panels can be compared.
pub fn ends(figure: &Figure) -> Ends {
    let along = |along: Along| -> Vec<Option<Range>> {
        let reaches: Vec<_> = figure
            .panels
            .iter()
            .map(|p| reach::reach(p, along))
            .collect();
        (0..figure.panels.len())
            .map(|i| {
                let joined = (0..figure.panels.len())
                    .filter(|j| shares(&figure.panels[i], &figure.panels[*j], along))
                    .filter_map(|j| reaches[j])
                    .reduce(|a, b| a.joined(b));
                joined.map(Reach::range)
            })
            .collect()
    };
    along(Along::X).into_iter().zip(along(Along::Y)).collect()
}

/// Whether two panels have one axis in common: the same panel, or number axes of the same title.
fn shares(a: &Panel, b: &Panel, along: Along) -> bool {
    let axis = |panel: &'_ Panel| match along {
        Along::X => panel.x.clone(),
        _ => panel.y.clone(),
    };
    if std::ptr::eq(a, b) {
        return true;
    }
    let (a, b) = (axis(a), axis(b));
    let number = |scale: &Scale| matches!(scale, Scale::Linear { .. });
    !a.title.is_empty() && a.title == b.title && number(&a.scale) && number(&b.scale)
}

/// Lengthens the axes over which letters stand; `false` if none needed it.
pub fn make_room_for_letters(figure: &Figure, planned: &[PanelPlan], ends: &mut Ends) -> bool {
    let mut longer = false;
    let before = ends.clone();
    for (i, (panel, planned)) in figure.panels.iter().zip(planned).enumerate() {
        let Some(Range { low, high }) = before[i].1 else {
            continue;
        };
        let stage = Stage::new(figure, panel, planned.plot, &planned.x, &planned.y);
        let top = letters::letters(&stage)
            .iter()
            .map(|letter| letter.area.top)
            .fold(f64::INFINITY, f64::min);
        let missing = planned.plot.top + 1.0 - top;
        if missing <= 0.0 {
            continue;
        }
        let room = (planned.plot.height() - missing - 0.5).max(planned.plot.height() * 0.3);
        let wanted = low + (high - low) * planned.plot.height() / room;
        for (j, other) in figure.panels.iter().enumerate() {
            if let Some(range) = &mut ends[j].1
                && shares(panel, other, Along::Y)
                && wanted > range.high
            {
                range.high = wanted;
                longer = true;
            }
        }
    }
    longer
}
