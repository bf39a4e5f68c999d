//! What the words of the status column mean.

use crate::trial::Status;

/// State of a planted space in a season.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum State {
    /// A living, bearing vine.
    Alive,
    /// A young replacement: planted, not yet counted.
    Replanted,
    /// A vine that stands but is sick: no gap, and not counted among the bearing.
    Diseased,
    /// A dead vine.
    Dead,
    /// An empty space.
    Missing,
}

/// The state a status word means.
#[must_use]
pub fn state(status: &Status, word: &str) -> Option<State> {
    let words = [
        (State::Alive, &status.alive),
        (State::Replanted, &status.replanted),
        (State::Diseased, &status.diseased),
        (State::Dead, &status.dead),
        (State::Missing, &status.missing),
    ];
    let means = |same: &dyn Fn(&str) -> bool| {
        words
            .iter()
            .find(|(_, words)| words.iter().any(|known| same(known)))
            .map(|(state, _)| *state)
    };
    means(&|known| known == word).or_else(|| means(&|known| known.eq_ignore_ascii_case(word)))
}
