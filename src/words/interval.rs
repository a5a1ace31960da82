//! Maintenance intervals: parsed from an author's text, printed in any language.

use super::Words;
use super::language::Phrases;
use crate::quantity::{Gallons, Unit, find};

/// An interval between two services: `every 200 h`, `yearly`.
///
/// Parsed in the language that a procedure is written in and printed in the language of the page.
/// The phrases of a language are data, see [`Words::intervals`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Interval {
    /// Running hours.
    Hours {
        count: u32,
        /// The author's text.
        text: String,
    },
    /// Time on the calendar.
    Calendar {
        count: u32,
        /// The length of a period.
        period: Period,
        /// The author's text.
        text: String,
    },
    /// Any other text, which is not translated: `before winter`, `first after 5 h`.
    Other {
        /// The author's text.
        text: String,
        /// The hours that the text mentions.
        hours: Option<u32>,
    },
}

/// A period of the calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Period {
    Day,
    Week,
    Month,
    Year,
}

impl Interval {
    /// The running hours, if the interval mentions them.
    pub(crate) fn hours(&self) -> Option<u32> {
        match self {
            Interval::Hours { count, .. } => Some(*count),
            Interval::Other { hours, .. } => *hours,
            Interval::Calendar { .. } => None,
        }
    }

    /// The text as written.
    pub(crate) fn written(&self) -> &str {
        match self {
            Interval::Hours { text, .. }
            | Interval::Calendar { text, .. }
            | Interval::Other { text, .. } => text,
        }
    }
}

impl Words {
    /// The intervals that a text in this language names.
    pub(crate) fn intervals(&self, text: &str) -> Vec<Interval> {
        let phrases = &self.data.intervals;
        let mut pieces = vec![text];
        for separator in &phrases.separators {
            pieces = pieces
                .into_iter()
                .flat_map(|piece| split(phrases, piece, separator))
                .collect();
        }
        pieces
            .into_iter()
            .map(|piece| interval(phrases, piece))
            .collect()
    }

    /// Translates the intervals in an author's text into this language. If the language is the author's,
    /// returns the text unchanged.
    pub(crate) fn translated_intervals(&self, text: &str, author: &Words) -> String {
        if self.language() == author.language() {
            return text.to_owned();
        }
        let intervals = author.intervals(text);
        let intervals = intervals.iter();
        let translated: Vec<String> = intervals
            .map(|interval| self.interval(interval, author))
            .collect();
        self.choice(&translated)
    }

    /// Prints an author's interval in this language. If the language is the author's, returns the author's
    /// text.
    pub(crate) fn interval(&self, interval: &Interval, author: &Words) -> String {
        if self.language() == author.language() {
            return interval.written().to_owned();
        }
        let phrases = &self.data.intervals;
        let (count, singular, plural) = match interval {
            Interval::Hours { count, .. } => (*count, phrases.hours.as_slice(), &*phrases.hours),
            Interval::Calendar { count, period, .. } => {
                let (singular, plural) = phrases.of(*period);
                (*count, singular, plural)
            }
            Interval::Other { text, .. } => return text.clone(),
        };
        let phrase = if count == 1 { singular } else { plural }.first();
        let phrase = phrase.map_or("", String::as_str);
        self.own(&phrase.replace(COUNT, &count.to_string()))
            .into_owned()
    }
}

/// The placeholder of the number in a phrase.
const COUNT: &str = "{count}";

impl Phrases {
    /// The phrases for one period and for several.
    fn of(&self, period: Period) -> (&[String], &[String]) {
        match period {
            Period::Day => (&self.day, &self.days),
            Period::Week => (&self.week, &self.weeks),
            Period::Month => (&self.month, &self.months),
            Period::Year => (&self.year, &self.years),
        }
    }
}

/// A text split at a separator, unless that would only cut up a text of another form: "before spring
/// and autumn".
fn split<'t>(phrases: &Phrases, text: &'t str, separator: &str) -> Vec<&'t str> {
    let pieces = text.split(separator).map(str::trim);
    let pieces: Vec<&str> = pieces.filter(|piece| !piece.is_empty()).collect();
    let is_interval = |piece: &&str| !matches!(interval(phrases, piece), Interval::Other { .. });
    if pieces.len() < 2 || pieces.iter().any(is_interval) {
        pieces
    } else {
        vec![text.trim()]
    }
}

fn interval(phrases: &Phrases, text: &str) -> Interval {
    let written = text.to_owned();
    if let Some(count) = count_in(&phrases.hours, text) {
        return Interval::Hours {
            count,
            text: written,
        };
    }
    for period in [Period::Day, Period::Week, Period::Month, Period::Year] {
        let (singular, plural) = phrases.of(period);
        let count = if singular.iter().any(|phrase| phrase == text) {
            Some(1)
        } else {
            count_in(plural, text)
        };
        if let Some(count) = count {
            return Interval::Calendar {
                count,
                period,
                text: written,
            };
        }
    }
    Interval::Other {
        hours: hours_in(text),
        text: written,
    }
}

/// The first whole number of hours in any text.
fn hours_in(text: &str) -> Option<u32> {
    // Hours have no gallons.
    let values = find(text, Gallons::Unstated).found.into_iter();
    let mut hours = values.filter_map(|value| value.limits.nominal()?.in_unit(Unit::HOUR));
    let hours = hours.next()?;
    let is_whole = hours.value().is_integer();
    u32::try_from(hours.value().numer())
        .ok()
        .filter(|_| is_whole)
}

/// The number in a text that matches one of the phrases. Any kind of space is accepted.
fn count_in(phrases: &[String], text: &str) -> Option<u32> {
    let spaced = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let text = spaced(text);
    phrases.iter().find_map(|phrase| {
        let (before, after) = phrase.split_once(COUNT)?;
        let count = text.strip_prefix(before)?.strip_suffix(after)?;
        count.parse().ok()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn intervals_are_parsed_in_the_authors_language() {
        let kinds = |language: &str, text: &str| {
            let words = Words::of(language).expect("a language");
            let intervals = words.intervals(text).into_iter();
            let kinds = intervals.map(|interval| match interval {
                Interval::Hours { count, .. } => (count, "h"),
                Interval::Calendar { count, period, .. } => (
                    count,
                    match period {
                        Period::Day => "d",
                        Period::Week => "w",
                        Period::Month => "m",
                        Period::Year => "y",
                    },
                ),
                Interval::Other { hours, .. } => (hours.unwrap_or(0), "other"),
            });
            kinds.collect::<Vec<_>>()
        };
        assert_eq!(kinds("en-GB", "every 200 h"), [(200, "h")]);
        assert_eq!(
            kinds("en-GB", "every 50\u{a0}hours; every 12 months"),
            [(50, "h"), (12, "m")]
        );
        assert_eq!(
            kinds("en-GB", "every 50 h or once a year"),
            [(50, "h"), (1, "y")]
        );
        assert_eq!(
            kinds("es", "cada 50 h o una vez al año"),
            [(50, "h"), (1, "y")]
        );
        assert_eq!(
            kinds("en-GB", "before winter, weekly"),
            [(0, "other"), (1, "w")]
        );
        assert_eq!(
            kinds("en-US", "every year and every 200 h"),
            [(1, "y"), (200, "h")]
        );
        assert_eq!(
            kinds("en-US", "every 200 h or year"),
            [(200, "h"), (1, "y")]
        );
        assert_eq!(kinds("en-GB", "every y, 200 h"), [(1, "y"), (200, "h")]);
        assert_eq!(kinds("en-GB", "before spring and autumn"), [(0, "other")]);
        assert_eq!(kinds("en-GB", "every many h"), [(0, "other")]);
        assert_eq!(kinds("en-GB", "first after 5 h"), [(5, "other")]);
    }

    #[test]
    fn intervals_are_printed_in_the_pages_language() {
        let (english, spanish) = (Words::english(), Words::of("es").expect("Spanish"));
        let translated = |text: &str| spanish.translated_intervals(text, english);
        assert_eq!(translated("every 200 hours"), "cada 200 h");
        assert_eq!(
            translated("every 10 days or every 1 days"),
            "cada 10 días o cada día"
        );
        assert_eq!(
            translated("every year and every 200 h"),
            "cada año o cada 200 h"
        );
        assert_eq!(
            translated("yearly, before winter"),
            "cada año o before winter"
        );
        let text = "once a year, every 50 h";
        assert_eq!(english.translated_intervals(text, english), text);
    }
}
