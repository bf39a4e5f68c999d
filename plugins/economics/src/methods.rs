//! How it was reckoned, and the works it rests on.

use caneplot_plugin::findings::Reference;

use crate::options::Options;
use crate::study::Study;

const WORKS: &[(&str, &str)] = &[
    (
        "kay-2019",
        "Kay R.D., Edwards W.M., Duffy P.A. 2019. Farm Management, 9th ed. McGraw-Hill.",
    ),
    (
        "cimmyt-1988",
        "CIMMYT 1988. From Agronomic Data to Farmer Recommendations: An Economics Training Manual. CIMMYT, Mexico D.F.",
    ),
    (
        "box-tiao-1973",
        "Box G.E.P., Tiao G.C. 1973. Bayesian Inference in Statistical Analysis. Addison-Wesley.",
    ),
];

/// The sentences of the methods paragraph.
pub(crate) fn sentences(studies: &[Study<'_>], options: &Options) -> Vec<String> {
    let mut all = vec![
        "Treatments were set against the control by partial budgets, in which only what changes is counted [@kay-2019]; prices and costs are those declared for the trial.".to_owned(),
        "Treatments in the order of their costs that vary were compared by dominance and marginal rates of return [@cimmyt-1988].".to_owned(),
    ];
    if studies.iter().any(|study| study.chances.is_some()) {
        all.push(format!(
            "Intervals and chances of money come from {} draws of the means of crop and measured work, with the covariances and degrees of freedom of their analysis [@box-tiao-1973].",
            options.draws
        ));
    }
    all
}

/// The works cited.
pub(crate) fn references(sentences: &[String]) -> Vec<Reference> {
    Reference::cited(WORKS, sentences)
}
