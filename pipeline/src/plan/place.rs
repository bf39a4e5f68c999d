//! Plots on vine positions. A plot is a run of vines in one row: buffers, recorded vines, buffers.
//! No plot, and no whole plot of a split design, crosses the end of a row.

use caneplot_plugin::request::DesignKind;

use super::{Field, Lie, Plan};
use crate::diagnostic::Diagnostic;

mod room;
mod shape;

use room::{NoRoom, no_rows_left, too_short};
pub use shape::Shape;

/// Positions a plot takes, buffers included.
#[must_use]
pub fn footprint(plan: &Plan) -> usize {
    plan.vines.value as usize + 2 * plan.buffers as usize
}

/// The place of a plot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Site {
    /// Block, from 0.
    pub block: usize,
    /// Line of the block, from 0: which of its rows.
    pub line: usize,
    /// Place along the line, from 0.
    pub along: usize,
    /// Order inside the block, from 0.
    pub inside: usize,
    /// The row, by its place in the field.
    pub row: usize,
    /// Positions of the buffers before.
    pub before: Vec<u32>,
    /// Positions of the recorded vines.
    pub vines: Vec<u32>,
    /// Positions of the buffers behind.
    pub behind: Vec<u32>,
}

impl Site {
    /// First and last position, buffers included.
    #[must_use]
    pub fn reach(&self) -> (u32, u32) {
        let all = || self.before.iter().chain(&self.vines).chain(&self.behind);
        (
            all().min().copied().unwrap_or(0),
            all().max().copied().unwrap_or(0),
        )
    }
}

/// The number painted on a plot's post: hundreds by block (by row in a Latin square), so that no two
/// plots of a trial share one.
#[must_use]
pub fn number(kind: DesignKind, site: &Site) -> u32 {
    let (hundreds, within) = match kind {
        DesignKind::CompletelyRandomised => return site.inside as u32 + 1,
        DesignKind::LatinSquare => (site.line, site.along),
        _ => (site.block, site.inside),
    };
    (hundreds as u32 + 1) * 100 + within as u32 + 1
}

/// The places of all plots: by block, then line, then along the line.
///
/// # Errors
/// A sentence for the first block that finds no room, naming the row and its positions.
pub fn sites(plan: &Plan, field: &Field) -> Result<Vec<Site>, Vec<Diagnostic>> {
    let shape = Shape::of(plan);
    let open = field.open();
    let fitting = match field.lie {
        Lie::RunsOfRows => runs_of_rows(plan, field, &shape, &open),
        Lie::PartsOfRows => parts_of_rows(plan, field, &shape, &open),
    };
    fitting.map_err(|fault| {
        let span = if field.span.is_empty() {
            &plan.blocks.span
        } else {
            &field.span
        };
        vec![
            Diagnostic::error("plan-room", fault.message)
                .at(plan.place(fault.span.as_ref().unwrap_or(span)))
                .help(fault.help),
        ]
    })
}

fn runs_of_rows(
    plan: &Plan,
    field: &Field,
    shape: &Shape,
    open: &[usize],
) -> Result<Vec<Site>, NoRoom> {
    let mut next = 0;
    let mut sites = Vec::new();
    for block in 0..shape.blocks {
        let rest = &open[next..];
        let (lines, taken) = match (shape.lines, &field.rows_per_block) {
            (Some(lines), _) => (vec![shape.units; lines], lines),
            (None, Some((rows, _))) => (even(plan, field, shape, rest, *rows, block)?, *rows),
            (None, None) => {
                let rows = fewest(plan, field, shape, rest, block)?;
                (even(plan, field, shape, rest, rows, block)?, rows)
            }
        };
        if rest.len() < taken {
            return Err(no_rows_left(plan, field, shape, block, rest, taken));
        }
        let mut from = vec![0; taken];
        block_sites(
            plan, field, shape, block, &lines, rest, &mut from, &mut sites,
        )?;
        next += taken;
    }
    Ok(sites)
}

/// Blocks side by side in the same rows, in as few rows as hold them all.
fn parts_of_rows(
    plan: &Plan,
    field: &Field,
    shape: &Shape,
    open: &[usize],
) -> Result<Vec<Site>, NoRoom> {
    let tried = match (shape.lines, &field.rows_per_block) {
        (Some(lines), _) => lines..=lines,
        (None, Some((rows, _))) => *rows..=*rows,
        (None, None) => 1..=open.len().min(shape.units).max(1),
    };
    let mut failure = None;
    for rows in tried {
        if open.len() < rows {
            return Err(no_rows_left(plan, field, shape, 0, open, rows));
        }
        let lines = match shape.lines {
            Some(lines) => vec![shape.units; lines],
            None => (0..rows)
                .map(|line| (shape.units + rows - 1 - line) / rows)
                .collect(),
        };
        let mut sites = Vec::new();
        let mut from = vec![0; rows];
        let placed = (0..shape.blocks).try_for_each(|block| {
            block_sites(
                plan, field, shape, block, &lines, open, &mut from, &mut sites,
            )?;
            // The next block begins at one position in all of its rows.
            let end = from.iter().copied().max().unwrap_or(0);
            from.fill(end);
            Ok(())
        });
        match placed {
            Ok(()) => return Ok(sites),
            Err(fault) => failure = Some(fault),
        }
    }
    Err(failure.unwrap_or_else(|| no_rows_left(plan, field, shape, 0, open, 1)))
}

/// How many units stand in each of a block's rows: as evenly as the rows' lengths allow.
fn even(
    plan: &Plan,
    field: &Field,
    shape: &Shape,
    rows: &[usize],
    count: usize,
    block: usize,
) -> Result<Vec<usize>, NoRoom> {
    if rows.len() < count {
        return Err(no_rows_left(plan, field, shape, block, rows, count));
    }
    let room: Vec<usize> = rows[..count]
        .iter()
        .map(|&row| capacity(plan, field, shape, row))
        .collect();
    if room.iter().sum::<usize>() < shape.units {
        let needed = shape.units.div_ceil(count) * shape.plots_in_unit * footprint(plan);
        // The first row that cannot take its share is the one to name.
        let short = (0..count)
            .find(|&at| room[at] < shape.units.div_ceil(count))
            .unwrap_or(0);
        return Err(too_short(plan, field, shape, rows[short], block, needed));
    }
    let mut left = shape.units;
    let mut lines = Vec::with_capacity(count);
    for at in 0..count {
        let behind: usize = room[at + 1..].iter().sum();
        let share = left.div_ceil(count - at).max(left.saturating_sub(behind));
        let here = share.min(room[at]);
        lines.push(here);
        left -= here;
    }
    Ok(lines)
}

/// The fewest rows that hold a block.
fn fewest(
    plan: &Plan,
    field: &Field,
    shape: &Shape,
    rows: &[usize],
    block: usize,
) -> Result<usize, NoRoom> {
    let mut left = shape.units;
    for (at, &row) in rows.iter().enumerate() {
        let room = capacity(plan, field, shape, row);
        if room == 0 {
            let needed = shape.plots_in_unit * footprint(plan);
            return Err(too_short(plan, field, shape, row, block, needed));
        }
        left = left.saturating_sub(room);
        if left == 0 {
            return Ok(at + 1);
        }
    }
    Err(no_rows_left(
        plan,
        field,
        shape,
        block,
        rows,
        rows.len() + 1,
    ))
}

/// Units a row can hold.
fn capacity(plan: &Plan, field: &Field, shape: &Shape, row: usize) -> usize {
    let usable = field.rows[row].usable(field.gaps).count();
    usable / (shape.plots_in_unit * footprint(plan))
}

/// Places the units of one block: `lines[i]` units in row `rows[i]`, from position `from[i]` on,
/// which is moved behind them. Columns of squares and strips begin at one position in all lines.
#[allow(
    clippy::too_many_arguments,
    reason = "one step of two callers, with their state"
)]
fn block_sites(
    plan: &Plan,
    field: &Field,
    shape: &Shape,
    block: usize,
    lines: &[usize],
    rows: &[usize],
    from: &mut [u32],
    sites: &mut Vec<Site>,
) -> Result<(), NoRoom> {
    let mut placed = Vec::new();
    let most = lines.iter().max().copied().unwrap_or(0);
    for unit in 0..most {
        for (line, &units) in lines.iter().enumerate() {
            if unit >= units {
                continue;
            }
            for within in 0..shape.plots_in_unit {
                let row = rows[line];
                let Some(mut site) = taken(plan, field, row, from[line]) else {
                    let needed = units * shape.plots_in_unit * footprint(plan);
                    return Err(too_short(plan, field, shape, row, block, needed));
                };
                site.block = block;
                site.line = line;
                site.along = unit * shape.plots_in_unit + within;
                from[line] = site.reach().1 + 1;
                placed.push(site);
            }
        }
        if shape.lines.is_some() {
            let end = from.iter().copied().max().unwrap_or(0);
            from.fill(end);
        }
    }
    placed.sort_by_key(|site| (site.line, site.along));
    for (inside, site) in placed.iter_mut().enumerate() {
        site.inside = inside;
    }
    sites.extend(placed);
    Ok(())
}

/// The next plot of a row from a position on.
fn taken(plan: &Plan, field: &Field, row: usize, from: u32) -> Option<Site> {
    let wanted = footprint(plan);
    let positions: Vec<u32> = field.rows[row]
        .usable(field.gaps)
        .filter(|&position| position >= from)
        .take(wanted)
        .collect();
    if positions.len() < wanted {
        return None;
    }
    let buffers = plan.buffers as usize;
    let (before, rest) = positions.split_at(buffers);
    let (vines, behind) = rest.split_at(plan.vines.value as usize);
    Some(Site {
        block: 0,
        line: 0,
        along: 0,
        inside: 0,
        row,
        before: before.to_vec(),
        vines: vines.to_vec(),
        behind: behind.to_vec(),
    })
}
