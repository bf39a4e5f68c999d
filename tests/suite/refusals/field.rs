//! Small trials written row by row: each test says what its columns hold, the rest is as it should be.

use std::fmt::Write as _;

use caneplot_tests::Stream;

use crate::support::Scratch;

/// Where a record was taken, for the closures that fill a column.
#[derive(Debug, Clone)]
pub struct At {
    /// Block by its number from 0.
    pub block: usize,
    /// Level of every factor, as it stands in the data.
    pub levels: Vec<&'static str>,
    /// Season by its number from 0.
    pub season: usize,
    /// A normal deviate of the plot, the same in all its records.
    pub plot_noise: f64,
    /// A normal deviate of the record.
    pub noise: f64,
}

impl At {
    /// The first factor's level as a number.
    pub fn amount(&self) -> f64 {
        self.levels[0].parse().expect("the level is a number")
    }

    /// A crop in kg that rises with the amount.
    pub fn crop(&self) -> f64 {
        3.0 + self.amount() / 20.0 + 0.3 * self.plot_noise + 0.3 * self.noise
    }

    /// Prunings in kg that fall with the amount.
    pub fn prunings(&self) -> f64 {
        0.9 - self.amount() / 100.0 + 0.05 * self.noise
    }
}

/// A number as it is typed into a sheet.
pub fn typed(value: f64) -> String {
    format!("{value:.2}")
}

type Fill = Box<dyn Fn(&At) -> String>;

/// A column of a file.
struct Column {
    /// Whether it stands on the sheet of the winter after harvest.
    winter: bool,
    name: &'static str,
    fill: Fill,
}

/// A trial in the making.
pub struct Field {
    kind: &'static str,
    /// Block name (none in a trial without blocks) and the levels of a plot, one a plot.
    plots: Vec<(Option<&'static str>, Vec<&'static str>)>,
    factors: Vec<(&'static str, String)>,
    seasons: Vec<&'static str>,
    vines: usize,
    declared: String,
    columns: Vec<Column>,
    ratios: String,
}

impl Field {
    /// A trial of this kind with these plots and no factor yet.
    pub fn new(kind: &'static str, plots: Vec<(Option<&'static str>, Vec<&'static str>)>) -> Self {
        Self {
            kind,
            plots,
            factors: Vec::new(),
            seasons: Vec::new(),
            vines: 0,
            declared: String::new(),
            columns: Vec::new(),
            ratios: String::new(),
        }
    }

    /// Randomised blocks with every level of nodes once in each.
    pub fn blocks(blocks: &[&'static str], levels: &[&'static str]) -> Self {
        let plots = blocks
            .iter()
            .flat_map(|&block| levels.iter().map(move |&level| (Some(block), vec![level])))
            .collect();
        Self::new("randomised block", plots).nodes(levels)
    }

    /// A factor of amounts.
    pub fn nodes(self, levels: &[&str]) -> Self {
        let keys = format!(
            "label = \"Nodes left\"\nlevels = [{}]\nunit = \"nodes/vine\"\n",
            levels.join(", ")
        );
        self.factor("nodes", keys)
    }

    /// A factor with its keys as written in the trial file.
    pub fn factor(mut self, name: &'static str, keys: impl Into<String>) -> Self {
        self.factors.push((name, keys.into()));
        self
    }

    /// Seasons recorded on the same plots.
    pub fn seasons(mut self, seasons: &[&'static str]) -> Self {
        self.seasons = seasons.to_vec();
        self
    }

    /// Single vines recorded in each plot.
    pub fn vines(mut self, vines: usize) -> Self {
        self.vines = vines;
        self
    }

    /// A response in a column of its own name.
    pub fn response(
        mut self,
        name: &'static str,
        keys: &str,
        fill: impl Fn(&At) -> String + 'static,
    ) -> Self {
        let _ = writeln!(self.declared, "[responses.{name}]\n{keys}");
        self.columns.push(Column {
            winter: keys.contains("pruning weight") || name == "pruning_weight",
            name,
            fill: Box::new(fill),
        });
        self
    }

    /// A response counted out of a total, in two columns.
    pub fn count(
        mut self,
        name: &'static str,
        count: (&'static str, impl Fn(&At) -> u32 + 'static),
        of: (&'static str, impl Fn(&At) -> u32 + 'static),
    ) -> Self {
        let _ = writeln!(
            self.declared,
            "[responses.{name}]\ncolumn = \"{}\"\nof = \"{}\"\nis = \"bud break\"",
            count.0, of.0
        );
        self.columns.push(Column {
            winter: false,
            name: count.0,
            fill: Box::new(move |at| count.1(at).to_string()),
        });
        self.columns.push(Column {
            winter: false,
            name: of.0,
            fill: Box::new(move |at| of.1(at).to_string()),
        });
        self
    }

    /// A ratio of two responses.
    pub fn ratio(mut self, name: &str, keys: &str) -> Self {
        let _ = writeln!(self.ratios, "{name} = {{ {keys} }}");
        self
    }

    /// What was recorded before the trial, one value a plot, in a column of its own name.
    pub fn covariate(
        mut self,
        name: &'static str,
        keys: &str,
        fill: impl Fn(&At) -> String + 'static,
    ) -> Self {
        let _ = writeln!(self.declared, "[covariates.{name}]\n{keys}");
        self.columns.push(Column {
            winter: false,
            name,
            fill: Box::new(fill),
        });
        self
    }

    /// Crop and prunings without any fault, and their ratio.
    pub fn usual(self) -> Self {
        self.response("yield", "unit = \"kg/vine\"", |at| typed(at.crop()))
            .response("pruning_weight", "unit = \"kg/vine\"", |at| {
                typed(at.prunings())
            })
            .ratio("crop_load", "of = \"yield\", per = \"pruning_weight\"")
    }

    /// The trial in a scratch folder, with these lines under `[analyses]`.
    pub fn write(&self, analyses: &str) -> Scratch {
        let scratch = Scratch::new();
        scratch.write("trial.toml", &self.toml(analyses));
        scratch.write("data.csv", &self.csv(false));
        if self.has_winter() {
            scratch.write("winter.csv", &self.csv(true));
        }
        scratch
    }

    fn blocked(&self) -> bool {
        self.plots.iter().any(|(block, _)| block.is_some())
    }

    fn has_winter(&self) -> bool {
        self.columns.iter().any(|column| column.winter)
    }

    fn toml(&self, analyses: &str) -> String {
        let mut text = "[trial]\ntitle = \"Scratch\"\nquestion = \"What happens?\"\n".to_owned();
        if !self.seasons.is_empty() {
            let _ = writeln!(text, "seasons = {:?}", self.seasons);
        }
        let _ = writeln!(
            text,
            "[vineyard]\ncanopy_per_vine = \"1.5 m\"\n[design]\nkind = \"{}\"\nplot = \"plot\"",
            self.kind
        );
        for (there, line) in [
            (self.blocked(), "block = \"block\""),
            (self.vines > 0, "vine = \"vine\""),
            (!self.seasons.is_empty(), "season = \"season\""),
        ] {
            if there {
                let _ = writeln!(text, "{line}");
            }
        }
        for (name, keys) in &self.factors {
            let _ = writeln!(text, "[factors.{name}]\n{keys}");
        }
        text.push_str("[[data]]\nfile = \"data.csv\"\n");
        if self.has_winter() {
            text.push_str("[[data]]\nfile = \"winter.csv\"\nwinter = \"after harvest\"\n");
        }
        text.push_str(&self.declared);
        if !self.ratios.is_empty() {
            let _ = write!(text, "[ratios]\n{}", self.ratios);
        }
        let _ = write!(text, "[analyses]\n{analyses}");
        text
    }

    /// The sheet of the season, or that of the winter after it.
    fn csv(&self, winter: bool) -> String {
        let mut stream = Stream::new(7 + u64::from(winter));
        let columns = || self.columns.iter().filter(|column| column.winter == winter);
        let mut heads = vec!["block", "plot"];
        if !winter {
            heads.extend(self.factors.iter().map(|(name, _)| *name));
        }
        heads.extend(["season", "vine"]);
        heads.extend(columns().map(|column| column.name));
        let mut text = heads.join(",") + "\n";
        let mut blocks: Vec<Option<&str>> = Vec::new();
        for (number, (block, levels)) in self.plots.iter().enumerate() {
            if !blocks.contains(block) {
                blocks.push(*block);
            }
            let plot_noise = stream.normal(1.0);
            for season in 0..self.seasons.len().max(1) {
                for vine in 1..=self.vines.max(1) {
                    let at = At {
                        block: blocks.len() - 1,
                        levels: levels.clone(),
                        season,
                        plot_noise,
                        noise: stream.normal(1.0),
                    };
                    let mut cells =
                        vec![block.unwrap_or("").to_owned(), format!("P{}", number + 1)];
                    if !winter {
                        cells.extend(levels.iter().map(|&level| level.to_owned()));
                    }
                    let label = self.seasons.get(season).copied().unwrap_or("");
                    cells.extend([label.to_owned(), vine.to_string()]);
                    cells.extend(columns().map(|column| (column.fill)(&at)));
                    text.push_str(&(cells.join(",") + "\n"));
                }
            }
        }
        text
    }
}
