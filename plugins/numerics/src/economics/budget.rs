//! The partial budget: only what changes is set against each other.
//!
//! Net change = (added returns + reduced costs) − (added costs + reduced returns). Every item is the
//! new less the old: a return that rises is added, one that falls is reduced, and so for costs. (Kay,
//! Edwards & Duffy 2019, *Farm Management*, McGraw-Hill; any handbook of farm management has it.)

use crate::sum::sum;

/// The four parts of a partial budget, none of them negative.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PartialBudget {
    /// Returns that come in addition.
    pub added_returns: f64,
    /// Costs that fall away.
    pub reduced_costs: f64,
    /// Costs that come in addition.
    pub added_costs: f64,
    /// Returns that fall away.
    pub reduced_returns: f64,
}

impl PartialBudget {
    /// From changes of returns and of costs, each the new less the old.
    #[must_use]
    pub fn of_changes(returns: &[f64], costs: &[f64]) -> Self {
        let rises = |changes: &[f64]| {
            let up: Vec<f64> = changes.iter().map(|change| change.max(0.0)).collect();
            sum(&up)
        };
        let falls = |changes: &[f64]| {
            let down: Vec<f64> = changes.iter().map(|change| (-change).max(0.0)).collect();
            sum(&down)
        };
        Self {
            added_returns: rises(returns),
            reduced_costs: falls(costs),
            added_costs: rises(costs),
            reduced_returns: falls(returns),
        }
    }

    /// What is gained: added returns and reduced costs.
    #[must_use]
    pub fn gained(&self) -> f64 {
        self.added_returns + self.reduced_costs
    }

    /// What is given up: added costs and reduced returns.
    #[must_use]
    pub fn given_up(&self) -> f64 {
        self.added_costs + self.reduced_returns
    }

    /// The net change.
    #[must_use]
    pub fn net(&self) -> f64 {
        self.gained() - self.given_up()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_published_budget_comes_to_its_own_net_and_not_to_its_misprint() {
        // An article on partial budgets in the farm press (Southeast/Delta Farm Press) prints gains of
        // 97,500 + 55,000, losses of 88,000 + 69,000 and a net of −4,500; one of its lines gives the
        // gains as 152,000, which is not their sum.
        let budget = PartialBudget::of_changes(&[97_500.0, -88_000.0], &[-55_000.0, 69_000.0]);
        assert_eq!(budget.gained(), 152_500.0);
        assert_eq!(budget.given_up(), 157_000.0);
        assert_eq!(budget.net(), -4_500.0);
    }

    #[test]
    fn a_pruning_machine_is_worth_what_hands_and_crop_change() {
        // 605 vines an acre, 24 an hour by hand and 90 with machine and follow-up at 18 an hour;
        // machine 45; crop 4.2 to 4.6 ton at 650, 110 a ton to pick and haul. Labour rates from the
        // report SARE FNE01-356; prices assumed. By hand: 260 + 332.75 − 89 = 503.75.
        let hours = 605.0 / 24.0 - 605.0 / 90.0;
        assert!(
            (605.0_f64 / 24.0 - 25.208).abs() < 5e-4 && (605.0_f64 / 90.0 - 6.722).abs() < 5e-4
        );
        let crop = 4.6 - 4.2;
        let budget =
            PartialBudget::of_changes(&[650.0 * crop], &[-18.0 * hours, 45.0, 110.0 * crop]);
        assert!((budget.added_returns - 260.0).abs() < 1e-9);
        assert!((budget.reduced_costs - 332.75).abs() < 1e-9);
        assert!((budget.added_costs - 89.0).abs() < 1e-9);
        assert_eq!(budget.reduced_returns, 0.0);
        assert!((budget.net() - 503.75).abs() < 1e-9);
        // The same per hectare: an acre is 4046.8564224 m².
        assert!((budget.net() * 10_000.0 / 4_046.856_422_4 - 1244.79).abs() < 5e-3);
        // Without any effect on the crop.
        let hands = PartialBudget::of_changes(&[], &[-18.0 * hours, 45.0]);
        assert!((hands.net() - 287.75).abs() < 1e-9);
    }
}
