//! Values over all seasons, and season by season.
//!
//! Seasons are no replicates: over seasons a plot counts once, with the mean of its seasons. A plot
//! that lacks a season would compare other years with the rest, so it is left out and named.

use caneplot_numerics::sum::mean;

/// The values of one season, or means over all.
#[derive(Debug, Clone, PartialEq)]
pub struct Occasion {
    /// The season; `None` over all seasons.
    pub season: Option<usize>,
    /// The seasons behind each value.
    pub seasons: Vec<usize>,
    /// The plots with values.
    pub plots: Vec<usize>,
    /// Several values of each plot: a column each.
    pub columns: Vec<Vec<f64>>,
    /// Plots that lack a value in one of the seasons or more.
    pub left_out: Vec<usize>,
}

/// All seasons together, then, where there are several, each of them; none where nothing is recorded.
///
/// `records` hold the values by plot and season; a season without any is no season here.
#[must_use]
pub fn occasions(records: &[Vec<Option<Vec<f64>>>]) -> Vec<Occasion> {
    let count = records.first().map_or(0, Vec::len);
    let recorded: Vec<usize> = (0..count)
        .filter(|&season| records.iter().any(|plot| plot[season].is_some()))
        .collect();
    if recorded.is_empty() {
        return Vec::new();
    }
    let mut all = vec![occasion(records, None, &recorded)];
    if recorded.len() > 1 {
        let single = |&season: &usize| occasion(records, Some(season), &[season]);
        all.extend(recorded.iter().map(single));
    }
    all
}

fn occasion(
    records: &[Vec<Option<Vec<f64>>>],
    season: Option<usize>,
    seasons: &[usize],
) -> Occasion {
    let (mut plots, mut left_out, mut columns) = (Vec::new(), Vec::new(), Vec::new());
    for (plot, record) in records.iter().enumerate() {
        let found: Vec<&Vec<f64>> = seasons.iter().filter_map(|&s| record[s].as_ref()).collect();
        if found.len() < seasons.len() {
            left_out.push(plot);
            continue;
        }
        plots.push(plot);
        columns.resize(found[0].len(), Vec::new());
        for (at, column) in columns.iter_mut().enumerate() {
            let values: Vec<f64> = found.iter().map(|values| values[at]).collect();
            // One value a season and at least one season, so there is a mean.
            column.push(mean(&values).unwrap_or_default());
        }
    }
    Occasion {
        season,
        seasons: seasons.to_vec(),
        plots,
        columns,
        left_out,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plot_that_lacks_a_season_is_left_out_of_the_whole_only() {
        let some = |value: f64| Some(vec![value, -value]);
        let records = vec![
            vec![some(1.0), None, some(3.0)],
            vec![some(5.0), None, None],
            vec![None, None, None],
        ];
        let found = occasions(&records);
        assert_eq!(found.len(), 3);
        assert_eq!(found[0].plots, [0]);
        assert_eq!(found[0].left_out, [1, 2]);
        assert_eq!(found[0].columns, [vec![2.0], vec![-2.0]]);
        assert_eq!(found[1].season, Some(0));
        assert_eq!(found[1].plots, [0, 1]);
        assert_eq!(found[2].season, Some(2));
        assert_eq!(found[2].left_out, [1, 2]);
    }

    #[test]
    fn one_season_is_one_occasion() {
        assert_eq!(occasions(&[vec![Some(vec![1.0])]]).len(), 1);
        assert!(occasions(&[vec![None]]).is_empty());
    }
}
