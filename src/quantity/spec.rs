//! What a machine's maker asks for: limits, for some torques finished by an angle.

use super::error::Error;
use super::kind::Kind;
use super::limits::Limits;
use super::parse;
use super::unit::Unit;

/// Limits, and for a torque that is finished by turning, the angle to turn.
///
/// Only a torque has an angle after it, and what is after it is an angle. This is the type to
/// read a value from a shop's file into; [`limits`](Self::limits) is all of it for most values.
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
    /// Reads limits in any form of [`Limits::parse`], and after a torque, `+` and an angle,
    /// which may have limits of its own.
    ///
    /// # Errors
    ///
    /// As [`Limits::parse`]; also where what follows the `+` is no angle, or what stands before
    /// it no torque.
    pub fn parse(text: &str) -> Result<Self, Error> {
        parse::spec(text)
    }

    pub(super) fn with_turn(limits: Limits, turn: Limits) -> Self {
        debug_assert_eq!((limits.kind(), turn.kind()), (Kind::Torque, Kind::Angle));
        Self {
            limits,
            then_turn: Some(turn),
        }
    }

    /// The limits, before any turning.
    #[must_use]
    pub fn limits(&self) -> &Limits {
        &self.limits
    }

    /// The angle to turn after the torque is reached.
    #[must_use]
    pub fn then_turn(&self) -> Option<&Limits> {
        self.then_turn.as_ref()
    }

    /// The spec in another unit, rounded as [`Limits::rounded_in`] rounds; the angle stays as
    /// it is written. `None` where `unit` is of another kind.
    #[must_use]
    pub fn rounded_in(&self, unit: Unit) -> Option<Self> {
        let limits = self.limits.rounded_in(unit)?;
        Some(Self {
            limits,
            then_turn: self.then_turn.clone(),
        })
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
