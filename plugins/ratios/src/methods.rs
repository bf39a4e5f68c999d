//! The methods paragraph and its references.

use caneplot_plugin::findings::Reference;
use caneplot_plugin::request::DesignKind;

use crate::ranges::citation;
use crate::report::Report;
use crate::verdict::{rests_on_prunings, unrated};
use crate::words::DISAGREEMENT;

/// Sentences with their citations, and the works cited.
#[must_use]
pub fn methods(reports: &[Report<'_>]) -> (Vec<String>, Vec<Reference>) {
    let Some(first) = reports.first() else {
        return (Vec::new(), Vec::new());
    };
    let mut sentences = vec![format!(
        "Each ratio is the mean above the line over the mean below it, over the plots of a treatment, \
         with the {} confidence set of Fieller [@fieller-1954] from the error variances and the \
         covariance of the two measurements; a ratio of measurements is taken as a description \
         [@allison-1995].",
        first.level_words()
    )];
    let mut references = vec![
        reference(
            "fieller-1954",
            "Fieller E.C. 1954. Some problems in interval estimation. J. R. Stat. Soc. B 16:175-185.",
        ),
        reference(
            "allison-1995",
            "Allison D.B. et al. 1995. Int. J. Obes. 19:644.",
        ),
    ];
    let strata = matches!(
        first.trial.design.kind,
        DesignKind::SplitPlot | DesignKind::StripPlot | DesignKind::SplitSplitPlot
    );
    if strata {
        sentences.push(
            "Errors of the strata are combined as a mean over plots takes them [@henderson-1953], with \
             the degrees of freedom of Satterthwaite [@satterthwaite-1946], those of the measurement \
             that has fewer."
                .to_owned(),
        );
        references.push(reference(
            "henderson-1953",
            "Henderson C.R. 1953. Estimation of variance and covariance components. Biometrics 9:226-252.",
        ));
        references.push(reference(
            "satterthwaite-1946",
            "Satterthwaite F.E. 1946. An approximate distribution of estimates of variance components. Biometrics Bull. 2:110-114.",
        ));
    }
    if reports.iter().any(|report| !report.seasons.is_empty()) {
        sentences.push(
            "Ratios over seasons are made from each plot's means over the seasons, so that a plot counts \
             once."
                .to_owned(),
        );
    }
    sentences.push(format!(
        "The mean of the plots' own ratios stands beside the ratio of means; where the two differ by \
         more than {} % (a threshold of this program's authors) the report says so.",
        DISAGREEMENT * 100.0
    ));
    let mut known: Vec<&str> = Vec::new();
    for range in reports.iter().flat_map(Report::ranges) {
        if !known.contains(&range.source) {
            known.push(range.source);
        }
    }
    if !known.is_empty() {
        let cited: Vec<String> = known.iter().map(|key| format!("@{key}")).collect();
        sentences.push(format!(
            "Published ranges are quoted from their sources [{}].",
            cited.join("; ")
        ));
    }
    let unrated_vines = |report: &Report<'_>| {
        let treatments = report.groups[0].treatments.iter();
        report.ratio.index.is_some_and(rests_on_prunings)
            && treatments.into_iter().any(|t| unrated(t.canopy))
    };
    if reports.iter().any(unrated_vines) {
        known.push("clingeleffer-krake-1992");
        sentences.push(
            "No range is held against minimally pruned or hedged vines [@clingeleffer-krake-1992]."
                .to_owned(),
        );
    }
    references.extend(known.iter().map(|key| reference(key, citation(key).1)));
    (sentences, references)
}

fn reference(key: &str, text: &str) -> Reference {
    Reference {
        key: key.to_owned(),
        text: text.to_owned(),
    }
}
