//! The methods paragraph and the works it cites: only what was used.

use caneplot_plugin::findings::Reference;

use crate::compare::Comparison;
use crate::spread::Spread;

/// What the sections made use of.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Used {
    spread: bool,
    medians: bool,
    weighted: bool,
    course: bool,
    several_errors: bool,
}

impl Used {
    pub fn note_spread(&mut self, spread: &Spread<'_>) {
        self.spread = true;
        self.medians |= spread.sets.iter().any(|set| set.medians.is_some());
        self.weighted |= spread.sets.iter().any(|set| set.overall.weighted);
        self.several_errors |= spread.sets.iter().any(|set| approximate(&set.overall));
    }

    pub fn note_course<'a, 'b: 'a>(
        &mut self,
        mut comparisons: impl Iterator<Item = &'a Comparison<'b>>,
    ) {
        self.course = true;
        self.several_errors |= comparisons.any(approximate);
    }

    pub fn methods(&self) -> (Vec<String>, Vec<Reference>) {
        let mut sentences = Vec::new();
        let mut keys = Vec::new();
        let mut say = |used: bool, text: &str, cited: &[&'static str]| {
            if used {
                sentences.push(text.to_owned());
                keys.extend_from_slice(cited);
            }
        };
        say(
            self.spread,
            "Evenness within plots was analysed as the logarithm of the variance between the vines of a plot, freed from its bias [@bartlett-1946], in the strata of the design with plots as units.",
            &["bartlett-1946"],
        );
        say(
            self.weighted,
            "Where plots held unequal numbers of vines they were weighted by the inverse of the sampling variance of that logarithm.",
            &[],
        );
        say(
            self.medians,
            "Distances of vines from the median of their plot [@brown-1974], scaled by their expectation in normal samples of as many vines, were averaged by plot and tested in the same strata.",
            &["brown-1974"],
        );
        say(
            self.course,
            "Days on which a tenth, half and nine tenths of the vines of a plot had come to the stage recorded were interpolated at plotting positions (i − 1/2)/n [@hazen-1914] and analysed with plots as units.",
            &["hazen-1914"],
        );
        say(
            self.several_errors,
            "Degrees of freedom of differences that rest on several errors were approximated [@satterthwaite-1946].",
            &["satterthwaite-1946"],
        );
        let references = WORKS
            .iter()
            .filter(|(key, _)| keys.contains(key))
            .map(|(key, text)| Reference {
                key: (*key).to_owned(),
                text: (*text).to_owned(),
            })
            .collect();
        (sentences, references)
    }
}

fn approximate(comparison: &Comparison<'_>) -> bool {
    let estimates = comparison
        .means
        .iter()
        .chain(comparison.differences.iter().flatten());
    estimates
        .flat_map(|estimate| &estimate.df)
        .any(|df| df.fract() != 0.0)
}

const WORKS: [(&str, &str); 4] = [
    (
        "bartlett-1946",
        "Bartlett, M.S. and Kendall, D.G. 1946. The statistical analysis of variance-heterogeneity and the logarithmic transformation. Supplement to the Journal of the Royal Statistical Society 8: 128-138.",
    ),
    (
        "brown-1974",
        "Brown, M.B. and Forsythe, A.B. 1974. Robust tests for the equality of variances. Journal of the American Statistical Association 69: 364-367.",
    ),
    (
        "hazen-1914",
        "Hazen, A. 1914. Storage to be provided in impounding reservoirs for municipal water supply. Transactions of the American Society of Civil Engineers 77: 1539-1640.",
    ),
    (
        "satterthwaite-1946",
        "Satterthwaite, F.E. 1946. An approximate distribution of estimates of variance components. Biometrics Bulletin 2: 110-114.",
    ),
];
