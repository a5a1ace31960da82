//! Torque tools: which one to use, and whether it is accurate enough.

use super::adequacy::{Adequacy, AdequacyLevel, compare};
use super::error::Error;
use super::figures::{aim, ratio, shown, whole};
use crate::quantity::{Kind, Limits, Quantity, Rational, Unit};

/// A torque wrench or screwdriver: its range and its tolerance.
///
/// The upper end of the range is above zero. The tolerance is a percentage of the setting, not of the
/// maximum, above zero and below 100 %.
///
/// ```
/// use benchleaf::quantity::Limits;
/// use benchleaf::trade::{AdequacyLevel, TorqueTool};
///
/// let wrench = TorqueTool::new(&Limits::parse("5 N·m to 25 N·m").unwrap(), None)?;
/// // 4 % by ISO 6789, since it goes above 10 N·m.
/// let adequacy = wrench.judge(&Limits::parse("9 N·m ± 1 N·m").unwrap()).unwrap();
/// assert_eq!(adequacy.level, AdequacyLevel::Close);
/// assert_eq!(adequacy.ratio.unwrap().text(), "2.7:1");
/// let (least, most) = adequacy.window.unwrap();
/// assert_eq!((least.text(), most.text()), ("8.34\u{a0}N·m".to_owned(), "9.61\u{a0}N·m".to_owned()));
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TorqueTool {
    lowest: Quantity,
    highest: Quantity,
    /// As a fraction of one.
    tolerance: Rational,
}

impl TorqueTool {
    /// A tool with a marked range (`5 N·m to 25 N·m`) or a maximum (`25 N·m`, `at most 25 N·m`),
    /// and a tolerance in per cent of the setting.
    ///
    /// With a maximum only, the range starts at 20 % of it, the lowest calibration point of
    /// ISO 6789:2003. A marked range starts at its lowest mark, as in ISO 6789-1:2017. The default
    /// tolerance is that of ISO 6789: 6 % for tools up to 10 N·m, 4 % for larger ones. Sources:
    /// articles of two torque tool makers on ISO 6789, and a torque tester's manual (2011) based on
    /// it; for types other than adjustable wrenches, from memory.
    ///
    /// # Errors
    ///
    /// If `range` is not a torque above zero or has no upper end, or if `tolerance` is not a
    /// percentage between 0 and 100.
    pub fn new(range: &Limits, tolerance: Option<&Quantity>) -> Result<Self, Error> {
        let highest = range.upper().or_else(|| range.nominal());
        let highest = highest
            .filter(|highest| highest.kind() == Kind::Torque && *highest.value() > whole(0))
            .ok_or_else(|| {
                let expected = "a torque tool's range or its maximum, such as `5 N·m to 25 N·m`";
                Error::new(expected, format!("`{range}`"))
            })?;
        let lowest = range
            .lower()
            .unwrap_or_else(|| shown(highest.value() / whole(5), highest.unit()));
        let tolerance = match tolerance {
            Some(typed) => percentage(typed)?,
            None => standard_tolerance(&highest),
        };
        Ok(Self {
            lowest,
            highest,
            tolerance,
        })
    }

    /// The lower end of the range.
    #[must_use]
    pub fn lowest(&self) -> &Quantity {
        &self.lowest
    }

    /// The upper end of the range.
    #[must_use]
    pub fn highest(&self) -> &Quantity {
        &self.highest
    }

    /// The tolerance, in per cent of the setting.
    #[must_use]
    pub fn tolerance(&self) -> Quantity {
        super::figures::exact(&self.tolerance * whole(100), Unit::PERCENT)
    }

    /// Whether the target value is in the range: the nominal, otherwise the middle, otherwise the
    /// bound. False if `torque` is not a torque.
    #[must_use]
    pub fn covers(&self, torque: &Limits) -> bool {
        self.distance(torque) == Some(whole(0))
    }

    /// Compares the tool with the limits of a torque. `None` if `torque` is not a torque.
    ///
    /// With less than two bounds, the result is either [`AdequacyLevel::OutOfRange`] or [`AdequacyLevel::Ample`].
    #[must_use]
    pub fn judge(&self, torque: &Limits) -> Option<Adequacy> {
        let distance = self.distance(torque)?;
        let error = super::figures::middle(torque)? * &self.tolerance;
        // The error is proportional to the setting: s (1 − p) must not be below the lower bound,
        // nor s (1 + p) above the upper one.
        let guarded = |lower: &Rational, upper: &Rational| {
            (
                lower / (whole(1) - &self.tolerance),
                upper / (whole(1) + &self.tolerance),
            )
        };
        let mut adequacy = compare(torque, &error, guarded).unwrap_or(Adequacy {
            level: AdequacyLevel::Ample,
            ratio: None,
            window: None,
        });
        if distance > whole(0) {
            adequacy.level = AdequacyLevel::OutOfRange;
        }
        Some(adequacy)
    }

    /// The distance of the target value from the range: zero inside; outside, the ratio of the value
    /// and the nearer end, minus one.
    fn distance(&self, torque: &Limits) -> Option<Rational> {
        let unit = torque.unit();
        let aim = aim(torque)?;
        let lowest = self.lowest.in_unit(unit)?;
        let highest = self.highest.in_unit(unit)?;
        if aim <= whole(0) {
            return Some(whole(1));
        }
        Some(if aim < *lowest.value() {
            lowest.value() / &aim - whole(1)
        } else if aim > *highest.value() {
            &aim / highest.value() - whole(1)
        } else {
            whole(0)
        })
    }

    /// The highest divided by the lowest torque. `None` if the range starts at zero.
    fn span(&self) -> Option<Rational> {
        let lowest = self.lowest.in_unit(self.highest.unit())?;
        (*lowest.value() > whole(0)).then(|| self.highest.value() / lowest.value())
    }
}

fn percentage(typed: &Quantity) -> Result<Rational, Error> {
    let value = typed.value();
    if typed.unit() == Unit::PERCENT && whole(0) < *value && *value < whole(100) {
        return Ok(value / whole(100));
    }
    let expected = "a tolerance in per cent of the setting, such as `4 %`";
    Err(Error::new(expected, format!("`{typed}`")))
}

fn standard_tolerance(highest: &Quantity) -> Rational {
    let small = highest
        .in_unit(Unit::NEWTON_METRE)
        .is_some_and(|highest| *highest.value() <= whole(10));
    ratio(if small { 6 } else { 4 }, 100)
}

/// The tool to use, as its index in the list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Choice {
    /// The range covers every torque.
    Covers(usize),
    /// No range covers every torque; this one is nearest.
    Nearest(usize),
}

/// Selects the tool for a torque, or for all its stages.
///
/// Of the tools that cover every torque: the one with the smallest tolerance, then the narrowest range
/// (its scale is the finest), then the first. If no tool does, the one whose range is nearest by
/// ratio. `None` if there are no tools or no torques.
///
/// ```
/// use benchleaf::quantity::Limits;
/// use benchleaf::trade::{Choice, TorqueTool, choose_tool};
///
/// let limits = |text| Limits::parse(text).unwrap();
/// let tool = |range| TorqueTool::new(&limits(range), None).unwrap();
/// let crib = [tool("40 N·m to 200 N·m"), tool("5 N·m to 25 N·m"), tool("1 N·m to 10 N·m")];
/// let choose = |torque| choose_tool(&crib, &[limits(torque)]);
/// assert_eq!(choose("9 N·m ± 1 N·m"), Some(Choice::Covers(1)));
/// assert_eq!(choose("30 N·m"), Some(Choice::Nearest(1)));
/// ```
#[must_use]
pub fn choose_tool(tools: &[TorqueTool], torques: &[Limits]) -> Option<Choice> {
    let farthest = |tool: &TorqueTool| {
        let distances: Option<Vec<Rational>> =
            torques.iter().map(|torque| tool.distance(torque)).collect();
        distances?.into_iter().max()
    };
    // A range that starts at zero has no ratio of its ends and is sorted last.
    let width = |tool: &TorqueTool| (tool.span().is_none(), tool.span());
    let (index, distance) = tools
        .iter()
        .enumerate()
        .filter_map(|(index, tool)| Some((index, tool, farthest(tool)?)))
        .min_by_key(|(_, tool, distance)| (distance.clone(), tool.tolerance.clone(), width(tool)))
        .map(|(index, _, distance)| (index, distance))?;
    Some(if distance == whole(0) {
        Choice::Covers(index)
    } else {
        Choice::Nearest(index)
    })
}

/// Checks that the stages of a tightening increase and end at its torque.
///
/// ```
/// use benchleaf::quantity::{Limits, Quantity};
/// use benchleaf::trade::check_stages;
///
/// let stages = ["5 N·m", "7 N·m", "9 N·m"].map(|text| Quantity::parse(text).unwrap());
/// let torque = Limits::parse("9 N·m ± 1 N·m").unwrap();
/// assert!(check_stages(&stages, &torque).is_ok());
/// assert_eq!(
///     check_stages(&stages[..2], &torque).unwrap_err().to_string(),
///     "expected a last stage of 9\u{a0}N·m ± 1\u{a0}N·m, found `7\u{a0}N·m`",
/// );
/// ```
///
/// # Errors
///
/// If a stage is not a torque or not above the one before it, or if the last is not within `torque`
/// (for a nominal alone: not equal to it).
pub fn check_stages(stages: &[Quantity], torque: &Limits) -> Result<(), Error> {
    for pair in stages.windows(2) {
        let [before, after] = pair else { continue };
        if before.compare(after) != Some(std::cmp::Ordering::Less) {
            let expected = format!("a stage above the {before} before it");
            return Err(Error::new(expected, format!("`{after}`")));
        }
    }
    let Some(last) = stages.last() else {
        return Ok(());
    };
    let nominal = torque.nominal().and_then(|nominal| nominal.compare(last));
    if torque.contains(last) || nominal == Some(std::cmp::Ordering::Equal) {
        return Ok(());
    }
    let expected = format!("a last stage of {torque}");
    Err(Error::new(expected, format!("`{last}`")))
}
