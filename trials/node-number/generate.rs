//! Makes the data of the demo trial "node number": every figure is invented.
//!
//! `cargo run -p caneplot-tests --bin make-node-number trials/node-number`
//!
//! The scenario: a terrace with five blocks down the slope, four numbers of nodes left at winter
//! pruning, plots of four recorded vines, four seasons. Crop rises with nodes and levels off; more
//! so after the first season. Bud break falls with nodes; prunings and soluble solids fall too.

use std::error::Error;

use caneplot_tests::{Csv, Stream, folder_argument};

const SEED: u64 = 20_210_117;
const NODES: [u32; 4] = [12, 24, 36, 48];
const SEASONS: [u32; 4] = [2021, 2022, 2023, 2024];
/// Spaces where a vine has died (block, plot, vine, season of death), so that both denominators
/// are seen; the last is replanted the season after.
const DEATHS: [(u32, u32, u32, u32); 3] = [(2, 3, 4, 2022), (4, 1, 2, 2023), (1, 2, 3, 2021)];

fn main() -> Result<(), Box<dyn Error>> {
    let folder = folder_argument()?;
    let mut random = Stream::new(SEED);
    let mut layout = Csv::new("block,plot,nodes,vineyard_row,first_position,last_position");
    let mut harvest = Csv::new("season,block,plot,vine,status,clusters,crop_kg");
    let mut juice = Csv::new("season,block,plot,brix,ph,acid_g_l,berry_g");
    let mut pruning = Csv::new("season,block,plot,vine,canes,prunings_kg");
    let mut spring = Csv::new("season,block,plot,vine,nodes_counted,nodes_broken");

    for block in 1..=5 {
        let slope = [0.10, 0.05, 0.0, -0.06, -0.09][block as usize - 1];
        for (plot, nodes) in (1..=4).zip(random.shuffled(&NODES)) {
            // A block is a row of the terrace; a buffer vine stands on each side of a plot.
            let (row, first) = (block + 1, 6 * (plot - 1) + 2);
            layout.line(format_args!(
                "B{block},{plot},{nodes},{row},{first},{}",
                first + 3
            ));
            let plot_vigour = slope + random.normal(0.045);
            let vine_vigour: Vec<f64> = (0..4).map(|_| random.normal(0.10)).collect();
            for (year, season) in SEASONS.into_iter().enumerate() {
                let weather = [0.02, -0.10, 0.08, 0.0][year];
                let plot_season = random.normal(0.035);
                let load = f64::from(nodes) / 24.0;
                // Crop against nodes: rises to a ceiling that is lower after the first season.
                let ceiling = [6.9, 5.9, 5.6, 5.6][year];
                let crop = ceiling * (1.0 - (-1.02 * load).exp());
                let wood = 0.98 - 0.155 * load - [0.0, 0.03, 0.05, 0.05][year] * (load - 1.0);
                let broken = 0.985 - 0.07 * load;
                let mut crop_of_plot = 0.0;
                for vine in 1..=4u32 {
                    let vigour = plot_vigour + vine_vigour[vine as usize - 1] + plot_season;
                    let left = nodes + random.successes(2, 0.4) - random.successes(1, 0.3);
                    let alive = status(block, plot, vine, season);
                    let burst = random.successes(left, broken);
                    let clusters = (f64::from(burst) * (1.62 - 0.16 * load) * (1.0 + weather)
                        + random.normal(1.6))
                    .round()
                    .max(1.0);
                    let kilograms =
                        crop * (1.0 + weather + 0.8 * vigour) * (1.0 + random.normal(0.06));
                    let prunings =
                        wood * (1.0 + 0.4 * weather + 1.4 * vigour) * (1.0 + random.normal(0.09));
                    let canes = f64::from(burst) + random.normal(1.1);
                    crop_of_plot += kilograms / 4.0;
                    if alive == "alive" {
                        spring.line(format_args!(
                            "{season},B{block},{plot},{vine},{left},{burst}"
                        ));
                        harvest.line(format_args!(
                            "{season},B{block},{plot},{vine},alive,{clusters},{kilograms:.2}"
                        ));
                        pruning.line(format_args!(
                            "{season},B{block},{plot},{vine},{:.0},{prunings:.3}",
                            canes.max(4.0)
                        ));
                    } else {
                        harvest.line(format_args!("{season},B{block},{plot},{vine},{alive},,"));
                    }
                }
                let brix = 24.6 - 0.36 * crop_of_plot + 4.0 * weather + random.normal(0.22);
                let ph = 3.58 - 0.022 * crop_of_plot + random.normal(0.022);
                let acid = 5.6 + 0.13 * crop_of_plot - 6.0 * weather + random.normal(0.17);
                let berry = 1.46 - 0.055 * load + 0.5 * weather + random.normal(0.025);
                juice.line(format_args!(
                    "{season},B{block},{plot},{brix:.1},{ph:.2},{acid:.1},{berry:.2}"
                ));
            }
        }
    }
    layout.write(&folder, "layout.csv")?;
    harvest.write(&folder, "harvest.csv")?;
    juice.write(&folder, "juice.csv")?;
    pruning.write(&folder, "pruning.csv")?;
    spring.write(&folder, "spring.csv")?;
    Ok(())
}

fn status(block: u32, plot: u32, vine: u32, season: u32) -> &'static str {
    match DEATHS
        .iter()
        .position(|d| (d.0, d.1, d.2) == (block, plot, vine) && season >= d.3)
    {
        Some(2) if season > DEATHS[2].3 => "replanted",
        Some(_) => "dead",
        None => "alive",
    }
}
