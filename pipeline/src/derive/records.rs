//! Every number put where it belongs: a vine and season, or a plot and season.

use crate::decimal::Decimal;
use crate::diagnostic::Diagnostic;
use crate::load::{Loaded, Part, Seen};
use crate::trial::Trial;

/// The numbers of one response, or of its totals.
#[derive(Debug, Clone, Default)]
pub struct Records {
    /// By vine × season, seasons fastest; empty where no file records it on vines.
    pub vines: Vec<Option<Decimal>>,
    /// By plot × season, seasons fastest; empty where no file records it on whole plots.
    pub plots: Vec<Option<Decimal>>,
    /// Most decimals recorded.
    pub decimals: u32,
}

/// The records of a response.
#[derive(Debug, Clone, Default)]
pub struct OfResponse {
    /// Values.
    pub values: Records,
    /// Totals, for a count out of a count.
    pub totals: Option<Records>,
}

/// The records of every response, in the order of the trial file.
///
/// # Errors
/// Two records that claim the same value (the checks report that first, with more words).
pub fn placed(trial: &Trial, loaded: &Loaded) -> Result<Vec<OfResponse>, Vec<Diagnostic>> {
    let mut all = Vec::new();
    for (response, measured) in trial.responses.iter().zip(&loaded.measured) {
        let place = |parts: &[Part]| {
            let mut records = Records::default();
            for part in parts {
                let whose = loaded.files[part.file].belongs(response.quantity);
                put(&mut records, part, whose, loaded)?;
            }
            Ok::<_, Vec<Diagnostic>>(records)
        };
        let values = place(&measured.values)?;
        let totals = response
            .of
            .as_ref()
            .map(|_| place(&measured.totals))
            .transpose()?;
        all.push(OfResponse { values, totals });
    }
    Ok(all)
}

fn put(
    records: &mut Records,
    part: &Part,
    whose: crate::load::Belongs,
    loaded: &Loaded,
) -> Result<(), Vec<Diagnostic>> {
    let file = &loaded.files[part.file];
    let seasons = loaded.index.seasons.len();
    records.decimals = records.decimals.max(part.decimals);
    let (slots, units, count) = if file.vine.is_some() {
        (&mut records.vines, &file.vines, loaded.index.vines.len())
    } else {
        (&mut records.plots, &file.plots, loaded.index.plots.len())
    };
    slots.resize(count * seasons, None);
    for (row, value) in part.values.iter().enumerate() {
        let (Some(value), Some(unit)) = (value, units[row]) else {
            continue;
        };
        let unit = unit as usize;
        let span = if file.season.is_some() {
            match file.season_of(row, whose) {
                Some(season) => season as usize..season as usize + 1,
                None => continue,
            }
        } else {
            0..seasons
        };
        for season in span {
            let slot = &mut slots[unit * seasons + season];
            if slot.is_some() {
                return Err(vec![twice(
                    loaded,
                    part,
                    Seen {
                        file: part.file,
                        row,
                    },
                )]);
            }
            *slot = Some(*value);
        }
    }
    Ok(())
}

fn twice(loaded: &Loaded, part: &Part, at: Seen) -> Diagnostic {
    let file = &loaded.files[at.file];
    Diagnostic::error(
        "duplicate-records",
        format!(
            "{} gives '{}' twice for one plot, vine and season",
            file.name, part.heading
        ),
    )
    .at(part.place(file, at.row))
    .help("delete one of the records, or correct its keys")
}
