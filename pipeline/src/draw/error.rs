//! Why a figure could not be drawn; each error names the place and says what to change.

use std::fmt;

use thiserror::Error;

/// A mark inside a figure, as an error names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MarkPlace {
    /// Identifier of the figure.
    pub figure: String,
    /// Panel, counted from 1.
    pub panel: usize,
    /// Mark inside the panel, counted from 1.
    pub mark: usize,
    /// Kind of mark, such as `interval`.
    pub kind: &'static str,
}

impl fmt::Display for MarkPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "figure '{}', panel {}, mark {} ({})",
            self.figure, self.panel, self.mark, self.kind
        )
    }
}

/// Why a figure could not be drawn.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum DrawError {
    /// The figure has nothing to draw on.
    #[error("figure '{figure}' has no panel: give it at least one")]
    NoPanel {
        /// Identifier of the figure.
        figure: String,
    },
    /// A coordinate is NaN or infinite.
    #[error("{place}: {member}[{index}] is {value}, which has no place on an axis: leave it out")]
    NotFinite {
        /// The mark.
        place: MarkPlace,
        /// Member of the mark, such as `low`.
        member: &'static str,
        /// Index inside the member, from 0.
        index: usize,
        /// What stands there.
        value: f64,
    },
    /// A coordinate is beyond what an axis can hold.
    #[error("{place}: {member}[{index}] is {value:e}, beyond ±{limit:e}: use a larger unit")]
    TooLarge {
        /// The mark.
        place: MarkPlace,
        /// Member of the mark.
        member: &'static str,
        /// Index inside the member, from 0.
        index: usize,
        /// What stands there.
        value: f64,
        /// The largest size that is drawn.
        limit: f64,
    },
    /// The members of a mark differ in length.
    #[error(
        "{place}: {first} has {first_length} entries and {second} has {second_length}: they must be as many"
    )]
    Lengths {
        /// The mark.
        place: MarkPlace,
        /// One member.
        first: &'static str,
        /// Its length.
        first_length: usize,
        /// Another member.
        second: &'static str,
        /// Its length.
        second_length: usize,
    },
    /// A coordinate on a category axis is not the index of a category.
    #[error(
        "{place}: {member}[{index}] is {value}, but the axis has {categories} categories, counted from 0"
    )]
    Category {
        /// The mark.
        place: MarkPlace,
        /// Member of the mark.
        member: &'static str,
        /// Index inside the member, from 0.
        index: usize,
        /// What stands there.
        value: f64,
        /// Number of categories of the axis.
        categories: usize,
    },
    /// A mark belongs to a series that the figure does not have.
    #[error("{place}: series {series}, but the figure names {named} series, counted from 0")]
    Series {
        /// The mark.
        place: MarkPlace,
        /// The index asked for.
        series: usize,
        /// Number of series of the figure.
        named: usize,
    },
    /// An end or a tick of an axis is not finite, or too large.
    #[error(
        "figure '{figure}', panel {panel}: the {axis} axis is asked to hold {value}, which is no place on it"
    )]
    Axis {
        /// Identifier of the figure.
        figure: String,
        /// Panel, counted from 1.
        panel: usize,
        /// `horizontal` or `vertical`.
        axis: &'static str,
        /// The value asked for.
        value: f64,
    },
    /// The panels do not fit on any page.
    #[error(
        "figure '{figure}' would be {height_mm:.0} mm high, more than {limit_mm:.0} mm: split its panels over several figures"
    )]
    TooTall {
        /// Identifier of the figure.
        figure: String,
        /// Height it would have, in millimetres.
        height_mm: f64,
        /// The largest height drawn, in millimetres.
        limit_mm: f64,
    },
    /// The drawing could not be turned into a picture.
    #[error("figure '{figure}' could not be rendered: {message}")]
    Render {
        /// Identifier of the figure.
        figure: String,
        /// What the renderer said.
        message: String,
    },
}
