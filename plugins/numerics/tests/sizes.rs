//! What sizes a trial: effects found with a wanted power, differences that last, losses of vines.

#![allow(clippy::unwrap_used)]

mod common;

use caneplot_numerics::design::{Applied, Design, Kind, Sheet};
use caneplot_numerics::power::{
    Lasting, Plan, PowerError, Settings, Vines, by_noncentral_f, noncentrality_for, with_losses,
};
use caneplot_numerics::strata::Classifier;
use common::{digits, rows, summary};

fn factor(name: &str, levels: usize, units: usize, of: impl Fn(usize) -> usize) -> Classifier {
    Classifier {
        name: name.to_owned(),
        levels: (0..levels).map(|level| level.to_string()).collect(),
        codes: (0..units).map(of).collect(),
    }
}

/// Plots in blocks, or free plots, with one treatment.
fn design(kind: Kind, blocks: usize, treatments: usize) -> Design {
    let units = blocks * treatments;
    Sheet {
        kind,
        block: (kind == Kind::RandomisedBlock)
            .then(|| factor("block", blocks, units, |u| u / treatments)),
        row: None,
        column: None,
        plot: factor("plot", units, units, |u| u),
        season: None,
        vines: false,
        treatments: vec![(
            factor("pruning", treatments, units, |u| u % treatments),
            Applied::Plot,
        )],
        block_by_season: false,
    }
    .design()
    .unwrap()
}

#[test]
fn the_noncentrality_of_a_power_is_the_one_that_gave_it() {
    let counts = rows("noncentral_F_power.csv")
        .iter()
        .filter(|row| row.number("power") < 0.999_999)
        .map(|row| {
            let [level, df, error_df, noncentrality, power] =
                ["alpha", "df1", "df2", "ncp", "power"].map(|column| row.number(column));
            let found = noncentrality_for(power, df, error_df, level).unwrap();
            digits(found, noncentrality)
        })
        .collect();
    let (least, _, median) = summary("noncentrality of a power", counts);
    // Near a power of 1 λ is known less well than the power: its digits are in what is left to 1.
    assert!(least >= 8.0 && median >= 13.0, "{least} {median}");
}

#[test]
fn one_way_power_and_effects_are_those_of_a_library() {
    let mut counts = Vec::new();
    for row in rows("power_anova.csv") {
        let (groups, replicates) = (
            row.number("groups") as usize,
            row.number("replicates") as usize,
        );
        let (f, level) = (row.number("f"), row.number("alpha"));
        let design = design(Kind::CompletelyRandomised, replicates, groups);
        let n = (groups * replicates) as f64;
        // Two groups apart and the others halfway: Σα²/k = d²/(2k) = f².
        let apart = f * (2.0 * groups as f64).sqrt();
        let expected: Vec<f64> = (0..groups * replicates)
            .map(|u| match u % groups {
                0 => 0.5 * apart,
                last if last + 1 == groups => -0.5 * apart,
                _ => 0.0,
            })
            .collect();
        let plan = Plan {
            layout: &design.layout,
            expected: &expected,
            variances: &[1.0],
        };
        let found = by_noncentral_f(plan, level).unwrap()[0];
        assert!((found.noncentrality - n * f * f).abs() < 1e-10);
        counts.push(digits(found.power, row.number("power")));
        for (power, column) in [(0.8, "f80"), (0.9, "f90")] {
            let noncentrality =
                noncentrality_for(power, found.df as f64, found.error_df as f64, level).unwrap();
            let effect = (noncentrality / n).sqrt();
            // The library's own power has about nine digits.
            assert!(
                digits(effect, row.number(column)) >= 6.0,
                "{effect} {groups} {replicates}"
            );
        }
    }
    let (least, _, _) = summary("one-way power", counts);
    assert!(least >= 9.0, "{least}");
}

#[test]
fn a_power_that_no_effect_is_needed_for_is_refused() {
    let refused = noncentrality_for(0.05, 2.0, 9.0, 0.05);
    assert!(matches!(refused, Err(PowerError::NotAbove { .. })));
    assert!(noncentrality_for(1.0, 2.0, 9.0, 0.05).is_err());
    assert!(noncentrality_for(0.8, 2.0, 0.0, 0.05).is_err());
}

fn settings(draws: u64) -> Settings {
    Settings {
        seed: 3,
        draws,
        threads: 1,
        level: 0.05,
    }
}

fn vines(each: usize, loss: f64) -> Vines {
    Vines {
        each,
        variance: 1.0,
        loss,
    }
}

#[test]
fn without_losses_the_power_is_the_exact_one_and_losses_take_from_it() {
    let design = design(Kind::RandomisedBlock, 6, 4);
    let expected: Vec<f64> = (0..24).map(|u| [0.6, 0.0, 0.0, -0.6][u % 4]).collect();
    let plan = |variances| Plan {
        layout: &design.layout,
        expected: &expected,
        variances,
    };
    let exact = by_noncentral_f(plan(&[2.0, 0.1 + 0.25]), 0.05).unwrap()[0];
    let power = |each, loss| {
        with_losses(
            plan(&[2.0, 0.1]),
            &design.treatments,
            vines(each, loss),
            settings(4000),
        )
        .unwrap()
    };
    let none = power(4, 0.0);
    let error = none.terms[0].standard_error();
    assert_eq!((none.lost_plots, none.unanalysed), (0, 0));
    assert!(
        (none.terms[0].power() - exact.power).abs() < 4.0 * error,
        "{none:?} {exact:?}"
    );
    let some = power(4, 0.3);
    assert!(some.terms[0].power() < none.terms[0].power() - 4.0 * error);
    // 1 − (1 − 0.3⁴)²⁴ of the trials lose a plot.
    let lost = 1.0 - (1.0 - 0.3_f64.powi(4)).powi(24);
    let found = some.lost_plots as f64 / 4000.0;
    assert!(
        (found - lost).abs() < 4.0 * (lost * (1.0 - lost) / 4000.0).sqrt(),
        "{found} {lost}"
    );
    assert_eq!(some.unanalysed, 0);
}

#[test]
fn trials_that_lost_plots_keep_their_level_in_blocks_and_without() {
    for (kind, variances) in [
        (Kind::RandomisedBlock, &[0.5, 0.4][..]),
        (Kind::CompletelyRandomised, &[0.4]),
    ] {
        let design = design(kind, 5, 3);
        let nothing = vec![0.0; 15];
        let plan = Plan {
            layout: &design.layout,
            expected: &nothing,
            variances,
        };
        let found = with_losses(plan, &design.treatments, vines(1, 0.15), settings(2000)).unwrap();
        assert!(found.lost_plots > 1500, "{found:?}");
        assert!(found.unanalysed < 40, "{found:?}");
        let error = (0.05_f64 * 0.95 / 2000.0).sqrt();
        let power = found.terms[0].power();
        assert!((power - 0.05).abs() < 4.0 * error, "{kind:?} {found:?}");
    }
}

#[test]
fn lasting_differences_are_found_less_often_and_hold_their_level_nearly() {
    let lasting = |effects, by_season| Lasting {
        effects,
        plots: 3.0,
        within: 1.0,
        by_season,
        dfs: [3, 12, 6, 32],
    };
    let power = |effects, by_season| {
        lasting(effects, by_season)
            .simulated(0.05, 9, 20_000)
            .unwrap()
            .power()
    };
    // The test is approximate: between 3 and 7 % where nothing is there, whatever the seasons do.
    for by_season in [0.0, 1.0, 5.0, 50.0] {
        let level = power(0.0, by_season);
        assert!((0.03..0.07).contains(&level), "{by_season} {level}");
    }
    let (steady, unsteady) = (power(60.0, 0.0), power(60.0, 10.0));
    assert!(unsteady < 0.7 * steady, "{steady} {unsteady}");
    let same = lasting(60.0, 10.0);
    assert_eq!(
        same.simulated(0.05, 9, 500).unwrap(),
        same.simulated(0.05, 9, 500).unwrap()
    );
    assert!(
        Lasting {
            dfs: [3, 12, 0, 0],
            ..same
        }
        .simulated(0.05, 9, 500)
        .is_err()
    );
}
