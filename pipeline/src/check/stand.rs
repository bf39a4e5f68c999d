//! Which vines bear no crop, by their recorded status.

use super::{Facts, Numbers};
use crate::load::status::{State, state};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Word {
    Nothing,
    One(State),
    /// Reported for itself, so that nothing else is concluded from it.
    Contradiction,
}

/// The status of every vine and season.
pub struct Stand {
    words: Vec<Word>,
    seasons: usize,
}

/// The stand as recorded; `None` where the trial records no status.
#[must_use]
pub fn recorded(facts: &Facts) -> Option<Stand> {
    let status = facts.trial.status.as_ref()?;
    let index = &facts.loaded.index;
    let seasons = index.seasons.len();
    let mut words = vec![Word::Nothing; index.vines.len() * seasons];
    for file in &facts.loaded.files {
        let Some(column) = &file.status else { continue };
        let states: Vec<Option<State>> = column
            .names
            .iter()
            .map(|word| state(status, word))
            .collect();
        for row in 0..file.height() {
            let (Some(vine), Some(code)) = (file.vines[row], column.codes[row]) else {
                continue;
            };
            let Some(state) = states[code as usize] else {
                continue;
            };
            let span = match (&file.season, file.season_of(row, file.otherwise)) {
                (None, _) => 0..seasons,
                (Some(_), Some(season)) => season as usize..season as usize + 1,
                (Some(_), None) => continue,
            };
            for word in &mut words[vine as usize * seasons..][span] {
                *word = match *word {
                    Word::Nothing => Word::One(state),
                    Word::One(known) if known == state => Word::One(state),
                    _ => Word::Contradiction,
                };
            }
        }
    }
    Some(Stand { words, seasons })
}

impl Stand {
    /// State of the vine of a record, where it is not a bearing one.
    #[must_use]
    pub fn gap(&self, numbers: &Numbers, row: usize) -> Option<State> {
        let vine = numbers.file.vines[row]? as usize;
        let season = match &numbers.file.season {
            Some(_) => numbers
                .file
                .season_of(row, numbers.file.belongs(numbers.response.quantity))?
                as usize,
            None => 0,
        };
        match self.words[vine * self.seasons + season] {
            Word::One(state) if state != State::Alive => Some(state),
            _ => None,
        }
    }
}
