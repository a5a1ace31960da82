//! Draws simple diagrams: scales, levers, tightening orders.
//!
//! **In**: plain data, with texts in the language of the page. **Out**: a [`Drawing`](crate::page::Drawing): SVG for
//! both media, its size in print and its text alternative. This stage knows no shop and no machine, and it never decides
//! where a drawing is shown.
//!
//! All drawings have one style of line, and are black and white: what is shaded has an outline as well. The unit of
//! their coordinates is a tenth of a millimetre in print. Their colour is that of the text around them.

mod canvas;
mod gauge;
mod letters;
mod line;
mod positions;
mod removal;
mod rows;
mod stack;
#[cfg(test)]
mod testing;
mod tightening;

pub(crate) use gauge::{Gauge, GaugeEnd, gauge};
pub(crate) use line::{Line, LinePart, line};
pub(crate) use positions::{Positions, positions};
pub(crate) use removal::{Removal, Removals, removals};
pub(crate) use stack::{Layer, Stack, stack};
pub(crate) use tightening::{Tightening, tightening};
