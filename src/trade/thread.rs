//! Screw threads and their geometry. The tables are in `thread_table.rs`, the parsers in
//! `thread_parse.rs` and `thread_pipe.rs`.

use std::fmt;

use super::figures::{decimals_for, exact, pi, ratio, rounded, whole};
use super::thread_pipe::{PipeMark, PipeSize};
use super::thread_table::{METRIC, Size};
use crate::quantity::{Quantity, Rational, Unit};

/// A thread: metric by ISO 261, unified by ASME B1.1, or a pipe thread.
///
/// A nominal diameter and a pitch that is possible for it. [`series`](Self::series) says whether the
/// two are a standard combination. Metric sizes are in millimetres, all others in inches, exactly.
///
/// Pipe threads are NPT of ASME B1.20.1, G of ISO 228-1 and R of ISO 7-1. They have neither a stress
/// area nor a class: they are tightened to seal, and no torque is calculated for them.
///
/// Parsed are `M6`, `M10x1.25` (or with `×`), `1/4-20 UNC`, `1/4-20`, `1/4 UNC`, `#10-24`,
/// `10-32 UNF`, `1-1/8-7`, each also with `LH` for a left-hand thread. A metric thread without a
/// pitch has the coarse pitch. It prints in the form of its standard, with a metric pitch only if it
/// is not the coarse one. Pipe threads are `1/8-27 NPT`, `1/4 NPT`, `G1/4`, `G 1/4 A`, `R1/8`, `Rc1/8`,
/// `Rp1/8`, `1/4 BSPP` (which prints as `G1/4`), `1/4 BSPT`, and `1/4 BSP`, which leaves open whether it is
/// tapered.
///
/// ```
/// use benchleaf::trade::{Series, Thread};
///
/// let thread = Thread::parse("M10x1.25")?;
/// assert_eq!(thread.to_string(), "M10×1.25");
/// assert_eq!(thread.series(), Series::MetricFine);
/// assert_eq!(thread.stress_area().unwrap().text(), "61.2\u{a0}mm²");
/// assert_eq!(Thread::parse("10-32")?.to_string(), "#10-32 UNF");
///
/// let pipe = Thread::parse("1/8 NPT")?;
/// assert_eq!(pipe.to_string(), "1/8-27 NPT");
/// assert_eq!(pipe.stress_area(), None);
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
pub(super) enum Form {
    /// Both in micrometres.
    Metric { diameter: u32, pitch: u32 },
    Unified {
        size: &'static Size,
        per_inch: u32,
        /// The series as typed if it is neither UNC nor UNF, otherwise empty.
        mark: &'static str,
    },
    Pipe {
        size: &'static PipeSize,
        mark: PipeMark,
    },
}

/// The standard series of a thread.
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
    /// A pipe thread: NPT, G or R.
    Pipe,
    /// None of these. It may be right, but a typing error is as likely.
    Special,
}

impl Thread {
    pub(super) fn new(form: Form, left_hand: bool) -> Self {
        Self { form, left_hand }
    }

    /// Whether the thread is metric; otherwise it is unified or a pipe thread, with its sizes in inches.
    #[must_use]
    pub fn is_metric(&self) -> bool {
        matches!(self.form, Form::Metric { .. })
    }

    /// Whether it is a pipe thread: NPT, G or R. No torque is calculated for these.
    #[must_use]
    pub fn is_pipe(&self) -> bool {
        matches!(self.form, Form::Pipe { .. })
    }

    /// Whether the thread is left-handed: clockwise loosens it.
    #[must_use]
    pub fn is_left_hand(&self) -> bool {
        self.left_hand
    }

    /// The series that the thread belongs to.
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
            Form::Pipe { .. } => Series::Pipe,
        }
    }

    /// The nominal diameter, in mm or in; for a pipe thread, the outside diameter of the pipe (NPT) or
    /// the major diameter at the gauge plane (G, R), and not the size in its name.
    #[must_use]
    pub fn diameter(&self) -> Quantity {
        exact(self.diameter_value(), self.unit())
    }

    /// The pitch, in mm or in.
    #[must_use]
    pub fn pitch(&self) -> Quantity {
        exact(self.pitch_value(), self.unit())
    }

    /// Threads per inch. `None` for a metric thread, and for a pipe thread, which can have half a thread
    /// more; its [`pitch`](Self::pitch) is exact.
    #[must_use]
    pub fn threads_per_inch(&self) -> Option<u32> {
        match self.form {
            Form::Metric { .. } | Form::Pipe { .. } => None,
            Form::Unified { per_inch, .. } => Some(per_inch),
        }
    }

    /// The basic pitch diameter, in mm or in: d₂ = d − 0.649519 P.
    ///
    /// Source: ISO 724 and ASME B1.1, which share the profile of ISO 68-1 (d₂ = d − 3 H / 4,
    /// H = 0.866025 P); the constants are from the Python package me-toolbox 0.0.18. `None` for a pipe
    /// thread, which has another profile.
    #[must_use]
    pub fn pitch_diameter(&self) -> Option<Quantity> {
        self.basic_diameter(649_519)
    }

    /// The basic minor diameter of the tapped hole, in mm or in: D₁ = D − 1.082532 P.
    ///
    /// Source: ISO 724 and ASME B1.1, as for [`pitch_diameter`](Self::pitch_diameter)
    /// (D₁ = D − 5 H / 4).
    #[must_use]
    pub fn minor_diameter(&self) -> Option<Quantity> {
        self.basic_diameter(1_082_532)
    }

    /// The diameter minus this many millionths of the pitch, printed as in tables: with three
    /// decimals in mm, four in in.
    fn basic_diameter(&self, millionths: i64) -> Option<Quantity> {
        let value = self.diameter_value() - ratio(millionths, 1_000_000) * self.pitch_value();
        let decimals = if self.is_metric() { 3 } else { 4 };
        (!self.is_pipe()).then(|| Quantity::new(value, self.unit(), decimals))
    }

    /// The nominal stress area, in mm² or in², rounded as in the tables of the standards.
    ///
    /// Metric, ISO 898-1: A = π / 4 × (d − 0.938194 P)², which is π / 4 × ((d₂ + d₃) / 2)², to
    /// three significant figures. Unified, ASME B1.1 (formula from memory, compared with published
    /// tables): A = π / 4 × (d − 0.9743 P)², to four decimals or three significant figures, whichever
    /// is finer.
    ///
    /// The value itself is rounded, because ISO 898-1 computes loads from the printed areas, and so
    /// does a mechanic who follows the arithmetic with a table. `None` for a pipe thread.
    ///
    /// ```
    /// use benchleaf::trade::Thread;
    ///
    /// assert_eq!(Thread::parse("M6")?.stress_area().unwrap().text(), "20.1\u{a0}mm²");
    /// let inch = Thread::parse("3/8-16 UNC")?.stress_area().unwrap();
    /// assert_eq!(inch.text(), "0.0775\u{a0}in²");
    /// # Ok::<(), benchleaf::trade::Error>(())
    /// ```
    #[must_use]
    pub fn stress_area(&self) -> Option<Quantity> {
        if self.is_pipe() {
            return None;
        }
        let area = self.unrounded_area();
        let (unit, decimals) = if self.is_metric() {
            (Unit::SQUARE_MILLIMETRE, decimals_for(&area, 3))
        } else {
            (Unit::SQUARE_INCH, decimals_for(&area, 3).max(4))
        };
        Some(Quantity::new(rounded(&area, decimals), unit, decimals))
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
            Form::Pipe { size, .. } => ratio(size.diameter.into(), 10_000),
        }
    }

    fn pitch_value(&self) -> Rational {
        match self.form {
            Form::Metric { pitch, .. } => ratio(pitch.into(), 1_000),
            Form::Unified { per_inch, .. } => ratio(1, per_inch.into()),
            Form::Pipe { size, .. } => ratio(2, size.half_threads.into()),
        }
    }

    fn unit(&self) -> Unit {
        if self.is_metric() {
            Unit::MILLIMETRE
        } else {
            Unit::INCH
        }
    }

    /// The diameter in micrometres, or in ten-thousandths of an inch if the thread is not metric.
    pub(super) fn diameter_steps(&self) -> u32 {
        match self.form {
            Form::Metric { diameter, .. } => diameter,
            Form::Unified { size, .. } => size.diameter,
            Form::Pipe { size, .. } => size.diameter,
        }
    }

    /// The designation without the pitch: `M6`, `1/4`, `#10`. A pipe thread's has its series, so that it is
    /// not taken for a unified thread: `G1/4`.
    pub(super) fn size(&self) -> String {
        match self.form {
            Form::Metric { diameter, .. } => format!("M{}", thousandths(diameter)),
            Form::Unified { size, .. } => size.name.to_owned(),
            Form::Pipe { size, mark } => mark.write(size),
        }
    }
}

impl fmt::Display for Thread {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.size())?;
        let series = self.series();
        match self.form {
            Form::Pipe { .. } => {}
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
pub(super) fn thousandths(steps: u32) -> String {
    let text = format!("{}.{:03}", steps / 1_000, steps % 1_000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Compared to the precision of `computed` in tests/reference/threads.toml, which are floats.
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
