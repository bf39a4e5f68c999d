//! What the generators of the demo trials build into their data, for the tests that look whether a
//! report finds it again.

/// The demo trial "winter damage".
pub mod winter_damage {
    /// Nodes a vine from which crop stays level.
    pub const JOIN: f64 = 33.0;

    /// Crop of a vine with this many nodes as a share of the level crop: a straight line up to the
    /// join.
    #[must_use]
    pub fn share(nodes: f64) -> f64 {
        1.0 - 0.017 * (JOIN - nodes).max(0.0)
    }

    /// Nodes a vine that ripen best.
    pub const RIPEST: f64 = 24.0;

    /// Brix expected of a vine with this many nodes in a middling season: fewer shade their few
    /// clusters with rank shoots, more bear more than their leaves can ripen.
    #[must_use]
    pub fn brix(nodes: f64) -> f64 {
        23.8 - 0.0045 * (nodes - RIPEST).powi(2)
    }

    /// Blocks, plots and the first season without them.
    pub const REMOVED: [(u32, u32, u32); 2] = [(2, 4, 2023), (5, 1, 2024)];
    /// Block and row of the vines that were dead from this season on, in every plot the row crosses.
    pub const DEAD_ROW: (u32, u32, u32) = (6, 28, 2024);
}
