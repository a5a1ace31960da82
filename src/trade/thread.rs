//! Screw threads: designations, and the geometry that strength is worked out from.

use std::fmt;

use super::error::{Error, nearest, quoted};
use super::figures::{decimals_for, exact, pi, ratio, rounded, whole};
use crate::quantity::{Quantity, Rational, Unit};

/// A thread: metric by ISO 261 or unified by ASME B1.1.
///
/// Holds a nominal diameter and a pitch of which the geometry makes sense; it may be outside the
/// usual selection, which [`series`](Self::series) tells. Metric sizes are in millimetres,
/// unified ones in inches, exactly.
///
/// Read are `M6`, `M10x1.25` (or with `×`), `1/4-20 UNC`, `1/4-20`, `1/4 UNC`, `#10-24`,
/// `10-32 UNF`, `1-1/8-7`, each also with `LH` for a left-hand thread. A metric thread without a
/// pitch has the coarse one. Printed is the form of the standards, with the pitch only where it
/// isn't the coarse one.
///
/// ```
/// use benchleaf::trade::{Series, Thread};
///
/// let thread = Thread::parse("M10x1.25")?;
/// assert_eq!(thread.to_string(), "M10×1.25");
/// assert_eq!(thread.series(), Series::MetricFine);
/// assert_eq!(thread.stress_area().text(), "61.2\u{a0}mm²");
/// assert_eq!(Thread::parse("10-32")?.to_string(), "#10-32 UNF");
///
/// let error = Thread::parse("1/4-24").unwrap_err();
/// assert_eq!(error.help(), Some("`1/4-20 UNC` and `1/4-28 UNF` are the standard ones"));
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Thread {
    form: Form,
    left_hand: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Form {
    /// Both in micrometres.
    Metric { diameter: u32, pitch: u32 },
    Unified {
        size: &'static Size,
        per_inch: u32,
        /// As it was typed where it is neither UNC nor UNF, empty otherwise.
        mark: &'static str,
    },
}

/// The selection a thread belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Series {
    /// The coarse pitch of ISO 262.
    MetricCoarse,
    /// A fine pitch of ISO 262, or M14×1.25 of spark plugs.
    MetricFine,
    /// UNC of ASME B1.1.
    UnifiedCoarse,
    /// UNF of ASME B1.1.
    UnifiedFine,
    /// None of these: it may be right, but a slip of the pen is as likely.
    Special,
}

/// A row of the metric table, in micrometres.
struct MetricRow {
    diameter: u32,
    coarse: u32,
    fine: &'static [u32],
}

const fn metric(diameter: u32, coarse: u32, fine: &'static [u32]) -> MetricRow {
    MetricRow {
        diameter,
        coarse,
        fine,
    }
}

/// ISO 262, general-purpose selection: diameter, coarse pitch, fine pitches.
///
/// Read in an open parts library's copy of the table (`FreeCAD_FastenersWB`, `iso262def.csv`).
/// M14×1.25 is not in ISO 262: it is the spark plug's, from memory of ISO 261.
const METRIC: &[MetricRow] = &[
    metric(1_000, 250, &[]),
    metric(1_200, 250, &[]),
    metric(1_400, 300, &[]),
    metric(1_600, 350, &[]),
    metric(1_800, 350, &[]),
    metric(2_000, 400, &[]),
    metric(2_500, 450, &[]),
    metric(3_000, 500, &[]),
    metric(3_500, 600, &[]),
    metric(4_000, 700, &[]),
    metric(5_000, 800, &[]),
    metric(6_000, 1_000, &[]),
    metric(7_000, 1_000, &[]),
    metric(8_000, 1_250, &[1_000]),
    metric(10_000, 1_500, &[1_250, 1_000]),
    metric(12_000, 1_750, &[1_500, 1_250]),
    metric(14_000, 2_000, &[1_500, 1_250]),
    metric(16_000, 2_000, &[1_500]),
    metric(18_000, 2_500, &[2_000, 1_500]),
    metric(20_000, 2_500, &[2_000, 1_500]),
    metric(22_000, 2_500, &[2_000, 1_500]),
    metric(24_000, 3_000, &[2_000]),
    metric(27_000, 3_000, &[2_000]),
    metric(30_000, 3_500, &[2_000]),
    metric(33_000, 3_500, &[2_000]),
    metric(36_000, 4_000, &[3_000]),
    metric(39_000, 4_000, &[3_000]),
    metric(42_000, 4_500, &[3_000]),
    metric(45_000, 4_500, &[3_000]),
    metric(48_000, 5_000, &[3_000]),
    metric(52_000, 5_000, &[4_000]),
    metric(56_000, 5_500, &[4_000]),
    metric(60_000, 5_500, &[4_000]),
    metric(64_000, 6_000, &[4_000]),
];

/// The pitches of ISO 261, in micrometres: those of the table above, and 0.2, 0.75 and 8 mm from
/// memory.
const PITCHES: &[u32] = &[
    200, 250, 300, 350, 400, 450, 500, 600, 700, 750, 800, 1_000, 1_250, 1_500, 1_750, 2_000,
    2_500, 3_000, 3_500, 4_000, 4_500, 5_000, 5_500, 6_000, 8_000,
];

/// The diameters of ISO 261, in micrometres.
const LARGEST_METRIC: u32 = 300_000;

/// No standard thread is coarser than M1's: a quarter of the diameter.
const COARSEST: u32 = 4;

/// A row of the unified table: the diameter in ten-thousandths of an inch, threads to the inch.
#[derive(Debug, PartialEq, Eq, Hash)]
struct Size {
    name: &'static str,
    diameter: u32,
    coarse: Option<u32>,
    fine: u32,
}

const fn unified(name: &'static str, diameter: u32, coarse: Option<u32>, fine: u32) -> Size {
    Size {
        name,
        diameter,
        coarse,
        fine,
    }
}

/// ASME B1.1: size, diameter, UNC, UNF.
///
/// Read in published tables: UNF in "UNF" (boltport, threads) and "Unified Screw Threads" (efunda);
/// UNC in "Unified National Coarse (UNC) Thread Chart" (threadchart) and "Thread Geometry, Unified
/// Coarse" (trfastenings). #0 has no coarse thread.
const UNIFIED: &[Size] = &[
    unified("#0", 600, None, 80),
    unified("#1", 730, Some(64), 72),
    unified("#2", 860, Some(56), 64),
    unified("#3", 990, Some(48), 56),
    unified("#4", 1_120, Some(40), 48),
    unified("#5", 1_250, Some(40), 44),
    unified("#6", 1_380, Some(32), 40),
    unified("#8", 1_640, Some(32), 36),
    unified("#10", 1_900, Some(24), 32),
    unified("#12", 2_160, Some(24), 28),
    unified("1/4", 2_500, Some(20), 28),
    unified("5/16", 3_125, Some(18), 24),
    unified("3/8", 3_750, Some(16), 24),
    unified("7/16", 4_375, Some(14), 20),
    unified("1/2", 5_000, Some(13), 20),
    unified("9/16", 5_625, Some(12), 18),
    unified("5/8", 6_250, Some(11), 18),
    unified("3/4", 7_500, Some(10), 16),
    unified("7/8", 8_750, Some(9), 14),
    unified("1", 10_000, Some(8), 12),
    unified("1-1/8", 11_250, Some(7), 12),
    unified("1-1/4", 12_500, Some(7), 12),
    unified("1-3/8", 13_750, Some(6), 12),
    unified("1-1/2", 15_000, Some(6), 12),
];

impl Thread {
    /// Reads a designation.
    ///
    /// # Errors
    ///
    /// Where the text is none; where a metric thread without a pitch has no coarse one, or its
    /// pitch is none of ISO 261 or coarser than a quarter of the diameter; where a unified thread
    /// is neither UNC nor UNF and isn't marked `UN`, `UNS` or `UNEF`.
    pub fn parse(text: &str) -> Result<Self, Error> {
        let upper = text.trim().to_uppercase();
        let (rest, left_hand) = match upper.strip_suffix("LH") {
            Some(rest) => (rest.trim_end_matches([' ', '-']), true),
            None => (upper.as_str(), false),
        };
        let form = match rest.strip_prefix('M') {
            Some(rest) => read_metric(rest, text)?,
            None => read_unified(rest, text)?,
        };
        Ok(Self { form, left_hand })
    }

    /// Whether the thread is metric; otherwise it is unified, with its sizes in inches.
    #[must_use]
    pub fn is_metric(&self) -> bool {
        matches!(self.form, Form::Metric { .. })
    }

    /// Whether it turns off clockwise.
    #[must_use]
    pub fn is_left_hand(&self) -> bool {
        self.left_hand
    }

    /// The selection it belongs to.
    #[must_use]
    pub fn series(&self) -> Series {
        match self.form {
            Form::Metric { diameter, pitch } => {
                match METRIC.iter().find(|row| row.diameter == diameter) {
                    Some(row) if row.coarse == pitch => Series::MetricCoarse,
                    Some(row) if row.fine.contains(&pitch) => Series::MetricFine,
                    _ => Series::Special,
                }
            }
            Form::Unified { size, per_inch, .. } => {
                if size.coarse == Some(per_inch) {
                    Series::UnifiedCoarse
                } else if size.fine == per_inch {
                    Series::UnifiedFine
                } else {
                    Series::Special
                }
            }
        }
    }

    /// The nominal diameter, in mm or in.
    #[must_use]
    pub fn diameter(&self) -> Quantity {
        exact(self.diameter_value(), self.unit())
    }

    /// The distance from one turn to the next, in mm or in.
    #[must_use]
    pub fn pitch(&self) -> Quantity {
        exact(self.pitch_value(), self.unit())
    }

    /// Threads to the inch of a unified thread.
    #[must_use]
    pub fn threads_per_inch(&self) -> Option<u32> {
        match self.form {
            Form::Metric { .. } => None,
            Form::Unified { per_inch, .. } => Some(per_inch),
        }
    }

    /// The basic pitch diameter, in mm or in: d₂ = d − 0.649519 P.
    ///
    /// Source: ISO 724 and ASME B1.1, which share the profile of ISO 68-1 (d₂ = d − 3 H / 4,
    /// H = 0.866025 P); the constants were read in the Python package me-toolbox 0.0.18.
    #[must_use]
    pub fn pitch_diameter(&self) -> Quantity {
        self.basic_diameter(649_519)
    }

    /// The basic minor diameter of the tapped hole, in mm or in: D₁ = D − 1.082532 P.
    ///
    /// Source: ISO 724 and ASME B1.1, as for [`pitch_diameter`](Self::pitch_diameter)
    /// (D₁ = D − 5 H / 4).
    #[must_use]
    pub fn minor_diameter(&self) -> Quantity {
        self.basic_diameter(1_082_532)
    }

    /// Diameter less so many millionths of the pitch; tables print it to three decimals of a
    /// millimetre, and four of an inch.
    fn basic_diameter(&self, millionths: i64) -> Quantity {
        let value = self.diameter_value() - ratio(millionths, 1_000_000) * self.pitch_value();
        Quantity::new(value, self.unit(), if self.is_metric() { 3 } else { 4 })
    }

    /// The nominal stress area, in mm² or in², rounded as the standards' tables print it.
    ///
    /// Metric, ISO 898-1: A = π / 4 × (d − 0.938194 P)², which is π / 4 × ((d₂ + d₃) / 2)², to
    /// three figures. Unified, ASME B1.1 (formula from memory, held against published tables):
    /// A = π / 4 × (d − 0.9743 P)², to four decimals, or three figures where those go further.
    ///
    /// The value itself is the rounded one: ISO 898-1 works out its loads from the printed areas,
    /// and so does a mechanic who follows the arithmetic with a table in hand.
    ///
    /// ```
    /// use benchleaf::trade::Thread;
    ///
    /// assert_eq!(Thread::parse("M6")?.stress_area().text(), "20.1\u{a0}mm²");
    /// assert_eq!(Thread::parse("3/8-16 UNC")?.stress_area().text(), "0.0775\u{a0}in²");
    /// # Ok::<(), benchleaf::trade::Error>(())
    /// ```
    #[must_use]
    pub fn stress_area(&self) -> Quantity {
        let area = self.unrounded_area();
        let (unit, decimals) = if self.is_metric() {
            (Unit::SQUARE_MILLIMETRE, decimals_for(&area, 3))
        } else {
            (Unit::SQUARE_INCH, decimals_for(&area, 3).max(4))
        };
        Quantity::new(rounded(&area, decimals), unit, decimals)
    }

    fn unrounded_area(&self) -> Rational {
        let part = if self.is_metric() {
            ratio(938_194, 1_000_000)
        } else {
            ratio(9_743, 10_000)
        };
        let diameter = self.diameter_value() - part * self.pitch_value();
        pi() * &diameter * &diameter / whole(4)
    }

    fn diameter_value(&self) -> Rational {
        match self.form {
            Form::Metric { diameter, .. } => ratio(diameter.into(), 1_000),
            Form::Unified { size, .. } => ratio(size.diameter.into(), 10_000),
        }
    }

    fn pitch_value(&self) -> Rational {
        match self.form {
            Form::Metric { pitch, .. } => ratio(pitch.into(), 1_000),
            Form::Unified { per_inch, .. } => ratio(1, per_inch.into()),
        }
    }

    fn unit(&self) -> Unit {
        if self.is_metric() {
            Unit::MILLIMETRE
        } else {
            Unit::INCH
        }
    }

    /// The diameter in whole small steps: micrometres, or ten-thousandths of an inch.
    pub(super) fn diameter_steps(&self) -> u32 {
        match self.form {
            Form::Metric { diameter, .. } => diameter,
            Form::Unified { size, .. } => size.diameter,
        }
    }

    /// The size without its pitch: `M6`, `1/4`, `#10`.
    pub(super) fn size(&self) -> String {
        match self.form {
            Form::Metric { diameter, .. } => format!("M{}", thousandths(diameter)),
            Form::Unified { size, .. } => size.name.to_owned(),
        }
    }
}

impl fmt::Display for Thread {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.size())?;
        let series = self.series();
        match self.form {
            Form::Metric { .. } if series == Series::MetricCoarse => {}
            Form::Metric { pitch, .. } => write!(out, "×{}", thousandths(pitch))?,
            Form::Unified { per_inch, mark, .. } => {
                let name = match series {
                    Series::UnifiedCoarse => "UNC",
                    Series::UnifiedFine => "UNF",
                    _ => mark,
                };
                write!(out, "-{per_inch} {name}")?;
            }
        }
        if self.left_hand {
            out.write_str(" LH")?;
        }
        Ok(())
    }
}

/// `1250` as `1.25`.
fn thousandths(steps: u32) -> String {
    let text = format!("{}.{:03}", steps / 1_000, steps % 1_000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// `1.25` as 1250: a plain decimal number of millimetres, to the micrometre.
fn micrometres(text: &str) -> Option<u32> {
    let (digits, decimals) = text.split_once('.').unwrap_or((text, ""));
    let plain = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    if digits.is_empty() || digits.len() > 3 || decimals.len() > 3 {
        return None;
    }
    if !plain(digits) || !plain(decimals) || text.ends_with('.') {
        return None;
    }
    format!("{digits}{decimals:0<3}").parse().ok()
}

/// After the `M`, in upper case; `text` is what was typed.
fn read_metric(rest: &str, text: &str) -> Result<Form, Error> {
    let compact: String = rest.chars().filter(|c| !c.is_whitespace()).collect();
    if compact.contains(',') {
        let mended = format!("M{}", compact.replace(',', ".").to_lowercase());
        let error = Error::new("a decimal point", quoted(text));
        return Err(match Thread::parse(&mended) {
            Ok(thread) => error.with_help(format!("write `{thread}`")),
            Err(_) => error,
        });
    }
    let mut parts = compact.splitn(2, ['X', '×', '*', '-']).map(micrometres);
    let (diameter, pitch) = (parts.next().flatten(), parts.next());
    let Some(diameter) = diameter.filter(|diameter| (1_000..=LARGEST_METRIC).contains(diameter))
    else {
        return Err(unknown(text));
    };
    let row = METRIC.iter().find(|row| row.diameter == diameter);
    let pitch = match (pitch, row) {
        (None, Some(row)) => row.coarse,
        (None, None) => return Err(no_coarse_pitch(diameter, text)),
        (Some(None), _) => return Err(unknown(text)),
        (Some(Some(pitch)), _) if !PITCHES.contains(&pitch) => {
            let error = Error::new("a pitch of ISO 261", quoted(text));
            return Err(with_pitches(error, row));
        }
        (Some(Some(pitch)), _) if pitch * COARSEST > diameter => {
            let error = Error::new("a pitch of at most a quarter of the diameter", quoted(text));
            return Err(with_pitches(error, row));
        }
        (Some(Some(pitch)), _) => pitch,
    };
    Ok(Form::Metric { diameter, pitch })
}

fn no_coarse_pitch(diameter: u32, text: &str) -> Error {
    let name = |row: &MetricRow| format!("`M{}`", thousandths(row.diameter));
    let below = METRIC.iter().rfind(|row| row.diameter < diameter);
    let above = METRIC.iter().find(|row| row.diameter > diameter);
    let near: Vec<String> = below.into_iter().chain(above).map(name).collect();
    let verb = if near.len() == 1 { "is" } else { "are" };
    Error::new("a diameter with a coarse pitch of ISO 262", quoted(text)).with_help(format!(
        "{} {verb} the nearest; any other is written with its pitch, as in `M{}x1`",
        near.join(" and "),
        thousandths(diameter),
    ))
}

/// The help names the pitches that the diameter is made with.
fn with_pitches(error: Error, row: Option<&MetricRow>) -> Error {
    let Some(row) = row else {
        return error;
    };
    let pitches: Vec<String> = std::iter::once(&row.coarse)
        .chain(row.fine)
        .map(|pitch| thousandths(*pitch))
        .collect();
    error.with_help(format!(
        "`M{}` is made with a pitch of {} mm",
        thousandths(row.diameter),
        pitches.join(" or "),
    ))
}

/// In upper case; `text` is what was typed.
fn read_unified(rest: &str, text: &str) -> Result<Form, Error> {
    // `UNC-2A`: the tolerance class says nothing of size or strength.
    let rest = ["-1A", "-1B", "-2A", "-2B", "-3A", "-3B"]
        .iter()
        .find_map(|class| rest.strip_suffix(class))
        .unwrap_or(rest);
    let letters = rest.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let series = &rest[letters.len()..];
    if !["", "UNC", "UNF", "UN", "UNS", "UNEF"].contains(&series) {
        return Err(unknown(text));
    }
    let body = letters.trim_end_matches([' ', '-']);
    let threads = |text: &str| {
        let text = text.trim();
        let plain = text.bytes().all(|byte| byte.is_ascii_digit());
        text.parse::<u32>().ok().filter(|_| plain)
    };
    let (size, per_inch) = match body.rsplit_once('-') {
        Some((size, per_inch)) if threads(per_inch).is_some() => (size, threads(per_inch)),
        _ => (body, None),
    };
    let sizes = sizes(size);
    // Where #1 and one inch are both possible, the inch is what is met in a shop.
    let Some(likeliest) = sizes.last() else {
        return Err(unknown(text));
    };
    let found = sizes.iter().rev().find_map(|size| {
        let (coarse, fine) = (size.coarse, Some(size.fine));
        let per_inch = match (series, per_inch) {
            ("UNC", None) => coarse,
            ("UNF", None) => fine,
            ("UNC", typed) => coarse.filter(|coarse| typed == Some(*coarse)),
            ("UNF", typed) => fine.filter(|fine| typed == Some(*fine)),
            (_, Some(typed)) => [coarse, fine]
                .into_iter()
                .flatten()
                .find(|known| *known == typed),
            (_, None) => None,
        };
        per_inch.map(|per_inch| Form::Unified {
            size,
            per_inch,
            mark: "",
        })
    });
    if let Some(form) = found {
        return Ok(form);
    }
    let mark = ["UN", "UNS", "UNEF"]
        .into_iter()
        .find(|mark| *mark == series);
    // The limit first: a long number would overflow in the product.
    let possible = per_inch.filter(|per_inch| {
        *per_inch <= MOST_PER_INCH && likeliest.diameter * per_inch >= TEN_THOUSAND * COARSEST
    });
    match (mark, possible) {
        (Some(mark), Some(per_inch)) => Ok(Form::Unified {
            size: likeliest,
            per_inch,
            mark,
        }),
        _ => Err(no_such_unified(&sizes, text)),
    }
}

/// The finest of ASME B1.1: #0-80.
const MOST_PER_INCH: u32 = 80;

/// Steps of a [`Size`]'s diameter to the inch.
const TEN_THOUSAND: u32 = 10_000;

/// The rows that a typed size can mean: `10` is #10, `1` may be #1 or one inch.
fn sizes(typed: &str) -> Vec<&'static Size> {
    let typed = typed
        .trim()
        .trim_end_matches("IN")
        .trim_end_matches(['"', '″', ' ']);
    let number = typed
        .strip_prefix("NO.")
        .or_else(|| typed.strip_prefix("NO"))
        .or_else(|| typed.strip_prefix('#'))
        .map(str::trim_start);
    let plain = typed.split_whitespace().collect::<Vec<_>>().join("-");
    let means = |size: &&Size| match (size.name.strip_prefix('#'), number) {
        (Some(known), Some(number)) => known == number,
        (Some(known), None) => known == plain,
        (None, Some(_)) => false,
        (None, None) => size.name == plain,
    };
    UNIFIED.iter().filter(means).collect()
}

fn no_such_unified(sizes: &[&Size], text: &str) -> Error {
    let known: Vec<String> = sizes
        .iter()
        .flat_map(|size| {
            let coarse = size
                .coarse
                .map(|per_inch| format!("`{}-{per_inch} UNC`", size.name));
            let fine = format!("`{}-{} UNF`", size.name, size.fine);
            coarse.into_iter().chain([fine])
        })
        .collect();
    let verb = if known.len() == 1 {
        "is the standard one"
    } else {
        "are the standard ones"
    };
    Error::new("a thread of the UNC or UNF series", quoted(text))
        .with_help(format!("{} {verb}", known.join(" and ")))
}

/// An error for what is no thread at all, with the name that was perhaps meant.
fn unknown(text: &str) -> Error {
    let metric = METRIC.iter().flat_map(|row| {
        let size = format!("M{}", thousandths(row.diameter));
        let name = |pitch: &u32| format!("{size}x{}", thousandths(*pitch));
        let pitches = std::iter::once(&row.coarse).chain(row.fine).map(name);
        std::iter::once(size.clone()).chain(pitches.collect::<Vec<_>>())
    });
    let unified = UNIFIED.iter().flat_map(|size| {
        let coarse = size
            .coarse
            .map(|per_inch| format!("{}-{per_inch} UNC", size.name));
        coarse
            .into_iter()
            .chain([format!("{}-{} UNF", size.name, size.fine)])
    });
    let error = Error::new(
        "a thread such as `M6`, `M10x1.25` or `1/4-20 UNC`",
        quoted(text),
    );
    match nearest(text.trim(), metric.chain(unified)) {
        Some(name) => error.with_help(format!("`{name}` is the nearest known thread")),
        None => error,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tables_are_in_order_and_within_the_bounds() {
        assert!(METRIC.is_sorted_by(|a, b| a.diameter < b.diameter));
        assert!(UNIFIED.is_sorted_by(|a, b| a.diameter < b.diameter));
        for row in METRIC {
            assert!(row.coarse * COARSEST <= row.diameter);
            assert!(row.fine.iter().all(|pitch| *pitch < row.coarse));
            assert!(PITCHES.contains(&row.coarse));
            assert!(row.fine.iter().all(|pitch| PITCHES.contains(pitch)));
        }
        for size in UNIFIED {
            assert!(size.coarse.is_none_or(|coarse| coarse < size.fine));
        }
    }

    /// To the digits of `computed` in tests/reference/threads.toml, which come from floats.
    #[test]
    fn the_area_before_rounding_is_that_of_the_formula() {
        let step = ratio(1, 10_000);
        for (thread, steps) in [("M3", 50_308), ("M6", 201_234), ("M24", 3_525_039)] {
            let area = Thread::parse(thread).unwrap().unrounded_area();
            let known = ratio(steps, 10_000);
            assert!(
                &known - &step < area && area < known + &step,
                "{thread}: {area}"
            );
        }
    }
}
