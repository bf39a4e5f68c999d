//! The treatments of one set reckoned: budgets, net benefits and how sure they are, on a hectare and
//! season.

use caneplot_numerics::economics::budget::PartialBudget;
use caneplot_numerics::economics::chances::{Chances, Measured, chances};
use caneplot_numerics::economics::even::Change;
use caneplot_numerics::economics::marginal::{Alternative, Step, steps};
use caneplot_numerics::random::Streams;
use caneplot_plugin::Refusal;
use caneplot_plugin::estimates::Difference;
use caneplot_plugin::prices::{Area, Prices};
use caneplot_plugin::request::TrialInfo;

use crate::areas::{self, tonnes_a_hectare};
use crate::items::{Item, Kind, Treated, items};
use crate::options::Options;
use crate::season::{self, Season};
use crate::sets::{self, Crop, Set};

/// One set of treatments.
pub(crate) struct Study<'a> {
    pub trial: &'a TrialInfo,
    pub prices: &'a Prices,
    pub options: Options,
    pub crop: &'a Crop<'a>,
    pub set: Set<'a>,
    /// Tonnes on a hectare of one unit of the crop's results, counted on.
    pub scale: f64,
    /// Tonnes on a hectare that are counted on.
    pub tonnes: Vec<f64>,
    /// Price of a tonne of each treatment's fruit.
    pub price: Vec<f64>,
    /// Picking and hauling a tonne.
    pub harvest: f64,
    /// Work and costs.
    pub items: Vec<Item<'a>>,
    /// What is declared and cannot be reckoned.
    pub lacking: Vec<String>,
    /// Each season by itself.
    pub seasons: Vec<Season>,
    /// How sure all that is; `None` where the covariances of the crop are not known.
    pub chances: Option<Chances>,
}

impl<'a> Study<'a> {
    pub fn of(
        trial: &'a TrialInfo,
        prices: &'a Prices,
        options: &Options,
        crop: &'a Crop<'a>,
        set: Set<'a>,
        seed: u64,
    ) -> Result<Self, Refusal> {
        let one = tonnes_a_hectare(&set.crop.unit, &trial.vineyard).map_err(|why| {
            Refusal::new(format!("'{}' cannot be priced: {why}", crop.response.label))
                .column(&crop.response.name)
                .hint(
                    "give the crop a unit such as kg/vine or t/ha, and the spacing of the vineyard",
                )
        })?;
        let scale = one * prices.crop.counted;
        let of_tonne = 1000.0 / prices.crop.per_kg;
        let levels = set.crop.treatments.iter().map(|one| one.levels.as_slice());
        let treated = Treated {
            trial,
            factors: &set.factors,
            levels: levels.collect(),
        };
        let (items, lacking) = items(&treated, prices);
        let tonnes: Vec<f64> = set
            .crop
            .treatments
            .iter()
            .map(|one| one.value * scale)
            .collect();
        let mut study = Self {
            trial,
            prices,
            options: *options,
            crop,
            scale,
            price: vec![prices.crop.price.likely * of_tonne; tonnes.len()],
            tonnes,
            harvest: prices
                .crop
                .harvest
                .map_or(0.0, |cost| cost.likely * of_tonne),
            items,
            lacking,
            seasons: Vec::new(),
            chances: None,
            set,
        };
        season::price_by_brix(&mut study, of_tonne);
        study.seasons = season::seasons(&study, of_tonne);
        study.chances = study.drawn(seed);
        Ok(study)
    }

    pub fn count(&self) -> usize {
        self.tonnes.len()
    }

    /// All treatments except the control.
    pub fn others(&self) -> Vec<usize> {
        (0..self.count())
            .filter(|&at| at != self.set.control)
            .collect()
    }

    /// A treatment in a sentence.
    pub fn words(&self, treatment: usize) -> String {
        let levels = &self.set.crop.treatments[treatment].levels;
        sets::in_words(self.trial, &self.set.factors, levels)
    }

    /// A treatment in a table, a title or on an axis, where braces mean nothing.
    pub fn label(&self, treatment: usize) -> String {
        self.words(treatment).replace("{{", "{").replace("}}", "}")
    }

    /// Costs that vary, picking and hauling apart.
    pub fn costs(&self, treatment: usize) -> f64 {
        self.items.iter().map(|item| item.money[treatment]).sum()
    }

    /// What a treatment brings over picking, hauling and the costs that vary.
    pub fn benefit(&self, treatment: usize) -> f64 {
        self.tonnes[treatment] * (self.price[treatment] - self.harvest) - self.costs(treatment)
    }

    /// The partial budget of a treatment against the control.
    pub fn budget(&self, treatment: usize) -> PartialBudget {
        let control = self.set.control;
        let change = |of: &dyn Fn(usize) -> f64| of(treatment) - of(control);
        let mut costs = vec![change(&|at| self.tonnes[at] * self.harvest)];
        costs.extend(self.items.iter().map(|item| change(&|at| item.money[at])));
        PartialBudget::of_changes(&[change(&|at| self.tonnes[at] * self.price[at])], &costs)
    }

    /// The net change.
    pub fn net(&self, treatment: usize) -> f64 {
        self.benefit(treatment) - self.benefit(self.set.control)
    }

    /// The net change if the crop were the same.
    pub fn net_beside_crop(&self, treatment: usize) -> f64 {
        self.costs(self.set.control) - self.costs(treatment)
    }

    /// A treatment as a change from the control, with the control's price.
    pub fn change(&self, treatment: usize) -> Change {
        let control = self.set.control;
        let mut change = Change {
            crop: self.tonnes[treatment] - self.tonnes[control],
            price: self.price[control],
            harvest: self.harvest,
            wage: self.prices.wage.map_or(0.0, |wage| wage.likely),
            ..Change::default()
        };
        for item in &self.items {
            match &item.kind {
                Kind::Work { hours, .. } => change.hours += hours[treatment] - hours[control],
                _ => change.other += item.money[treatment] - item.money[control],
            }
        }
        change
    }

    /// Whether every treatment's fruit fetches one price, so that break-even points mean something.
    pub fn one_price(&self) -> bool {
        self.price.iter().all(|price| *price == self.price[0])
    }

    /// The crop's difference from the control, in the unit of its results, the treatment's less the
    /// control's.
    pub fn crop_difference(&self, treatment: usize) -> Option<Difference> {
        difference(&self.set.crop.differences, treatment, self.set.control)
    }

    /// Whether the trial shows that the crop differs from the control's; `None` where it cannot tell.
    pub fn crop_is_clear(&self, treatment: usize) -> Option<bool> {
        let found = self.crop_difference(treatment)?;
        Some(match found.p {
            Some(p) => p < 1.0 - self.set.crop.level,
            None => found.low > 0.0 || found.high < 0.0,
        })
    }

    /// The interval of the net change.
    pub fn interval(&self, treatment: usize) -> Option<(f64, f64)> {
        Some(
            self.chances
                .as_ref()?
                .interval(treatment, self.options.level),
        )
    }

    /// The treatment that brings most over the control, or loses least.
    pub fn leader(&self) -> Option<usize> {
        let others = self.others().into_iter();
        others.max_by(|&a, &b| self.net(a).total_cmp(&self.net(b)))
    }

    /// Net benefits by rising costs.
    pub fn steps(&self) -> Vec<Step> {
        let one = |at| Alternative {
            costs: self.costs(at),
            benefit: self.benefit(at),
        };
        let all: Vec<Alternative> = (0..self.count()).map(one).collect();
        steps(&all)
    }

    /// What of the money is uncertain: the crop, and work that was measured.
    pub fn measured(&self) -> Option<Vec<Measured>> {
        let crop = self.set.crop;
        let mut all = vec![Measured {
            covariance: known(&crop.covariance)?,
            df: crop.df,
            weights: (0..self.count())
                .map(|at| self.scale * (self.price[at] - self.harvest))
                .collect(),
        }];
        let wage = self.prices.wage.map_or(0.0, |wage| wage.likely);
        for item in &self.items {
            if let Kind::Work {
                measured: Some(found),
                scale,
                ..
            } = &item.kind
            {
                let same = found.treatments.len() == self.count();
                all.push(Measured {
                    covariance: known(&found.covariance).filter(|_| same)?,
                    df: found.df,
                    weights: vec![-scale * wage; self.count()],
                });
            }
        }
        Some(all)
    }

    fn drawn(&self, seed: u64) -> Option<Chances> {
        let money: Vec<f64> = (0..self.count()).map(|at| self.benefit(at)).collect();
        let streams = Streams::new(seed, "economics");
        let measured = self.measured()?;
        chances(
            &money,
            self.set.control,
            &measured,
            self.options.draws,
            &streams,
        )
        .ok()
    }

    /// Money on an area from that on a hectare.
    pub fn on(&self, area: Area, money: f64) -> f64 {
        money * areas::hectares(area)
    }

    /// Money on the area that is spoken of first.
    pub fn first(&self, money: f64) -> f64 {
        self.on(self.prices.area, money)
    }

    /// "USD/acre".
    pub fn unit(&self, area: Area) -> String {
        format!("{}/{}", self.prices.currency, areas::word(area))
    }
}

/// The difference of two treatments, turned where it stands the other way round.
fn difference(all: &[Difference], of: usize, against: usize) -> Option<Difference> {
    all.iter().find_map(|one| {
        if (one.of, one.against) == (of, against) {
            return Some(one.clone());
        }
        ((one.of, one.against) == (against, of)).then(|| Difference {
            of,
            against,
            value: -one.value,
            low: -one.high,
            high: -one.low,
            ..one.clone()
        })
    })
}

fn known(covariance: &[f64]) -> Option<Vec<f64>> {
    (!covariance.is_empty()).then(|| covariance.to_vec())
}
