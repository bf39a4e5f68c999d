//! Randomisation tests against rational references and against every arrangement analysed in full.
#![allow(missing_docs, clippy::unwrap_used)]

mod support;

use caneplot_numerics::design::{Applied, Kind, Sheet};
use caneplot_numerics::randomise::{Moves, Randomised, Settings, randomised};
use caneplot_numerics::strata::Classifier;
use support::{Csv, json, number};

const SETTINGS: Settings = Settings {
    seed: 1,
    draws: 999,
    threads: 1,
};

fn classifier(name: &str, codes: Vec<usize>) -> Classifier {
    let count = codes.iter().max().unwrap() + 1;
    Classifier {
        name: name.to_owned(),
        levels: (0..count).map(|level| format!("{name}{level}")).collect(),
        codes,
    }
}

/// A sheet from one row of codes a value: each of `names` is "block", "row", "column", "season" or a
/// factor with its role.
fn sheet(kind: Kind, names: &[(&str, Option<Applied>)], rows: &[Vec<usize>]) -> Sheet {
    let column = |name: &str| {
        let at = names.iter().position(|(known, _)| *known == name)?;
        Some(classifier(name, rows.iter().map(|row| row[at]).collect()))
    };
    let treatments = names
        .iter()
        .filter_map(|(name, role)| Some((column(name)?, (*role)?)))
        .collect();
    // A plot is everything but its season.
    let season = names.iter().position(|(name, _)| *name == "season");
    let keys: Vec<String> = rows
        .iter()
        .map(|row| {
            let mut key = row.clone();
            if let Some(at) = season {
                key.remove(at);
            }
            format!("{key:?}")
        })
        .collect();
    Sheet {
        kind,
        block: column("block"),
        row: column("row"),
        column: column("column"),
        plot: Classifier::from_texts("plot", &keys, &[]),
        season: column("season"),
        vines: false,
        treatments,
        block_by_season: false,
    }
}

/// Values that look like data and are the same on every machine.
fn values(count: usize) -> Vec<f64> {
    (0..count)
        .map(|at| f64::from(((at * at * at * 7 + at * at * 31 + at * 17 + 5) % 97) as u32) / 10.0)
        .collect()
}

fn test(sheet: &Sheet, values: &[f64], factors: &[usize], season: bool) -> Randomised {
    let design = sheet.design().unwrap();
    let variance = design.layout.analyse(values);
    let mut classifiers: Vec<usize> = factors.iter().map(|&at| design.treatments[at]).collect();
    classifiers.extend(design.season.filter(|_| season));
    let term = design.layout.term_of(&classifiers).unwrap();
    randomised(sheet, &design, &[term], &[&variance], SETTINGS)[0][0].unwrap()
}

/// F of a term after the factors' codes have been replaced.
fn f_of(
    sheet: &Sheet,
    codes: &[(usize, Vec<usize>)],
    values: &[f64],
    factors: &[usize],
    season: bool,
) -> f64 {
    let mut other = sheet.clone();
    for (factor, codes) in codes {
        other.treatments[*factor].0.codes = codes.clone();
    }
    let design = other.design().unwrap();
    let mut classifiers: Vec<usize> = factors.iter().map(|&at| design.treatments[at]).collect();
    classifiers.extend(design.season.filter(|_| season));
    let term = design.layout.term_of(&classifiers).unwrap();
    design.layout.analyse(values).lines[term].f.unwrap()
}

fn permutations(n: usize) -> Vec<Vec<usize>> {
    if n == 0 {
        return vec![vec![]];
    }
    let mut found = Vec::new();
    for rest in permutations(n - 1) {
        for at in 0..n {
            let mut order = rest.clone();
            order.insert(at, n - 1);
            found.push(order);
        }
    }
    found
}

/// All ways to choose one of the options at each place.
fn choices<T: Clone>(options: &[T], places: usize) -> Vec<Vec<T>> {
    (0..places).fold(vec![vec![]], |found, _| {
        found
            .iter()
            .flat_map(|chosen: &Vec<T>| {
                options.iter().map(move |option| {
                    let mut longer = chosen.clone();
                    longer.push(option.clone());
                    longer
                })
            })
            .collect()
    })
}

fn share_as_large(fs: &[f64], own: f64) -> f64 {
    let as_large = fs.iter().filter(|&&f| f >= own * (1.0 - 1e-9)).count();
    as_large as f64 / fs.len() as f64
}

#[test]
fn the_exact_share_within_blocks_is_that_of_rational_arithmetic() {
    let csv = Csv::read("sim_perm.csv");
    let reference = json("permutation_exact.json");
    for blocks in [4, 5] {
        let rows = 3 * blocks;
        let take = |column: &str| csv.texts(column)[..rows].to_vec();
        let (_, mut values) = csv.centred("y");
        values.truncate(rows);
        let sheet = Sheet {
            kind: Kind::RandomisedBlock,
            block: Some(Classifier::from_texts("block", &take("block"), &[])),
            row: None,
            column: None,
            plot: Classifier::from_texts("plot", &take("treatment"), &[]),
            season: None,
            vines: false,
            treatments: vec![(
                Classifier::from_texts("treatment", &take("treatment"), &[]),
                Applied::Plot,
            )],
            block_by_season: false,
        };
        let found = test(&sheet, &values, &[0], false);
        let wanted = &reference[format!("{blocks}_blocks")];
        assert_eq!(found.arrangements.number, wanted["arrangements"].as_u64());
        assert_eq!(Some(found.as_large), wanted["count_ge"].as_u64());
        assert_eq!(found.drawn, None);
        assert_eq!(found.p, wanted["p"].as_f64().unwrap());
        assert_eq!(
            found.smallest(),
            6.0 / found.arrangements.number.unwrap() as f64
        );
        let design = sheet.design().unwrap();
        let line = design.layout.analyse(&values).lines[0];
        assert!(support::digits(line.f.unwrap(), number(&wanted["F"])) > 13.0);
        assert!(support::digits(line.p.unwrap(), number(&wanted["p_F"])) > 12.0);
    }
}

#[test]
fn four_blocks_of_two_treatments_cannot_go_below_an_eighth() {
    let rows: Vec<Vec<usize>> = (0..8).map(|at| vec![at / 2, at % 2]).collect();
    let sheet = sheet(
        Kind::RandomisedBlock,
        &[("block", None), ("a", Some(Applied::Plot))],
        &rows,
    );
    // The second treatment is ahead in every block, by different amounts.
    let values = [1.0, 2.0, 1.5, 2.6, 0.7, 2.0, 1.1, 2.2];
    let found = test(&sheet, &values, &[0], false);
    assert_eq!(found.arrangements.number, Some(16));
    assert_eq!(found.p, 2.0 / 16.0);
    assert_eq!(found.smallest(), 2.0 / 16.0);
}

#[test]
fn plots_of_a_completely_randomised_trial_exchange_over_the_whole_trial() {
    let codes = [0, 0, 0, 1, 1, 2, 2];
    let rows: Vec<Vec<usize>> = codes
        .iter()
        .enumerate()
        .map(|(at, &a)| vec![at, a])
        .collect();
    let sheet = sheet(
        Kind::CompletelyRandomised,
        &[("row", None), ("a", Some(Applied::Plot))],
        &rows,
    );
    let values = values(7);
    let found = test(&sheet, &values, &[0], false);
    // 7!/(3! 2! 2!)
    assert_eq!(found.arrangements.number, Some(210));
    let fs: Vec<f64> = permutations(7)
        .iter()
        .map(|order| {
            let moved = order.iter().map(|&at| codes[at]).collect();
            f_of(&sheet, &[(0, moved)], &values, &[0], false)
        })
        .collect();
    let own = f_of(&sheet, &[], &values, &[0], false);
    assert_eq!(found.p, share_as_large(&fs, own));
    assert_eq!(found.moves, Moves::Plots);
}

#[test]
fn two_factors_in_blocks_move_together() {
    // Three blocks of two by two.
    let rows: Vec<Vec<usize>> = (0..12).map(|at| vec![at / 4, at / 2 % 2, at % 2]).collect();
    let names = [
        ("block", None),
        ("a", Some(Applied::Plot)),
        ("b", Some(Applied::Plot)),
    ];
    let sheet = sheet(Kind::RandomisedBlock, &names, &rows);
    let values = values(12);
    let arrangements = choices(&permutations(4), 3);
    for factors in [vec![0], vec![1], vec![0, 1]] {
        let found = test(&sheet, &values, &factors, false);
        assert_eq!(found.arrangements.number, Some(24 * 24 * 24));
        let moved = |column: usize, chosen: &Vec<Vec<usize>>| -> Vec<usize> {
            (0..12)
                .map(|at| rows[at / 4 * 4 + chosen[at / 4][at % 4]][column])
                .collect()
        };
        let fs: Vec<f64> = arrangements
            .iter()
            .map(|chosen| {
                let codes = [(0, moved(1, chosen)), (1, moved(2, chosen))];
                f_of(&sheet, &codes, &values, &factors, false)
            })
            .collect();
        let own = f_of(&sheet, &[], &values, &factors, false);
        assert_eq!(found.p, share_as_large(&fs, own), "{factors:?}");
    }
}

#[test]
fn a_latin_square_moves_by_rows_and_columns() {
    let rows: Vec<Vec<usize>> = (0..16)
        .map(|at| vec![at / 4, at % 4, (at / 4 + at % 4) % 4])
        .collect();
    let names = [("row", None), ("column", None), ("a", Some(Applied::Plot))];
    let sheet = sheet(Kind::LatinSquare, &names, &rows);
    let values = values(16);
    let found = test(&sheet, &values, &[0], false);
    assert_eq!(found.arrangements.number, Some(24 * 24));
    let fs: Vec<f64> = permutations(4)
        .iter()
        .flat_map(|down| {
            permutations(4)
                .into_iter()
                .map(move |across| (down.clone(), across))
        })
        .map(|(down, across)| {
            let moved = (0..16)
                .map(|at| (down[at / 4] + across[at % 4]) % 4)
                .collect();
            f_of(&sheet, &[(0, moved)], &values, &[0], false)
        })
        .collect();
    let own = f_of(&sheet, &[], &values, &[0], false);
    assert_eq!(found.p, share_as_large(&fs, own));
    // The cyclic square of order 4 comes back under other names in 32 of 576 orders: 4 · 4 shifts
    // times the 2 units of the ring of order 4.
    assert_eq!(found.arrangements.alike, 32);
}

#[test]
fn two_factors_in_a_square_change_names_too() {
    let rows: Vec<Vec<usize>> = (0..16)
        .map(|at| (at / 4, at % 4, (at / 4 + at % 4) % 4))
        .map(|(row, column, letter)| vec![row, column, letter / 2, letter % 2])
        .collect();
    let names = [
        ("row", None),
        ("column", None),
        ("a", Some(Applied::Plot)),
        ("b", Some(Applied::Plot)),
    ];
    let sheet = sheet(Kind::LatinSquare, &names, &rows);
    let values = values(16);
    let found = test(&sheet, &values, &[0], false);
    assert_eq!(found.arrangements.number, Some(24 * 24 * 24));
    let orders = permutations(4);
    let mut fs = Vec::new();
    for down in &orders {
        for across in &orders {
            for name in &orders {
                let letter = |at: usize| name[(down[at / 4] + across[at % 4]) % 4];
                let a = (0..16).map(|at| letter(at) / 2).collect();
                let b = (0..16).map(|at| letter(at) % 2).collect();
                fs.push(f_of(&sheet, &[(0, a), (1, b)], &values, &[0], false));
            }
        }
    }
    let own = f_of(&sheet, &[], &values, &[0], false);
    assert_eq!(found.p, share_as_large(&fs, own));
}

/// Three blocks of two whole plots of three sub plots, in two seasons or one.
fn split(seasons: usize) -> (Sheet, Vec<Vec<usize>>) {
    let mut rows = Vec::new();
    for plot in 0..18 {
        for season in 0..seasons {
            rows.push(vec![plot / 6, plot / 3 % 2, plot % 3, season]);
        }
    }
    let mut names = vec![
        ("block", None),
        ("a", Some(Applied::WholePlot)),
        ("b", Some(Applied::SubPlot)),
    ];
    if seasons > 1 {
        names.push(("season", None));
    }
    (sheet(Kind::SplitPlot, &names, &rows), rows)
}

#[test]
fn whole_plots_move_as_wholes_and_sub_plots_inside_them() {
    for seasons in [1, 2] {
        let (sheet, rows) = split(seasons);
        let values = values(rows.len());
        for season in [false, true] {
            if season && seasons == 1 {
                continue;
            }
            let found = test(&sheet, &values, &[0], season);
            assert_eq!(found.moves, Moves::WholePlots);
            assert_eq!(found.arrangements.number, Some(8));
            let fs: Vec<f64> = choices(&permutations(2), 3)
                .iter()
                .map(|chosen| {
                    let moved = rows.iter().map(|row| chosen[row[0]][row[1]]).collect();
                    f_of(&sheet, &[(0, moved)], &values, &[0], season)
                })
                .collect();
            let own = f_of(&sheet, &[], &values, &[0], season);
            assert_eq!(found.p, share_as_large(&fs, own));
            assert_eq!(found.smallest(), 0.25);

            for factors in [vec![1], vec![0, 1]] {
                let found = test(&sheet, &values, &factors, season);
                assert_eq!(found.moves, Moves::SubPlots);
                assert_eq!(found.arrangements.number, Some(6_u64.pow(6)));
            }
        }
    }
}

#[test]
fn sub_plots_agree_with_every_arrangement_analysed_in_full() {
    // Two blocks of two whole plots of three sub plots: 6⁴ arrangements.
    for seasons in [1, 2] {
        let mut rows = Vec::new();
        for plot in 0..12 {
            for season in 0..seasons {
                rows.push(vec![plot / 6, plot / 3 % 2, plot % 3, season]);
            }
        }
        let mut names = vec![
            ("block", None),
            ("a", Some(Applied::WholePlot)),
            ("b", Some(Applied::SubPlot)),
        ];
        if seasons > 1 {
            names.push(("season", None));
        }
        let sheet = sheet(Kind::SplitPlot, &names, &rows);
        let values = values(rows.len());
        let season = seasons > 1;
        for factors in [vec![1], vec![0, 1]] {
            let found = test(&sheet, &values, &factors, season);
            let fs: Vec<f64> = choices(&permutations(3), 4)
                .iter()
                .map(|chosen| {
                    let whole = |row: &Vec<usize>| row[0] * 2 + row[1];
                    let moved = rows.iter().map(|row| chosen[whole(row)][row[2]]).collect();
                    f_of(&sheet, &[(1, moved)], &values, &factors, season)
                })
                .collect();
            let own = f_of(&sheet, &[], &values, &factors, season);
            assert_eq!(found.p, share_as_large(&fs, own), "{factors:?} {season}");
        }
    }
}

#[test]
fn strips_move_as_strips() {
    // Two blocks of three row strips by two cross strips.
    let rows: Vec<Vec<usize>> = (0..12).map(|at| vec![at / 6, at / 2 % 3, at % 2]).collect();
    let names = [
        ("block", None),
        ("a", Some(Applied::RowStrip)),
        ("b", Some(Applied::CrossStrip)),
    ];
    let sheet = sheet(Kind::StripPlot, &names, &rows);
    let values = values(12);
    let a = |chosen: &[Vec<usize>]| -> Vec<usize> {
        rows.iter().map(|row| chosen[row[0]][row[1]]).collect()
    };
    let b = |chosen: &[Vec<usize>]| -> Vec<usize> {
        rows.iter().map(|row| chosen[row[0]][row[2]]).collect()
    };
    let (threes, twos) = (choices(&permutations(3), 2), choices(&permutations(2), 2));

    let found = test(&sheet, &values, &[0], false);
    let fs: Vec<f64> = threes
        .iter()
        .map(|chosen| f_of(&sheet, &[(0, a(chosen))], &values, &[0], false))
        .collect();
    assert_eq!(
        found.p,
        share_as_large(&fs, f_of(&sheet, &[], &values, &[0], false))
    );

    let found = test(&sheet, &values, &[1], false);
    let fs: Vec<f64> = twos
        .iter()
        .map(|chosen| f_of(&sheet, &[(1, b(chosen))], &values, &[1], false))
        .collect();
    assert_eq!(
        found.p,
        share_as_large(&fs, f_of(&sheet, &[], &values, &[1], false))
    );

    let found = test(&sheet, &values, &[0, 1], false);
    assert_eq!(found.moves, Moves::BothStrips);
    assert_eq!(found.arrangements.number, Some(36 * 4));
    let fs: Vec<f64> = threes
        .iter()
        .flat_map(|rows| twos.iter().map(move |columns| (rows, columns)))
        .map(|(rows, columns)| {
            f_of(
                &sheet,
                &[(0, a(rows)), (1, b(columns))],
                &values,
                &[0, 1],
                false,
            )
        })
        .collect();
    let own = f_of(&sheet, &[], &values, &[0, 1], false);
    assert_eq!(found.p, share_as_large(&fs, own));
    assert_eq!(found.arrangements.alike, 12);
}

#[test]
fn every_level_of_a_split_split_plot_moves_inside_the_one_above() {
    let rows: Vec<Vec<usize>> = (0..16)
        .map(|at| vec![at / 8, at / 4 % 2, at / 2 % 2, at % 2])
        .collect();
    let names = [
        ("block", None),
        ("a", Some(Applied::WholePlot)),
        ("b", Some(Applied::SubPlot)),
        ("c", Some(Applied::SubSubPlot)),
    ];
    let sheet = sheet(Kind::SplitSplitPlot, &names, &rows);
    let values = values(16);
    let check =
        |factors: &[usize], moving: usize, unit: &dyn Fn(&Vec<usize>) -> usize, units: usize| {
            let found = test(&sheet, &values, factors, false);
            assert_eq!(found.arrangements.number, Some(1 << units));
            let fs: Vec<f64> = choices(&permutations(2), units)
                .iter()
                .map(|chosen| {
                    let moved = rows
                        .iter()
                        .map(|row| chosen[unit(row)][row[moving + 1]])
                        .collect();
                    f_of(&sheet, &[(moving, moved)], &values, factors, false)
                })
                .collect();
            let own = f_of(&sheet, &[], &values, factors, false);
            assert_eq!(found.p, share_as_large(&fs, own), "{factors:?}");
        };
    check(&[0], 0, &|row| row[0], 2);
    check(&[0, 1], 1, &|row| row[0] * 2 + row[1], 4);
    check(&[1, 2], 2, &|row| row[0] * 4 + row[1] * 2 + row[2], 8);
}

#[test]
fn a_plot_keeps_its_seasons() {
    // Two blocks of three treatments in three seasons.
    let rows: Vec<Vec<usize>> = (0..18).map(|at| vec![at / 9, at / 3 % 3, at % 3]).collect();
    let names = [
        ("block", None),
        ("a", Some(Applied::Plot)),
        ("season", None),
    ];
    let sheet = sheet(Kind::RandomisedBlock, &names, &rows);
    let values = values(18);
    for season in [false, true] {
        let found = test(&sheet, &values, &[0], season);
        assert_eq!(found.arrangements.number, Some(36));
        let fs: Vec<f64> = choices(&permutations(3), 2)
            .iter()
            .map(|chosen| {
                let moved = rows.iter().map(|row| chosen[row[0]][row[1]]).collect();
                f_of(&sheet, &[(0, moved)], &values, &[0], season)
            })
            .collect();
        let own = f_of(&sheet, &[], &values, &[0], season);
        assert_eq!(found.p, share_as_large(&fs, own));
    }
}

/// Six blocks of eight treatments.
fn six_by_eight() -> (Sheet, Vec<f64>) {
    let rows: Vec<Vec<usize>> = (0..48).map(|at| vec![at / 8, at % 8]).collect();
    let names = [("block", None), ("a", Some(Applied::Plot))];
    let sheet = sheet(Kind::RandomisedBlock, &names, &rows);
    let values = values(48)
        .iter()
        .zip(&rows)
        .map(|(value, row)| value + row[1] as f64 * 0.4)
        .collect();
    (sheet, values)
}

#[test]
fn drawn_arrangements_do_not_depend_on_threads_or_company() {
    let (sheet, values) = six_by_eight();
    let design = sheet.design().unwrap();
    let variance = design.layout.analyse(&values);
    let other: Vec<f64> = values.iter().rev().copied().collect();
    let company = design.layout.analyse(&other);
    let run = |variances: &[&_], threads: usize| {
        let settings = Settings {
            seed: 5,
            draws: 40_000,
            threads,
        };
        randomised(&sheet, &design, &[0], variances, settings)[0][0].unwrap()
    };
    let alone = run(&[&variance], 1);
    assert_eq!(alone, run(&[&variance], 2));
    assert_eq!(alone, run(&[&variance], 7));
    assert_eq!(alone, run(&[&variance, &company], 3));
    assert_eq!(alone.arrangements.number, None);
    // The log of (8!)^6.
    assert!((alone.arrangements.log10 - 6.0 * 40320_f64.log10()).abs() < 1e-9);
}

#[test]
fn drawing_agrees_with_counting_within_its_error() {
    // The five blocks of three treatments counted above, beside many more like them: with eight
    // blocks of three (1,679,616 arrangements) P is close to that of F.
    let rows: Vec<Vec<usize>> = (0..24).map(|at| vec![at / 3, at % 3]).collect();
    let names = [("block", None), ("a", Some(Applied::Plot))];
    let sheet = sheet(Kind::RandomisedBlock, &names, &rows);
    let values: Vec<f64> = values(24)
        .iter()
        .zip(&rows)
        .map(|(value, row)| value + row[1] as f64)
        .collect();
    let design = sheet.design().unwrap();
    let variance = design.layout.analyse(&values);
    let settings = Settings {
        seed: 9,
        draws: 20_000,
        threads: 1,
    };
    let found = randomised(&sheet, &design, &[0], &[&variance], settings)[0][0].unwrap();
    assert_eq!(found.drawn, Some(20_000));
    // All 8 · 6⁷ arrangements with the first block standing still, by sums of squares of totals.
    let mut sums = vec![[values[0], values[1], values[2]]];
    for block in 1..8 {
        let block = &values[block * 3..block * 3 + 3];
        let orders = permutations(3);
        sums = sums
            .iter()
            .flat_map(|sum| {
                orders.iter().map(move |o| {
                    [
                        sum[0] + block[o[0]],
                        sum[1] + block[o[1]],
                        sum[2] + block[o[2]],
                    ]
                })
            })
            .collect();
    }
    let square = |sum: &[f64; 3]| sum.iter().map(|v| v * v).sum::<f64>();
    let own: [f64; 3] = std::array::from_fn(|a| (0..8).map(|b| values[b * 3 + a]).sum());
    let limit = square(&own) * (1.0 - 1e-12);
    let exact = sums.iter().filter(|sum| square(sum) >= limit).count() as f64 / sums.len() as f64;
    // Four standard errors.
    assert!((found.p - exact).abs() < 4.0 * (exact * (1.0 - exact) / 20_000.0).sqrt());
    let (low, high) = found.interval();
    assert!(low <= found.p && found.p <= high && high - low > 0.0);
}

#[test]
#[ignore = "a measurement: cargo test --release -p caneplot-numerics --test randomise -- --ignored --nocapture"]
fn time_of_ten_thousand_arrangements() {
    let (sheet, values) = six_by_eight();
    let design = sheet.design().unwrap();
    let variance = design.layout.analyse(&values);
    let settings = Settings {
        seed: 5,
        draws: 10_000,
        threads: 1,
    };
    let mut times: Vec<f64> = (0..21)
        .map(|_| {
            let start = std::time::Instant::now();
            let found = randomised(&sheet, &design, &[0], &[&variance], settings);
            assert!(found[0][0].is_some());
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    times.sort_by(f64::total_cmp);
    eprintln!("median {:.2} ms, least {:.2} ms", times[10], times[0]);
}
