//! The methods paragraph and the works it cites: only what was used.

use caneplot_plugin::Call;
use caneplot_plugin::findings::Reference;
use caneplot_plugin::request::DesignKind;
use caneplot_plugin::words::list;

use crate::checks::Checks;
use crate::choice::Below;
use caneplot_numerics::transform::Scale;

use crate::options::{BlockSeasons, Df, Options, Seasons, Separation};
use crate::study::Study;

/// What the sections made use of.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Used {
    analysed: bool,
    seasons: bool,
    chosen: bool,
    zero: bool,
    below: bool,
    covariates: bool,
    places: bool,
    mediators: bool,
    block_seasons: bool,
    by_season: bool,
    spreads: bool,
    logs: bool,
    powers: bool,
    profile: bool,
    influence: bool,
    shapiro: bool,
    brown: bool,
    pub letters: bool,
    pub dunnett: bool,
    pub trend: bool,
    pub predictions: bool,
}

impl Used {
    /// Notes what a response made use of.
    pub fn note(&mut self, study: &Study<'_>, checks: &Checks) {
        self.analysed = true;
        self.seasons |= !study.seasons().is_empty();
        self.chosen |= study.choice.tried.len() > 1;
        let kept = matches!(study.choice.below, Below::Kept(_));
        self.below |= kept;
        self.zero |= !kept && !study.zeros.is_empty();
        for covariate in &study.readings.covariates {
            match covariate.about.mediator {
                true => self.mediators = true,
                false if covariate.about.place => self.places = true,
                false => self.covariates = true,
            }
        }
        self.block_seasons |= study.choice.block_seasons.is_some();
        self.by_season |= study.readings.sources.iter().any(|source| source.by_season);
        self.spreads |= study.spreads.is_some();
        self.logs |= study.scaled.scale == Scale::Log;
        self.powers |= !study.measured() && study.scaled.scale != Scale::Log;
        self.profile |= study.scaled.profile.is_some();
        self.influence |= !checks.tables.is_empty();
        // The sentence on a level far from the control has joint limits.
        self.dunnett |= study.margins().iter().enumerate().any(|(at, margin)| {
            margin.control.is_some() && margin.quantities.is_none() && study.clear(&[at])
        });
        self.shapiro |= checks.shapiro;
        self.brown |= checks.brown;
    }

    /// Sentences for the methods paragraph.
    pub fn sentences(&self, call: &Call, options: &Options) -> Vec<String> {
        if !self.analysed {
            return Vec::new();
        }
        let design = &call.request.trial.design;
        let random = match design.kind {
            DesignKind::CompletelyRandomised => None,
            DesignKind::RandomisedBlock => Some("blocks"),
            DesignKind::LatinSquare => Some("rows and columns"),
            DesignKind::SplitPlot => Some("blocks and whole plots"),
            DesignKind::StripPlot => Some("blocks and both sets of strips"),
            DesignKind::SplitSplitPlot => Some("blocks, whole plots and sub plots"),
        };
        let mut all = vec![match random {
            Some(random) => format!(
                "Responses were analysed by linear mixed models with treatments fixed and {random} random, fitted by restricted maximum likelihood [@patterson-1971]."
            ),
            None => "Responses were analysed by linear models fitted by restricted maximum likelihood [@patterson-1971].".to_owned(),
        }];
        if self.seasons {
            all.push(match options.season {
                Seasons::Fixed => "Seasons, repeated on the same plots, were fixed and crossed with the treatments.".to_owned(),
                Seasons::Random => "Seasons, repeated on the same plots, and their interactions with treatments were random.".to_owned(),
            });
        }
        if self.chosen {
            all.push("The covariance of the seasons of a plot was chosen among structures with the same means [@jennrich-1986] by Akaike's criterion corrected for the number of values [@hurvich-1989].".to_owned());
        }
        all.push(match options.df {
            Df::KenwardRoger => "Tests and standard errors allow for estimated variances after Kenward and Roger [@kenward-1997], without second derivatives of the covariance, whose effect depends on how it is written.".to_owned(),
            Df::Satterthwaite => "Degrees of freedom were found by Satterthwaite's method [@satterthwaite-1946; @giesbrecht-1985], for several contrasts from the eigenvectors of the covariance of orthonormal contrasts of the adjusted means [@fai-1996].".to_owned(),
        });
        if self.below {
            all.push("Variance components below zero were kept in tests, differences and their intervals, so that these hold their level; criteria and predicted effects are from the fit with them at zero.".to_owned());
        }
        if self.zero {
            all.push("Variance components at zero were kept in the reckoning of degrees of freedom, as the design has those sources of error.".to_owned());
        }
        all.push("Terms were tested by marginal hypotheses on adjusted means, in which all levels have the same weight [@searle-1980].".to_owned());
        if self.by_season {
            all.push("Whole plots, sub plots, strips or blocks had a variance component of their own in every season where the design or the data asked for it.".to_owned());
        }
        if self.block_seasons && options.block_seasons == BlockSeasons::Choose {
            all.push("Whether blocks varied from season to season was decided by the same corrected criterion [@hurvich-1989].".to_owned());
        }
        if self.spreads {
            all.push("Treatments had error variances of their own, with the same correlations between seasons.".to_owned());
        }
        if self.profile {
            all.push("The scale of the analysis was chosen by the restricted likelihood of powers of the response [@box-1964; @gurka-2006], among the scales inside its 95 % interval.".to_owned());
        }
        if self.logs {
            all.push("Logarithms were analysed; means were brought back as medians and differences as their ratios.".to_owned());
        }
        if self.powers {
            all.push(
                "Square roots or reciprocals were analysed and means brought back as medians."
                    .to_owned(),
            );
        }
        if self.places {
            all.push("Means were adjusted for where plots lie in the vineyard, with one slope on row and position for all treatments and seasons.".to_owned());
        }
        if self.covariates {
            all.push("Means were adjusted for covariates recorded before the treatments began, with one slope for all treatments and seasons.".to_owned());
        }
        if self.mediators {
            all.push("Means were adjusted for a covariate that the treatments may have changed; such a comparison is not the effect of the treatments [@rosenbaum-1984].".to_owned());
        }
        if self.letters {
            let how = match options.separation {
                Separation::Holm => "by t tests with stepwise adjustment [@holm-1979]",
                _ => {
                    "by the studentized range for all pairs, each with its own standard error [@kramer-1956]"
                }
            };
            all.push(format!(
                "Adjusted means were separated {how} at {}, and letters assigned so that they agree with every comparison [@piepho-2004].",
                options.level_words()
            ));
        }
        if self.dunnett {
            all.push(
                "Levels were compared with the control with joint limits [@dunnett-1955]."
                    .to_owned(),
            );
        }
        if self.trend {
            all.push("Numeric factors were analysed by orthogonal polynomials with their true spacing [@forsythe-1957].".to_owned());
        }
        if self.predictions {
            all.push("Random effects were predicted by best linear unbiased prediction [@henderson-1975].".to_owned());
        }
        let mut checks = Vec::new();
        if self.shapiro {
            checks.push("tested for normality [@shapiro-1965; @royston-1995]".to_owned());
        }
        if self.brown {
            checks.push("tested for equal spread about medians [@brown-1974]".to_owned());
        }
        if !checks.is_empty() {
            all.push(format!(
                "Residuals, standardized by what all other values predict, were {}.",
                list(&checks)
            ));
        }
        if self.influence {
            all.push("The influence of single plots was measured by taking each out [@cook-1977; @christensen-1992].".to_owned());
        }
        all
    }

    /// The works those sentences cite.
    pub fn references(sentences: &[String]) -> Vec<Reference> {
        Reference::cited(&WORKS, sentences)
    }
}

const WORKS: [(&str, &str); 22] = [
    (
        "box-1964",
        "Box, G.E.P. and Cox, D.R. 1964. An analysis of transformations. Journal of the Royal Statistical Society B 26: 211-252.",
    ),
    (
        "brown-1974",
        "Brown, M.B. and Forsythe, A.B. 1974. Robust tests for the equality of variances. Journal of the American Statistical Association 69: 364-367.",
    ),
    (
        "christensen-1992",
        "Christensen, R., Pearson, L.M. and Johnson, W. 1992. Case-deletion diagnostics for mixed models. Technometrics 34: 38-45.",
    ),
    (
        "cook-1977",
        "Cook, R.D. 1977. Detection of influential observation in linear regression. Technometrics 19: 15-18.",
    ),
    (
        "dunnett-1955",
        "Dunnett, C.W. 1955. A multiple comparison procedure for comparing several treatments with a control. Journal of the American Statistical Association 50: 1096-1121.",
    ),
    (
        "fai-1996",
        "Fai, A.H.-T. and Cornelius, P.L. 1996. Approximate F-tests of multiple degree of freedom hypotheses in generalized least squares analyses of unbalanced split-plot experiments. Journal of Statistical Computation and Simulation 54: 363-378.",
    ),
    (
        "forsythe-1957",
        "Forsythe, G.E. 1957. Generation and use of orthogonal polynomials for data-fitting with a digital computer. Journal of the Society for Industrial and Applied Mathematics 5: 74-88.",
    ),
    (
        "giesbrecht-1985",
        "Giesbrecht, F.G. and Burns, J.C. 1985. Two-stage analysis based on a mixed model: large-sample asymptotic theory and small-sample simulation results. Biometrics 41: 477-486.",
    ),
    (
        "gurka-2006",
        "Gurka, M.J., Edwards, L.J., Muller, K.E. and Kupper, L.L. 2006. Extending the Box-Cox transformation to the linear mixed model. Journal of the Royal Statistical Society A 169: 273-288.",
    ),
    (
        "henderson-1975",
        "Henderson, C.R. 1975. Best linear unbiased estimation and prediction under a selection model. Biometrics 31: 423-447.",
    ),
    (
        "holm-1979",
        "Holm, S. 1979. A simple sequentially rejective multiple test procedure. Scandinavian Journal of Statistics 6: 65-70.",
    ),
    (
        "hurvich-1989",
        "Hurvich, C.M. and Tsai, C.-L. 1989. Regression and time series model selection in small samples. Biometrika 76: 297-307.",
    ),
    (
        "jennrich-1986",
        "Jennrich, R.I. and Schluchter, M.D. 1986. Unbalanced repeated-measures models with structured covariance matrices. Biometrics 42: 805-820.",
    ),
    (
        "kenward-1997",
        "Kenward, M.G. and Roger, J.H. 1997. Small sample inference for fixed effects from restricted maximum likelihood. Biometrics 53: 983-997.",
    ),
    (
        "kramer-1956",
        "Kramer, C.Y. 1956. Extension of multiple range tests to group means with unequal numbers of replications. Biometrics 12: 307-310.",
    ),
    (
        "patterson-1971",
        "Patterson, H.D. and Thompson, R. 1971. Recovery of inter-block information when block sizes are unequal. Biometrika 58: 545-554.",
    ),
    (
        "piepho-2004",
        "Piepho, H.-P. 2004. An algorithm for a letter-based representation of all-pairwise comparisons. Journal of Computational and Graphical Statistics 13: 456-466.",
    ),
    (
        "rosenbaum-1984",
        "Rosenbaum, P.R. 1984. The consequences of adjustment for a concomitant variable that has been affected by the treatment. Journal of the Royal Statistical Society A 147: 656-666.",
    ),
    (
        "royston-1995",
        "Royston, P. 1995. Remark AS R94: a remark on algorithm AS 181: the W-test for normality. Applied Statistics 44: 547-551.",
    ),
    (
        "satterthwaite-1946",
        "Satterthwaite, F.E. 1946. An approximate distribution of estimates of variance components. Biometrics Bulletin 2: 110-114.",
    ),
    (
        "searle-1980",
        "Searle, S.R., Speed, F.M. and Milliken, G.A. 1980. Population marginal means in the linear model: an alternative to least squares means. American Statistician 34: 216-221.",
    ),
    (
        "shapiro-1965",
        "Shapiro, S.S. and Wilk, M.B. 1965. An analysis of variance test for normality (complete samples). Biometrika 52: 591-611.",
    ),
];
