//! Where the plots of the trial lie, and which are neighbours.

use caneplot_numerics::spatial::{Direction, Pair, Place, neighbours};
use caneplot_plugin::{Call, Refusal};
use caneplot_readings::Register;

use crate::options::Options;

/// The field of a trial.
pub(crate) struct Field<'a> {
    pub register: Register<'a>,
    /// Place of each plot of the register.
    pub places: Vec<Option<Place>>,
    /// Neighbours among all plots with a place.
    pub pairs: Vec<Pair>,
    /// Whether first and last vine of plots are known.
    pub spans: bool,
}

impl<'a> Field<'a> {
    /// The field of a call.
    pub fn of(call: &'a Call, options: &Options) -> Result<Self, Refusal> {
        let trial = &call.request.trial;
        let Some(about) = trial.field else {
            return Err(Refusal::new("the trial does not say where its plots lie")
                .hint("name the columns of row and position under [field] in trial.toml"));
        };
        let register = Register::of(call)?;
        let table = call.table("plots")?;
        let [row, first, last] =
            ["field_row", "field_first", "field_last"].map(|name| table.numbers(name));
        let (row, first, last) = (row?, first?, last?);
        let mut places = vec![None; register.plots()];
        for (at, (plot, _)) in register.rows(table)?.into_iter().enumerate() {
            if let (Some(row), Some(first), Some(last)) = (row[at], first[at], last[at]) {
                places[plot] = Some(Place { row, first, last });
            }
        }
        if places.iter().flatten().count() < 3 {
            return Err(
                Refusal::new("fewer than three plots have a place in the field")
                    .hint("fill in the columns of row and position that [field] names"),
            );
        }
        let metres = [trial.vineyard.vine_spacing_m, trial.vineyard.row_spacing_m];
        let spacing = match (options.distance, metres) {
            (None, _) => None,
            (Some(most), [Some(vines), Some(rows)]) => Some(([vines, rows], most)),
            (Some(_), _) => {
                return Err(Refusal::new(
                    "the option 'distance' is in metres, and the spacing of rows and vines is not declared",
                )
                .hint("write row_spacing and vine_spacing into [vineyard], or leave out 'distance'"));
            }
        };
        Ok(Self {
            pairs: neighbours(&places, spacing),
            register,
            places,
            spans: about.spans,
        })
    }

    /// Pairs among some plots, numbered by their place in that list: along the row, across rows, both.
    pub fn pairs_of(&self, plots: &[usize]) -> Vec<Vec<Pair>> {
        let mut at = vec![None; self.places.len()];
        for (place, &plot) in plots.iter().enumerate() {
            at[plot] = Some(place);
        }
        let all: Vec<Pair> = self
            .pairs
            .iter()
            .filter_map(|pair| {
                Some(Pair {
                    first: at[pair.first]?,
                    second: at[pair.second]?,
                    direction: pair.direction,
                })
            })
            .collect();
        let only = |direction| -> Vec<Pair> {
            let chosen = all.iter().filter(|pair| pair.direction == direction);
            chosen.copied().collect()
        };
        vec![only(Direction::Along), only(Direction::Across), all]
    }

    /// Plots without a place, in words.
    pub fn without_place(&self) -> Vec<String> {
        let plots = self.places.iter().enumerate();
        plots
            .filter(|(_, place)| place.is_none())
            .map(|(plot, _)| caneplot_plugin::words::safe(&self.register.words(plot)))
            .collect()
    }
}
