//! Torque tools: which one to use, and whether it is accurate enough.

use super::adequacy::{Adequacy, AdequacyLevel, Window, compare};
use super::error::Error;
use super::extension::Extension;
use super::figures::{aim, ceiling, decimals_for, floor, ratio, shown, whole};
use crate::quantity::{Kind, Limits, Quantity, Rational, Unit};

/// A torque wrench or screwdriver: its range, its tolerance and its scale.
///
/// The upper end of the range is above zero. The tolerance is a percentage of the setting or of the
/// torque, not of the maximum, above zero and below 100 %. With an [`Extension`], the range and the
/// scale keep their meaning: they are what is set, and torques are what the fastener gets.
///
/// ```
/// use benchleaf::quantity::{Limits, Quantity};
/// use benchleaf::trade::{AdequacyLevel, TorqueTool};
///
/// let wrench = TorqueTool::new(&Limits::parse("5 N·m to 25 N·m").unwrap(), None)?
///     .graduated(&Quantity::parse("0.2 N·m").unwrap())?;
/// // 4 % by ISO 6789, since it goes above 10 N·m.
/// let torque = Limits::parse("9 N·m ± 1 N·m").unwrap();
/// let adequacy = wrench.judge(&torque).unwrap();
/// assert_eq!(adequacy.level, AdequacyLevel::Close);
/// assert_eq!(adequacy.ratio.unwrap().text(), "2.7:1");
/// assert_eq!(adequacy.window.unwrap().to_string(), "8.34\u{a0}N·m to 9.60\u{a0}N·m");
/// let setting = wrench.setting(&torque).unwrap();
/// assert_eq!(setting.value.text(), "9.0\u{a0}N·m");
/// assert_eq!(setting.window.unwrap().to_string(), "8.4\u{a0}N·m to 9.6\u{a0}N·m");
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TorqueTool {
    lowest: Quantity,
    highest: Quantity,
    /// As a fraction of one.
    tolerance: Rational,
    graduation: Option<Quantity>,
    extension: Option<Extension>,
}

/// What to set on a torque tool for a torque.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Setting {
    /// The setting, a mark of the tool's scale, in the scale's unit.
    pub value: Quantity,
    /// The lowest and the highest mark that are safe. `None` for a torque without limits.
    pub window: Option<Window>,
}

/// What a torque asks of the scale of a tool. All values are in the unit of the scale.
struct Asked {
    aim: Rational,
    /// The least setting that is safe, and the greatest.
    least: Option<Rational>,
    most: Option<Rational>,
}

impl TorqueTool {
    /// A tool with a marked range (`5 N·m to 25 N·m`) or a maximum (`25 N·m`, `at most 25 N·m`),
    /// and a tolerance in per cent.
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
            graduation: None,
            extension: None,
        })
    }

    /// The tool with the interval between two marks of its scale. The marks are the multiples of it.
    ///
    /// # Errors
    ///
    /// If `interval` is not a torque above zero.
    pub fn graduated(self, interval: &Quantity) -> Result<Self, Error> {
        if interval.kind() != Kind::Torque || *interval.value() <= whole(0) {
            let expected = "the interval between two marks of a torque tool, such as `0.5 N·m`";
            return Err(Error::new(expected, format!("`{interval}`")));
        }
        Ok(Self {
            graduation: Some(interval.clone()),
            ..self
        })
    }

    /// The tool with an extension or crowfoot on it.
    #[must_use]
    pub fn extended(&self, extension: Extension) -> Self {
        Self {
            extension: Some(extension),
            ..self.clone()
        }
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

    /// The tolerance, in per cent.
    #[must_use]
    pub fn tolerance(&self) -> Quantity {
        super::figures::exact(&self.tolerance * whole(100), Unit::PERCENT)
    }

    /// The interval between two marks of the scale. `None` if it is not known.
    #[must_use]
    pub fn graduation(&self) -> Option<&Quantity> {
        self.graduation.as_ref()
    }

    /// Whether the target value can be set: the nominal, otherwise the middle, otherwise the bound.
    /// False if `torque` is not a torque.
    #[must_use]
    pub fn covers(&self, torque: &Limits) -> bool {
        self.distance(torque) == Some(whole(0))
    }

    /// Whether all that the limits allow can be set: the target value and each bound is in the range.
    /// False if `torque` is not a torque.
    #[must_use]
    pub fn covers_all_of(&self, torque: &Limits) -> bool {
        let is_covered = |bound: Option<Quantity>| {
            bound.is_none_or(|bound| {
                self.distance_of(bound.value(), torque.unit()) == Some(whole(0))
            })
        };
        self.covers(torque) && is_covered(torque.lower()) && is_covered(torque.upper())
    }

    /// Compares the tool with the limits of a torque. `None` if `torque` is not a torque.
    ///
    /// The window is what may be set, within the range of the tool. It holds whether the tolerance is
    /// relative to the set value or to the true torque: manuals of torque tools have both, ISO 6789
    /// the latter (a maker's manual cites it as "± 4 % of the indication on the test device"). For a
    /// tolerance p, a true torque of at least L needs a setting of at least L / (1 − p) in the first
    /// case and L (1 + p) in the second; one of at most U needs at most U / (1 + p) and U (1 − p). So
    /// the window is from L / (1 − p) to U (1 − p).
    #[must_use]
    pub fn judge(&self, torque: &Limits) -> Option<Adequacy> {
        let distance = self.distance(torque)?;
        let unit = torque.unit();
        let asked = self.asked(torque, unit)?;
        let error = super::figures::middle(torque)? * &self.tolerance;
        let mut adequacy = compare(
            torque,
            &error,
            Window::inward(asked.least.as_ref(), asked.most.as_ref(), unit),
        );
        if distance > whole(0) {
            adequacy.level = AdequacyLevel::OutOfRange;
        }
        let (least, most) = self.within_range(&asked, unit)?;
        adequacy.window = adequacy.window.filter(|_| least <= most).and_then(|_| {
            Window::inward(
                asked.least.map(|_| least).as_ref(),
                asked.most.map(|_| most).as_ref(),
                unit,
            )
        });
        Some(adequacy)
    }

    /// What to set for a torque: the mark nearest to its nominal, otherwise to its middle or its only
    /// bound, that lies in the range and in the [window](Self::judge). Of two equally near marks, the
    /// lower.
    ///
    /// A torque without limits has no window. Its mark differs from the nominal by no more than the
    /// tolerance of the tool.
    ///
    /// If the graduation is not known, the steps are assumed to be tenths of the last digit of the
    /// upper end of the range, and no finer than three significant figures of it.
    ///
    /// `None` if no mark is safe, or if `torque` is not a torque.
    #[must_use]
    pub fn setting(&self, torque: &Limits) -> Option<Setting> {
        let step = self.step();
        let asked = self.asked(torque, step.unit())?;
        let (least, most) = self.within_range(&asked, step.unit())?;
        let has_limits = asked.least.is_some() || asked.most.is_some();
        let (least, most) = if has_limits {
            (least, most)
        } else {
            let off = &asked.aim * &self.tolerance;
            (least.max(&asked.aim - &off), most.min(&asked.aim + &off))
        };
        let (low_mark, high_mark) = (
            ceiling(&(least / step.value()), 0),
            floor(&(most / step.value()), 0),
        );
        if low_mark > high_mark {
            return None;
        }
        // Halves are rounded down.
        let nearest = ceiling(&(&asked.aim / step.value() - ratio(1, 2)), 0);
        let mark = |marks: Rational| {
            let decimals = decimals_to_print(&step);
            Quantity::new(marks * step.value(), step.unit(), decimals)
        };
        let window = Window {
            least: asked.least.map(|_| mark(low_mark.clone())),
            most: asked.most.map(|_| mark(high_mark.clone())),
        };
        Some(Setting {
            value: mark(nearest.max(low_mark).min(high_mark)),
            window: window.if_not_empty(),
        })
    }

    /// The interval between two settings.
    fn step(&self) -> Quantity {
        if let Some(interval) = &self.graduation {
            return interval.clone();
        }
        let unit = self.highest.unit();
        let figures = decimals_for(self.highest.value(), 3);
        let tenth = self.highest.resolution() / whole(10);
        let mut decimals = 0;
        let mut step = whole(1);
        while decimals < figures && step > tenth {
            step = step / whole(10);
            decimals += 1;
        }
        Quantity::new(step, unit, decimals)
    }

    fn asked(&self, torque: &Limits, unit: Unit) -> Option<Asked> {
        if torque.kind() != Kind::Torque {
            return None;
        }
        let converted = |value: Rational| {
            let value = Quantity::new(value, torque.unit(), 0).in_unit(unit)?;
            Some(value.value().clone())
        };
        let bound = |bound: Option<Quantity>| converted(bound?.value().clone());
        let aim = converted(aim(torque)?)?;
        let (lower, upper) = (bound(torque.lower()), bound(torque.upper()));
        let (aim, lower, upper) = match &self.extension {
            Some(extension) => (
                aim * extension.factor(),
                lower.map(|lower| extension.least(&lower)),
                upper.map(|upper| extension.most(&upper)),
            ),
            None => (aim, lower, upper),
        };
        let less = whole(1) - &self.tolerance;
        Some(Asked {
            aim,
            least: lower.map(|lower| lower / &less),
            most: upper.map(|upper| upper * &less),
        })
    }

    /// The least and the greatest safe setting in the range of the tool.
    fn within_range(&self, asked: &Asked, unit: Unit) -> Option<(Rational, Rational)> {
        let least = self.lowest.in_unit(unit)?.value().clone();
        let most = self.highest.in_unit(unit)?.value().clone();
        Some((
            asked
                .least
                .clone()
                .map_or(least.clone(), |safe| safe.max(least)),
            asked
                .most
                .clone()
                .map_or(most.clone(), |safe| safe.min(most)),
        ))
    }

    /// The distance of the target value from the range: zero inside; outside, the ratio of the value
    /// and the nearer end, minus one.
    fn distance(&self, torque: &Limits) -> Option<Rational> {
        self.distance_of(&aim(torque)?, torque.unit())
    }

    fn distance_of(&self, torque: &Rational, unit: Unit) -> Option<Rational> {
        let lowest = self.lowest.in_unit(unit)?;
        let highest = self.highest.in_unit(unit)?;
        let set = match &self.extension {
            Some(extension) => torque * extension.factor(),
            None => torque.clone(),
        };
        if set <= whole(0) {
            return Some(whole(1));
        }
        Some(if set < *lowest.value() {
            lowest.value() / &set - whole(1)
        } else if set > *highest.value() {
            &set / highest.value() - whole(1)
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

/// The decimals that print every multiple of a step. If the decimals of the step do not end, those for
/// four of its significant figures.
fn decimals_to_print(step: &Quantity) -> u8 {
    let is_exact = |decimals: &u8| floor(step.value(), *decimals) == *step.value();
    let most = decimals_for(step.value(), 4);
    (0..=most).find(is_exact).unwrap_or(most)
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
/// Of the tools that cover every torque: those that have a safe [setting](TorqueTool::setting) for
/// each, of these the ones whose range includes [all that the limits allow](TorqueTool::covers_all_of),
/// of these the one with the smallest tolerance, then the narrowest range (its scale is the finest),
/// then the first. If no tool covers every torque, the one whose range is nearest by ratio. `None` if
/// there are no tools or no torques.
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
    let unfit = |tool: &TorqueTool, distance: &Rational| {
        let is_near = *distance == whole(0);
        let all = |fits: fn(&TorqueTool, &Limits) -> bool| {
            is_near && torques.iter().all(|torque| fits(tool, torque))
        };
        (
            !all(|tool, torque| tool.setting(torque).is_some()),
            !all(TorqueTool::covers_all_of),
        )
    };
    // A range that starts at zero has no ratio of its ends and is sorted last.
    let width = |tool: &TorqueTool| (tool.span().is_none(), tool.span());
    let (index, distance) = tools
        .iter()
        .enumerate()
        .filter_map(|(index, tool)| Some((index, tool, farthest(tool)?)))
        .min_by_key(|(_, tool, distance)| {
            (
                distance.clone(),
                unfit(tool, distance),
                tool.tolerance.clone(),
                width(tool),
            )
        })
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
