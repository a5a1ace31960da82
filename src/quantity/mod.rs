//! Exact values with units: parsed from text, compared, converted, rounded and printed.
//!
//! The lowest stage. It has values, units and limits, and knows nothing of shops or machines.
//!
//! **In**: text that a person typed: `9 N·m ± 1 N·m`, `8 to 10 ft-lb`, `20 Nm + 90 deg`.
//!
//! **Out**: a [`Spec`], [`Limits`], a [`Quantity`] or a [`Unit`], or an [`Error`] with the bytes that
//! are wrong; and from these values, text for a page.
//!
//! 1. The parser turns text into a value once. No text makes it panic. Each number keeps the digits
//!    it was typed with.
//! 2. A [`Unit`] is a row of one table: exact factor from the definitions, accepted spellings,
//!    source. A [`Kind`] is narrower than a dimension: torque is not energy.
//! 3. Computation is rational arithmetic, without floats: [`Quantity::in_unit`], [`Limits::judge`],
//!    [`Limits::is_inside`], [`Limits::intersection`].
//! 4. Rounding is a named step with a stated direction: [`Limits::rounded_in`] rounds bounds
//!    inwards, so that the second unit on a page never allows what the first forbids.
//! 5. [`UnitOrder`] selects the units of a page. Printing follows NIST SP 811 and ISO 80000-1.
//!    [`Limits::on_scale`] gives the mark to set a tool to.
//! 6. [`find()`] finds values in running text with the same grammar, but more carefully, because
//!    most numbers in prose are not values. [`Agreement`] compares a value typed in two units.
//!
//! No locale is read. What can be read in two ways (a comma or a point that may separate thousands,
//! `gal` alone, `20/25 psi`) is refused, with both readings in the help. Kinds are never mixed.
//!
//! ```
//! use benchleaf::quantity::{Quantity, Spec, UnitOrder};
//!
//! let spec = Spec::parse("9 +/- 1 Nm")?;
//! let shown = UnitOrder::default().show(&spec);
//! assert_eq!(shown.first.text(), "9\u{a0}N·m ± 1\u{a0}N·m");
//! assert_eq!(shown.second().unwrap().text(), "80\u{a0}in·lbf (71 to 88)");
//! assert!(spec.limits().contains(&Quantity::parse("7 ft-lb")?));
//! # Ok::<(), benchleaf::quantity::Error>(())
//! ```

mod arithmetic;
mod draft;
mod error;
mod factor;
mod find;
mod found;
mod gallons;
mod gcd;
mod grammar;
mod inward;
mod judge;
mod kind;
mod limits;
mod number;
mod order;
mod pair;
mod parse;
mod print;
mod prose;
mod quoted;
mod rational;
mod round;
mod scale;
mod scan;
mod scan_number;
mod scan_unit;
mod separator;
mod spec;
mod spelling;
mod suggest;
mod table;
mod tables;
mod thousandths;
mod unit;
mod value;
mod wire;

pub use error::Error;
pub use find::find;
pub use found::{Found, Refused, ValuesInText};
pub use gallons::Gallons;
pub use judge::{Margin, Verdict};
pub use kind::Kind;
pub use limits::Limits;
pub use number::Number;
pub use order::{OrderError, Shown, UnitOrder};
pub use pair::{Agreement, Paired};
pub use print::PrintPart;
pub use rational::Rational;
pub use spec::Spec;
pub use unit::Unit;
pub use value::Quantity;
