//! The methods paragraph and the works it cites: only what was used.

use caneplot_numerics::curves::Shape;
use caneplot_plugin::findings::Reference;

use crate::options::Options;
use crate::place::Event;
use crate::study::{Fitted, Study};

/// What the sections made use of.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Used {
    fitted: bool,
    seasons: bool,
    groups: bool,
    joins: bool,
    asymptotic: bool,
    fieller: bool,
    money: bool,
}

impl Used {
    /// Notes what a study used.
    pub fn note(&mut self, study: &Study<'_>) {
        let members = study
            .groups
            .iter()
            .flat_map(|group| group.fitted().map(|(_, it)| it));
        for fitted in study.overall.iter().chain(members) {
            self.note_curve(fitted);
        }
        self.seasons |= study.season_group().is_some();
        self.groups |= study.groups.iter().any(|group| !group.seasons);
        self.money |= study.options.money().is_some();
    }

    fn note_curve(&mut self, fitted: &Fitted) {
        self.fitted = true;
        let compared = |shape: Shape| {
            fitted
                .comparison
                .candidates
                .iter()
                .any(|candidate| candidate.shape == shape && candidate.aicc.is_some())
        };
        self.joins |= compared(Shape::LinePlateau) || compared(Shape::QuadraticPlateau);
        self.asymptotic |= compared(Shape::Asymptotic);
        self.fieller |= fitted
            .spot
            .as_ref()
            .is_ok_and(|spot| matches!(spot.event, Event::Highest | Event::Lowest));
    }

    /// Sentences for the methods paragraph.
    pub fn sentences(&self, options: &Options) -> Vec<String> {
        if !self.fitted {
            return Vec::new();
        }
        let mut all = vec![
            "Curves over amounts were fitted by least squares with blocks, larger units of the design and other factors eliminated; intervals and tests rest on the variation between units treated alike in the stratum the amount was applied to, not on the scatter about the curve.".to_owned(),
            "Shapes were compared by the corrected information criterion of Akaike [@akaike-1974; @hurvich-1989] with the same design terms in each; the simplest shape within 2 of the smallest value was taken [@burnham-2002]. No change was taken only where neither the levels as a whole nor their linear or quadratic part differed clearly.".to_owned(),
        ];
        if self.joins {
            all.push("Joins of plateau curves were found exactly, piece by piece between neighbouring levels, and their intervals from the profile of the residual sum of squares [@hinkley-1969; @lerman-1980]; at least two levels (three for the quadratic) had to lie at or below a join.".to_owned());
        }
        if self.asymptotic {
            all.push("The asymptotic curve is that of Mitscherlich [@mitscherlich-1909], height at the lowest level plus d (1 − exp(−k (x − lowest level))), its rate found and bounded by profile.".to_owned());
        }
        if self.fieller {
            all.push(
                "Optima of quadratics were bounded by Fieller's theorem [@fieller-1954]."
                    .to_owned(),
            );
        }
        if self.seasons {
            all.push("With several seasons the curve over all was fitted to means of plots over seasons, and every season by itself; whether curves run parallel was tested within plots.".to_owned());
        }
        if self.groups {
            all.push("Curves at the levels of other factors were tested for parallelism by the interaction and its linear and quadratic parts.".to_owned());
        }
        if self.money {
            all.push("The economic optimum is where the slope of the curve equals the ratio of cost to price, both taken as known.".to_owned());
        }
        all.push(format!("Intervals are {} intervals.", options.confidence()));
        all
    }

    /// The works those sentences cite.
    pub fn references(sentences: &[String]) -> Vec<Reference> {
        let cited = |key: &str| {
            sentences
                .iter()
                .any(|sentence| sentence.contains(&format!("@{key}")))
        };
        WORKS
            .iter()
            .filter(|(key, _)| cited(key))
            .map(|(key, text)| Reference {
                key: (*key).to_owned(),
                text: (*text).to_owned(),
            })
            .collect()
    }
}

const WORKS: [(&str, &str); 7] = [
    (
        "akaike-1974",
        "Akaike, H. 1974. A new look at the statistical model identification. IEEE Transactions on Automatic Control 19: 716-723.",
    ),
    (
        "burnham-2002",
        "Burnham, K.P. and Anderson, D.R. 2002. Model Selection and Multimodel Inference. 2nd ed. Springer, New York.",
    ),
    (
        "fieller-1954",
        "Fieller, E.C. 1954. Some problems in interval estimation. Journal of the Royal Statistical Society B 16: 175-185.",
    ),
    (
        "hinkley-1969",
        "Hinkley, D.V. 1969. Inference about the intersection in two-phase regression. Biometrika 56: 495-504.",
    ),
    (
        "hurvich-1989",
        "Hurvich, C.M. and Tsai, C.-L. 1989. Regression and time series model selection in small samples. Biometrika 76: 297-307.",
    ),
    (
        "lerman-1980",
        "Lerman, P.M. 1980. Fitting segmented regression models by grid search. Applied Statistics 29: 77-84.",
    ),
    (
        "mitscherlich-1909",
        "Mitscherlich, E.A. 1909. Das Gesetz des Minimums und das Gesetz des abnehmenden Bodenertrages. Landwirtschaftliche Jahrbücher 38: 537-552.",
    ),
];
