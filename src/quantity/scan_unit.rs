//! Units in typed text.

use std::ops::Range;

use super::error::{Error, Expected, Quoted, Reason};
use super::gallons::BareUnit;
use super::scan::{Scanner, is_dash, is_slash, word_at};
use super::spelling;
use super::suggest::{Guess, guess};
use super::unit::Unit;

impl Scanner<'_> {
    /// Takes the unit that comes next and returns it with its bytes. `None` if no unit follows; then
    /// nothing is taken.
    pub(super) fn unit(&mut self) -> Result<Option<(Unit, Range<usize>)>, Error> {
        self.skip_spaces();
        let start = self.at;
        if self.in_prose {
            return self.unit_in_prose();
        }
        let typed = self.rest()[..unit_length(self.rest())].trim_end();
        if typed.is_empty() {
            return Ok(None);
        }
        let whole = start..start + typed.len();
        let found = || Quoted::new(typed);
        if let Some(unit) = spelling::find(typed, self.gallons) {
            self.at = whole.end;
            return Ok(Some((unit, whole)));
        }
        if let Some(help) = spelling::mistaken(typed) {
            return Err(Error::new(
                Reason::MistakenUnit {
                    found: found(),
                    help,
                },
                whole,
            ));
        }
        if typed.starts_with(':') && !typed.starts_with(":1 ") {
            return Err(self.expected_at(Expected::RatioToOne, whole));
        }
        if let Some(bare) = spelling::find_bare(typed) {
            let reason = Reason::AmbiguousVolume {
                found: found(),
                bare,
            };
            return Err(Error::new(reason, whole));
        }
        let guess = guess(typed);
        if guess.is_none() {
            // A known unit followed by other text: the error is about the text after it.
            let ends = typed
                .rmatch_indices(char::is_whitespace)
                .map(|(end, _)| end);
            // No unit is longer, and a long text must not take quadratic time.
            for end in ends.filter(|end| *end <= LONGEST_UNIT) {
                if let Some(unit) = spelling::find(&typed[..end], self.gallons) {
                    self.at = start + end;
                    return Ok(Some((unit, start..self.at)));
                }
            }
        }
        let reason = match guess {
            Some(Guess::Prefixed(prefixed)) => Reason::UnknownPrefix {
                found: found(),
                prefixed: Box::new(prefixed),
                converted: None,
            },
            Some(Guess::Spelling(unit)) => Reason::UnknownUnit {
                found: found(),
                spelling: Some(unit),
            },
            None => Reason::UnknownUnit {
                found: found(),
                spelling: None,
            },
        };
        Err(Error::new(reason, whole))
    }

    /// Takes the longest unit that comes next in running text. A unit ends where a word ends.
    fn unit_in_prose(&mut self) -> Result<Option<(Unit, Range<usize>)>, Error> {
        let rest = self.rest();
        // A joint between the parts of a unit does not start one.
        if rest.starts_with(['.', '·', '*', '-']) {
            return Ok(None);
        }
        let mut longest = rest.len().min(LONGEST_UNIT);
        while !rest.is_char_boundary(longest) {
            longest -= 1;
        }
        let could_be = &rest[..spelling::reach(&rest[..longest])];
        let typed = &rest[..unit_length(could_be)];
        let ends = typed.char_indices().rev().map(|(at, c)| at + c.len_utf8());
        let mut known = ends
            .filter(|end| can_end(&rest[..*end], &rest[*end..]))
            .filter(|end| !NOT_IN_PROSE.contains(&&typed[..*end]))
            .filter(|end| !has_new_sentence(&typed[..*end]))
            .filter_map(|end| Some((self.meaning_in_prose(&typed[..end])?, end)));
        let Some((meaning, end)) = known.next() else {
            return Ok(None);
        };
        let range = self.at..self.at + end;
        match meaning {
            Ok(unit) => {
                self.at = range.end;
                Ok(Some((unit, range)))
            }
            Err(bare) => {
                let found = Quoted::new(&self.text[range.clone()]);
                self.at = range.end;
                Err(Error::new(Reason::AmbiguousVolume { found, bare }, range))
            }
        }
    }

    /// The unit that is spelled `text` in running text, or the two that it can be.
    fn meaning_in_prose(&self, text: &str) -> Option<Result<Unit, BareUnit>> {
        let mistaken = || {
            let known = MISTAKEN_IN_PROSE.iter();
            let mut known = known.filter(|(spelling, _)| text.eq_ignore_ascii_case(spelling));
            known.next().map(|(_, unit)| *unit)
        };
        if let Some(unit) = spelling::find(text, self.gallons) {
            return Some(Ok(unit));
        }
        // The first letters of the spellings below.
        if !text.starts_with(|c: char| {
            matches!(c.to_ascii_lowercase(), 'f' | 'g' | 'i' | 'n' | 'p' | 'q')
        }) {
            return None;
        }
        let unit = mistaken();
        unit.map(Ok).or_else(|| spelling::find_bare(text).map(Err))
    }
}

/// Spellings that fields refuse, as shops write them in prose.
const MISTAKEN_IN_PROSE: [(&str, Unit); 7] = [
    ("nm", Unit::NEWTON_METRE),
    ("ft/lb", Unit::FOOT_POUND),
    ("ft/lbs", Unit::FOOT_POUND),
    ("ft/lbf", Unit::FOOT_POUND),
    ("in/lb", Unit::INCH_POUND),
    ("in/lbs", Unit::INCH_POUND),
    ("in/lbf", Unit::INCH_POUND),
];

/// Spellings that are far more often other words: `3 at a time`, the '90s.
const NOT_IN_PROSE: [&str; 2] = ["at", "'"];

/// Whether a unit can end between `before` and `after`.
fn can_end(before: &str, after: &str) -> bool {
    // Marks of emphasis may follow.
    let after_marks = after.trim_start_matches('_');
    let is_marked = after_marks.len() < after.len();
    let mut following = after_marks.chars();
    let goes_on = match following.next() {
        Some(c) if c.is_alphanumeric() || matches!(c, '²' | '³' | '⁻' | '°') => true,
        _ if is_marked => false,
        // The unit or word continues: 10 m/s², 10 mm-long, 10W-40.
        Some('·' | '*' | '^' | '-' | '\u{2010}' | '\u{2011}') => {
            following.next().is_some_and(char::is_alphanumeric)
        }
        Some(c) if is_slash(c) => following.next().is_some_and(char::is_alphabetic),
        _ => false,
    };
    // Most positions are within a word, so the slower checks come after this one.
    if goes_on {
        return false;
    }
    let Some(last) = before.chars().next_back() else {
        return false;
    };
    if last.is_whitespace() || matches!(last, '.' | '-' | '·' | '*') {
        return false;
    }
    // A mark of gauge or absolute pressure belongs to its unit and is not cut.
    mark_length(after) == 0 && before.matches('(').count() == before.matches(')').count()
}

/// Whether a sentence ends within the text: `2 oz. In` is not a torque.
fn has_new_sentence(text: &str) -> bool {
    text.match_indices('.').any(|(at, stop)| {
        let next = text[at + stop.len()..].strip_prefix(' ');
        next.is_some_and(|next| next.starts_with(char::is_uppercase))
    })
}

/// The length in bytes of the longest spelling of a unit, with some double spaces.
const LONGEST_UNIT: usize = 40;

/// Words that follow a value and are not part of its unit: `8 N·m to 10 N·m`.
const AFTER_VALUE: [&str; 3] = ["to", "and", "or"];

/// Words that follow a unit and are not part of it: `15 bar min`. Without a unit, `min` is the minute.
const AFTER_UNIT: [&str; 4] = ["min", "max", "minimum", "maximum"];

/// The length in bytes of the prefix that can belong to a unit.
fn unit_length(text: &str) -> usize {
    let mut previous = ' ';
    let mut mark_end = 0;
    for (offset, c) in text.char_indices() {
        if offset < mark_end {
            previous = c;
            continue;
        }
        let after = &text[offset + c.len_utf8()..];
        let word_starts = previous.is_whitespace();
        let stops = match c {
            '(' if offset > 0 => {
                mark_end = offset + mark_length(&text[offset..]);
                mark_end == offset
            }
            '±' | '(' | ')' | '+' | ',' | ';' | '\u{2012}' | '–' | '—' | '−' => true,
            // A hyphen joins the parts of a unit only between letters.
            c if is_dash(c) => word_starts || !after.starts_with(char::is_alphabetic),
            c if is_slash(c) => after.trim_start().starts_with(|c| c == '+' || is_dash(c)),
            c if c.is_ascii_digit() => word_starts && offset > 0,
            _ => {
                let is_word = |word: &&str| word_at(&text[offset..], word);
                word_starts
                    && (AFTER_VALUE.iter().any(is_word)
                        || (offset > 0 && AFTER_UNIT.iter().any(is_word)))
            }
        };
        if stops {
            return offset;
        }
        previous = c;
    }
    text.len()
}

/// The length in bytes of a mark of gauge or absolute pressure, as in `bar(g)`; zero if none.
fn mark_length(text: &str) -> usize {
    const MARKS: [&str; 6] = ["(g)", "(a)", "(gauge)", "(gage)", "(abs)", "(absolute)"];
    let starts = |mark: &&str| {
        text.get(..mark.len())
            .is_some_and(|start| start.eq_ignore_ascii_case(mark))
    };
    MARKS.into_iter().find(starts).map_or(0, str::len)
}
