//! The chain from nodes to yield: each amount, the factor that leads to it from the one before, and
//! the logarithms of those factors in every plot.

use caneplot_numerics::components::factors;
use caneplot_plugin::request::{Basis, Quantity, Response};
use caneplot_plugin::{Call, Refusal, words};
use caneplot_readings::{Occasion, Register, occasions};

use crate::links::Links;
use crate::measures::{Grid, Measures};

/// An amount, by plot and season.
#[derive(Debug, Clone)]
pub(crate) struct Amount {
    /// What was measured, for sentences about it: "clusters".
    pub noun: &'static str,
    /// The factor from the amount before to this: "clusters per shoot".
    pub factor: String,
    pub values: Grid,
}

/// The chain of a trial.
#[derive(Debug, Clone)]
pub(crate) struct Chain<'a> {
    /// Yield.
    pub response: &'a Response,
    /// What the factors multiply to, in words: "yield", "yield per planted space".
    pub crop: String,
    /// Names of the factors, survival of vines first where there are gaps.
    pub factors: Vec<String>,
    /// Place of nodes among the factors.
    pub nodes: Option<usize>,
    /// How an amount was come by, what was left out and why.
    pub remarks: Vec<String>,
    amounts: Vec<Amount>,
    /// Whether the last amount is yield per planted space.
    gaps: bool,
}

impl<'a> Chain<'a> {
    /// The amounts measured, as long as yield is among them and one more.
    pub fn of(call: &'a Call, register: &Register<'a>) -> Result<Self, Refusal> {
        let measures = Measures { call, register };
        let response = measures.response(Quantity::Yield).ok_or_else(|| {
            Refusal::new("no response of the trial measures yield")
                .hint("write is = \"yield\" under the response of trial.toml that records the crop")
        })?;
        let mut links = Links::new(&measures);
        let (crop, spaces) = links.crops(response)?;
        links.nodes_and_shoots(&crop)?;
        links.clusters(&crop)?;
        links.berries(&crop, response)?;
        let Links {
            mut amounts,
            mut remarks,
            ..
        } = links;
        if amounts.len() < 2 {
            let mut message = "nothing that makes up yield was measured beside it (nodes, shoots, clusters, berries or berry weight)".to_owned();
            for remark in &remarks {
                message.push_str(&format!("; {}", remark.trim_end_matches('.')));
            }
            return Err(Refusal::new(message)
                .column(&response.name)
                .hint("declare what was recorded of them as a response of trial.toml and say what it is, such as is = \"cluster count\""));
        }
        let mut names: Vec<String> = amounts.iter().map(|amount| amount.factor.clone()).collect();
        let gaps = spaces.is_some();
        if let Some(values) = spaces {
            names.insert(0, "survival of vines".to_owned());
            remarks.push("Gaps count as nothing harvested; a few vines lost by chance move the survival of vines, so look at its interval. Without it the parts multiply to the change in the yield of a living vine.".to_owned());
            amounts.push(Amount {
                noun: "yield per planted space",
                factor: "survival of vines".to_owned(),
                values,
            });
        }
        let label = words::inside(&response.label);
        let crop = if gaps && response.basis != Basis::PlantedSpace {
            format!("{label} per planted space")
        } else {
            label
        };
        let nodes = (amounts[0].noun == "nodes").then_some(usize::from(gaps));
        Ok(Self {
            response,
            crop,
            factors: names,
            nodes,
            remarks,
            amounts,
            gaps,
        })
    }

    /// Logarithms of the factors and, last, of the whole: over all seasons and by season.
    pub fn occasions(&self, register: &Register<'_>) -> Result<Vec<Occasion>, Refusal> {
        let mut faults: Vec<String> = Vec::new();
        let mut records = vec![vec![None; register.seasons()]; register.plots()];
        for (plot, seasons) in records.iter_mut().enumerate() {
            for (season, record) in seasons.iter_mut().enumerate() {
                let amounts: Option<Vec<f64>> = self
                    .amounts
                    .iter()
                    .map(|amount| amount.values[plot][season])
                    .collect();
                let Some(amounts) = amounts else { continue };
                match factors(&amounts) {
                    Ok(parts) => *record = Some(self.ordered(parts, &amounts)),
                    Err(fault) => {
                        let when = match register.season(season) {
                            "" => String::new(),
                            name => format!(" in {name}"),
                        };
                        let (value, noun) =
                            (amounts[fault.amount], self.amounts[fault.amount].noun);
                        let what = if value < 0.0 {
                            format!("negative {noun}")
                        } else if value == 0.0 {
                            format!("no {noun}")
                        } else {
                            // A quotient by zero, such as crop over a berry weight of 0.
                            format!("a zero among the records that its {noun} are reckoned from")
                        };
                        faults.push(format!("{} has {what}{when}", register.words(plot)));
                    }
                }
            }
        }
        if !faults.is_empty() {
            return Err(Refusal::new(format!(
                "{}: a product with such a number in it cannot be taken apart, because only numbers above zero have a logarithm",
                words::shortened(&faults, 3)
            ))
            .hint("correct the records if they are wrong; leave the season or block concerned out of the data if it was lost (frost, hail), or compare the amounts one by one"));
        }
        let found = occasions(&records);
        if found.is_empty() {
            return Err(Refusal::new(format!(
                "no plot has yield, {} recorded in the same season",
                words::list(
                    &self.amounts[..self.amounts.len() - 1]
                        .iter()
                        .map(|a| a.noun)
                        .collect::<Vec<_>>()
                )
            )));
        }
        Ok(found)
    }

    /// Factors with survival first, and the whole behind them.
    fn ordered(&self, mut parts: Vec<f64>, amounts: &[f64]) -> Vec<f64> {
        if self.gaps {
            parts.rotate_right(1);
        }
        parts.extend(amounts.last().map(|whole| whole.ln()));
        parts
    }
}
