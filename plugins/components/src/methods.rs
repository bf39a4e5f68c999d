//! The methods paragraph and the works it cites: only what was used.

use caneplot_plugin::findings::Reference;

use crate::decompose::Decomposed;

pub(crate) fn of(found: &[Decomposed<'_>]) -> (Vec<String>, Vec<Reference>) {
    let Some(first) = found.first() else {
        return (Vec::new(), Vec::new());
    };
    let mut sentences = vec![format!(
        "Yield was taken as the product of {}; in every plot the logarithms of these factors add up to the logarithm of yield, and their differences from the control were estimated with the variances and covariances of the design's own errors.",
        caneplot_plugin::words::list(&first.chain.factors)
    )];
    if first.overall.occasion.seasons.len() > 1 {
        sentences.push(
            "Over seasons the mean of a plot's logarithms was analysed, so that a plot counts once."
                .to_owned(),
        );
    }
    let mut works = Vec::new();
    let several = |found: &Decomposed<'_>| {
        let mut changes = found.overall.changes.iter();
        changes.any(|change| change.estimate.df.iter().any(|df| df.fract() != 0.0))
    };
    if found.iter().any(several) {
        sentences.push("Degrees of freedom of differences that rest on several errors were approximated [@satterthwaite-1946].".to_owned());
        works.push((
            "satterthwaite-1946",
            "Satterthwaite, F.E. 1946. An approximate distribution of estimates of variance components. Biometrics Bulletin 2: 110-114.",
        ));
    }
    let compensated = |found: &Decomposed<'_>| {
        let mut changes = found.overall.changes.iter();
        changes.any(|change| found.compensation(change).is_some())
    };
    if found.iter().any(compensated) {
        sentences.push("The share of a change in nodes that later factors took back is a ratio of two estimates, with its interval after Fieller [@fieller-1954].".to_owned());
        works.insert(0, (
            "fieller-1954",
            "Fieller, E.C. 1954. Some problems in interval estimation. Journal of the Royal Statistical Society, Series B 16: 175-185.",
        ));
    }
    let references = works
        .into_iter()
        .map(|(key, text)| Reference {
            key: key.to_owned(),
            text: text.to_owned(),
        })
        .collect();
    (sentences, references)
}
