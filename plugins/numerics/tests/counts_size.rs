//! How often tests of treatments reject where there is nothing to find: run by hand with
//! `cargo test -p caneplot-numerics --test counts_size -- --ignored --nocapture`.
#![allow(clippy::unwrap_used, reason = "a test without its data must fail")]

use caneplot_numerics::counts::{Counts, Family, Fit, Integration, fit, likelihood_ratio};
use caneplot_numerics::distribution::{f_upper, normal_quantile};

/// A small generator with a period far beyond what is used here (Marsaglia 2003, xorshift).
struct Random(u64);

impl Random {
    fn unit(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        ((self.0 >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        normal_quantile(self.unit()).unwrap()
    }
}

fn columns(rows: usize, of: usize, code: impl Fn(usize) -> usize) -> Vec<Vec<f64>> {
    (0..of)
        .map(|level| (0..rows).map(|row| f64::from(code(row) == level)).collect())
        .collect()
}

struct Rates {
    chi_square: f64,
    wald: f64,
    ratio_f: f64,
    quasi: f64,
    widened: f64,
    failed: f64,
}

fn rates(blocks: usize, treatments: usize, buds: u32, sd: f64, runs: usize) -> Rates {
    let rows = blocks * treatments;
    let mut random = Random(0x9E37_79B9_7F4A_7C15);
    let (mut chi, mut wald, mut ratio_f, mut quasi, mut widened, mut failed) = (0, 0, 0, 0, 0, 0);
    let block_of: Vec<usize> = (0..rows).map(|row| row / treatments).collect();
    let cells = columns(rows, treatments, |row| row % treatments);
    let one = vec![vec![1.0; rows]];
    let block_columns = columns(rows, blocks, |row| row / treatments);
    let both: Vec<Vec<f64>> = block_columns
        .iter()
        .cloned()
        .chain(cells[1..].iter().cloned())
        .collect();
    let contrasts: Vec<Vec<f64>> = (1..treatments)
        .map(|t| {
            (0..treatments)
                .map(|c| f64::from(c == t) - f64::from(c == 0))
                .collect()
        })
        .collect();
    let (df, error_df) = (
        (treatments - 1) as f64,
        ((blocks - 1) * (treatments - 1)) as f64,
    );
    for _ in 0..runs {
        let levels: Vec<f64> = (0..blocks).map(|_| 1.0 + 0.4 * random.normal()).collect();
        let counts: Vec<f64> = (0..rows)
            .map(|row| {
                let eta = levels[row / treatments] + sd * random.normal();
                let p = 1.0 / (1.0 + (-eta).exp());
                f64::from((0..buds).filter(|_| random.unit() < p).count() as u32)
            })
            .collect();
        let totals = vec![f64::from(buds); rows];
        let of = |fixed: &[Vec<f64>], random: bool, plots: bool| -> Option<Fit> {
            let mut model = Counts::new(Family::Binomial, &counts, &totals, fixed).ok()?;
            if random {
                model = model.random("block", &block_of).ok()?;
            }
            if plots {
                model = model.random("plot", &(0..rows).collect::<Vec<_>>()).ok()?;
            }
            fit(&model, Integration::Laplace).ok()
        };
        let found = (|| {
            let (plain, none) = (of(&both, false, false)?, of(&block_columns, false, false)?);
            let phi = plain.dispersion()?;
            let plots = phi > 1.5;
            let (full, reduced) = (of(&cells, true, plots)?, of(&one, true, plots)?);
            let widened = plots && !full.random[1].at_boundary;
            let ratio = likelihood_ratio(&full, &reduced).ok()?;
            let test = full.test(&contrasts, error_df, 1.0).ok()?;
            let plain_ratio = likelihood_ratio(&plain, &none).ok()?;
            let by_f = |f: f64| f_upper(f, df, error_df).unwrap();
            Some([
                ratio.probability,
                test.probability,
                ratio.as_f(df + error_df, error_df).ok()?.probability,
                by_f(
                    test.f
                        * if widened {
                            error_df / (df + error_df)
                        } else {
                            1.0
                        },
                ),
                by_f(plain_ratio.statistic / df / phi.max(1.0)),
            ])
        })();
        match found {
            None => failed += 1,
            Some([a, b, c, e, d]) => {
                chi += i32::from(a < 0.05);
                wald += i32::from(b < 0.05);
                ratio_f += i32::from(c < 0.05);
                quasi += i32::from(d < 0.05);
                widened += i32::from(e < 0.05);
            }
        }
    }
    let share = |count: i32| f64::from(count) / (runs - failed as usize) as f64;
    Rates {
        chi_square: share(chi),
        wald: share(wald),
        ratio_f: share(ratio_f),
        quasi: share(quasi),
        widened: share(widened),
        failed: f64::from(failed) / runs as f64,
    }
}

#[test]
#[ignore = "a study of half a minute and more, for the numbers in the notes"]
fn rejections_without_a_difference() {
    println!(
        "blocks treatments buds  sd | chi-square  Wald F  ratio F  quasi F  widened Wald F  failed"
    );
    for (blocks, treatments) in [(4, 3), (4, 4), (6, 4)] {
        for (buds, sd) in [(40, 0.0), (40, 0.4), (200, 0.3), (200, 0.8)] {
            let found = rates(blocks, treatments, buds, sd, 1000);
            println!(
                "{blocks:6} {treatments:10} {buds:4} {sd:4} | {:10.3} {:7.3} {:8.3} {:8.3} {:15.3} {:7.3}",
                found.chi_square,
                found.wald,
                found.ratio_f,
                found.quasi,
                found.widened,
                found.failed
            );
        }
    }
}

/// 384 counts: 8 blocks, 8 treatments, 6 seasons on the same plots, an effect for each count.
#[test]
#[ignore = "a timing"]
fn a_large_trial_takes_this_long() {
    let mut random = Random(5);
    let counts: Vec<f64> = (0..384)
        .map(|row| {
            f64::from(
                (0..60)
                    .filter(|_| random.unit() < 0.6 + 0.02 * f64::from(row % 8))
                    .count() as u32,
            )
        })
        .collect();
    let cells = columns(384, 48, |row| row % 8 + 8 * (row / 64));
    let model = Counts::new(Family::Binomial, &counts, &[60.0; 384], &cells).unwrap();
    let model = model
        .random(
            "block",
            &(0..384).map(|row| row % 64 / 8).collect::<Vec<_>>(),
        )
        .unwrap();
    let model = model
        .random("plot", &(0..384).map(|row| row % 64).collect::<Vec<_>>())
        .unwrap();
    let model = model
        .random("count", &(0..384).collect::<Vec<_>>())
        .unwrap();
    let start = std::time::Instant::now();
    let found = fit(&model, Integration::Laplace).unwrap();
    println!(
        "{:?}: {:?} {:?}",
        start.elapsed(),
        found.certificate,
        found.log_likelihood
    );
}
