//! How hard a text is to read.
//!
//! English: the grade level of Flesch and Kincaid, 0.39 words/sentences + 11.8 syllables/words − 15.59
//! (Kincaid, Fishburne, Rogers & Chissom 1975, "Derivation of new readability formulas for Navy
//! enlisted personnel", Naval Technical Training Command, Research Branch Report 8-75). Spanish: the
//! ease of Fernández Huerta, 206.84 − 60 syllables/words − 1.02 words/sentences (Fernández Huerta 1959,
//! "Medidas sencillas de lecturabilidad", Consigna 214:29-32, with the sentence term as corrected by
//! Law 2011: mean words a sentence); higher is easier, 60 and above is plain.
//!
//! Syllables are counted by rules of spelling, so that a score is good to about half a grade.

/// Words, sentences and syllables of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// Words.
    pub words: usize,
    /// Sentences.
    pub sentences: usize,
    /// Syllables.
    pub syllables: usize,
}

impl Counts {
    /// Counts of a text in English.
    #[must_use]
    pub fn english(text: &str) -> Self {
        counts(text, english_syllables)
    }

    /// Counts of a text in Spanish.
    #[must_use]
    pub fn spanish(text: &str) -> Self {
        counts(text, spanish_syllables)
    }

    fn lengths(&self) -> Option<(f64, f64)> {
        if self.words == 0 || self.sentences == 0 {
            return None;
        }
        let words = self.words as f64;
        Some((words / self.sentences as f64, self.syllables as f64 / words))
    }

    /// School grade of Flesch and Kincaid; `None` without words.
    #[must_use]
    pub fn flesch_kincaid(&self) -> Option<f64> {
        let (sentence, word) = self.lengths()?;
        Some(0.39 * sentence + 11.8 * word - 15.59)
    }

    /// Ease of Fernández Huerta; `None` without words.
    #[must_use]
    pub fn fernandez_huerta(&self) -> Option<f64> {
        let (sentence, word) = self.lengths()?;
        Some(206.84 - 60.0 * word - 1.02 * sentence)
    }
}

/// The prose of a Markdown page: no headings, tables, figures or marks; an item of a list ends a
/// sentence.
#[must_use]
pub fn prose(markdown: &str) -> String {
    let mut out = String::new();
    for line in markdown.lines().map(str::trim) {
        if line.is_empty() || line.starts_with(['#', '|', '!', '<']) {
            continue;
        }
        let line = line.strip_prefix("- ").unwrap_or(line);
        let plain: String = line
            .chars()
            .filter(|c| !matches!(c, '*' | '\\' | '`'))
            .collect();
        out.push_str(&plain);
        if !plain.ends_with(['.', '?', '!', ':']) {
            out.push('.');
        }
        out.push('\n');
    }
    out
}

fn counts(text: &str, syllables: fn(&str) -> usize) -> Counts {
    let mut found = Counts::default();
    let mut open = false;
    for token in text.split_whitespace() {
        let word: String = token.chars().filter(|c| c.is_alphanumeric()).collect();
        let is_word = word.chars().any(char::is_alphabetic);
        if is_word {
            found.words += 1;
            found.syllables += syllables(&word).max(1);
            open = true;
        } else if !word.is_empty() {
            // A number is a word of one beat: it is looked at, not spelt out.
            found.words += 1;
            found.syllables += 1;
            open = true;
        }
        let last = token.trim_end_matches([')', '"', '\'', '”']);
        if open && last.ends_with(['.', '?', '!', ':', ';']) {
            found.sentences += 1;
            open = false;
        }
    }
    if open {
        found.sentences += 1;
    }
    found
}

/// Syllables of an English word: groups of vowels, less the silent endings.
fn english_syllables(word: &str) -> usize {
    let word: Vec<char> = word.to_lowercase().chars().collect();
    let vowel = |c: char| matches!(c, 'a' | 'e' | 'i' | 'o' | 'u' | 'y');
    let mut groups = 0;
    for at in 0..word.len() {
        if vowel(word[at]) && (at == 0 || !vowel(word[at - 1])) {
            groups += 1;
        }
    }
    let text: String = word.iter().collect();
    // "be-ing", "fly-ing": the ending is a syllable of its own behind a vowel.
    if text.ends_with("ing") && word.len() > 3 && vowel(word[word.len() - 4]) {
        groups += 1;
    }
    let before = |tail: usize| word.len().checked_sub(tail + 1).map(|at| word[at]);
    // "prune", "vines", "pruned" end on a silent e; "table", "needed", "branches" do not.
    let silent = if text.ends_with("le") {
        before(2).is_some_and(vowel)
    } else if text.ends_with('e') {
        before(1).is_some_and(|c| !vowel(c))
    } else if text.ends_with("es") {
        before(2).is_some_and(|c| !vowel(c) && !matches!(c, 's' | 'x' | 'z' | 'h' | 'c' | 'g'))
    } else if text.ends_with("ed") {
        before(2).is_some_and(|c| !vowel(c) && !matches!(c, 't' | 'd'))
    } else {
        false
    };
    if silent && groups > 1 {
        groups - 1
    } else {
        groups
    }
}

/// Syllables of a Spanish word: vowels, where a weak one without accent beside another makes one
/// syllable with it.
fn spanish_syllables(word: &str) -> usize {
    let word: Vec<char> = word.to_lowercase().chars().collect();
    let strong = |c: char| matches!(c, 'a' | 'e' | 'o' | 'á' | 'é' | 'ó' | 'í' | 'ú');
    let weak = |c: char| matches!(c, 'i' | 'u' | 'ü');
    let mut count = 0;
    let mut at = 0;
    while at < word.len() {
        let c = word[at];
        // The u of "que", "qui", "gue", "gui" is silent.
        let silent = c == 'u'
            && at > 0
            && matches!(word[at - 1], 'q' | 'g')
            && word
                .get(at + 1)
                .is_some_and(|next| matches!(next, 'e' | 'i' | 'é' | 'í'));
        let y = c == 'y' && at + 1 == word.len();
        if silent {
            at += 1;
            continue;
        }
        if strong(c) {
            count += 1;
        } else if weak(c) || y {
            let after = at > 0 && (strong(word[at - 1]) || weak(word[at - 1]));
            let before = word.get(at + 1).is_some_and(|next| strong(*next));
            let accented = |c: char| matches!(c, 'í' | 'ú');
            let split = at > 0 && accented(word[at - 1]);
            if (!after && !before) || split {
                count += 1;
            }
        }
        at += 1;
    }
    count
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_grade_is_that_of_a_worked_example() {
        // "The cat sat on the mat." has 6 words of one syllable in one sentence:
        // 0.39 × 6 + 11.8 × 1 − 15.59 = −1.45, the value usually given for it.
        let counts = Counts::english("The cat sat on the mat.");
        assert_eq!(
            counts,
            Counts {
                words: 6,
                sentences: 1,
                syllables: 6
            }
        );
        assert!((counts.flesch_kincaid().unwrap() + 1.45).abs() < 1e-9);
        // An example in the Wikipedia article "Flesch–Kincaid readability tests" (2024): 16 words, and
        // a reading ease of 69, which is that of 23 syllables; their grade is
        // 0.39 × 16 + 11.8 × 23/16 − 15.59 = 7.61.
        let passage = "This sentence, taken as a reading passage unto itself, is being used to prove \
                       a point.";
        let counts = Counts::english(passage);
        assert_eq!(
            (counts.words, counts.sentences, counts.syllables),
            (16, 1, 23)
        );
        let grade = counts.flesch_kincaid().unwrap();
        assert!((grade - 7.6125).abs() < 1e-9, "{grade}");
    }

    #[test]
    fn english_syllables_are_those_of_a_dictionary() {
        // Division of words as in Webster's: prun·ing, ta·ble, need·ed, branch·es, ...
        for (word, wanted) in [
            ("prune", 1),
            ("pruned", 1),
            ("pruning", 2),
            ("vines", 1),
            ("table", 2),
            ("needed", 2),
            ("branches", 2),
            ("average", 3),
            ("season", 2),
            ("the", 1),
            ("sugar", 2),
            ("smaller", 2),
            ("whole", 1),
            ("range", 1),
            ("ranges", 2),
            ("vineyard", 2),
        ] {
            assert_eq!(english_syllables(word), wanted, "{word}");
        }
    }

    #[test]
    fn spanish_syllables_are_those_of_the_dictionary() {
        // Real Academia Española, Ortografía (2010): vi-ña, ra-ci-mo, ...
        for (word, wanted) in [
            ("viña", 2),
            ("racimo", 3),
            ("cosecha", 3),
            ("brotación", 3),
            ("año", 2),
            ("guía", 2),
            ("que", 1),
            ("peine", 2),
            ("hay", 1),
            ("poda", 2),
            ("vendimia", 3),
            ("ciudad", 2),
        ] {
            assert_eq!(spanish_syllables(word), wanted, "{word}");
        }
    }

    #[test]
    fn prose_leaves_out_headings_tables_and_pictures() {
        let page = "# Title\n\n**It rose.**\n\n| a | b |\n\n- one thing\n\n![alt](x.png)\n";
        assert_eq!(prose(page), "It rose.\none thing.\n");
    }
}
