//! Classifications that cannot be told apart because one follows from the other.

use std::collections::BTreeMap;

use crate::strata::Classifier;

/// Two factors of which one follows from the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Together {
    /// Place of the factor whose level says the level of the other.
    pub leader: usize,
    /// Place of the factor that follows.
    pub follower: usize,
    /// Whether each follows from the other.
    pub mutual: bool,
}

/// Whether all units in one level of `from` share one level of `factor`.
#[must_use]
pub fn follows(factor: &Classifier, from: &Classifier) -> bool {
    let mut known = BTreeMap::new();
    from.codes
        .iter()
        .zip(&factor.codes)
        .all(|(from, code)| known.insert(from, code).is_none_or(|before| before == code))
}

/// The pairs of factors with several levels of which one follows from the other.
#[must_use]
pub fn together(factors: &[&Classifier]) -> Vec<Together> {
    let mut found = Vec::new();
    for (second, after) in factors.iter().enumerate() {
        for (first, before) in factors[..second].iter().enumerate() {
            if before.levels.len() < 2 || after.levels.len() < 2 {
                continue;
            }
            let (forth, back) = (follows(after, before), follows(before, after));
            let (leader, follower) = match forth {
                true => (first, second),
                false => (second, first),
            };
            if forth || back {
                found.push(Together {
                    leader,
                    follower,
                    mutual: forth && back,
                });
            }
        }
    }
    found
}

impl Together {
    /// "cover and nodes left always go together: each level of nodes left has one level of cover only, so
    /// that what one did cannot be told from what the other did", with the names of the factors.
    #[must_use]
    pub fn words<S: AsRef<str>>(&self, names: &[S]) -> String {
        let (leader, follower) = (names[self.leader].as_ref(), names[self.follower].as_ref());
        let how = match self.mutual {
            true => "each level of one has one level of the other only".to_owned(),
            false => format!("each level of {leader} has one level of {follower} only"),
        };
        format!(
            "{follower} and {leader} always go together ({how}), so that what one did cannot be told from what the other did"
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn factor(codes: &[&str]) -> Classifier {
        Classifier::from_texts("factor", codes, &[])
    }

    #[test]
    fn a_factor_that_follows_is_found_with_its_leader() {
        let nodes = factor(&["12", "24", "36", "12", "24", "36"]);
        let cover = factor(&["grass", "bare", "bare", "grass", "bare", "bare"]);
        let crossed = factor(&["a", "a", "a", "b", "b", "b"]);
        let renamed = factor(&["x", "y", "z", "x", "y", "z"]);
        let pair = |leader, follower, mutual| Together {
            leader,
            follower,
            mutual,
        };
        assert_eq!(together(&[&nodes, &cover]), [pair(0, 1, false)]);
        assert_eq!(together(&[&cover, &nodes]), [pair(1, 0, false)]);
        assert_eq!(together(&[&nodes, &renamed]), [pair(0, 1, true)]);
        assert!(together(&[&nodes, &crossed]).is_empty());
        assert!(together(&[&nodes, &factor(&["a"; 6])]).is_empty());
        let names = ["nodes", "cover"];
        assert_eq!(
            pair(0, 1, false).words(&names),
            "cover and nodes always go together (each level of nodes has one level of cover only), so that what one did cannot be told from what the other did"
        );
    }
}
