//! What a threaded joint takes: preload, torque, and where the tapped thread would go first.

use std::fmt;

use super::error::{Error, nearest, quoted};
use super::figures::{decimals_for, pi, ratio, rounded, shown, whole};
use super::strength::Class;
use super::thread::Thread;
use crate::quantity::{Kind, Limits, Quantity, Rational, Unit};

/// The state of threads and seats when a joint is tightened.
///
/// It decides the nut factor K of T = K · d · F: how much of the torque friction takes. Measured
/// nut factors scatter by a quarter to a third, so what is worked out from them is a guide, and
/// the value of a machine's maker rules.
///
/// ```
/// use benchleaf::trade::Condition;
///
/// assert_eq!(Condition::parse("dry")?.nut_factor().text(), "0.20");
/// assert_eq!(
///     Condition::parse("oily").unwrap_err().to_string(),
///     "expected the state of the thread (dry, oiled, plated or threadlocker), found `oily`",
/// );
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Condition {
    /// Plain steel as it comes, neither oiled nor cleaned of all oil.
    Dry,
    /// Engine oil on threads and under the head.
    Oiled,
    /// Zinc-plated, not oiled.
    Plated,
    /// Wet liquid threadlocker on the threads.
    Threadlocker,
}
