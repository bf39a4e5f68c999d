//! Net benefits as costs rise (CIMMYT 1988, *From Agronomic Data to Farmer Recommendations*, Mexico
//! D.F.).
//!
//! Treatments are put in the order of their costs that vary. One is dominated where another costs no
//! more and brings at least as much. Between one that is not and the next such, the marginal rate of
//! return is the gain of net benefit over the gain of costs.

/// What a treatment costs and brings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Alternative {
    /// Total costs that vary.
    pub costs: f64,
    /// Net benefit.
    pub benefit: f64,
}

/// One treatment in the order of costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Its place in the list given.
    pub of: usize,
    /// Whether another costs no more and brings at least as much.
    pub dominated: bool,
    /// The treatment before it that is not dominated, and the marginal rate of return from there, as a
    /// share; `None` for the first and for dominated ones, and where the costs are the same.
    pub rate: Option<(usize, f64)>,
}

/// Treatments by rising costs; of equal costs the one that brings most first.
#[must_use]
pub fn steps(alternatives: &[Alternative]) -> Vec<Step> {
    let mut order: Vec<usize> = (0..alternatives.len()).collect();
    order.sort_by(|&a, &b| {
        let (a, b) = (&alternatives[a], &alternatives[b]);
        a.costs
            .total_cmp(&b.costs)
            .then(b.benefit.total_cmp(&a.benefit))
    });
    let mut last: Option<usize> = None;
    let mut steps = Vec::new();
    for of in order {
        let own = alternatives[of];
        let dominated = last.is_some_and(|last| alternatives[last].benefit >= own.benefit);
        let mut rate = None;
        if !dominated {
            rate = last.and_then(|from| {
                let costs = own.costs - alternatives[from].costs;
                let gain = own.benefit - alternatives[from].benefit;
                (costs > 0.0).then_some((from, gain / costs))
            });
            last = Some(of);
        }
        steps.push(Step {
            of,
            dominated,
            rate,
        });
    }
    steps
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_dearest_that_brings_less_is_dominated() {
        // A (200, 2500), B (300, 2800), C (450, 2750): C is dominated, from A to B 300 %.
        let option = |costs, benefit| Alternative { costs, benefit };
        let found = steps(&[
            option(450.0, 2750.0),
            option(200.0, 2500.0),
            option(300.0, 2800.0),
        ]);
        let order: Vec<usize> = found.iter().map(|step| step.of).collect();
        assert_eq!(order, [1, 2, 0]);
        assert_eq!(found[0].rate, None);
        assert_eq!(found[1].rate, Some((1, 3.0)));
        assert!(found[2].dominated && found[2].rate.is_none());
    }

    #[test]
    fn of_equal_costs_only_the_best_stands() {
        let option = |costs, benefit| Alternative { costs, benefit };
        let found = steps(&[option(10.0, 5.0), option(10.0, 7.0)]);
        assert_eq!(found[0].of, 1);
        assert!(found[1].dominated);
    }
}
