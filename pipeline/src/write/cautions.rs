//! What a reader must weigh before pruning differently because of one trial.

/// The cautions every report carries, each a short lead and its sentence.
pub const CAUTIONS: &[(&str, &str)] = &[
    (
        "One trial",
        "These results are from one site, these seasons, and the variety and rootstock named \
         above. Try a change on a few rows for at least two seasons before spending money on a \
         whole block, and talk it over with your local extension or licensed adviser.",
    ),
    (
        "First seasons",
        "Yield in the first season after lighter pruning usually overstates the long run: vines \
         draw on reserves and on buds formed under the old pruning.",
    ),
    (
        "Winter injury and frost",
        "Cut open a sample of buds before the final pruning and adjust the nodes left to what is \
         alive. Where spring frost is likely, late or double pruning delays the lower buds only by \
         days; it does not make a frost site safe.",
    ),
    (
        "Sharp tools",
        "Wear gloves and eye protection, keep tools sharp and sheathed, lock powered shears before \
         you clear them, and keep distance between pruners.",
    ),
    (
        "Pruning wounds",
        "Avoid cutting in wet weather where trunk diseases occur, and protect large wounds. Use a \
         wound product only if it is registered for grapes where you farm: the product label is \
         the law, protective clothing and waiting times included. This report recommends no \
         product.",
    ),
    (
        "Rules and contracts",
        "Appellation, winery and insurance contracts may limit yield or training; check them, and \
         ask an accountant before changing a trellis.",
    ),
];
