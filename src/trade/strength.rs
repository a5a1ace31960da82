//! The strength of fasteners: property classes, nut classes, SAE grades, stainless steels.

use std::fmt;

use super::error::{Error, quoted, same_spelling};
use super::figures::whole;
use super::thread::Thread;
use crate::quantity::{Quantity, Unit};

/// The strength marking of a fastener.
///
/// A marking of one of four standards: property classes of ISO 898-1 (`8.8`), nut classes of
/// ISO 898-2 (`8`), grades of SAE J429 (`grade 5`) and stainless steels of ISO 3506-1 (`A2-70`), each
/// optionally preceded by `class` or `grade`. A plain `5` or `8` is a nut class on a metric thread
/// and an SAE grade on a unified one. Whether the class exists for a thread is checked by
/// [`strength`](Self::strength).
///
/// ```
/// use benchleaf::trade::{StrengthClass, Thread};
///
/// let class = StrengthClass::parse("8.8")?;
/// assert_eq!(class.strength(&Thread::parse("M6")?)?.proof.text(), "580\u{a0}MPa");
/// assert_eq!(class.strength(&Thread::parse("M20")?)?.proof.text(), "600\u{a0}MPa");
///
/// let bare = StrengthClass::parse("5")?;
/// assert_eq!(bare.strength(&Thread::parse("3/8-16 UNC")?)?.marking, "grade 5");
///
/// let error = StrengthClass::parse("8,8").unwrap_err();
/// assert_eq!(error.help(), Some("write `8.8`"));
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct StrengthClass(Marking);

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Marking {
    /// A marking of [`ROWS`].
    Known(&'static str),
    /// A number only: a nut class, an SAE grade, or either.
    Number(u8),
}

/// The strength of a fastener of a class and a thread.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Strength {
    /// The marking that the figures belong to; for a nut, that of the bolts it is matched with.
    pub marking: &'static str,
    /// The proof stress in `MPa` or psi: the greatest without permanent set, by ISO 898-1 or SAE J429.
    /// For stainless steels, which have none, the stress at 0.2 % permanent strain.
    pub proof: Quantity,
    /// The minimum tensile strength, in `MPa` or psi.
    pub tensile: Quantity,
    /// The source of the figures.
    pub source: &'static str,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Standard {
    /// ISO 898-1 and ISO 3506-1: `MPa`; sizes in micrometres.
    Metric,
    /// SAE J429: psi; sizes in ten-thousandths of an inch.
    Inch,
}

/// A class in a range of diameters.
struct Row {
    marking: &'static str,
    standard: Standard,
    /// Greater than the first and at most the second, in the units of [`Thread::diameter_steps`].
    sizes: (u32, u32),
    proof: i64,
    tensile: i64,
    source: &'static str,
}

/// The smallest and the largest diameter of ISO 898-1 and ISO 3506-1: M1.6 and M39.
const METRIC: (u32, u32) = (1_599, 39_000);

/// ISO 898-1:2013, table 3. Not limited to the usual sizes of each class, because the load tables
/// of the standard are not either.
const ISO: &str = "ISO 898-1, table 3; read in two published copies (nfgab 2013, usefastener 1999)";
/// The copies: "SAE J429 mechanical property" (china-bolts) and "Mechanical Property References"
/// (Missouri S&T).
const SAE: &str = "SAE J429; read in two published copies";
const STAINLESS: &str = "ISO 3506-1; read in published copies (torqbolt, kotadiainc)";

const fn iso(marking: &'static str, sizes: (u32, u32), proof: i64, tensile: i64) -> Row {
    Row {
        marking,
        standard: Standard::Metric,
        sizes,
        proof,
        tensile,
        source: ISO,
    }
}

const fn sae(marking: &'static str, sizes: (u32, u32), proof: i64, tensile: i64) -> Row {
    Row {
        marking,
        standard: Standard::Inch,
        sizes,
        proof,
        tensile,
        source: SAE,
    }
}

const fn stainless(marking: &'static str, proof: i64, tensile: i64) -> Row {
    Row {
        marking,
        standard: Standard::Metric,
        sizes: METRIC,
        proof,
        tensile,
        source: STAINLESS,
    }
}

/// Marking, sizes, proof and tensile stress in `MPa`, or in psi for SAE.
const ROWS: &[Row] = &[
    iso("4.6", METRIC, 225, 400),
    iso("4.8", METRIC, 310, 420),
    iso("5.6", METRIC, 280, 500),
    iso("5.8", METRIC, 380, 520),
    iso("6.8", METRIC, 440, 600),
    iso("8.8", (METRIC.0, 16_000), 580, 800),
    iso("8.8", (16_000, METRIC.1), 600, 830),
    iso("9.8", (METRIC.0, 16_000), 650, 900),
    iso("10.9", METRIC, 830, 1_040),
    iso("12.9", METRIC, 970, 1_220),
    sae("grade 1", (2_499, 15_000), 33_000, 60_000),
    // Bolts longer than 6 in have the figures of grade 1.
    sae("grade 2", (2_499, 7_500), 55_000, 74_000),
    sae("grade 2", (7_500, 15_000), 33_000, 60_000),
    sae("grade 5", (2_499, 10_000), 85_000, 120_000),
    sae("grade 5", (10_000, 15_000), 74_000, 105_000),
    sae("grade 8", (2_499, 15_000), 120_000, 150_000),
    stainless("A1-50", 210, 500),
    stainless("A1-70", 450, 700),
    stainless("A1-80", 600, 800),
    stainless("A2-50", 210, 500),
    stainless("A2-70", 450, 700),
    stainless("A2-80", 600, 800),
    stainless("A4-50", 210, 500),
    stainless("A4-70", 450, 700),
    stainless("A4-80", 600, 800),
];

/// ISO 898-2, from memory: a nut matches bolts of the class that starts with its number, and weaker
/// ones. Thin nuts (04, 05) are weaker and are not parsed.
const NUTS: &[(u8, &str)] = &[
    (4, "4.8"),
    (5, "5.8"),
    (6, "6.8"),
    (8, "8.8"),
    (9, "9.8"),
    (10, "10.9"),
    (12, "12.9"),
];

const GRADES: &[(u8, &str)] = &[
    (1, "grade 1"),
    (2, "grade 2"),
    (5, "grade 5"),
    (8, "grade 8"),
];

impl StrengthClass {
    /// Parses a marking, in any case.
    ///
    /// # Errors
    ///
    /// If the text is not a marking of the four standards. The help has the marking that is spelled
    /// differently, otherwise the list of all markings: which of them was meant can't be known.
    pub fn parse(text: &str) -> Result<Self, Error> {
        let lower = text.trim().to_lowercase();
        let (grade, name) = ["grade", "gr.", "gr", "sae"]
            .iter()
            .find_map(|word| Some((true, lower.strip_prefix(word)?)))
            .or_else(|| Some((false, lower.strip_prefix("class")?)))
            .unwrap_or((false, &lower));
        let name = name.trim();
        let stainless = name.replace(' ', "-").to_uppercase();
        let known = |name: &str| ROWS.iter().find(|row| row.marking == name);
        if let Some(row) = known(name).or_else(|| known(&stainless)) {
            return Ok(Self(Marking::Known(row.marking)));
        }
        // `04` is a thin nut, which is weaker than a 4.
        let number = name
            .parse::<u8>()
            .ok()
            .filter(|number| number.to_string() == name);
        let find = |table: &[(u8, &'static str)]| {
            table
                .iter()
                .find(|(known, _)| Some(*known) == number)
                .copied()
        };
        match (find(GRADES), find(NUTS)) {
            (Some((_, marking)), _) if grade => Ok(Self(Marking::Known(marking))),
            (Some((number, _)), _) | (None, Some((number, _))) if !grade => {
                Ok(Self(Marking::Number(number)))
            }
            _ => Err(unknown(text, name)),
        }
    }

    /// The strength of a fastener of this class with this thread.
    ///
    /// # Errors
    ///
    /// If the class does not exist for the thread's system (SAE grades are for unified threads, all
    /// others for metric ones, none for pipe threads) or for its diameter.
    pub fn strength(&self, thread: &Thread) -> Result<Strength, Error> {
        if thread.is_pipe() {
            return Err(Error::new(
                format!("no class for the pipe thread `{thread}`"),
                format!("`{self}`"),
            )
            .with_help(NO_CALCULATION));
        }
        let standard = if thread.is_metric() {
            Standard::Metric
        } else {
            Standard::Inch
        };
        let marking = match (self.0, standard) {
            (Marking::Known(marking), _) => Some(marking),
            (Marking::Number(number), Standard::Metric) => named(NUTS, number),
            (Marking::Number(number), Standard::Inch) => named(GRADES, number),
        };
        let rows = ROWS
            .iter()
            .filter(|row| Some(row.marking) == marking && row.standard == standard);
        let sizes: Vec<&Row> = rows.collect();
        let steps = thread.diameter_steps();
        let made = |row: &&&Row| row.sizes.0 < steps && steps <= row.sizes.1;
        match (sizes.iter().find(made), sizes.last()) {
            (Some(row), _) => Ok(row.strength()),
            (None, Some(last)) => Err(Error::new(
                format!("a diameter that `{self}` is made in ({})", last.range()),
                format!("`{thread}`"),
            )),
            (None, None) => Err(self.of_other_system(thread)),
        }
    }

    fn of_other_system(self, thread: &Thread) -> Error {
        let (expected, help) = if thread.is_metric() {
            (
                "a property class",
                "a metric bolt has a class such as `8.8`, a nut one such as `8`",
            )
        } else {
            (
                "an SAE grade",
                "an inch bolt has a grade: `grade 2`, `grade 5` or `grade 8`",
            )
        };
        Error::new(
            format!("{expected} for the thread `{thread}`"),
            format!("`{self}`"),
        )
        .with_help(help)
    }
}

impl fmt::Display for StrengthClass {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            Marking::Known(marking) => out.write_str(marking),
            Marking::Number(number) => number.fmt(out),
        }
    }
}

impl Row {
    fn strength(&self) -> Strength {
        let unit = match self.standard {
            Standard::Metric => Unit::MEGAPASCAL,
            Standard::Inch => Unit::PSI,
        };
        Strength {
            marking: self.marking,
            proof: Quantity::new(whole(self.proof), unit, 0),
            tensile: Quantity::new(whole(self.tensile), unit, 0),
            source: self.source,
        }
    }

    fn range(&self) -> String {
        match self.standard {
            Standard::Metric => format!("to M{}", self.sizes.1 / 1_000),
            Standard::Inch => "1/4 in to 1 1/2 in".to_owned(),
        }
    }
}

fn named(table: &[(u8, &'static str)], number: u8) -> Option<&'static str> {
    table
        .iter()
        .find(|(known, _)| *known == number)
        .map(|(_, marking)| *marking)
}

/// Why no torque is calculated for a pipe thread.
const NO_CALCULATION: &str =
    "a pipe thread has no class, and no torque is calculated for it: the maker's value decides";

/// The error of a calculation for a pipe thread.
pub(super) fn uncalculated(thread: &Thread) -> Error {
    Error::new("a metric or unified thread", format!("`{thread}`")).with_help(NO_CALCULATION)
}

/// The strengths of the weakest and of the strongest common bolt, whatever the diameter: classes 4.6
/// and 12.9, grades 1 and 8. Which of them are common is common practice. `None` for a pipe thread.
pub(super) fn extremes(thread: &Thread) -> Option<(Strength, Strength)> {
    if thread.is_pipe() {
        return None;
    }
    let (weakest, strongest) = if thread.is_metric() {
        ("4.6", "12.9")
    } else {
        ("grade 1", "grade 8")
    };
    let of = |marking| ROWS.iter().find(|row| row.marking == marking);
    Some((of(weakest)?.strength(), of(strongest)?.strength()))
}

fn unknown(text: &str, name: &str) -> Error {
    let expected = "a class or grade such as `8.8`, `8`, `grade 5` or `A2-70`";
    let mut markings: Vec<&str> = ROWS.iter().map(|row| row.marking).collect();
    markings.dedup();
    let respelled = |text: &str| same_spelling(text, markings.iter().copied());
    let help = match respelled(name).or_else(|| respelled(text)) {
        Some(marking) => format!("write `{marking}`"),
        None => format!(
            "the markings are {}; nuts have `4` to `12`",
            markings.join(", ")
        ),
    };
    Error::new(expected, quoted(text)).with_help(help)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_nut_and_grade_has_its_row() {
        for (number, marking) in NUTS.iter().chain(GRADES) {
            assert!(ROWS.iter().any(|row| row.marking == *marking), "{number}");
        }
    }

    #[test]
    fn proof_is_below_tensile_and_ranges_do_not_overlap() {
        for row in ROWS {
            assert!(row.proof < row.tensile, "{}", row.marking);
            assert!(row.sizes.0 < row.sizes.1, "{}", row.marking);
            let same = ROWS.iter().filter(|other| other.marking == row.marking);
            for other in same.filter(|other| !std::ptr::eq(*other, row)) {
                assert!(other.sizes.1 <= row.sizes.0 || row.sizes.1 <= other.sizes.0);
            }
        }
    }
}
