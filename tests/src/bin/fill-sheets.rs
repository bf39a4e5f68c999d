//! Fills the sheets of a planned trial, CSV and workbooks alike, with invented records: `fill-sheets FOLDER [SEED]`.

fn main() -> Result<(), String> {
    let folder = caneplot_tests::folder_argument()?;
    let seed = match std::env::args().nth(2) {
        Some(seed) => seed.parse().map_err(|_| format!("'{seed}' is no seed"))?,
        None => 1,
    };
    let fault = |error: std::io::Error| format!("{}: {error}", folder.display());
    caneplot_tests::fill::fill(&folder, seed).map_err(fault)?;
    if folder.join("sheets").is_dir() {
        caneplot_tests::fill_workbooks::fill_workbooks(&folder).map_err(fault)?;
    }
    Ok(())
}
