//! Days, and calibration that runs out.

use std::fmt;

use super::error::{Error, quoted};

/// A day of the calendar, from year 1 to 9999.
///
/// Read and printed as `2026-11-25` (ISO 8601). Later is greater. Today is never known here: it
/// is handed in.
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
pub struct Day {
    year: u16,
    month: u8,
    of_month: u8,
}

impl Day {
    /// Reads year, month and day.
    ///
    /// # Errors
    ///
    /// Where the text is no day of the calendar in that form.
    pub fn parse(text: &str) -> Result<Self, Error> {
        read(text.trim()).ok_or_else(|| Error::new("a day such as `2026-11-25`", quoted(text)))
    }
}

fn read(text: &str) -> Option<Day> {
    let mut parts = text.split('-');
    let mut number = |digits: usize| {
        let part = parts.next()?;
        let plain = part.len() == digits && part.bytes().all(|byte| byte.is_ascii_digit());
        part.parse::<u16>().ok().filter(|_| plain)
    };
    let (year, month, day) = (number(4)?, number(2)?, number(2)?);
    if parts.next().is_some() || year == 0 {
        return None;
    }
    let (month, day) = (u8::try_from(month).ok()?, u8::try_from(day).ok()?);
    (1..=days_in(year, month)?).contains(&day).then_some(Day {
        year,
        month,
        of_month: day,
    })
}

fn days_in(year: u16, month: u8) -> Option<u8> {
    let leap = year.is_multiple_of(4) && !year.is_multiple_of(100) || year.is_multiple_of(400);
    Some(match month {
        2 if leap => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        1..=12 => 31,
        _ => return None,
    })
}

impl fmt::Display for Day {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            out,
            "{:04}-{:02}-{:02}",
            self.year, self.month, self.of_month
        )
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
    due.unwrap_or(Day {
        year: calibrated.year + 1,
        // A year after 29 February is 28 February.
        of_month: match (calibrated.month, calibrated.of_month) {
            (2, 29) => 28,
            (_, day) => day,
        },
        ..calibrated
    })
}
