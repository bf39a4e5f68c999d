//! Points that share a place set side by side, without chance.

/// Offsets from -1 to 1 for so many points: evenly apart, in the order of van der Corput's
/// sequence in base 2 (1935), so that neither a run nor a slope shows.
pub fn spread(count: usize) -> Vec<f64> {
    if count < 2 {
        return vec![0.0; count];
    }
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by_key(|i| (*i as u64).reverse_bits());
    let mut offsets = vec![0.0; count];
    for (rank, i) in order.into_iter().enumerate() {
        offsets[i] = rank as f64 / (count as f64 - 1.0) * 2.0 - 1.0;
    }
    offsets
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn raw_points_of_one_place_never_coincide() {
        for count in 2..40 {
            let mut offsets = spread(count);
            assert_eq!(offsets.len(), count);
            offsets.sort_by(f64::total_cmp);
            assert_eq!((offsets[0], offsets[count - 1]), (-1.0, 1.0));
            assert!(offsets.windows(2).all(|pair| pair[1] > pair[0]));
        }
        assert_eq!(spread(1), [0.0]);
        assert!(spread(0).is_empty());
    }
}
