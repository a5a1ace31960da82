//! Torques that are plausible for a fastener, and the units that an implausible one was meant in.

use std::cmp::Ordering;

use super::error::Error;
use super::figures::{aim, exact, ratio, shown, whole};
use super::spark_plug::{PlugSeat, usual_plug_torque};
use super::strength::{StrengthClass, extremes, uncalculated};
use super::thread::Thread;
use super::tightening::{Condition, Material, Takes, Tapped, takes, takes_with};
use crate::quantity::{Kind, Limits, Quantity, Rational, Unit};

/// The torques that are plausible for a fastener.
///
/// A torque outside of them is likely a typing error. The bounds are our own choice, but for the
/// ceiling of a joint, which is where the bolt or the tapped thread fails. With a class, they detect
/// every mistake of a unit or a decimal point in a torque from half of what the joint takes to its
/// ceiling, except between N·m and ft·lbf, which differ too little. Without a class, the bounds are
/// further apart, and a mistake is detected if the torque was not near the other one of them.
///
/// ```
/// use benchleaf::quantity::Limits;
/// use benchleaf::trade::{Condition, Plausibility, PlausibleTorque, Thread};
///
/// let m6 = Thread::parse("M6")?;
/// let plausible = PlausibleTorque::of_joint(&m6, None, Condition::Dry, None)?;
/// assert_eq!(plausible.least().text(), "2.04\u{a0}N·m");
/// assert_eq!(plausible.most().text(), "23.4\u{a0}N·m");
/// let judge = |text| plausible.judge(&Limits::parse(text).unwrap());
/// assert_eq!(judge("9 N·m ± 1 N·m"), Plausibility::Plausible);
/// assert_eq!(judge("9 in·lbf"), Plausibility::TooLow);
/// assert_eq!(judge("90 N·m"), Plausibility::TooHigh);
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlausibleTorque {
    least: Quantity,
    most: Quantity,
    /// The range in which another unit is offered.
    likely_from: Quantity,
    /// The torque of the joint, where its class is known.
    usual: Option<Quantity>,
    because: Vec<String>,
}

/// A torque compared with the plausible ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Plausibility {
    /// The mechanic would aim below the least plausible torque.
    TooLow,
    /// It may be right.
    Plausible,
    /// It allows more than the greatest plausible torque.
    TooHigh,
}

impl PlausibleTorque {
    /// Of a threaded joint.
    ///
    /// The ceiling is [`Takes::ceiling`](super::Takes::ceiling): of the class, or of the strongest common one (12.9,
    /// grade 8) if it is not given. The floor is half of the torque of the weakest common class (4.6, grade 1), with
    /// a class at least a third and at most half of its own. A tapped hole limits all of these torques.
    ///
    /// # Errors
    ///
    /// As [`StrengthClass::strength`]; also for a pipe thread without a class.
    pub fn of_joint(
        thread: &Thread,
        class: Option<StrengthClass>,
        condition: Condition,
        tapped: Option<&Tapped>,
    ) -> Result<Self, Error> {
        let own = match class {
            Some(class) => Some(takes(thread, class, condition, tapped)?),
            None => None,
        };
        let (weakest, strongest) = extremes(thread).ok_or_else(|| uncalculated(thread))?;
        let weakest = takes_with(thread, weakest, condition, tapped)?;
        let half = part_of(&weakest.torque, &ratio(1, 2));
        let Some(own) = own else {
            let strongest = takes_with(thread, strongest, condition, tapped)?;
            let mut because = vec![
                format!(
                    "the weakest common bolt of this thread, {}, takes {}: {}",
                    weakest.strength.marking,
                    weakest.torque,
                    weakest.arithmetic.join("; "),
                ),
                format!(
                    "the strongest, {}, takes at most {}",
                    strongest.strength.marking, strongest.ceiling
                ),
            ];
            because.extend(limit_of(&strongest));
            return Ok(Self {
                likely_from: half.clone(),
                least: half,
                most: strongest.ceiling,
                usual: None,
                because,
            });
        };
        let pick = |first: Quantity, second: Quantity, order| {
            let is_first = first.compare(&second) == Some(order);
            if is_first { first } else { second }
        };
        // A1-50 is weaker than the weakest common class.
        let own_half = part_of(&own.torque, &ratio(1, 2));
        let half = pick(half, own_half.clone(), Ordering::Less);
        let third = part_of(&own.torque, &ratio(1, 3));
        let least = pick(third, half, Ordering::Greater);
        let mut because = vec![format!(
            "the joint takes about {}: {}",
            own.torque,
            own.arithmetic.join("; ")
        )];
        because.extend(limit_of(&own));
        Ok(Self {
            least,
            most: own.ceiling,
            likely_from: own_half,
            usual: Some(own.torque),
            because,
        })
    }

    /// Of a spark plug. `None` if there is no published torque for its thread and seat, see
    /// [`usual_plug_torque`].
    ///
    /// The floor is two thirds of the least usual torque, the ceiling four thirds of the greatest,
    /// because machines' makers differ from the makers of plugs.
    #[must_use]
    pub fn of_plug(thread: &Thread, seat: PlugSeat, head: Option<Material>) -> Option<Self> {
        let (least, most) = usual_plug_torque(thread, seat, head)?;
        let in_head = head.map(|head| format!(" in {head}")).unwrap_or_default();
        let because = format!(
            "a spark plug {thread} with a {seat}{in_head} is usually tightened to {least} to {most}"
        );
        let least = part_of(&least, &ratio(2, 3));
        Some(Self {
            likely_from: least.clone(),
            least,
            most: part_of(&most, &ratio(4, 3)),
            usual: None,
            because: vec![because],
        })
    }

    /// With a quarter of the floor: of a plug that closes a drain, which is tightened until its seal
    /// is tight, not to the strength of its thread. Usual torques of such plugs are an eighth to a half
    /// of what class 4.6 takes (common practice, no source).
    #[must_use]
    pub fn of_seal(self) -> Self {
        Self {
            least: part_of(&self.least, &ratio(1, 4)),
            likely_from: part_of(&self.likely_from, &ratio(1, 4)),
            ..self
        }
    }

    /// With the floor of another joint, if that is lower. For a hole whose material is known, but not
    /// its depth: the floor is that of a shallow hole, the ceiling that of the bolt.
    #[must_use]
    pub fn with_floor_of(self, other: Self) -> Self {
        if other.least.compare(&self.least) != Some(Ordering::Less) {
            return self;
        }
        Self {
            least: other.least,
            likely_from: other.likely_from,
            because: [self.because, other.because].concat(),
            ..self
        }
    }

    /// The least plausible torque.
    #[must_use]
    pub fn least(&self) -> &Quantity {
        &self.least
    }

    /// The greatest plausible torque.
    #[must_use]
    pub fn most(&self) -> &Quantity {
        &self.most
    }

    /// The arithmetic, or the published torques that the bounds follow from.
    #[must_use]
    pub fn because(&self) -> &[String] {
        &self.because
    }

    /// Compares a torque. The greatest value that it allows has to be below the ceiling; the value
    /// that a mechanic would set has to be above the floor: the nominal, otherwise the middle, otherwise
    /// the only bound. Limits of another kind are plausible.
    #[must_use]
    pub fn judge(&self, torque: &Limits) -> Plausibility {
        let highest = torque
            .upper()
            .or_else(|| torque.nominal())
            .or_else(|| torque.lower());
        let is_above = |value: Quantity| value.compare(&self.most) == Some(Ordering::Greater);
        let Some(aim) = aim(torque) else {
            return Plausibility::Plausible;
        };
        let aim = Quantity::new(aim, torque.unit(), 0);
        if highest.is_some_and(is_above) {
            Plausibility::TooHigh
        } else if aim.compare(&self.least) == Some(Ordering::Less) {
            Plausibility::TooLow
        } else {
            Plausibility::Plausible
        }
    }

    /// The torques that were probably meant by an implausible one: the same number in other units, the
    /// likeliest first. Empty if the torque is plausible, or if no unit makes it likely.
    ///
    /// The same number in another unit is likely from half of what the joint takes, the least that
    /// makers specify where strength matters, to the ceiling.
    ///
    /// ```
    /// use benchleaf::quantity::{Limits, Quantity};
    /// use benchleaf::trade::{Condition, PlausibleTorque, StrengthClass, Thread};
    ///
    /// let class = StrengthClass::parse("8.8")?;
    /// let m6 = Thread::parse("M6")?;
    /// let joint = PlausibleTorque::of_joint(&m6, Some(class), Condition::Dry, None)?;
    /// let meant = |typed| joint.in_other_units(&Limits::parse(typed).unwrap());
    /// assert_eq!(meant("86 N·m"), [Quantity::parse("86 in·lbf").unwrap()]);
    /// assert_eq!(meant("1 N·m"), [Quantity::parse("1 kgf·m").unwrap()]);
    /// assert_eq!(meant("9 N·m ± 1 N·m"), []);
    /// # Ok::<(), benchleaf::trade::Error>(())
    /// ```
    #[must_use]
    pub fn in_other_units(&self, torque: &Limits) -> Vec<Quantity> {
        if torque.kind() != Kind::Torque || self.judge(torque) == Plausibility::Plausible {
            return Vec::new();
        }
        let Some(aim) = aim(torque) else {
            return Vec::new();
        };
        let units = CONFUSED.into_iter().filter(|unit| *unit != torque.unit());
        let meant = units.map(|unit| exact(aim.clone(), unit));
        let mut likely: Vec<Quantity> = meant.filter(|meant| self.is_likely(meant)).collect();
        if let Some(usual) = &self.usual {
            likely.sort_by_key(|meant| distance(meant, usual));
        }
        likely
    }

    /// Whether an implausible torque would be likely with its decimal point one place further left or right.
    #[must_use]
    pub fn has_misplaced_point(&self, torque: &Limits) -> bool {
        let tenfold = match self.judge(torque) {
            Plausibility::TooLow => ratio(10, 1),
            Plausibility::TooHigh => ratio(1, 10),
            Plausibility::Plausible => return false,
        };
        aim(torque).is_some_and(|aim| self.is_likely(&exact(aim * tenfold, torque.unit())))
    }

    fn is_likely(&self, torque: &Quantity) -> bool {
        let from = torque.compare(&self.likely_from);
        let to = torque.compare(&self.most);
        from.is_some_and(Ordering::is_ge) && to.is_some_and(Ordering::is_le)
    }
}

/// The units of torque that are confused with each other.
const CONFUSED: [Unit; 4] = [
    Unit::NEWTON_METRE,
    Unit::INCH_POUND,
    Unit::FOOT_POUND,
    Unit::KILOGRAM_FORCE_METRE,
];

/// The two torques of a tapped hole that is weaker than the bolt.
fn limit_of(takes: &Takes) -> Option<String> {
    let strips = takes.strips_at.as_ref().filter(|strips| strips.limits)?;
    Some(format!(
        "recommended {}, the {} strips at {}",
        takes.torque, strips.material, strips.torque
    ))
}

/// The ratio of two torques, the greater to the smaller: twice and half a torque are equally far from it.
fn distance(torque: &Quantity, usual: &Quantity) -> Option<Rational> {
    let part = torque.in_unit(usual.unit())?.value() / usual.value();
    Some(if part < whole(1) {
        whole(1) / part
    } else {
        part
    })
}

/// A share of a torque.
fn part_of(torque: &Quantity, part: &Rational) -> Quantity {
    shown(torque.value() * part, torque.unit())
}
