//! Calendar days, and the day a calibration expires.

use super::error::{Error, quoted};
use jiff::{ToSpan, civil::Date};
use std::fmt;

/// A calendar day from `0001-01-01` to `9999-12-31`, in the Gregorian calendar.
///
/// Parsed and printed as `2026-11-25` (the extended format of ISO 8601, and no other). Later days
/// are greater. The current day is never read from the clock: callers pass it in.
///
/// ```
/// use benchleaf::trade::Day;
///
/// let day = Day::parse("2024-02-29")?;
/// assert!(day < Day::parse("2024-03-01")?);
/// assert_eq!(
///     Day::parse("2025-02-29").unwrap_err().to_string(),
///     "expected a day such as `2026-11-25`, found `2025-02-29`",
/// );
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(Date);

impl Day {
    /// Parses a day.
    ///
    /// # Errors
    ///
    /// Where the text is not a day of the calendar in the format `YYYY-MM-DD`.
    pub fn parse(text: &str) -> Result<Self, Error> {
        let trimmed = text.trim();
        // `jiff` accepts more formats, such as `20261125` or a day with a time. Only text that is
        // printed the same way is in ours.
        let date = trimmed.parse::<Date>().ok();
        date.filter(|date| date.year() >= 1 && date.to_string() == trimmed)
            .map(Day)
            .ok_or_else(|| Error::new("a day such as `2026-11-25`", quoted(text)))
    }
}

impl fmt::Display for Day {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(out)
    }
}

/// The last day on which a calibration holds.
///
/// A tool's own due day rules; without one, the calibration holds for 12 months. Source: FAA
/// AC 43.13-1B, 7-40 a (at least once a year), and ISO 6789 by way of makers' articles (12 months
/// or 5000 cycles, whichever comes first; cycles aren't counted here).
///
/// ```
/// use benchleaf::trade::{Day, last_day_of_calibration};
///
/// let last = last_day_of_calibration(Day::parse("2026-02-09")?, None);
/// assert_eq!(last, Day::parse("2027-02-09")?);
/// let on = Day::parse("2027-02-10")?;
/// assert!(on > last, "out of date");
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
#[must_use]
pub fn last_day_of_calibration(calibrated: Day, due: Option<Day>) -> Day {
    // A year after 29 February is 28 February.
    due.unwrap_or_else(|| Day(calibrated.0.saturating_add(1.year())))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        Day::parse(text).unwrap()
    }

    #[test]
    fn a_day_is_printed_as_it_was_parsed() {
        for text in ["0001-01-01", "2000-02-29", "2026-11-25", "9999-12-31"] {
            assert_eq!(day(text).to_string(), text);
        }
        assert_eq!(day(" 2026-11-25 "), day("2026-11-25"));
    }

    #[test]
    fn only_days_of_the_calendar_in_one_format_are_parsed() {
        for text in [
            "",
            "2026",
            "2026-11",
            "2026-11-31",
            "2026-13-01",
            "2026-00-10",
            "2026-10-00",
            "2100-02-29",
            "0000-01-01",
            "-0001-01-01",
            "-000001-01-01",
            "+002026-11-25",
            "10000-01-01",
            "20261125",
            "2026-1-5",
            "26-11-25",
            "2026-W48-3",
            "2026/11/25",
            "25.11.2026",
            "2026-11-25T10:00",
            "2026-11-25 10:00:00",
            "2026-11-25[u-ca=iso8601]",
            "२०२६-११-२५",
        ] {
            assert!(Day::parse(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_calibration_without_a_due_day_holds_for_a_year() {
        for (calibrated, last) in [
            ("2026-02-09", "2027-02-09"),
            ("2024-02-29", "2025-02-28"),
            ("2023-02-28", "2024-02-28"),
            ("9999-06-01", "9999-12-31"),
        ] {
            assert_eq!(last_day_of_calibration(day(calibrated), None), day(last));
        }
        let due = day("2026-03-01");
        assert_eq!(last_day_of_calibration(day("2026-02-09"), Some(due)), due);
    }
}
