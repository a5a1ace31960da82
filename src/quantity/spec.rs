//! Limits, for some torques followed by an angle to turn.

use super::kind::Kind;
use super::limits::Limits;
use super::unit::Unit;
use super::value::Quantity;

/// A value as a maker specifies it: limits, and for some torques an angle to turn afterwards.
///
/// Only a torque can be followed by an angle, and only an angle can follow it. Use this type for
/// values from a shop's files; most have [`limits`](Self::limits) only.
///
/// ```
/// use benchleaf::quantity::Spec;
///
/// let spec = Spec::parse("20 Nm + 90 deg")?;
/// assert_eq!(spec.text(), "20\u{a0}N·m + 90°");
/// assert_eq!(spec.then_turn().unwrap().text(), "90°");
/// assert!(Spec::parse("at least 15 bar")?.then_turn().is_none());
/// # Ok::<(), benchleaf::quantity::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Spec {
    limits: Limits,
    then_turn: Option<Limits>,
}

impl Spec {
    pub(super) fn with_turn(limits: Limits, turn: Limits) -> Self {
        debug_assert_eq!((limits.kind(), turn.kind()), (Kind::Torque, Kind::Angle));
        Self {
            limits,
            then_turn: Some(turn),
        }
    }

    /// The limits; for a torque with an angle, those of the torque.
    #[must_use]
    pub fn limits(&self) -> &Limits {
        &self.limits
    }

    /// The angle to turn after the torque is reached, if there is one.
    #[must_use]
    pub fn then_turn(&self) -> Option<&Limits> {
        self.then_turn.as_ref()
    }

    /// The spec in another unit, rounded as by [`Limits::rounded_in`]. The angle does not change.
    /// `None` if `unit` is of another kind.
    #[must_use]
    pub fn rounded_in(&self, unit: Unit) -> Option<Self> {
        let limits = self.limits.rounded_in(unit)?;
        Some(Self {
            limits,
            then_turn: self.then_turn.clone(),
        })
    }
}

impl From<Quantity> for Spec {
    /// A nominal alone.
    fn from(nominal: Quantity) -> Self {
        Limits::from(nominal).into()
    }
}

impl From<Limits> for Spec {
    fn from(limits: Limits) -> Self {
        Self {
            limits,
            then_turn: None,
        }
    }
}
