//! Everything that is computed for one plan.

use caneplot_plugin::{Call, Refusal};

use crate::growth::Growth;
use crate::lasting::{self, Seasons};
use crate::losses::{self, Lossful};
use crate::money::{self, Offer};
use crate::options::Options;
use crate::planned::{Frame, Planned};
use crate::reckon::{self, Answer};

/// The plan with its answers.
#[derive(Debug, Clone)]
pub(crate) struct Study {
    pub options: Options,
    pub frame: Frame,
    pub planned: Planned,
    pub answers: Vec<Answer>,
    /// The factor whose main effect is found least surely: the plan is judged by it.
    pub factor: usize,
    /// Its place among the answers.
    pub judged: usize,
    /// The same test with other numbers of vines in a plot, where blocks are free.
    pub growths: Vec<(usize, Growth)>,
    /// Fewest blocks with the wanted power, by number of vines; `None` beyond what is tried.
    pub fewest: Vec<(usize, Option<usize>)>,
    pub seasons: Vec<Seasons>,
    pub lossful: Option<Lossful>,
    pub offers: Vec<Offer>,
}

impl Study {
    pub fn of(call: &Call) -> Result<Self, Refusal> {
        let options = Options::of(call)?;
        let trial = &call.request.trial;
        let frame = Frame::of(trial)?;
        let seasons = trial.seasons.len().max(1);
        let blocks = match (options.blocks, frame.has_blocks()) {
            (Some(blocks), true) => blocks,
            (None, false) => frame.treatments(),
            (None, true) => {
                return Err(Refusal::new("the number of blocks is not given").hint(
                    "give blocks; for a completely randomised design the plots of each treatment",
                ));
            }
            (Some(_), false) => {
                return Err(Refusal::new("a Latin square has no number of blocks")
                    .hint("leave blocks out: it has as many rows and columns as treatments"));
            }
        };
        let planned = frame.planned(blocks, seasons)?;
        let answers = reckon::answers(&frame, &planned, &options)?;
        let main = answers.iter().enumerate().filter_map(|(at, answer)| {
            let term = &planned.terms[answer.term?];
            (term.factors.len() == 1 && !term.by_season).then(|| (at, term.factors[0], answer))
        });
        let weakest = main.min_by(|a, b| a.2.test.power.total_cmp(&b.2.test.power));
        let Some((judged, factor, _)) = weakest else {
            return Err(Refusal::new("no factor of the plan can be tested"));
        };
        let (mut growths, mut fewest, mut offers) = (Vec::new(), Vec::new(), Vec::new());
        if frame.has_blocks() {
            for vines in numbers_of_vines(&options) {
                let growth = Growth::of(&frame, &options, factor, vines, seasons)?;
                fewest.push((vines, growth.fewest(options.wanted, &options)?));
                growths.push((vines, growth));
            }
            if let (Some(prices), false) = (options.prices, options.plots_hold_vines) {
                offers = money::offers(&frame, &options, factor, seasons, prices)?;
            }
        }
        let seed = call.request.seed;
        Ok(Self {
            seasons: lasting::seasons(&frame, &options, factor, blocks, seasons, seed)?,
            lossful: losses::lossful(&frame, &options, blocks, seasons, seed)?,
            options,
            frame,
            planned,
            answers,
            factor,
            judged,
            growths,
            fewest,
            offers,
        })
    }

    /// The test the plan is judged by.
    pub fn judged(&self) -> &Answer {
        &self.answers[self.judged]
    }
}

/// The name of a test as it stands inside a sentence: "system × nodes".
pub(crate) fn inside(name: &str) -> String {
    let parts: Vec<String> = name
        .split(" × ")
        .map(caneplot_plugin::words::inside)
        .collect();
    parts.join(" × ")
}

/// Half, once and twice as many vines as planned; as planned only where nobody said how vines vary.
fn numbers_of_vines(options: &Options) -> Vec<usize> {
    let planned = options.vines;
    if options.plots_hold_vines {
        return vec![planned];
    }
    let mut numbers = vec![planned.div_ceil(2), planned, 2 * planned];
    numbers.dedup();
    numbers
}
