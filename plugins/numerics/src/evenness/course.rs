//! From the dates on which single vines came to a stage to the course of the plot.
//!
//! The i-th of n sorted dates is taken as the day on which a share (i − ½)/n had come to the stage
//! (Hazen 1914, *Trans. Am. Soc. Civ. Eng.* 77:1539), and days in between are interpolated in a
//! straight line. A tenth and nine tenths then lie inside the dates from five vines on.

/// Fewest vines of a course: with fewer the first vine is later than a tenth.
pub const FEWEST: usize = 5;

/// Days on which shares of the vines of a plot had come to a stage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Course {
    /// A tenth.
    pub tenth: f64,
    /// Half.
    pub half: f64,
    /// Nine tenths.
    pub nine_tenths: f64,
}

impl Course {
    /// From one date a vine; `None` for fewer than [`FEWEST`].
    ///
    /// ```
    /// # use caneplot_numerics::evenness::Course;
    /// let course = Course::of(&[110.0, 100.0, 104.0, 102.0, 106.0]).unwrap();
    /// assert_eq!(course.half, 104.0);
    /// assert_eq!(course.days(), 10.0);
    /// assert_eq!(Course::of(&[100.0, 102.0, 104.0, 106.0]), None);
    /// ```
    #[must_use]
    pub fn of(dates: &[f64]) -> Option<Self> {
        if dates.len() < FEWEST {
            return None;
        }
        let mut sorted = dates.to_vec();
        sorted.sort_by(f64::total_cmp);
        let n = sorted.len() as f64;
        // In tenths of a vine, so that whole places are met exactly.
        let day = |tenths: f64| {
            let place = (n * tenths - 5.0) / 10.0;
            let before = place.floor().clamp(0.0, n - 1.0);
            let at = before as usize;
            let next = sorted[(at + 1).min(sorted.len() - 1)];
            sorted[at] + (place - before) * (next - sorted[at])
        };
        Some(Self {
            tenth: day(1.0),
            half: day(5.0),
            nine_tenths: day(9.0),
        })
    }

    /// Days from a tenth to nine tenths.
    #[must_use]
    pub fn days(&self) -> f64 {
        self.nine_tenths - self.tenth
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_vines_are_interpolated_half_way() {
        // By hand: shares 0.05, 0.15 … 0.95 on days 0, 1, 4, 9 … 81; a tenth is half way from 0 to 1,
        // half from 16 to 25, nine tenths from 64 to 81.
        let dates: Vec<f64> = (0..10).map(|i| f64::from(i * i)).collect();
        let course = Course::of(&dates).unwrap();
        assert_eq!(course.tenth, 0.5);
        assert_eq!(course.half, 20.5);
        assert_eq!(course.nine_tenths, 72.5);
        assert_eq!(course.days(), 72.0);
    }

    #[test]
    fn six_vines_lie_a_tenth_of_a_step_inside() {
        // By hand: place of a tenth 6·0.1 − 0.5 = 0.1, of nine tenths 6·0.9 − 0.5 = 4.9.
        let course = Course::of(&[90.0, 91.0, 92.0, 93.0, 94.0, 104.0]).unwrap();
        assert!((course.tenth - 90.1).abs() < 1e-12);
        assert!((course.nine_tenths - 103.0).abs() < 1e-12);
    }

    #[test]
    fn one_day_for_all_is_a_course_of_no_days() {
        assert_eq!(Course::of(&[100.0; 7]).unwrap().days(), 0.0);
    }
}
