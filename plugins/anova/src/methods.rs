//! The methods paragraph and the works it cites: only what was used.

use caneplot_plugin::Call;
use caneplot_plugin::findings::Reference;
use caneplot_plugin::request::DesignKind;

use crate::options::{BlockSeason, Options, Separation};
use crate::study::Study;

/// What the sections made use of.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Used {
    analysed: bool,
    seasons: bool,
    vines: bool,
    several_errors: bool,
    pub letters: bool,
    pub trend: bool,
    pub dunnett: bool,
    pub shapiro: bool,
    pub brown: bool,
    pub sphericity: bool,
    pub tukey_additivity: bool,
    pub chew: bool,
    pub powers: bool,
    pub scale: bool,
    pub welch: bool,
    pub outlying: bool,
}

impl Used {
    /// Notes what the design of a response brings with it.
    pub fn note_design(&mut self, study: &Study<'_>) {
        self.analysed = true;
        self.seasons |= study.planned.design.within_plots.is_some();
        self.vines |= study.planned.design.vines.is_some();
        let approximate = |precision: &Option<caneplot_numerics::means::Precision>| {
            precision.is_some_and(|precision| !precision.exact)
        };
        self.several_errors |= study
            .tables
            .iter()
            .any(|table| table.of_difference.iter().any(approximate));
    }

    /// Sentences for the methods paragraph.
    pub fn sentences(&self, call: &Call, options: &Options) -> Vec<String> {
        if !self.analysed {
            return Vec::new();
        }
        let trial = &call.request.trial;
        let design = match trial.design.kind {
            DesignKind::CompletelyRandomised => "a completely randomised design [@fisher-1925]",
            DesignKind::RandomisedBlock => "a randomised block design [@fisher-1925]",
            DesignKind::LatinSquare => "a Latin square [@fisher-1925]",
            DesignKind::SplitPlot => "a split plot [@yates-1935]",
            DesignKind::StripPlot => {
                "a strip plot with an error for each set of strips and one for their crossings [@yates-1937]"
            }
            DesignKind::SplitSplitPlot => "a split-split plot [@yates-1935]",
        };
        let mut all = vec![format!(
            "Responses were analysed by analysis of variance as {design}, each term tested in its own stratum by sweeping means from centred values [@wilkinson-1970; @payne-1977], after the terms had been proved orthogonal [@tjur-1984]."
        )];
        if self.seasons {
            let pooled = match options.block_season {
                _ if !trial.design.block => "",
                BlockSeason::Pooled => {
                    ", the interaction of seasons with blocks being part of that error"
                }
                BlockSeason::Separate => ", seasons against blocks × seasons",
            };
            all.push(format!(
                "Seasons were repeated on the same plots: treatments were tested between plots, seasons and their interactions within plots{pooled}."
            ));
        }
        if self.vines {
            all.push("Vines inside plots were treated as samples of their plot.".to_owned());
        }
        if self.several_errors {
            all.push("Degrees of freedom of differences that rest on several errors were approximated [@satterthwaite-1946].".to_owned());
        }
        if self.letters {
            let how = match options.separation {
                Separation::Tukey => "by the studentized range for all pairs [@tukey-1953]",
                Separation::Lsd => {
                    "by the least significant difference after a significant F [@fisher-1935]"
                }
                Separation::Holm => "by t tests with stepwise adjustment [@holm-1979]",
                Separation::Dunnett | Separation::None => "by their standard errors",
            };
            all.push(format!(
                "Means were separated {how} at {}, and letters assigned so that they agree with every comparison [@piepho-2004].",
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
        if self.chew {
            all.push("Levels of numeric factors were not separated by letters in the tables [@chew-1976].".to_owned());
        }
        let mut checks = Vec::new();
        if self.shapiro {
            checks.push("for normality [@shapiro-1965; @royston-1995]".to_owned());
        }
        if self.brown {
            checks.push("for equal spread about medians [@brown-1974]".to_owned());
        }
        if self.sphericity {
            checks.push("for seasons being equally correlated [@mauchly-1940], degrees of freedom being reduced where they are not [@greenhouse-1959]".to_owned());
        }
        if self.tukey_additivity {
            checks.push("for non-additivity [@tukey-1949]".to_owned());
        }
        if !checks.is_empty() {
            all.push(format!(
                "Residuals were tested {}.",
                crate::words::list(&checks)
            ));
        }
        if self.powers {
            all.push("Where a check was positive or the option asked for it, powers of the values were compared by their profile likelihood over the error strata [@box-1964].".to_owned());
        }
        if self.scale {
            all.push("Means on another scale were brought back as medians; the mean of lognormal values follows from their variance [@aitchison-1957].".to_owned());
        }
        if self.welch {
            all.push(
                "Means with unequal variances were compared with weights [@welch-1951].".to_owned(),
            );
        }
        if self.outlying {
            all.push("Plots were judged by their residual without themselves, with P for the largest of all [@cook-1982], and by how far they move the fit [@cook-1977]; tests without a plot give it a parameter of its own [@bartlett-1937].".to_owned());
        }
        all
    }

    /// The works those sentences cite.
    pub fn references(sentences: &[String]) -> Vec<Reference> {
        Reference::cited(&WORKS, sentences)
    }
}

const WORKS: [(&str, &str); 26] = [
    (
        "aitchison-1957",
        "Aitchison, J. and Brown, J.A.C. 1957. The Lognormal Distribution. Cambridge University Press, Cambridge.",
    ),
    (
        "bartlett-1937",
        "Bartlett, M.S. 1937. Some examples of statistical methods of research in agriculture and applied biology. Supplement to the Journal of the Royal Statistical Society 4: 137-183.",
    ),
    (
        "box-1964",
        "Box, G.E.P. and Cox, D.R. 1964. An analysis of transformations. Journal of the Royal Statistical Society, Series B 26: 211-252.",
    ),
    (
        "brown-1974",
        "Brown, M.B. and Forsythe, A.B. 1974. Robust tests for the equality of variances. Journal of the American Statistical Association 69: 364-367.",
    ),
    (
        "chew-1976",
        "Chew, V. 1976. Uses and abuses of Duncan's multiple range test. Proceedings of the Florida State Horticultural Society 89: 251-253.",
    ),
    (
        "greenhouse-1959",
        "Greenhouse, S.W. and Geisser, S. 1959. On methods in the analysis of profile data. Psychometrika 24: 95-112.",
    ),
    (
        "mauchly-1940",
        "Mauchly, J.W. 1940. Significance test for sphericity of a normal n-variate distribution. Annals of Mathematical Statistics 11: 204-209.",
    ),
    (
        "cook-1977",
        "Cook, R.D. 1977. Detection of influential observation in linear regression. Technometrics 19: 15-18.",
    ),
    (
        "cook-1982",
        "Cook, R.D. and Weisberg, S. 1982. Residuals and Influence in Regression. Chapman and Hall, New York.",
    ),
    (
        "dunnett-1955",
        "Dunnett, C.W. 1955. A multiple comparison procedure for comparing several treatments with a control. Journal of the American Statistical Association 50: 1096-1121.",
    ),
    (
        "fisher-1925",
        "Fisher, R.A. 1925. Statistical Methods for Research Workers. Oliver and Boyd, Edinburgh.",
    ),
    (
        "fisher-1935",
        "Fisher, R.A. 1935. The Design of Experiments. Oliver and Boyd, Edinburgh.",
    ),
    (
        "forsythe-1957",
        "Forsythe, G.E. 1957. Generation and use of orthogonal polynomials for data-fitting with a digital computer. Journal of the Society for Industrial and Applied Mathematics 5: 74-88.",
    ),
    (
        "holm-1979",
        "Holm, S. 1979. A simple sequentially rejective multiple test procedure. Scandinavian Journal of Statistics 6: 65-70.",
    ),
    (
        "payne-1977",
        "Payne, R.W. and Wilkinson, G.N. 1977. A general algorithm for analysis of variance. Applied Statistics 26: 251-260.",
    ),
    (
        "piepho-2004",
        "Piepho, H.-P. 2004. An algorithm for a letter-based representation of all-pairwise comparisons. Journal of Computational and Graphical Statistics 13: 456-466.",
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
        "shapiro-1965",
        "Shapiro, S.S. and Wilk, M.B. 1965. An analysis of variance test for normality (complete samples). Biometrika 52: 591-611.",
    ),
    (
        "tjur-1984",
        "Tjur, T. 1984. Analysis of variance models in orthogonal designs. International Statistical Review 52: 33-81.",
    ),
    (
        "tukey-1949",
        "Tukey, J.W. 1949. One degree of freedom for non-additivity. Biometrics 5: 232-242.",
    ),
    (
        "tukey-1953",
        "Tukey, J.W. 1953. The problem of multiple comparisons. Mimeographed monograph, Princeton University.",
    ),
    (
        "welch-1951",
        "Welch, B.L. 1951. On the comparison of several mean values: an alternative approach. Biometrika 38: 330-336.",
    ),
    (
        "wilkinson-1970",
        "Wilkinson, G.N. 1970. A general recursive procedure for analysis of variance. Biometrika 57: 19-46.",
    ),
    (
        "yates-1935",
        "Yates, F. 1935. Complex experiments. Supplement to the Journal of the Royal Statistical Society 2: 181-247.",
    ),
    (
        "yates-1937",
        "Yates, F. 1937. The Design and Analysis of Factorial Experiments. Technical Communication 35, Imperial Bureau of Soil Science, Harpenden.",
    ),
];
