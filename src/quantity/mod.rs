//! Text in, exact value out, and exact value back to text.
//!
//! The lowest stage: it knows values, units and limits, and nothing of shops or machines.
//!
//! **In**: what a person typed into a field: `9 N·m ± 1 N·m`, `8 to 10 ft-lb`, `20 Nm + 90 deg`.
//!
//! **Out**: a [`Spec`] (of which [`Limits`] are the most part) or a [`Quantity`], or an
//! [`Error`] with the place of the culprit; and from these, text for a page.
//!
//! 1. The parser turns text into a value once. It never fails on any text but by an error, and
//!    each number keeps the digits it was typed with.
//! 2. [`Unit`] is a row of one table: exact factor from the definitions, typed spellings,
//!    source. A [`Kind`] is narrower than a dimension: torque isn't energy.
//! 3. Everything between is rational arithmetic: [`Quantity::in_unit`], [`Limits::judge`],
//!    [`Limits::is_inside`], [`Limits::intersection`]. Nothing is a float, ever.
//! 4. Rounding is a named step with a stated direction: [`Limits::rounded_in`] rounds bounds
//!    inwards, so that the second unit on a page never allows what the first forbids.
//! 5. [`UnitOrder`] chooses the units of a page; printing follows NIST SP 811 and ISO 80000-1;
//!    [`Limits::on_scale`] gives the mark to set a tool to.
//! 6. [`find()`] finds values in running text, by the same grammar but far more careful: in prose,
//!    most numbers are no values.
//!
//! It never reads a locale, never guesses what a comma means, and never compares kinds.
//!
//! ```
//! use benchleaf::quantity::{Quantity, Spec, UnitOrder};
//!
//! let spec = Spec::parse("9 +/- 1 Nm")?;
//! let shown = UnitOrder::default().show(&spec);
//! assert_eq!(shown.first, "9\u{a0}N·m ± 1\u{a0}N·m");
//! assert_eq!(shown.second.as_deref(), Some("80\u{a0}in·lbf (71 to 88)"));
//! assert!(spec.limits().contains(&Quantity::parse("7 ft-lb")?));
//! # Ok::<(), benchleaf::quantity::Error>(())
//! ```

mod error;
mod factor;
mod find;
mod judge;
mod kind;
mod limits;
mod number;
mod order;
mod parse;
mod print;
mod rational;
mod round;
mod scale;
mod scan;
mod spec;
mod table;
mod unit;
mod value;

pub use error::Error;
pub use find::{Found, Paired, find};
pub use judge::{Margin, Verdict};
pub use kind::Kind;
pub use limits::Limits;
pub use order::{OrderError, Shown, UnitOrder};
pub use rational::Rational;
pub use spec::Spec;
pub use unit::Unit;
pub use value::Quantity;
