//! Torque tools: which one, whether it is fine enough, what to set it to.

use super::adequacy::{Adequacy, Level, compare};
use super::error::Error;
use super::figures::{aim, ratio, shown, whole};
use crate::quantity::{Kind, Limits, Quantity, Rational, Unit};

/// A torque wrench or screwdriver: the torques it is used at, and its error.
///
/// The range is above zero at its upper end; the tolerance is above zero and below 100 %. It
/// is a part of the setting, not of the maximum.
///
/// ```
/// use benchleaf::quantity::Limits;
/// use benchleaf::trade::{Level, TorqueTool};
///
/// let wrench = TorqueTool::new(&Limits::parse("5 N·m to 25 N·m").unwrap(), None)?;
/// // 4 % by ISO 6789, since it goes above 10 N·m.
/// let adequacy = wrench.judge(&Limits::parse("9 N·m ± 1 N·m").unwrap()).unwrap();
/// assert_eq!(adequacy.level, Level::Close);
/// assert_eq!(adequacy.ratio.unwrap().text(), "2.7:1");
/// let (least, most) = adequacy.window.unwrap();
/// assert_eq!((least.text(), most.text()), ("8.34\u{a0}N·m".to_owned(), "9.61\u{a0}N·m".to_owned()));
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TorqueTool {
    lowest: Quantity,
    highest: Quantity,
    /// As a part of one.
    tolerance: Rational,
}

impl TorqueTool {
    /// A tool with a marked range (`5 N·m to 25 N·m`) or a maximum (`25 N·m`, `at most 25 N·m`),
    /// and a tolerance in per cent of the setting.
    ///
    /// With a maximum alone, it is used from 20 % of it: the lowest point it is calibrated at by
    /// ISO 6789:2003. A marked range is used from its lowest mark, as ISO 6789-1:2017 has it.
    /// Without a tolerance, that of ISO 6789 is taken: 6 % of tools up to 10 N·m, 4 % of larger
    /// ones. Sources: articles of two torque tool makers on ISO 6789, and a torque tester's manual
    /// (2011) after it; for types other than adjustable wrenches, from memory.
    ///
    /// # Errors
    ///
    /// Where `range` is no torque above zero, has no upper end, or where `tolerance` is no
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

    /// The least torque it is used at.
    #[must_use]
    pub fn lowest(&self) -> &Quantity {
        &self.lowest
    }

    /// The most it goes to.
    #[must_use]
    pub fn highest(&self) -> &Quantity {
        &self.highest
    }

    /// Its error, in per cent of the setting.
    #[must_use]
    pub fn tolerance(&self) -> Quantity {
        super::figures::exact(&self.tolerance * whole(100), Unit::PERCENT)
    }

    /// Whether it is used at the value to aim for: the nominal, else the middle, else the bound.
    /// False where `torque` is none.
    #[must_use]
    pub fn covers(&self, torque: &Limits) -> bool {
        self.distance(torque) == Some(whole(0))
    }

    /// How it does against a torque's limits; `None` where `torque` is none.
    ///
    /// Limits with one bound or none can only be out of range.
    #[must_use]
    pub fn judge(&self, torque: &Limits) -> Option<Adequacy> {
        let distance = self.distance(torque)?;
        let error = super::figures::middle(torque)? * &self.tolerance;
        // The error goes with the setting: s (1 − p) must reach the lower bound, s (1 + p) must
        // not pass the upper one.
        let guarded = |lower: &Rational, upper: &Rational| {
            (
                lower / (whole(1) - &self.tolerance),
                upper / (whole(1) + &self.tolerance),
            )
        };
        let mut adequacy = compare(torque, &error, guarded).unwrap_or(Adequacy {
            level: Level::Ample,
            ratio: None,
            window: None,
        });
        if distance > whole(0) {
            adequacy.level = Level::OutOfRange;
        }
        Some(adequacy)
    }

    /// How far the value to aim for is from the range: zero within, otherwise the factor beyond
    /// its end less one.
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

    /// How many times its lowest torque its highest is; none where it starts at zero.
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

/// The tool to use, by its place in the list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Choice {
    /// It covers every torque.
    Covers(usize),
    /// None does; its range is the nearest.
    Nearest(usize),
}

/// The tool for a torque, or for all stages of one.
///
/// Of those that cover every torque, the one with the smallest tolerance, then the one with the
/// narrowest range (its scale is the finest), then the first. Where none does, the one whose
/// range is nearest by ratio. `None` where there are no tools or no torques.
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
    // What starts at zero has no ratio of its ends and comes after what has.
    let width = |tool: &TorqueTool| (tool.span().is_none(), tool.span());
    let (place, distance) = tools
        .iter()
        .enumerate()
        .filter_map(|(place, tool)| Some((place, tool, farthest(tool)?)))
        .min_by_key(|(_, tool, distance)| (distance.clone(), tool.tolerance.clone(), width(tool)))
        .map(|(place, _, distance)| (place, distance))?;
    Some(if distance == whole(0) {
        Choice::Covers(place)
    } else {
        Choice::Nearest(place)
    })
}

/// Whether the stages of a tightening rise to its torque.
///
/// # Errors
///
/// Where a stage is no torque, is not above the one before it, or where the last is not within
/// `torque` (or not its nominal, where that is all there is).
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
