//! Records of a yield monitor by the million, for timing: makes them, and reduces them by the data
//! frame's own query, which is what `caneplot` is timed beside (tests/bench/README.md).
//!
//! ```text
//! vine_records make FOLDER RECORDS    two seasons, six blocks of eight plots: trial.toml, layout.csv,
//!                                     records.csv, records.parquet
//! vine_records mean FILE              mean and number a season, block and plot
//! ```

use std::error::Error;
use std::fs::{self, File};
use std::io::{BufWriter, Write as _};
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use polars::prelude::*;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

const SEASONS: [&str; 2] = ["2023", "2024"];
const BLOCKS: usize = 6;
const NODES: [u32; 8] = [8, 12, 16, 20, 24, 28, 32, 36];
/// Records in a group of rows of the Parquet file.
const GROUP: usize = 1 << 20;

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match arguments
        .iter()
        .map(String::as_str)
        .collect::<Vec<_>>()
        .as_slice()
    {
        ["make", folder, records] => make(Path::new(folder), records.parse()?),
        ["mean", file] => mean(file),
        _ => Err("say: make FOLDER RECORDS, or mean FILE".into()),
    }
}

fn mean(file: &str) -> Result<(), Box<dyn Error>> {
    let begun = Instant::now();
    let path = PlRefPath::new(file);
    let frame = if file.ends_with(".parquet") {
        LazyFrame::scan_parquet(path, ScanArgsParquet::default())?
    } else {
        let types: Schema = ["season", "block", "plot"]
            .map(|name| Field::new(name.into(), DataType::String))
            .into_iter()
            .chain([Field::new("kg".into(), DataType::Float64)])
            .collect();
        LazyCsvReader::new(path)
            .with_dtype_overwrite(Some(Arc::new(types)))
            .finish()?
    };
    let means = frame
        .group_by([col("season"), col("block"), col("plot")])
        .agg([col("kg").mean(), col("kg").count().alias("records")])
        .collect_with_engine(Engine::Streaming)?
        .unwrap_single();
    let mut out = std::io::stdout().lock();
    writeln!(
        out,
        "{} means in {:.2} s",
        means.height(),
        begun.elapsed().as_secs_f64()
    )?;
    Ok(())
}

/// A batch of records, column by column.
#[derive(Default)]
struct Batch {
    season: Vec<&'static str>,
    block: Vec<String>,
    plot: Vec<i64>,
    kg: Vec<f64>,
    ndvi: Vec<f64>,
}

impl Batch {
    fn taken(&mut self) -> PolarsResult<DataFrame> {
        let Batch {
            season,
            block,
            plot,
            kg,
            ndvi,
        } = std::mem::take(self);
        df!("season" => season, "block" => block, "plot" => plot, "kg" => kg, "ndvi" => ndvi)
    }
}

fn make(folder: &Path, records: usize) -> Result<(), Box<dyn Error>> {
    fs::create_dir_all(folder)?;
    trial(folder)?;
    let mut random = ChaCha8Rng::seed_from_u64(20_261_125);
    let mut text = BufWriter::with_capacity(1 << 20, File::create(folder.join("records.csv"))?);
    writeln!(text, "season,block,plot,kg,ndvi")?;
    let schema = Batch::default().taken()?.schema().as_ref().clone();
    let mut table =
        ParquetWriter::new(File::create(folder.join("records.parquet"))?).batched(&schema)?;
    let mut batch = Batch::default();
    let plots = SEASONS.len() * BLOCKS * NODES.len();
    for at in 0..records {
        let plot = at * plots / records;
        let (season, place) = (plot / (BLOCKS * NODES.len()), plot % (BLOCKS * NODES.len()));
        let (block, within) = (place / NODES.len(), place % NODES.len());
        let bits = random.next_u64();
        // Three decimals, as a monitor writes them.
        let kg = (f64::from(NODES[within]) * 100.0 + (bits % 2000) as f64).round() / 1000.0;
        let ndvi = (500.0 + (bits >> 32) as f64 % 400.0).round() / 1000.0;
        let (block, name) = (format!("B{}", block + 1), (place + 1) as i64);
        writeln!(text, "{},{block},{name},{kg},{ndvi}", SEASONS[season])?;
        batch.season.push(SEASONS[season]);
        batch.block.push(block);
        batch.plot.push(name);
        batch.kg.push(kg);
        batch.ndvi.push(ndvi);
        if batch.kg.len() == GROUP {
            table.write_batch(&batch.taken()?)?;
        }
    }
    if !batch.kg.is_empty() {
        table.write_batch(&batch.taken()?)?;
    }
    table.finish()?;
    Ok(text.flush()?)
}

fn trial(folder: &Path) -> std::io::Result<()> {
    let mut layout = String::from("block,plot,nodes\n");
    for place in 0..BLOCKS * NODES.len() {
        let (block, nodes) = (place / NODES.len() + 1, NODES[place % NODES.len()]);
        layout.push_str(&format!("B{block},{},{nodes}\n", place + 1));
    }
    fs::write(folder.join("layout.csv"), layout)?;
    fs::write(
        folder.join("trial.toml"),
        r#"[trial]
title = "Records of a yield monitor"
question = "How long does it take?"
seasons = "2023-2024"

[design]
kind = "randomised block"
block = "block"
plot = "plot"
season = "season"

[factors.nodes]
levels = [8, 12, 16, 20, 24, 28, 32, 36]
unit = "nodes/vine"

[[data]]
file = "layout.csv"

[[data]]
file = "records.parquet"
summary = "mean"

[responses.yield]
column = "kg"
unit = "kg/vine"

[analyses]
anova = {}
"#,
    )
}
