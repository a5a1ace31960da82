//! Calendar days, and the day a calibration expires.

use super::error::{Error, quoted};
use jiff::{Span, ToSpan, civil::Date};
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

    /// The day some periods later; the last day that there is, if that is later.
    ///
    /// Months and years later is the day of the same number. A month that is too short for it gives its last day, as
    /// calendars and python-dateutil count. Always count from the day when something was done: what is counted from a
    /// last day of February has lost the number.
    ///
    /// ```
    /// use benchleaf::trade::{Day, Period};
    ///
    /// let done = Day::parse("2026-01-31")?;
    /// assert_eq!(done.after(1, Period::Month), Day::parse("2026-02-28")?);
    /// assert_eq!(done.after(2, Period::Month), Day::parse("2026-03-31")?);
    /// # Ok::<(), benchleaf::trade::Error>(())
    /// ```
    #[must_use]
    pub fn after(self, count: u32, period: Period) -> Day {
        let span = match period {
            Period::Day => Span::new().try_days(count),
            Period::Week => Span::new().try_weeks(count),
            Period::Month => Span::new().try_months(count),
            Period::Year => Span::new().try_years(count),
        };
        Day(span.map_or(Date::MAX, |span| self.0.saturating_add(span)))
    }

    /// The number of days from another day to this one, negative if this one is earlier.
    #[must_use]
    pub fn days_since(self, other: Day) -> i32 {
        // The calendar has fewer than four million days.
        let days = self.0.duration_since(other.0).as_hours() / 24;
        i32::try_from(days).unwrap_or(i32::MAX)
    }

    /// The first and the last day of the first month with this number, from 1 to 12, that begins on this day or later. `None`
    /// for another number, or if the calendar ends before it.
    #[must_use]
    pub fn next_month(self, month: u8) -> Option<(Day, Day)> {
        let number = i8::try_from(month).ok()?;
        let first = |year| Date::new(year, number, 1).ok();
        let first = first(self.0.year())
            .filter(|first| *first >= self.0)
            .or_else(|| first(self.0.year().checked_add(1)?))?;
        Some((Day(first), Day(first.last_of_month())))
    }
}

/// A period of the calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Period {
    /// A day.
    Day,
    /// Seven days.
    Week,
    /// A month, see [`Day::after`].
    Month,
    /// Twelve months.
    Year,
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
    fn months_and_years_end_in_the_same_number_or_on_the_last_day() {
        // The days of months, years, weeks and days are those of `relativedelta` of python-dateutil 2.9.0. The last two rows,
        // where the calendar ends, are ours.
        for (done, count, period, due) in [
            ("2005-01-31", 1, Period::Month, "2005-02-28"),
            ("2014-01-31", 2, Period::Month, "2014-03-31"),
            ("2014-01-31", 3, Period::Month, "2014-04-30"),
            ("2012-02-29", 1, Period::Year, "2013-02-28"),
            ("2012-02-29", 4, Period::Year, "2016-02-29"),
            ("2015-11-30", 3, Period::Month, "2016-02-29"),
            ("2014-02-28", 1, Period::Month, "2014-03-28"),
            ("2026-08-31", 18, Period::Month, "2028-02-29"),
            ("2000-02-29", 1200, Period::Month, "2100-02-28"),
            ("2026-12-25", 10, Period::Day, "2027-01-04"),
            ("2024-02-26", 1, Period::Week, "2024-03-04"),
            ("9999-06-01", 12, Period::Month, "9999-12-31"),
            ("2026-01-01", u32::MAX, Period::Day, "9999-12-31"),
        ] {
            assert_eq!(day(done).after(count, period), day(due), "{done} {count}");
        }
    }

    #[test]
    fn days_are_counted_between_dates() {
        for (later, earlier, days) in [
            ("2026-03-01", "2026-02-28", 1),
            ("2024-03-01", "2024-02-28", 2),
            ("2026-01-01", "2026-01-01", 0),
            ("2025-12-31", "2026-01-01", -1),
            ("9999-12-31", "0001-01-01", 3_652_058),
        ] {
            assert_eq!(day(later).days_since(day(earlier)), days, "{later}");
        }
    }

    #[test]
    fn the_next_month_of_a_number_begins_on_the_day_or_later() {
        let next = |from: &str, month| day(from).next_month(month);
        let october =
            |year: &str| Some((day(&format!("{year}-10-01")), day(&format!("{year}-10-31"))));
        assert_eq!(next("2026-10-01", 10), october("2026"));
        assert_eq!(next("2026-10-02", 10), october("2027"));
        assert_eq!(
            next("2024-01-15", 2),
            Some((day("2024-02-01"), day("2024-02-29")))
        );
        assert_eq!(next("9999-12-02", 1), None);
        assert_eq!(next("2026-01-01", 13), None);
        assert_eq!(next("2026-01-01", 0), None);
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
