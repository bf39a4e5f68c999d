//! Vines lost over the trial: an outcome of the treatments as much as the crop is. Left out as gaps
//! they would be taken for losses at random.

use caneplot_plugin::request::{Basis, Response as Described};

use super::reduce::{Counts, Mean, Reduced, percentage};
use super::stand::Stand;
use crate::decimal::Decimal;
use crate::load::Loaded;
use crate::load::status::State;
use crate::trial::Trial;

/// Name of the response that is made.
const NAME: &str = "vines_lost";

/// Vines lost of those planted, plot by plot, where the trial records status; the value of a plot
/// stands in the last season with any status. A space that held no bearing vine when a trial of
/// several seasons began had lost it before the treatments, and does not count.
#[must_use]
pub fn vines_lost(trial: &Trial, loaded: &Loaded, stand: &Stand) -> Option<Reduced> {
    let taken = trial
        .responses
        .iter()
        .chain(&trial.covariates)
        .map(|one| &one.name)
        .chain(trial.factors.iter().map(|one| &one.name))
        .chain(trial.ratios.iter().map(|one| &one.name))
        .any(|name| name.eq_ignore_ascii_case(NAME));
    if taken || !stand.known {
        return None;
    }
    let last = last_season(stand)?;
    let mut counts: Vec<Option<(i64, i64)>> = vec![None; stand.planted.len()];
    for (vine, states) in loaded
        .index
        .vines
        .iter()
        .zip(stand.states.chunks(stand.seasons))
    {
        if let Some(lost) = is_lost(states) {
            let cell = vine.plot as usize * stand.seasons + last;
            let (sum, planted) = counts[cell].unwrap_or((0, 0));
            counts[cell] = Some((sum + i64::from(lost), planted + 1));
        }
    }
    let mean = |pair: &Option<(i64, i64)>| {
        Some(Mean {
            sum: percentage((*pair)?)?,
            number: 1,
        })
    };
    Some(Reduced {
        described: Described {
            name: NAME.to_owned(),
            label: "Vines lost".to_owned(),
            unit: "%".to_owned(),
            basis: Basis::Plot,
            decimals: 1,
            counts: Some((format!("{NAME}__count"), format!("{NAME}__of"))),
            derived: Some(
                "vines found dead, missing or replanted in any season, of those planted when the records began"
                    .to_owned(),
            ),
            ..Described::default()
        },
        plots: counts.iter().map(mean).collect(),
        vines: Vec::new(),
        counts: Some(Counts {
            plots: counts,
            vines: Vec::new(),
        }),
        factor: Decimal::ONE,
        offset: Decimal::ZERO,
    })
    .filter(Reduced::has_data)
}

/// The last season in which any status is known.
fn last_season(stand: &Stand) -> Option<usize> {
    (0..stand.seasons).rev().find(|season| {
        let mut of_season = stand.planted.iter().skip(*season).step_by(stand.seasons);
        of_season.any(|planted| *planted > 0)
    })
}

/// Whether a vine was lost; `None` for a space that is no loss of the trial's.
fn is_lost(states: &[Option<State>]) -> Option<bool> {
    let first = states.first().copied().flatten();
    let gone_before = matches!(first, Some(State::Missing | State::Replanted));
    if states.iter().all(Option::is_none) || (states.len() > 1 && gone_before) {
        return None;
    }
    Some(states.iter().flatten().any(|state| is_gone(*state)))
}

/// A sick vine stands still: its loss is counted when it is found dead or its space empty.
fn is_gone(state: State) -> bool {
    matches!(state, State::Dead | State::Missing | State::Replanted)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::load::testing::{Bench, blocks, in_seasons};

    const VINES: &str = "[[data]]\nfile = \"vines.csv\"\n[status]\ncolumn = \"state\"\n\
        [responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n";

    /// Two blocks of three plots with three vines in two seasons, all alive but those listed as plot,
    /// vine, season, word.
    fn derived(gaps: &[(&str, usize, usize, &str)]) -> crate::derive::Derived {
        let trial = in_seasons(
            &blocks("vine = \"vine\"\nseason = \"season\"", VINES),
            "2021-2022",
        );
        let mut text = String::from("season,block,plot,vine,nodes,state,kg\n");
        for season in [2021, 2022] {
            for block in 1..=2 {
                for (at, nodes) in [12, 24, 36].iter().enumerate() {
                    for vine in 1..=3 {
                        let plot = format!("P{block}{at}");
                        let gap = gaps
                            .iter()
                            .find(|gap| (gap.0, gap.1, gap.2) == (&plot, vine, season));
                        let (word, kg) = gap.map_or(("alive", "3.5"), |gap| (gap.3, ""));
                        text.push_str(&format!(
                            "{season},{block},{plot},{vine},{nodes},{word},{kg}\n"
                        ));
                    }
                }
            }
        }
        Bench::new(&trial, &[("vines.csv", &text)]).derived()
    }

    fn counts(derived: &crate::derive::Derived, name: &str) -> Vec<Option<i64>> {
        let column = derived.plots.column(name).unwrap();
        column.i64().unwrap().iter().collect()
    }

    #[test]
    fn vines_lost_in_any_season_count_once_in_the_last() {
        let derived = derived(&[
            ("P10", 1, 2021, "dead"),
            ("P10", 1, 2022, "replanted"),
            ("P10", 2, 2022, "missing"),
            ("P12", 1, 2021, "diseased"),
            // Gone before the trial began.
            ("P11", 3, 2021, "missing"),
            ("P11", 3, 2022, "missing"),
        ]);
        let lost = counts(&derived, "vines_lost__count");
        let of = counts(&derived, "vines_lost__of");
        assert_eq!(lost[..6], [None, Some(2), None, Some(0), None, Some(0)]);
        assert_eq!(of[..6], [None, Some(3), None, Some(2), None, Some(3)]);
        let made = derived.info.responses.iter().find(|one| one.name == NAME);
        assert!(made.unwrap().is_of_the_stand());
    }

    #[test]
    fn no_vine_lost_is_a_result_too_and_no_status_is_none() {
        assert_eq!(
            counts(&derived(&[]), "vines_lost__count")[..2],
            [None, Some(0)]
        );
        let bench = Bench::new(
            &blocks("", crate::load::testing::HARVEST),
            &[("harvest.csv", &crate::load::testing::harvest())],
        );
        assert!(bench.derived().plots.column(NAME).is_err());
    }
}
