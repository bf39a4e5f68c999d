//! The methods paragraph and the works it cites: only what was used.

use caneplot_plugin::findings::Reference;

use crate::compare::has_control;
use crate::measures::Measure;
use crate::options::Options;
use crate::study::{Study, Whole};

/// Sentences and references.
pub(crate) fn of(
    studies: &[Study<'_>],
    options: &Options,
    family: bool,
) -> (Vec<String>, Vec<Reference>) {
    let wholes = || {
        studies
            .iter()
            .filter_map(|study| Some((study, study.whole.as_ref().ok()?)))
    };
    let mut all = Vec::new();
    if wholes().next().is_some() {
        all.push("Every plot was summed up over the seasons in single numbers (total, mean, slope on the year, first season less later ones, standard deviation between seasons), and these were analysed plot by plot in the strata of the design, so that seasons never counted as replicates [@rowell-1976]. Calendar year and years since the treatments began were not told apart [@piepho-2014].".to_owned());
    }
    if wholes().any(|(_, whole)| whole.column(Measure::Bienniality).is_some()) {
        all.push("Bienniality is the mean over neighbouring seasons of the difference of the two crops over their sum [@hoblyn-1936].".to_owned());
    }
    let totals = |(study, whole): (&Study<'_>, &Whole<'_>)| {
        let added = whole.column(Measure::Total(study.seasons.len())).is_some();
        let mut factors = whole.analysed.factors();
        added && factors.any(|term| has_control(whole, term))
    };
    if wholes().any(totals) {
        all.push(
            "Totals were compared with the control with joint limits [@dunnett-1955].".to_owned(),
        );
    }
    if studies
        .iter()
        .any(|study| options.margin(&study.response().name).is_some())
    {
        all.push(format!(
            "Equivalence with the control was judged by two one-sided tests against a margin declared beforehand, each at {} [@schuirmann-1987].",
            caneplot_plugin::words::percent(options.level)
        ));
    }
    if family {
        all.push("Over all responses the share of false discoveries was controlled by the step-up rule [@benjamini-1995]; stepwise adjustment stands beside it [@holm-1979].".to_owned());
    }
    let cited = |key: &str| {
        all.iter()
            .any(|sentence| sentence.contains(&format!("@{key}")))
    };
    let references = WORKS
        .iter()
        .filter(|(key, _)| cited(key))
        .map(|(key, text)| Reference {
            key: (*key).to_owned(),
            text: (*text).to_owned(),
        })
        .collect();
    (all, references)
}

const WORKS: [(&str, &str); 7] = [
    (
        "benjamini-1995",
        "Benjamini, Y. and Hochberg, Y. 1995. Controlling the false discovery rate: a practical and powerful approach to multiple testing. Journal of the Royal Statistical Society, Series B 57: 289-300.",
    ),
    (
        "dunnett-1955",
        "Dunnett, C.W. 1955. A multiple comparison procedure for comparing several treatments with a control. Journal of the American Statistical Association 50: 1096-1121.",
    ),
    (
        "hoblyn-1936",
        "Hoblyn, T.N., Grubb, N.H., Painter, A.C. and Wates, B.L. 1936. Studies in biennial bearing. I. Journal of Pomology and Horticultural Science 14: 39-76.",
    ),
    (
        "holm-1979",
        "Holm, S. 1979. A simple sequentially rejective multiple test procedure. Scandinavian Journal of Statistics 6: 65-70.",
    ),
    (
        "piepho-2014",
        "Piepho, H.-P. and Eckl, T. 2014. Analysis of series of variety trials with perennial crops. Grass and Forage Science 69: 431-440.",
    ),
    (
        "rowell-1976",
        "Rowell, J.G. and Walters, D.E. 1976. Analysing data with repeated observations on each experimental unit. Journal of Agricultural Science 87: 423-432.",
    ),
    (
        "schuirmann-1987",
        "Schuirmann, D.J. 1987. A comparison of the two one-sided tests procedure and the power approach for assessing the equivalence of average bioavailability. Journal of Pharmacokinetics and Biopharmaceutics 15: 657-680.",
    ),
];
