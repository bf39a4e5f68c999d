//! Published rules for leaving more nodes where buds died in winter, and the exact sum.
//!
//! The rules disagree, and two of them leave gaps or overlap as printed; they stand here as they are
//! printed, each under its source, and no one of them is chosen.

use super::whole;

/// What a rule says for a kill from one per cent to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Lowest per cent of buds killed.
    pub from: f64,
    /// Highest.
    pub to: f64,
    /// Which of the two belong to the step, as printed.
    pub ends: Ends,
    /// What to do.
    pub advice: Advice,
}

/// What a rule says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Advice {
    /// Prune as usual.
    AsUsual,
    /// So many per cent more nodes.
    More(f64),
    /// As many per cent more nodes as per cent of the buds are dead.
    MoreByKill,
    /// Make up for the buds that are dead; the source gives no sum, and to keep as many alive takes the
    /// exact one.
    MakeUp,
    /// Prune as little as can be.
    Minimal,
}

/// Which ends of a step belong to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// "15 to 35 %": both.
    Both,
    /// "Less than 20 %": not the upper one.
    Below,
    /// "More than 50 %": not the lower one.
    Above,
}

/// A published rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WinterRule {
    /// Name on the screen.
    pub name: &'static str,
    /// Where it is printed.
    pub source: &'static str,
    /// Its steps.
    pub steps: &'static [Step],
    /// What the print leaves open.
    pub open: Option<&'static str>,
}

impl Step {
    fn holds(&self, percent: f64) -> bool {
        match self.ends {
            Ends::Both => (self.from..=self.to).contains(&percent),
            Ends::Below => percent < self.to,
            Ends::Above => percent > self.from,
        }
    }
}

const fn step(from: f64, to: f64, advice: Advice) -> Step {
    let ends = Ends::Both;
    Step {
        from,
        to,
        ends,
        advice,
    }
}

const fn below(to: f64, advice: Advice) -> Step {
    let ends = Ends::Below;
    Step {
        from: 0.0,
        to,
        ends,
        advice,
    }
}

const fn above(from: f64, advice: Advice) -> Step {
    let ends = Ends::Above;
    Step {
        from,
        to: 100.0,
        ends,
        advice,
    }
}

/// Every rule, in the order shown.
pub const RULES: &[WinterRule] = &[
    WinterRule {
        name: "Cornell",
        source: "Cornell Cooperative Extension, Northern New York grape update, 28 February 2014",
        steps: &[
            below(20.0, Advice::AsUsual),
            step(20.0, 80.0, Advice::MoreByKill),
            above(80.0, Advice::Minimal),
        ],
        open: None,
    },
    WinterRule {
        name: "Purdue",
        source: "Purdue University, Facts for Fancy Fruit, article on double pruning",
        steps: &[
            step(0.0, 15.0, Advice::AsUsual),
            step(15.0, 35.0, Advice::More(35.0)),
            step(35.0, 50.0, Advice::More(50.0)),
            above(50.0, Advice::Minimal),
        ],
        open: Some(
            "its third step is printed as 25 to 50 %, which overlaps the second; it is read as 35 to 50 % here",
        ),
    },
    WinterRule {
        name: "Zabadal",
        source: "T. Zabadal, Growing Table Grapes, Michigan State University",
        steps: &[
            step(0.0, 15.0, Advice::AsUsual),
            step(20.0, 50.0, Advice::MakeUp),
            above(50.0, Advice::Minimal),
        ],
        open: Some(
            "it says nothing for kills between 15 and 20 %, and gives no sum for 20 to 50 %: as many live nodes take the exact one",
        ),
    },
];

/// A rule's answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// The step in words.
    pub says: String,
    /// Nodes to leave; `None` where the rule gives no number.
    pub nodes: Option<f64>,
}

/// Nodes to leave so that as many are alive as were meant: N / (1 - p). `None` where all are dead.
#[must_use]
pub fn exact(target: f64, killed: f64) -> Option<f64> {
    (killed < 1.0).then(|| target / (1.0 - killed))
}

impl WinterRule {
    /// What the rule says of a share of buds killed, from 0 to 1; at the edge of two steps both, the
    /// milder first. None where it says nothing.
    #[must_use]
    pub fn answers(&self, target: f64, killed: f64) -> Vec<Answer> {
        // A share of counts is a quotient of whole numbers: its last digit decides no step.
        let percent = (killed * 1e10).round() / 1e8;
        let steps = self.steps.iter();
        steps
            .filter(|step| step.holds(percent))
            .map(|step| answer(step, target, killed))
            .collect()
    }
}

fn answer(step: &Step, target: f64, killed: f64) -> Answer {
    let range = match step.ends {
        Ends::Both => format!("{} to {} %", step.from, step.to),
        Ends::Below => format!("below {} %", step.to),
        Ends::Above => format!("above {} %", step.from),
    };
    let (words, nodes) = match step.advice {
        Advice::AsUsual => ("as usual".to_owned(), Some(target)),
        Advice::More(more) => (
            format!("{more} % more"),
            Some(target * (100.0 + more) / 100.0),
        ),
        Advice::MoreByKill => (
            "more by the per cent killed".to_owned(),
            Some(target * (1.0 + killed)),
        ),
        Advice::MakeUp => ("make up for the dead".to_owned(), exact(target, killed)),
        Advice::Minimal => ("prune as little as can be".to_owned(), None),
    };
    Answer {
        says: format!("{range}: {words}"),
        nodes: nodes.map(whole),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn nodes(rule: usize, target: f64, killed: f64) -> Vec<Option<f64>> {
        let answers = RULES[rule].answers(target, killed);
        answers.into_iter().map(|answer| answer.nodes).collect()
    }

    #[test]
    fn forty_live_nodes_at_35_percent_are_62_exactly_and_54_by_cornell() {
        // By hand: 40 / 0.65 = 61.5; Cornell prints 35 % more for 35 %, 40 x 1.35 = 54.
        assert_eq!(exact(40.0, 0.35).map(whole), Some(62.0));
        assert_eq!(nodes(0, 40.0, 0.35), [Some(54.0)]);
        assert_eq!(nodes(2, 40.0, 0.35), [Some(62.0)]);
    }

    #[test]
    fn at_the_edge_of_two_steps_both_are_shown() {
        assert_eq!(nodes(1, 40.0, 0.35), [Some(54.0), Some(60.0)]);
        assert_eq!(nodes(1, 40.0, 0.15), [Some(40.0), Some(54.0)]);
        // Printed as below 20 %, 20 to 80 % and above 80 %.
        assert_eq!(nodes(0, 40.0, 0.2), [Some(48.0)]);
        assert_eq!(nodes(0, 40.0, 0.8), [Some(72.0)]);
        assert_eq!(nodes(1, 40.0, 0.5), [Some(60.0)]);
    }

    #[test]
    fn a_rule_silent_on_a_kill_gives_no_answer() {
        assert!(nodes(2, 40.0, 0.17).is_empty());
        assert_eq!(nodes(1, 40.0, 0.17), [Some(54.0)]);
        assert_eq!(nodes(0, 40.0, 0.17), [Some(40.0)]);
    }

    #[test]
    fn light_and_total_kills_have_no_sum_to_do() {
        for rule in 0..RULES.len() {
            assert_eq!(nodes(rule, 40.0, 0.1), [Some(40.0)]);
            assert_eq!(nodes(rule, 40.0, 1.0), [None]);
        }
        assert_eq!(exact(40.0, 1.0), None);
        assert_eq!(exact(40.0, 0.0), Some(40.0));
    }
}
