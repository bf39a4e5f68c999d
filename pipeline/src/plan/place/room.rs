//! Why a block finds no room, in a sentence that names the row and its positions.

use caneplot_plugin::request::DesignKind;
use caneplot_plugin::words::counted;

use super::{Shape, footprint};
use crate::plan::{Field, Gaps, Layout, Plan};

/// Why a block finds no room.
pub(super) struct NoRoom {
    pub(super) message: String,
    pub(super) span: Option<std::ops::Range<usize>>,
    pub(super) help: String,
}

const LESS: &str = "take fewer vines, buffers or blocks, give the block more rows (rows_per_block), or \
                    describe more rows in [field]";

/// What a block is called in a sentence.
fn block_words(plan: &Plan, block: usize) -> String {
    match plan.kind.value {
        DesignKind::CompletelyRandomised => "the trial".to_owned(),
        DesignKind::LatinSquare => "the Latin square".to_owned(),
        _ => format!("block {}", Layout::block_name(block)),
    }
}

/// A row that cannot take what a block needs in it.
pub(super) fn too_short(
    plan: &Plan,
    field: &Field,
    shape: &Shape,
    row: usize,
    block: usize,
    needed: usize,
) -> NoRoom {
    let row = &field.rows[row];
    let left_out: Vec<String> = match field.gaps {
        Gaps::Skip => row
            .missing
            .union(&row.unusable)
            .map(u32::to_string)
            .collect(),
        Gaps::Count => row.unusable.iter().map(u32::to_string).collect(),
    };
    let without = if left_out.is_empty() {
        String::new()
    } else {
        format!(", {} left out", left_out.join(", "))
    };
    let unbroken = match shape.plots_in_unit {
        1 => "",
        _ => "; whole plots are not broken",
    };
    NoRoom {
        message: format!(
            "row {} has {} usable positions ({} to {}{without}), {} needs {needed} there ({} of {} with {} \
             at each end{unbroken})",
            row.number,
            row.usable(field.gaps).count(),
            row.first,
            row.last,
            block_words(plan, block),
            counted(needed / footprint(plan), "plot"),
            counted(plan.vines.value as usize, "vine"),
            counted(plan.buffers as usize, "buffer"),
        ),
        span: (!row.span.is_empty()).then(|| row.span.clone()),
        help: format!("{LESS}; or list the row in guard_rows so that it is passed over"),
    }
}

/// A block for which not enough rows are left.
pub(super) fn no_rows_left(
    plan: &Plan,
    field: &Field,
    shape: &Shape,
    block: usize,
    rest: &[usize],
    needed: usize,
) -> NoRoom {
    let numbers: Vec<String> = rest
        .iter()
        .map(|&row| field.rows[row].number.to_string())
        .collect();
    let left = match numbers.as_slice() {
        [] => "no row is left".to_owned(),
        [one] => format!("only row {one} is left"),
        [first, .., last] => format!("only rows {first} to {last} are left"),
    };
    let positions: usize = rest
        .iter()
        .map(|&row| field.rows[row].usable(field.gaps).count())
        .sum();
    NoRoom {
        message: format!(
            "{} finds no room: {left}, with {positions} usable positions, and it needs {} in at least \
             {needed} rows",
            block_words(plan, block),
            shape.plots_in_block() * footprint(plan),
        ),
        span: None,
        help: LESS.to_owned(),
    }
}
