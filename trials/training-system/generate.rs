//! Makes the data of the demo trial "training system": every figure is invented.
//!
//! `cargo run -p caneplot-tests --bin make-training-system trials/training-system`
//!
//! The scenario: a bench of deep soil, four blocks, four training systems as whole plots and two
//! numbers of nodes as sub plots, three seasons, kept in pounds and feet by the people who weigh.
//! The winter files are dated by the year of the cut, before the harvest of that year.

use std::error::Error;

use caneplot_tests::{Csv, Stream, folder_argument};

const SEED: u64 = 20_220_301;
const SEASONS: [u32; 3] = [2022, 2023, 2024];
const NODES: [u32; 2] = [24, 40];
/// A training system as invented.
#[derive(Clone)]
struct System {
    code: &'static str,
    /// Crop in kg a vine at 24 and 40 nodes.
    crop: [f64; 2],
    /// Prunings in kg a vine at 24 and 40 nodes.
    prunings: [f64; 2],
    brix: f64,
    /// Minutes to prune a vine of 24 nodes.
    minutes: f64,
}

const fn system(
    code: &'static str,
    crop: [f64; 2],
    prunings: [f64; 2],
    brix: f64,
    minutes: f64,
) -> System {
    System {
        code,
        crop,
        prunings,
        brix,
        minutes,
    }
}

const SYSTEMS: [System; 4] = [
    system("HT", [3.4, 3.9], [0.62, 0.55], 23.1, 2.4),
    system("SC", [4.1, 4.8], [0.74, 0.65], 22.9, 2.2),
    system("TC", [4.6, 5.6], [0.80, 0.70], 22.7, 2.5),
    system("CP", [4.4, 5.5], [0.86, 0.76], 22.8, 4.1),
];
const KG_PER_LB: f64 = 0.453_592_37;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = folder_argument()?;
    let mut random = Stream::new(SEED);
    let mut plots = Csv::new("block,plot,vineyard_row,first_position,last_position,system,nodes");
    let mut harvest = Csv::new("year,block,plot,crop_lb,clusters,brix,acid_g_l");
    let mut winter = Csv::new("year,block,plot,prunings_lb,prune_min");

    for block in 1..=4u32 {
        let field = [0.08, 0.02, -0.03, -0.07][block as usize - 1];
        let mut plot = 0;
        for system in random.shuffled(&SYSTEMS) {
            let whole = field + random.normal(0.05);
            for nodes in random.shuffled(&NODES) {
                plot += 1;
                // A block is two rows of four plots, six vines each.
                let row = 2 * block - 1 + (plot - 1) / 4;
                let first = 6 * ((plot - 1) % 4) + 1;
                plots.line(format_args!(
                    "{block},{plot},{row},{first},{},{},{nodes}",
                    first + 5,
                    system.code
                ));
                let level = usize::from(nodes == NODES[1]);
                let vigour = whole + random.normal(0.04);
                for year in SEASONS {
                    let weather = [-0.04, 0.09, -0.02][(year - SEASONS[0]) as usize];
                    let noise = random.normal(0.045);
                    let crop = system.crop[level] * (1.0 + weather + vigour + noise);
                    let clusters =
                        crop / (0.118 - 0.008 * level as f64) * (1.0 + random.normal(0.04));
                    let brix =
                        system.brix - 0.35 * (crop - 4.4) + 6.0 * weather + random.normal(0.3);
                    let acid = 6.2 + 0.18 * (crop - 4.4) - 7.0 * weather + random.normal(0.2);
                    harvest.line(format_args!(
                        "{year},{block},{plot},{:.1},{clusters:.1},{brix:.1},{acid:.1}",
                        crop / KG_PER_LB
                    ));
                }
                // Cut in the winter before the harvest of the year that dates the record.
                for year in SEASONS[0]..=SEASONS[2] + 1 {
                    let wood =
                        system.prunings[level] * (1.0 + 1.3 * vigour) * (1.0 + random.normal(0.06));
                    let minutes = system.minutes * [1.0, 1.22][level] * (1.0 + random.normal(0.07));
                    winter.line(format_args!(
                        "{year},{block},{plot},{:.2},{minutes:.1}",
                        wood / KG_PER_LB
                    ));
                }
            }
        }
    }
    plots.write(&folder, "plots.csv")?;
    harvest.write(&folder, "harvest.csv")?;
    winter.write(&folder, "winter.csv")?;
    Ok(())
}
