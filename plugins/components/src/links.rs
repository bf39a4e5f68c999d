//! The links of the chain, one amount after the other, as far as they were measured.

use caneplot_plugin::request::{Basis, Quantity, Response};
use caneplot_plugin::{Refusal, words};

use crate::chain::Amount;
use crate::measures::{Grid, Measures, combined};

/// Amounts put behind one another.
pub(crate) struct Links<'m, 'r, 'a> {
    measures: &'m Measures<'r, 'a>,
    pub amounts: Vec<Amount>,
    /// How an amount was come by, what was left out and why.
    pub remarks: Vec<String>,
    /// The last amount in the singular: "shoot".
    per: Option<&'static str>,
}

impl<'m, 'r, 'a> Links<'m, 'r, 'a> {
    pub fn new(measures: &'m Measures<'r, 'a>) -> Self {
        Self {
            measures,
            amounts: Vec::new(),
            remarks: Vec::new(),
            per: None,
        }
    }

    /// Crop per living vine, and per planted space where the trial has gaps.
    pub fn crops(&mut self, response: &Response) -> Result<(Grid, Option<Grid>), Refusal> {
        let crop = self.measures.values(response)?;
        let stand = self.measures.stand()?;
        let (living, spaces) = match (response.basis, self.measures.yield_of_spaces(), stand) {
            (Basis::LivingVine, Some(spaces), _) => (crop, self.measures.values(spaces)?),
            (Basis::LivingVine, None, _) => return Ok((crop, None)),
            (Basis::PlantedSpace, _, Some((alive, planted))) => {
                let share = combined(&alive, &planted, |alive, planted| alive / planted);
                (combined(&crop, &share, |crop, share| crop / share), crop)
            }
            (Basis::Plot, _, Some((alive, planted))) => (
                combined(&crop, &alive, |crop, alive| crop / alive),
                combined(&crop, &planted, |crop, planted| crop / planted),
            ),
            (basis, _, None) => {
                let over = match basis {
                    Basis::PlantedSpace => "over planted spaces",
                    _ => "by plot",
                };
                self.remarks.push(format!(
                    "{} is reckoned {over} and the trial does not tell how many vines live: gaps are part of the last factor.",
                    words::beginning(&response.label)
                ));
                return Ok((crop, None));
            }
        };
        let pairs = living.iter().flatten().zip(spaces.iter().flatten());
        let gaps = pairs
            .filter_map(|(living, space)| Some(((*living)?, (*space)?)))
            .any(|(living, space)| (living - space).abs() > 1e-9 * living.abs());
        Ok((living, gaps.then_some(spaces)))
    }

    /// Nodes and shoots, counted or by way of bud break.
    pub fn nodes_and_shoots(&mut self, crop: &Grid) -> Result<(), Refusal> {
        let broken = self.measures.bud_break();
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
                Some((count, of, _)) => combined(count, of, |count, of| count / of),
                None => {
                    let percent = self.measures.values(response)?;
                    combined(&percent, &percent, |percent, _| percent / 100.0)
                }
            };
            if self.covers(&share, crop, "bud break") {
                self.remarks.push(
                    "Shoots per node is bud break: one shoot is taken to grow from every node that broke.".to_owned(),
                );
                let shoots = combined(&nodes, &share, |nodes, share| nodes * share);
                self.push("broken nodes", "shoots", "shoot", shoots);
            }
        }
        Ok(())
    }

    /// Clusters.
    pub fn clusters(&mut self, crop: &Grid) -> Result<(), Refusal> {
        if let Some(clusters) = self.usable(Quantity::ClusterCount, "clusters", crop)? {
            self.push("clusters", "clusters", "cluster", clusters);
        }
        Ok(())
    }

    /// Berries, and the crop itself at the end: its factor is what remains.
    pub fn berries(&mut self, crop: &Grid, response: &Response) -> Result<(), Refusal> {
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
