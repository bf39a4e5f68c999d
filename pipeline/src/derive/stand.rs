//! The stand: which vines of a plot live in which season, which spaces are gaps.

use super::records::OfResponse;
use crate::diagnostic::Diagnostic;
use crate::load::Loaded;
use crate::load::status::{State, state};
use crate::trial::{Status, Trial};

/// The stand of the trial.
#[derive(Debug, Clone, Default)]
pub struct Stand {
    /// State by vine × season, seasons fastest; `None` where nothing is known of the vine then.
    pub states: Vec<Option<State>>,
    /// Whether the trial records status, so that a gap is known from a vine not recorded.
    pub known: bool,
    /// Living vines by plot × season.
    pub alive: Vec<i64>,
    /// Planted spaces by plot × season, without those of diseased vines.
    pub planted: Vec<i64>,
    /// Number of seasons.
    pub seasons: usize,
}

impl Stand {
    /// Whether a vine bears in a season.
    #[must_use]
    pub fn lives(&self, vine: usize, season: usize) -> bool {
        self.states[vine * self.seasons + season] == Some(State::Alive)
    }

    /// Whether any planted space is known to be a gap.
    #[must_use]
    pub fn has_gaps(&self) -> bool {
        self.known
            && self
                .alive
                .iter()
                .zip(&self.planted)
                .any(|(alive, planted)| alive < planted)
    }
}

/// Counts the stand. A vine with a number and no status lives; without a status column a vine lives
/// where it has any number.
///
/// # Errors
/// A status word that means nothing (the checks report it first).
pub fn counted(
    trial: &Trial,
    loaded: &Loaded,
    records: &[OfResponse],
) -> Result<Stand, Vec<Diagnostic>> {
    let seasons = loaded.index.seasons.len();
    let mut states = match &trial.status {
        Some(status) => recorded(status, loaded)?,
        None => vec![None; loaded.index.vines.len() * seasons],
    };
    for records in records {
        let totals = records.totals.iter();
        for records in totals.chain([&records.values]) {
            for (state, value) in states.iter_mut().zip(&records.vines) {
                if state.is_none() && value.is_some() {
                    *state = Some(State::Alive);
                }
            }
        }
    }
    let cells = loaded.index.plots.len() * seasons;
    let (mut alive, mut planted) = (vec![0; cells], vec![0; cells]);
    for (vine, of) in loaded.index.vines.iter().zip(states.chunks(seasons)) {
        for (season, state) in of.iter().enumerate() {
            let cell = vine.plot as usize * seasons + season;
            alive[cell] += i64::from(*state == Some(State::Alive));
            // A sick vine is no gap: its space counts neither as bearing nor as empty.
            planted[cell] += i64::from(state.is_some_and(|state| state != State::Diseased));
        }
    }
    Ok(Stand {
        states,
        known: trial.status.is_some(),
        alive,
        planted,
        seasons,
    })
}

fn recorded(status: &Status, loaded: &Loaded) -> Result<Vec<Option<State>>, Vec<Diagnostic>> {
    let seasons = loaded.index.seasons.len();
    let mut states = vec![None; loaded.index.vines.len() * seasons];
    let mut faults = Vec::new();
    for file in &loaded.files {
        let Some(column) = &file.status else { continue };
        let words: Vec<Option<State>> = column
            .names
            .iter()
            .map(|word| state(status, word))
            .collect();
        for row in 0..file.height() {
            let (Some(vine), Some(code)) = (file.vines[row], column.codes[row]) else {
                continue;
            };
            let Some(state) = words[code as usize] else {
                faults.push(
                    Diagnostic::error(
                        "status-word",
                        format!("'{}' is no status", column.names[code as usize]),
                    )
                    .at(file.place(row, Some(&column.heading)))
                    .help("list the word in [status]"),
                );
                return Err(faults);
            };
            let vine = vine as usize * seasons;
            match (&file.season, file.season_of(row, file.otherwise)) {
                (Some(_), None) => {}
                (Some(_), Some(season)) => states[vine + season as usize] = Some(state),
                (None, _) => states[vine..vine + seasons].fill(Some(state)),
            }
        }
    }
    Ok(states)
}
