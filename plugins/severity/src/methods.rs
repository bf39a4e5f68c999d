//! The methods paragraph and the works it cites.

use caneplot_plugin::findings::Reference;
use caneplot_plugin::words;

use crate::options::Options;

const WORKS: &[(&str, &str)] = &[
    (
        "howell-1991",
        "Howell, G.S., Miller, D.P., Edson, C.E. & Striegler, R.K. (1991). Influence of training system and pruning severity on yield, vine size, and fruit composition of Vignoles grapevines. American Journal of Enology and Viticulture 42, 191-198.",
    ),
    (
        "odaniel-2012",
        "O'Daniel, S.B., Archbold, D.D. & Kurtural, S.K. (2012). Effects of balanced pruning severity on Traminette (Vitis spp.) in a warm climate. American Journal of Enology and Viticulture 63, 284-290.",
    ),
];

pub(crate) fn methods(by_rule: bool, options: &Options) -> (Vec<String>, Vec<Reference>) {
    let mut sentences = vec![format!(
        "The nodes left on each vine were set against the number that the treatment asked for; a vine counted as pruned as meant within {} of that number, or one node.",
        words::percent(options.tolerance)
    )];
    if by_rule {
        sentences.push(
            "Where the treatment was a rule of balanced pruning (A nodes for the first unit of prunings and B for each further unit [@howell-1991; @odaniel-2012]), that number was worked out from the prunings of the same winter.".to_owned(),
        );
    }
    let references = Reference::cited(WORKS, &sentences);
    (sentences, references)
}
