//! Methods and references.

use caneplot_plugin::findings::Reference;

use crate::study::Study;

const WORKS: &[(&str, &str)] = &[
    (
        "satterthwaite-1946",
        "Satterthwaite, F. E. (1946). An approximate distribution of estimates of variance components. Biometrics Bulletin 2, 110–114.",
    ),
    (
        "viechtbauer-2005",
        "Viechtbauer, W. (2005). Bias and efficiency of meta-analytic variance estimators in the random-effects model. Journal of Educational and Behavioral Statistics 30, 261–293.",
    ),
    (
        "hartung-knapp-2001",
        "Hartung, J. & Knapp, G. (2001). A refined method for the meta-analysis of controlled clinical trials with binary outcome. Statistics in Medicine 20, 3875–3889.",
    ),
    (
        "sidik-jonkman-2002",
        "Sidik, K. & Jonkman, J. N. (2002). A simple confidence interval for meta-analysis. Statistics in Medicine 21, 3153–3159.",
    ),
    (
        "roever-2015",
        "Röver, C., Knapp, G. & Friede, T. (2015). Hartung-Knapp-Sidik-Jonkman approach and its modification for random-effects meta-analysis with few studies. BMC Medical Research Methodology 15, 99.",
    ),
    (
        "cochran-1954",
        "Cochran, W. G. (1954). The combination of estimates from different experiments. Biometrics 10, 101–129.",
    ),
    (
        "higgins-thompson-2002",
        "Higgins, J. P. T. & Thompson, S. G. (2002). Quantifying heterogeneity in a meta-analysis. Statistics in Medicine 21, 1539–1558.",
    ),
    (
        "higgins-2009",
        "Higgins, J. P. T., Thompson, S. G. & Spiegelhalter, D. J. (2009). A re-evaluation of random-effects meta-analysis. Journal of the Royal Statistical Society A 172, 137–159.",
    ),
    (
        "partlett-riley-2017",
        "Partlett, C. & Riley, R. D. (2017). Random effects meta-analysis: coverage performance of 95% confidence and prediction intervals following REML estimation. Statistics in Medicine 36, 301–317.",
    ),
];

pub(crate) fn methods(studies: &[Study<'_>]) -> (Vec<String>, Vec<Reference>) {
    let mut sentences = Vec::new();
    let moved = studies
        .iter()
        .any(|study| study.pairs.iter().any(|pair| pair.moved.is_some()));
    if moved {
        sentences.push("A change between two trials is the difference of their differences; the trials being independent, variances add, with approximate degrees of freedom [@satterthwaite-1946].".to_owned());
    }
    let mut overs = studies
        .iter()
        .flat_map(|study| &study.pairs)
        .filter_map(|pair| pair.over.as_ref());
    if overs.any(|_| true) {
        sentences.push("Over trials, each difference is summed up with random effects: the variance between trials by restricted maximum likelihood [@viechtbauer-2005], weights by the inverse of the two variances together, the interval by the scatter of the trials themselves and t on trials less one degrees of freedom [@hartung-knapp-2001; @sidik-jonkman-2002], never narrower than the weights alone would make it [@roever-2015]. The errors of the trials count as known.".to_owned());
        sentences.push("Q compares the trials' disagreement with their errors [@cochran-1954], I² is the share of it beyond them [@higgins-thompson-2002]; the range for a new site has trials less two degrees of freedom [@higgins-2009; @partlett-riley-2017].".to_owned());
    }
    let references = Reference::cited(WORKS, &sentences);
    (sentences, references)
}
