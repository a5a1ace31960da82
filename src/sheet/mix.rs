//! How a two-stroke mixture is made.

use crate::page::PageContext;
use crate::quantity::{Quantity, Rational};
use crate::shop::{Sourced, Supply};
use crate::trade::fill_for;

/// The largest volume that certainly fits into a fluid's capacity.
pub(crate) fn capacity_of(capacity: &Sourced) -> Option<Quantity> {
    let limits = capacity.spec.value.limits();
    limits
        .lower()
        .filter(|lower| *lower.value() > Rational::from_integer(0.into()))
        .or_else(|| limits.nominal())
        .or_else(|| limits.upper())
}

/// How a supply is mixed, and what fills a capacity with it: "mixed 50:1: 0.607 L of petrol and 12.2 mL
/// of oil". The ratio is petrol to oil, and the two are not more than the capacity. `None` if the
/// supply is not mixed.
pub(crate) fn mix_text(
    context: PageContext<'_>,
    supply: &Supply,
    capacity: Option<Quantity>,
) -> Option<String> {
    let ratio = supply.mix.as_ref()?;
    let words = context.words();
    let ratio_text = context.spec(&ratio.value, false).first;
    let fill = capacity.and_then(|capacity| {
        // In the unit that the capacity is printed in first.
        let units = context.shop.units.units(capacity.kind());
        let first = units.first().filter(|_| units.contains(&capacity.unit()));
        let capacity = capacity.in_unit(*first.unwrap_or(&capacity.unit()))?;
        fill_for(&capacity, &ratio.value.limits().nominal()?)
    });
    Some(match fill {
        Some(fill) => {
            let shown = |part: Quantity| {
                let value = context.spec(&part.clone().into(), false);
                match value.second {
                    Some(others) if context.shop.units.has_both_gallons() => {
                        format!("{} ({others})", value.first)
                    }
                    _ => words.quantity(&part),
                }
            };
            let (petrol, oil) = (shown(fill.petrol), shown(fill.oil));
            let values = [("ratio", &*ratio_text), ("petrol", &petrol), ("oil", &oil)];
            words.format("petrol-and-oil", &values)
        }
        None => words.format("mixed", &[("ratio", &ratio_text)]),
    })
}
