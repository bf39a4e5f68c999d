//! The methods paragraph and the works it cites.

use caneplot_plugin::findings::Reference;

use crate::look::Look;
use crate::options::Options;

const WORKS: [(&str, &str); 5] = [
    (
        "moran-1950",
        "Moran P.A.P. 1950. Notes on continuous stochastic phenomena. Biometrika 37:17-23.",
    ),
    (
        "cliff-1972",
        "Cliff A. and Ord K. 1972. Testing for spatial autocorrelation among regression residuals. Geographical Analysis 4:267-284.",
    ),
    (
        "freedman-1983",
        "Freedman D. and Lane D. 1983. A nonstochastic interpretation of reported significance levels. Journal of Business and Economic Statistics 1:292-298.",
    ),
    (
        "phipson-2010",
        "Phipson B. and Smyth G.K. 2010. Permutation P-values should never be zero: calculating exact P-values when permutations are randomly drawn. Statistical Applications in Genetics and Molecular Biology 9:39.",
    ),
    (
        "kenward-1997",
        "Kenward M.G. and Roger J.H. 1997. Small sample inference for fixed effects from restricted maximum likelihood. Biometrics 53:983-997.",
    ),
];

/// Sentences with their citations, and the works cited.
pub(crate) fn methods(options: &Options, looks: &[Look<'_>]) -> (Vec<String>, Vec<Reference>) {
    if looks.is_empty() {
        return (Vec::new(), Vec::new());
    }
    let mut sentences = vec![
        "Vineyard row and position of plots were added as covariates to treatments and fixed blocks, one value a plot, and tested by F, their squares beside them.".to_owned(),
    ];
    if looks.iter().any(|look| look.larger_units) {
        sentences.push(
            "Whole plots and strips were random in that, with the degrees of freedom of Kenward and Roger [@kenward-1997].".to_owned(),
        );
    }
    sentences.push(format!(
        "Likeness of neighbouring plots was measured by Moran's I [@moran-1950] of the residuals after treatments and blocks, compared with its mean where plots are independent [@cliff-1972], and tested by {} exchanges of residuals inside blocks, from each of which treatments and blocks were taken out again [@freedman-1983]; P counts the trial itself [@phipson-2010].",
        options.exchanges
    ));
    let references = Reference::cited(&WORKS, &sentences);
    (sentences, references)
}
