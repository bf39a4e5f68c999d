//! Methods and references.

use caneplot_plugin::findings::Reference;

use crate::money::cheapest;
use crate::study::Study;

const WORKS: &[(&str, &str)] = &[
    (
        "scheffe-1959",
        "Scheffé, H. (1959). The Analysis of Variance. Wiley, New York.",
    ),
    (
        "cochran-1951",
        "Cochran, W. G. (1951). Testing a linear relation among variances. Biometrics 7, 17–32.",
    ),
    (
        "satterthwaite-1946",
        "Satterthwaite, F. E. (1946). An approximate distribution of estimates of variance components. Biometrics Bulletin 2, 110–114.",
    ),
    (
        "kenward-roger-1997",
        "Kenward, M. G. & Roger, J. H. (1997). Small sample inference for fixed effects from restricted maximum likelihood. Biometrics 53, 983–997.",
    ),
    (
        "snedecor-cochran-1989",
        "Snedecor, G. W. & Cochran, W. G. (1989). Statistical Methods, 8th edition. Iowa State University Press, Ames.",
    ),
    (
        "hoenig-heisey-2001",
        "Hoenig, J. M. & Heisey, D. M. (2001). The abuse of power: the pervasive fallacy of power calculations for data analysis. The American Statistician 55, 19–24.",
    ),
];

pub(crate) fn methods(study: &Study) -> (Vec<String>, Vec<Reference>) {
    let options = &study.options;
    let mut sentences = vec![format!(
        "Power is that of the F test of each term at the level {} against the error of its own stratum, from the noncentral F distribution with the least favourable effects that hold the difference [@scheffe-1959].",
        options.level
    )];
    if study.seasons.iter().any(|row| row.lasting.is_some()) {
        sentences.push(format!(
            "A difference that lasts is tested by the sum of the mean squares of treatments and within plots over that of plots and treatments × seasons [@cochran-1951] with approximate degrees of freedom [@satterthwaite-1946]; its power is the share of {} trials drawn.",
            options.draws
        ));
    }
    if study.lossful.is_some() {
        sentences.push(format!(
            "Losses of vines were drawn in {} trials, those that lost a plot analysed by restricted maximum likelihood [@kenward-roger-1997].",
            options.draws
        ));
    }
    if options.prices.is_some() && (cheapest(&study.offers).is_some() || !study.frame.has_blocks())
    {
        sentences.push("Vines a plot were weighed against plots by the variance of a plot's mean at a given price [@snedecor-cochran-1989].".to_owned());
    }
    sentences.push("Power is not computed after a trial [@hoenig-heisey-2001].".to_owned());
    let references = Reference::cited(WORKS, &sentences);
    (sentences, references)
}
