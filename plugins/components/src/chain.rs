//! The chain from nodes to yield: each amount, the factor that leads to it from the one before, and
//! the logarithms of those factors in every plot.

use caneplot_numerics::components::factors;
use caneplot_plugin::request::{Basis, Quantity, Response};
use caneplot_plugin::{Call, Refusal, words};
use caneplot_readings::{Occasion, Register, occasions};

use crate::measures::{Grid, Measures, combined};

/// An amount, by plot and season.
#[derive(Debug, Clone)]
struct Amount {
    /// What was measured, for sentences about it: "clusters".
    noun: &'static str,
    /// The factor from the amount before to this: "clusters per shoot".
    factor: String,
    values: Grid,
}

/// The chain of a trial.
#[derive(Debug, Clone)]
pub(crate) struct Chain<'a> {
    /// Yield.
    pub response: &'a Response,
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
            Refusal::new("no response of the trial measures yield").hint(
                "declare quantity = \"yield\" in the section of the response that records the crop",
            )
        })?;
        let mut builder = Builder {
            measures: &measures,
            amounts: Vec::new(),
            remarks: Vec::new(),
            per: None,
        };
        let (crop, spaces) = builder.crops(response)?;
        builder.nodes_and_shoots(&crop)?;
        builder.clusters(&crop)?;
        builder.berries(&crop, response)?;
        let Builder {
            mut amounts,
            remarks,
            ..
        } = builder;
        if amounts.len() < 2 {
            let mut message = "nothing that makes up yield was measured beside it (nodes, shoots, clusters, berries or berry weight)".to_owned();
            for remark in &remarks {
                message.push_str(&format!("; {}", remark.trim_end_matches('.')));
            }
            return Err(Refusal::new(message)
                .column(&response.name)
                .hint("declare the response with its quantity in trial.toml"));
        }
        let mut names: Vec<String> = amounts.iter().map(|amount| amount.factor.clone()).collect();
        let gaps = spaces.is_some();
        if let Some(values) = spaces {
            names.insert(0, "survival of vines".to_owned());
            amounts.push(Amount {
                noun: "yield per planted space",
                factor: "survival of vines".to_owned(),
                values,
            });
        }
        let nodes = (amounts[0].noun == "nodes").then_some(usize::from(gaps));
        Ok(Self {
            response,
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
                        faults.push(format!(
                            "{} has {} {}{when}",
                            register.words(plot),
                            if amounts[fault.amount] < 0.0 {
                                "negative"
                            } else {
                                "no"
                            },
                            self.amounts[fault.amount].noun
                        ));
                    }
                }
            }
        }
        if !faults.is_empty() {
            return Err(Refusal::new(format!(
                "{}: a product with a zero in it cannot be taken apart, because zero has no logarithm",
                words::shortened(&faults, 3)
            ))
            .hint("leave the season or block concerned out of the data if it was lost (frost, hail), or compare the amounts one by one"));
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

struct Builder<'m, 'r, 'a> {
    measures: &'m Measures<'r, 'a>,
    amounts: Vec<Amount>,
    remarks: Vec<String>,
    /// The last amount in the singular: "shoot".
    per: Option<&'static str>,
}

impl Builder<'_, '_, '_> {
    /// Crop per living vine, and per planted space where the trial has gaps.
    fn crops(&mut self, response: &Response) -> Result<(Grid, Option<Grid>), Refusal> {
        let crop = self.measures.values(response)?;
        let (living, spaces) = if response.basis == Basis::PlantedSpace {
            match self.measures.survival()? {
                Some(share) => (combined(&crop, &share, |crop, share| crop / share), crop),
                None => {
                    self.remarks.push(format!(
                        "{} is reckoned over planted spaces and the trial does not tell how many vines live: gaps are part of the last factor.",
                        words::beginning(&response.label)
                    ));
                    return Ok((crop, None));
                }
            }
        } else {
            match self.measures.yield_of_spaces() {
                Some(spaces) => (crop, self.measures.values(spaces)?),
                None => return Ok((crop, None)),
            }
        };
        let pairs = living.iter().flatten().zip(spaces.iter().flatten());
        let gaps = pairs
            .filter_map(|(living, space)| Some(((*living)?, (*space)?)))
            .any(|(living, space)| (living - space).abs() > 1e-9 * living.abs());
        Ok((living, gaps.then_some(spaces)))
    }

    fn nodes_and_shoots(&mut self, crop: &Grid) -> Result<(), Refusal> {
        let broken = self.measures.response(Quantity::BudBreak);
        let counts = match broken {
            Some(response) => self.measures.counts(response)?,
            None => None,
        };
        let left = self.usable(Quantity::NodesLeft, "nodes left", crop)?;
        let mut nodes = left.clone();
        if let (None, Some((_, totals, vines))) = (&left, &counts)
            && self.covers(totals, crop, "nodes counted at bud break")
        {
            self.remarks.push(
                "Nodes are those counted at bud break, taken to be all nodes of the vine."
                    .to_owned(),
            );
            if !vines {
                self.remarks.push(
                    "Nodes were counted by plot, so the same number of vines is taken to have been counted in each.".to_owned(),
                );
            }
            nodes = Some(totals.clone());
        }
        if let Some(nodes) = &nodes {
            self.push("nodes", "nodes", "node", nodes.clone());
        }
        if let Some(shoots) = self.usable(Quantity::ShootCount, "shoots", crop)? {
            self.push("shoots", "shoots", "shoot", shoots);
        } else if let (Some(nodes), Some(response)) = (nodes, broken) {
            let share = match &counts {
                Some((count, of, _)) => Some(combined(count, of, |count, of| count / of)),
                None if response.unit == "%" => {
                    let percent = self.measures.values(response)?;
                    Some(combined(&percent, &percent, |percent, _| percent / 100.0))
                }
                None => None,
            };
            if let Some(share) = share
                && self.covers(&share, crop, "bud break")
            {
                self.remarks.push(
                    "Shoots per node is bud break: one shoot is taken to grow from every node that broke.".to_owned(),
                );
                let shoots = combined(&nodes, &share, |nodes, share| nodes * share);
                self.push("broken nodes", "shoots", "shoot", shoots);
            }
        }
        Ok(())
    }

    fn clusters(&mut self, crop: &Grid) -> Result<(), Refusal> {
        if let Some(clusters) = self.usable(Quantity::ClusterCount, "clusters", crop)? {
            self.push("clusters", "clusters", "cluster", clusters);
        }
        Ok(())
    }

    /// Berries, and the crop itself at the end: its factor is what remains.
    fn berries(&mut self, crop: &Grid, response: &Response) -> Result<(), Refusal> {
        let count = self.usable(Quantity::BerryCount, "berries counted", crop)?;
        let weight = self.usable(Quantity::BerryWeight, "berry weight", crop)?;
        let counted = count.is_some();
        if let (Some(count), Some(clusters)) = (count, self.of("clusters")) {
            let berries = combined(&clusters, &count, |clusters, count| clusters * count);
            self.push("berries", "berries", "berry", berries);
        }
        if let Some(weight) = weight {
            let berries = combined(crop, &weight, |crop, weight| crop / weight);
            if counted && self.per == Some("berry") {
                self.remarks.push(
                    "Berries per cluster and berry weight were both measured on samples; what crop, clusters and the two leave over (stems, losses, sampling) is the part not accounted for.".to_owned(),
                );
                self.amounts.push(Amount {
                    noun: "berries",
                    factor: "not accounted for".to_owned(),
                    values: berries,
                });
            } else {
                let factor = self.factor("berries");
                self.remarks.push(format!(
                    "{} is what the measured amounts leave: crop over berry weight and over what comes before.",
                    words::beginning(&factor)
                ));
                self.amounts.push(Amount {
                    noun: "berries",
                    factor,
                    values: berries,
                });
            }
            self.amounts.push(Amount {
                noun: "yield",
                factor: "berry weight".to_owned(),
                values: crop.clone(),
            });
            return Ok(());
        }
        let factor = self.factor("weight");
        if !self.amounts.is_empty() {
            self.remarks.push(format!(
                "{} is what the measured amounts leave: {} over what comes before.",
                words::beginning(&factor),
                words::inside(&response.label)
            ));
        }
        self.amounts.push(Amount {
            noun: "yield",
            factor,
            values: crop.clone(),
        });
        Ok(())
    }

    /// The values of a quantity, where it is measured in every season that has a crop.
    fn usable(
        &mut self,
        quantity: Quantity,
        noun: &str,
        crop: &Grid,
    ) -> Result<Option<Grid>, Refusal> {
        let Some(response) = self.measures.response(quantity) else {
            return Ok(None);
        };
        if response.basis == Basis::PlantedSpace {
            self.remarks.push(format!(
                "{} is reckoned over planted spaces, not vines, and is left out.",
                words::beginning(&response.label)
            ));
            return Ok(None);
        }
        let values = self.measures.values(response)?;
        Ok(self.covers(&values, crop, noun).then_some(values))
    }

    /// Whether an amount has a value in every season that has a crop; says so where it has not.
    fn covers(&mut self, values: &Grid, crop: &Grid, noun: &str) -> bool {
        let register = self.measures.register;
        let recorded = |grid: &Grid, season: usize| grid.iter().any(|plot| plot[season].is_some());
        let lacking: Vec<&str> = (0..register.seasons())
            .filter(|&season| recorded(crop, season) && !recorded(values, season))
            .map(|season| register.season(season))
            .collect();
        if lacking.is_empty() {
            return true;
        }
        let when = match lacking.as_slice() {
            [""] => String::new(),
            seasons => format!(" in {}", words::list(seasons)),
        };
        self.remarks.push(format!(
            "There is no record of {noun}{when}, so it is left out of the chain."
        ));
        false
    }

    fn of(&self, noun: &str) -> Option<Grid> {
        let found = self.amounts.iter().find(|amount| amount.noun == noun)?;
        Some(found.values.clone())
    }

    fn push(&mut self, noun: &'static str, name: &str, one: &'static str, values: Grid) {
        let factor = self.factor(name);
        self.amounts.push(Amount {
            noun,
            factor,
            values,
        });
        self.per = Some(one);
    }

    fn factor(&self, name: &str) -> String {
        match self.per {
            Some(per) => format!("{name} per {per}"),
            None => name.to_owned(),
        }
    }
}
