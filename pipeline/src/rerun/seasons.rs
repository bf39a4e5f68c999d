//! Forms for other seasons than those of the original.

/// How season labels of the original become new ones.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exchange {
    old: Vec<String>,
    new: Vec<String>,
}

impl Exchange {
    /// From the old seasons, in order, to the new ones.
    #[must_use]
    pub fn new(old: &[String], new: &[String]) -> Self {
        Self {
            old: old.to_vec(),
            new: new.to_vec(),
        }
    }

    /// The labels that records of an old label are wanted under: its own successor; those of the
    /// last season also under every season there are more now; none where there are fewer seasons now.
    ///
    /// Years outside the old seasons, such as that of a winter before the first harvest, move by as
    /// many years as the first season does. Other labels outside stay.
    #[must_use]
    pub fn labels(&self, label: &str) -> Vec<String> {
        if let Some(at) = self.old.iter().position(|one| one == label) {
            let last = at + 1 == self.old.len();
            let end = if last { self.new.len() } else { at + 1 };
            return self.new.get(at..end.max(at)).unwrap_or_default().to_vec();
        }
        let year = |text: &str| text.parse::<i64>().ok();
        let first = |list: &[String]| list.first().and_then(|text| year(text));
        match (year(label), first(&self.old), first(&self.new)) {
            (Some(own), Some(old), Some(new)) => vec![(own + new - old).to_string()],
            _ => vec![label.to_owned()],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn exchange(old: &[&str], new: &[&str]) -> Exchange {
        let owned = |list: &[&str]| list.iter().map(|&one| one.to_owned()).collect::<Vec<_>>();
        Exchange::new(&owned(old), &owned(new))
    }

    #[test]
    fn seasons_follow_each_other() {
        let same = exchange(&["2021", "2022"], &["2025", "2026"]);
        assert_eq!(same.labels("2022"), ["2026"]);
        // The winter before the first harvest.
        assert_eq!(same.labels("2020"), ["2024"]);
        assert_eq!(same.labels("before"), ["before"]);
    }

    #[test]
    fn more_seasons_repeat_the_last_and_fewer_drop_it() {
        let more = exchange(&["2021", "2022"], &["a", "b", "c"]);
        assert_eq!(more.labels("2021"), ["a"]);
        assert_eq!(more.labels("2022"), ["b", "c"]);
        let fewer = exchange(&["2021", "2022"], &["2030"]);
        assert_eq!(fewer.labels("2021"), ["2030"]);
        assert!(fewer.labels("2022").is_empty());
    }
}
