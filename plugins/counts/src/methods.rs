//! Sentences for the methods paragraph and the works they cite.

use caneplot_plugin::findings::Reference;

use crate::tables::interval_words;

/// Methods sentences for intervals of this level.
#[must_use]
pub fn methods(level: f64) -> Vec<String> {
    vec![
        "Counts out of a total were analysed with binomial models on the scale of log odds, other counts with Poisson models on the log scale, instead of transforming percentages [@warton-2011; @stroup-2015].".to_owned(),
        "Blocks and the units of the design were random; where counts of plots treated alike varied more than 1.5 times as much as the distribution allows (Pearson's chi-square over its degrees of freedom), each plot had a random effect too. Random effects were integrated out by Laplace's approximation, or by adaptive quadrature where there was one random term [@pinheiro-1995].".to_owned(),
        format!("Treatments were tested by F and by likelihood ratio; F and the {} intervals (from t, taken back from the scale of the model) have the degrees of freedom of the units a treatment was applied to, and where the variance between these was estimated, variances of comparisons were multiplied by all degrees of freedom of the stratum over those of its error, because maximum likelihood divides by the former.", interval_words(level)),
        "Comparisons with a control were adjusted by Dunnett's method [@dunnett-1955], others by Holm's [@holm-1979]; where a treatment had only zeros or only full counts, estimates are from Firth's penalised likelihood [@firth-1993; @sterzinger-2023].".to_owned(),
    ]
}

/// The works cited.
#[must_use]
pub fn references() -> Vec<Reference> {
    let reference = |key: &str, text: &str| Reference {
        key: key.to_owned(),
        text: text.to_owned(),
    };
    vec![
        reference(
            "dunnett-1955",
            "Dunnett CW (1955) A multiple comparison procedure for comparing several treatments with a control. Journal of the American Statistical Association 50: 1096–1121.",
        ),
        reference(
            "firth-1993",
            "Firth D (1993) Bias reduction of maximum likelihood estimates. Biometrika 80: 27–38.",
        ),
        reference(
            "holm-1979",
            "Holm S (1979) A simple sequentially rejective multiple test procedure. Scandinavian Journal of Statistics 6: 65–70.",
        ),
        reference(
            "pinheiro-1995",
            "Pinheiro JC, Bates DM (1995) Approximations to the log-likelihood function in the nonlinear mixed-effects model. Journal of Computational and Graphical Statistics 4: 12–35.",
        ),
        reference(
            "sterzinger-2023",
            "Sterzinger P, Kosmidis I (2023) Maximum softly-penalized likelihood for mixed effects logistic regression. Statistics and Computing 33: 53.",
        ),
        reference(
            "stroup-2015",
            "Stroup WW (2015) Rethinking the analysis of non-normal data in plant and soil science. Agronomy Journal 107: 811–827.",
        ),
        reference(
            "warton-2011",
            "Warton DI, Hui FKC (2011) The arcsine is asinine: the analysis of proportions in ecology. Ecology 92: 3–10.",
        ),
    ]
}
