//! How some words begin, to tell quickly that a word is none of them.

/// The first two bytes of some words, in both cases, and those of a number in digits.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Starts(Vec<bool>);

impl Starts {
    /// The beginnings of some words.
    pub(super) fn of<'w>(words: impl Iterator<Item = &'w str>) -> Starts {
        let mut starts = Starts(vec![false; 1 << 16]);
        for word in words {
            let &[first, ref rest @ ..] = word.as_bytes() else {
                continue;
            };
            let seconds = match rest.first() {
                Some(second) => *second..=*second,
                // Anything may follow a word of one letter.
                None => 0..=u8::MAX,
            };
            let cases = |byte: u8| [byte.to_ascii_lowercase(), byte.to_ascii_uppercase()];
            for second in seconds {
                for first in cases(first) {
                    for second in cases(second) {
                        starts.0[Starts::index(first, second)] = true;
                    }
                }
            }
        }
        starts
    }

    fn index(first: u8, second: u8) -> usize {
        usize::from(first) << 8 | usize::from(second)
    }

    /// Whether a word that begins with these bytes may be one of them.
    pub(super) fn has(&self, first: u8, second: u8) -> bool {
        first.is_ascii_digit() || self.0[Starts::index(first, second)]
    }
}
