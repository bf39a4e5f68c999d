//! Makes the data of the demo trial "winter damage": every figure is invented.
//!
//! `cargo run -p caneplot-tests --bin make-winter-damage trials/winter-damage`
//!
//! The scenario: six blocks down a slope, each a band of five rows; five numbers of nodes left at
//! winter pruning; in a plot one vine of each row is recorded, for four seasons. Crop rises with
//! nodes and levels off, and Brix is highest with few of them. The trial is damaged: a plot is dug up
//! for a drain and another for a track, and a hard winter kills buds everywhere and a whole row at
//! the foot of the slope. Crop and prunings of the season before the treatments tell strong plots
//! from weak ones.

use std::error::Error;

use caneplot_tests::truth::winter_damage::{DEAD_ROW, REMOVED, brix, share};
use caneplot_tests::{Csv, Stream, folder_argument};

/// Chosen: with some seeds so small a trial cannot tell which curve its crop follows.
const SEED: u64 = 20_220_212;
const NODES: [u32; 5] = [16, 24, 32, 40, 48];
const SEASONS: [u32; 4] = [2022, 2023, 2024, 2025];
const HARD_WINTER: u32 = 2024;
const ROWS: u32 = 5;
/// Level crop of a season, kg a vine.
const LEVEL_CROP: [f64; 4] = [5.2, 5.0, 4.5, 4.9];
/// What a season adds to Brix.
const WARMTH: [f64; 4] = [0.2, -0.6, 0.5, 0.1];

/// What stands on a plot whatever is done to it, as shares of the average.
struct Ground {
    vigour: f64,
    fruitfulness: f64,
    vines: Vec<f64>,
}

struct Files {
    layout: Csv,
    spring: Csv,
    harvest: Csv,
    berries: Csv,
    prunings: Csv,
    buds: Csv,
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = folder_argument()?;
    let mut random = Stream::new(SEED);
    let mut files = Files {
        layout: Csv::new(
            "block,plot,vineyard_row,first_position,last_position,nodes,crop_2021_kg,prunings_2021_kg",
        ),
        spring: Csv::new("season,block,plot,vine,nodes_left,nodes_broken,shoots"),
        harvest: Csv::new("season,block,plot,vine,status,clusters,crop_kg,brix"),
        berries: Csv::new("season,block,plot,berry_g"),
        prunings: Csv::new("season,block,plot,vine,prunings_kg"),
        buds: Csv::new("season,block,plot,buds_cut,buds_alive"),
    };
    for block in 1..=6 {
        let slope = [0.09, 0.05, 0.02, -0.02, -0.05, -0.09][block as usize - 1];
        for (plot, nodes) in (1..).zip(random.shuffled(&NODES)) {
            let ground = Ground {
                vigour: slope + random.normal(0.055),
                fruitfulness: random.normal(0.035),
                vines: (0..ROWS).map(|_| random.normal(0.10)).collect(),
            };
            let vigour = ground.vigour + ground.vines.iter().sum::<f64>() / f64::from(ROWS);
            let crop = 4.3 * (1.0 + 0.6 * vigour + ground.fruitfulness + random.normal(0.025));
            let wood = 0.78 * (1.0 + 1.2 * vigour + random.normal(0.03));
            // A plot is three vines wide; the middle one of its five rows stands for it.
            let (row, first) = (ROWS * block - ROWS / 2, 3 * plot - 2);
            files.layout.line(format_args!(
                "B{block},{plot},{row},{first},{},{nodes},{crop:.2},{wood:.3}",
                first + 2
            ));
            for (year, season) in SEASONS.into_iter().enumerate() {
                let lost =
                    |&(b, p, from): &(u32, u32, u32)| (b, p) == (block, plot) && season >= from;
                if !REMOVED.iter().any(lost) {
                    plot_season(&mut files, &mut random, (block, plot), nodes, year, &ground);
                }
            }
        }
    }
    files.layout.write(&folder, "layout.csv")?;
    files.spring.write(&folder, "spring.csv")?;
    files.harvest.write(&folder, "harvest.csv")?;
    files.berries.write(&folder, "berries.csv")?;
    files.prunings.write(&folder, "prunings.csv")?;
    files.buds.write(&folder, "buds.csv")?;
    Ok(())
}

/// The records of one plot in one season.
fn plot_season(
    files: &mut Files,
    random: &mut Stream,
    (block, plot): (u32, u32),
    nodes: u32,
    year: usize,
    ground: &Ground,
) {
    let season = SEASONS[year];
    let many = f64::from(nodes);
    let more = many - 16.0;
    let hard = season == HARD_WINTER;
    let place = format!("{season},B{block},{plot}");
    let of_season = random.normal(0.035);
    if hard {
        let alive = 0.86 - 0.0045 * more + 0.4 * ground.vigour + random.normal(0.02);
        let alive = random.successes(60, alive);
        files.buds.line(format_args!("{place},60,{alive}"));
    }
    let breaking = 0.955 - 0.0042 * more - if hard { 0.09 + 0.0015 * more } else { 0.0 };
    let wood = 0.98 - 0.0132 * more;
    for row in 0..ROWS {
        let vine = (block - 1) * ROWS + row + 1;
        if (block, vine) == (DEAD_ROW.0, DEAD_ROW.1) && season >= DEAD_ROW.2 {
            files.harvest.line(format_args!("{place},{vine},dead,,,"));
            continue;
        }
        let vigour = ground.vigour + ground.vines[row as usize] + of_season;
        let left = nodes + random.successes(2, 0.4) - random.successes(1, 0.3);
        let broken = random.successes(left, breaking);
        // Shoots from old wood: the fewer nodes are left, the more of them.
        let shoots = broken + random.successes(6, 0.62 - 0.012 * more);
        let fruitful = (1.80 - 0.0002 * (many - 8.0).powi(2)) * (1.0 + 0.6 * ground.fruitfulness);
        let clusters = (f64::from(shoots) * fruitful + random.normal(2.4)).round();
        let vigorous = 1.0 + 0.6 * vigour + ground.fruitfulness;
        let own = random.normal(0.08);
        let crop = LEVEL_CROP[year] * share(many) * vigorous * (1.0 + own);
        let uneven = 0.32 + 0.012 * more;
        let solids = brix(many) + WARMTH[year] - 1.6 * own + random.normal(uneven);
        let prunings = wood * (1.0 + 1.2 * vigour) * (1.0 + random.normal(0.08));
        files
            .spring
            .line(format_args!("{place},{vine},{left},{broken},{shoots}"));
        files.harvest.line(format_args!(
            "{place},{vine},alive,{clusters},{crop:.2},{solids:.1}"
        ));
        files
            .prunings
            .line(format_args!("{place},{vine},{prunings:.3}"));
    }
    let berry = 1.52 - 0.0052 * more + if hard { 0.06 } else { 0.0 } + random.normal(0.025);
    files.berries.line(format_args!("{place},{berry:.2}"));
}
