//! Balanced pruning: the nodes to leave on a vine by the weight of its own prunings.
//!
//! N = A + B (W − 1), where W is the weight of the prunings in units of the rule (a pound, half a
//! kilogram). Rules of this form: Howell et al. 1991, Am. J. Enol. Vitic. 42:191 (15+15, 20+20 and
//! 25+25); O'Daniel, Archbold & Kurtural 2012, Am. J. Enol. Vitic. 63:284 (20+10, 30+10 and 40+10).
//! A constant ratio (44 nodes a kilogram in Zabadal et al. 2002, Am. J. Enol. Vitic. 53:204) is the
//! rule with A = B and small vines in proportion.

use serde::{Deserialize, Serialize};

/// What a vine gets whose prunings weigh less than one unit of the rule.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Light {
    /// As many nodes as for one unit.
    #[serde(rename = "as one unit")]
    AsOneUnit,
    /// The nodes of one unit, times its share of a unit.
    #[serde(rename = "in proportion")]
    InProportion,
    /// What the line of the rule gives below one unit, at least none.
    #[serde(rename = "on the line")]
    OnTheLine,
    /// So many nodes.
    #[serde(rename = "nodes")]
    Nodes(f64),
}

/// A rule of balanced pruning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PruningRule {
    /// As it is written: "20 + 10 per lb".
    pub words: String,
    /// Nodes for the first unit of prunings.
    pub first: f64,
    /// Nodes for each further unit; parts of a unit count in proportion.
    pub further: f64,
    /// Kilograms of one unit.
    pub unit_kg: f64,
    /// Vines with less than one unit.
    pub light: Light,
    /// Fewest nodes left on any vine.
    #[serde(default)]
    pub least: Option<f64>,
    /// Most nodes left on any vine.
    #[serde(default)]
    pub most: Option<f64>,
}

impl PruningRule {
    /// Nodes to leave on a vine with so many kilograms of prunings; not rounded.
    #[must_use]
    pub fn nodes(&self, prunings_kg: f64) -> f64 {
        let units = prunings_kg / self.unit_kg;
        let line = self.first + self.further * (units - 1.0);
        let nodes = match self.light {
            _ if units >= 1.0 => line,
            Light::AsOneUnit => self.first,
            Light::InProportion => self.first * units,
            Light::OnTheLine => line.max(0.0),
            Light::Nodes(nodes) => nodes,
        };
        let nodes = self.least.map_or(nodes, |least| nodes.max(least));
        self.most.map_or(nodes, |most| nodes.min(most))
    }

    /// Whether a vine with so many kilograms of prunings is one of those below one unit.
    #[must_use]
    pub fn is_light(&self, prunings_kg: f64) -> bool {
        prunings_kg < self.unit_kg
    }

    /// What a vine below one unit gets, in words.
    #[must_use]
    pub fn light_words(&self) -> String {
        match self.light {
            Light::AsOneUnit => format!("{} nodes, as for one unit", self.first),
            Light::InProportion => "its share of one unit in proportion".to_owned(),
            Light::OnTheLine => "what the line of the rule gives".to_owned(),
            Light::Nodes(nodes) => format!("{nodes} nodes"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1 lb (International Yard and Pound Agreement, 1959).
    const POUND_KG: f64 = 0.453_592_37;

    fn rule(first: f64, further: f64) -> PruningRule {
        PruningRule {
            words: String::new(),
            first,
            further,
            unit_kg: POUND_KG,
            light: Light::AsOneUnit,
            least: None,
            most: None,
        }
    }

    fn nodes(rule: &PruningRule, pounds: &[f64]) -> Vec<f64> {
        pounds
            .iter()
            .map(|pounds| (rule.nodes(pounds * POUND_KG) * 1e9).round() / 1e9)
            .collect()
    }

    #[test]
    fn thirty_plus_ten_leaves_fifty_buds_at_three_pounds() {
        // "Growing Grapes in West Virginia", West Virginia Department of Agriculture.
        assert_eq!(nodes(&rule(30.0, 10.0), &[3.0]), [50.0]);
    }

    #[test]
    fn parts_of_a_unit_count_in_proportion() {
        // By hand from N = A + B (W - 1).
        let pounds = [1.0, 2.0, 2.5, 4.0];
        assert_eq!(nodes(&rule(30.0, 10.0), &pounds), [30.0, 40.0, 45.0, 60.0]);
        assert_eq!(nodes(&rule(20.0, 20.0), &pounds), [20.0, 40.0, 50.0, 80.0]);
        assert_eq!(nodes(&rule(20.0, 10.0), &pounds), [20.0, 30.0, 35.0, 50.0]);
    }

    #[test]
    fn a_ratio_of_44_nodes_a_kilogram_is_20_a_pound() {
        // Zabadal et al. 2002: 44 nodes/kg; 44 x 0.45359237 = 19.958 nodes/lb.
        let ratio = PruningRule {
            unit_kg: 1.0,
            light: Light::InProportion,
            ..rule(44.0, 44.0)
        };
        assert!((ratio.nodes(POUND_KG) - 19.958_064_28).abs() < 1e-12);
        assert!((ratio.nodes(2.0) - 88.0).abs() < 1e-12);
    }

    #[test]
    fn vines_below_one_unit_get_what_the_rule_says_for_them() {
        let half = [0.5];
        let with = |light| PruningRule {
            light,
            ..rule(20.0, 30.0)
        };
        assert_eq!(nodes(&with(Light::AsOneUnit), &half), [20.0]);
        assert_eq!(nodes(&with(Light::InProportion), &half), [10.0]);
        assert_eq!(nodes(&with(Light::OnTheLine), &half), [5.0]);
        assert_eq!(nodes(&with(Light::OnTheLine), &[0.1]), [0.0]);
        assert_eq!(nodes(&with(Light::Nodes(8.0)), &half), [8.0]);
        assert_eq!(nodes(&with(Light::Nodes(8.0)), &[1.0]), [20.0]);
    }

    #[test]
    fn the_least_and_the_most_hold_for_every_vine() {
        let capped = PruningRule {
            least: Some(15.0),
            most: Some(60.0),
            light: Light::InProportion,
            ..rule(20.0, 20.0)
        };
        assert_eq!(nodes(&capped, &[0.1, 2.0, 4.0]), [15.0, 40.0, 60.0]);
    }
}
