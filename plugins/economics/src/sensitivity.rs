//! What each price and each uncertain figure matters: the net change of one treatment with each moved
//! by itself to its lowest and highest.

use caneplot_plugin::words::inside;

use crate::items::Kind;
use crate::study::Study;

/// One figure moved.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Moved {
    /// What is moved.
    pub what: String,
    /// Between what.
    pub between: String,
    /// Net change on a hectare at its lowest and at its highest.
    pub at: [f64; 2],
}

impl Moved {
    fn span(&self) -> f64 {
        (self.at[1] - self.at[0]).abs()
    }
}

fn declared() -> String {
    "its lowest and highest as declared".to_owned()
}

fn interval() -> String {
    "the ends of the interval of its difference".to_owned()
}

/// The figures behind a treatment's net change, those that matter most first; those that do not
/// matter are left out.
pub(crate) fn moved(study: &Study<'_>, treatment: usize) -> Vec<Moved> {
    let control = study.set.control;
    let net = study.net(treatment);
    let swing = study.options.swing / 100.0;
    let percent = study.options.swing;
    // A figure without bounds is moved by the same share up and down.
    let by = |likely: f64, bounds: Option<(f64, f64)>| match bounds {
        Some((low, high)) => ([low / likely, high / likely], "as declared".to_owned()),
        None => (
            [1.0 - swing, 1.0 + swing],
            format!("{percent} % down and up"),
        ),
    };
    let mut all = Vec::new();
    let mut add = |what: &str, between: String, at: [f64; 2]| {
        all.push(Moved {
            what: what.to_owned(),
            between,
            at,
        });
    };
    let crop_money = |at: usize| study.tonnes[at] * study.price[at];
    let returns = crop_money(treatment) - crop_money(control);
    let (factors, how) = by(
        study.prices.crop.price.likely,
        study.prices.crop.price.bounds,
    );
    add(
        "Price of the crop",
        how,
        factors.map(|factor| net + (factor - 1.0) * returns),
    );
    if let Some(harvest) = study.prices.crop.harvest.filter(|cost| cost.likely > 0.0) {
        let cost = study.harvest * (study.tonnes[treatment] - study.tonnes[control]);
        let (factors, how) = by(harvest.likely, harvest.bounds);
        add(
            "Picking and hauling",
            how,
            factors.map(|factor| net - (factor - 1.0) * cost),
        );
    }
    if let Some(wage) = study.prices.wage {
        let work = study.items.iter();
        let work = work.filter(|item| matches!(item.kind, Kind::Work { .. }));
        let cost: f64 = work
            .map(|item| item.money[treatment] - item.money[control])
            .sum();
        let (factors, how) = by(wage.likely, wage.bounds);
        add(
            "Wage",
            how,
            factors.map(|factor| net - (factor - 1.0) * cost),
        );
    }
    for item in &study.items {
        if let Some((low, high)) = &item.bounds {
            let of = |money: &[f64]| money[treatment] - money[control];
            let likely = of(&item.money);
            add(
                item.label,
                declared(),
                [net + likely - of(low), net + likely - of(high)],
            );
        }
        if let Kind::Work {
            measured: Some(found),
            scale,
            ..
        } = &item.kind
            && let Some(one) = found.differences.iter().find(|one| {
                (one.of, one.against) == (treatment, control)
                    && found.treatments.len() == study.count()
            })
        {
            let wage = study.prices.wage.map_or(0.0, |wage| wage.likely);
            add(
                &format!("Time of {}", inside(item.label)),
                interval(),
                [one.low, one.high].map(|end| net - (end - one.value) * scale * wage),
            );
        }
    }
    if let Some(one) = study.crop_difference(treatment) {
        let worth = study.scale * (study.price[treatment] - study.harvest);
        add(
            "Crop",
            interval(),
            [one.low, one.high].map(|end| net + (end - one.value) * worth),
        );
    }
    all.retain(|one| one.span() > 1e-9 * net.abs().max(1.0));
    all.sort_by(|a, b| b.span().total_cmp(&a.span()));
    all
}
