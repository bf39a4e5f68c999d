//! Fills the sheets of a planned trial with invented records: `fill-sheets FOLDER [SEED]`.

fn main() -> Result<(), String> {
    let folder = caneplot_tests::folder_argument()?;
    let seed = match std::env::args().nth(2) {
        Some(seed) => seed.parse().map_err(|_| format!("'{seed}' is no seed"))?,
        None => 1,
    };
    caneplot_tests::fill::fill(&folder, seed)
        .map_err(|error| format!("{}: {error}", folder.display()))
}
