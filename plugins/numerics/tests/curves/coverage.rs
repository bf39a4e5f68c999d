//! How often the intervals hold the truth, in simulated trials.

use caneplot_numerics::cells::Cells;
use caneplot_numerics::curves::plateau::places;
use caneplot_numerics::curves::{Levels, Shape, Units};
use caneplot_numerics::distribution::{normal_quantile, t_critical};
use caneplot_numerics::fieller::FiellerSet;

const TRIALS: usize = 1000;

/// Standard normal numbers, the same on every machine.
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> f64 {
        // A linear congruential generator; the upper 52 bits are used.
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let uniform = ((self.0 >> 12) as f64 + 0.5) / 2_f64.powi(52);
        normal_quantile(uniform).unwrap()
    }
}

/// Level means of one simulated trial in five blocks, with every eighth plot or so missing.
fn simulated(chance: &mut Chance, truth: impl Fn(f64) -> f64, spread: f64) -> Levels {
    let amounts = [12.0, 20.0, 28.0, 36.0, 48.0, 60.0];
    let (mut values, mut x, mut block, mut level) = (vec![], vec![], vec![], vec![]);
    for own in 0..5_usize {
        let height = chance.next();
        for (at, amount) in amounts.into_iter().enumerate() {
            let chance = chance.next();
            if (own + 2 * at) % 8 == 7 {
                continue;
            }
            values.push(truth(amount) + height + spread * chance);
            x.push(amount);
            block.push(own);
            level.push(at);
        }
    }
    let count = values.len();
    Levels::new(Units {
        values: &values,
        amounts: &x,
        eliminated: &[Cells::crossing(count, [block.as_slice()])],
        alike: &Cells::crossing(count, [level.as_slice()]),
    })
    .unwrap()
}

fn allowance(levels: &Levels) -> f64 {
    let t = t_critical(0.05, levels.error.df as f64).unwrap();
    t * t * levels.error.mean_square.unwrap()
}

/// A share of 0.95 over 1000 trials has a standard error of 0.007; three of them are allowed.
fn assert_share(what: &str, held: usize) {
    let share = held as f64 / TRIALS as f64;
    println!("{what}: {share}");
    assert!((0.93..=0.97).contains(&share), "{what}: {share}");
}

#[test]
fn the_profile_set_of_a_join_holds_it_as_often_as_it_says() {
    for (shape, join) in [(Shape::LinePlateau, 31.0), (Shape::QuadraticPlateau, 41.0)] {
        let mut chance = Chance(2026);
        let truth = |x: f64| match shape {
            Shape::LinePlateau => 0.1 * (x - join).min(0.0),
            _ => -0.003 * (x - join).min(0.0).powi(2),
        };
        let held = (0..TRIALS)
            .filter(|_| {
                let levels = simulated(&mut chance, truth, 0.3);
                let set = places(&levels, shape, allowance(&levels)).unwrap();
                set.pieces
                    .iter()
                    .any(|(low, high)| (*low..=*high).contains(&join))
            })
            .count();
        assert_share("join", held);
    }
}

#[test]
fn fiellers_set_of_an_optimum_holds_it_as_often_as_it_says() {
    let mut chance = Chance(1954);
    let held = (0..TRIALS)
        .filter(|_| {
            let levels = simulated(&mut chance, |x| -0.002 * (x - 40.0).powi(2), 0.5);
            let fit = levels.fit(Shape::Quadratic).unwrap();
            match levels.turn(&fit, 0.0, &levels.error, 0.05).unwrap().set {
                FiellerSet::Bounded { low, high } => (low..=high).contains(&40.0),
                FiellerSet::Outside { low, high } => !(low..=high).contains(&40.0),
                FiellerSet::All => true,
            }
        })
        .count();
    assert_share("optimum", held);
}

#[test]
fn the_band_of_a_curve_holds_it_as_often_as_it_says() {
    let mut chance = Chance(7);
    let truth = |x: f64| 2.0 * (1.0 - (-0.06 * (x - 12.0)).exp());
    let held = (0..TRIALS)
        .filter(|_| {
            let levels = simulated(&mut chance, truth, 0.2);
            let Ok(fit) = levels.fit(Shape::Asymptotic) else {
                return false;
            };
            // Between two places, so that the height of the blocks does not come in.
            let change = levels.change(&fit, 12.0, 40.0);
            let half = allowance(&levels).sqrt() * change.unit_variance.sqrt();
            (change.value - truth(40.0)).abs() <= half
        })
        .count();
    assert_share("change along the asymptotic curve", held);
}
