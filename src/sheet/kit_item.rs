//! The items of a kit list: parts, repair kits and supplies, with how much of each is needed.

use crate::quantity::{Quantity, Rational};
use crate::shop::{Part, Price, RepairKit, Sourced, Supply};

/// Whether an item is needed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Need {
    /// Only on some outcome.
    IfFound,
    Always,
}

/// A part or a supply that jobs consume.
pub(crate) struct Item<'k> {
    pub(crate) name: &'k str,
    pub(crate) number: Option<&'k str>,
    /// Where it is kept.
    pub(super) bin: Option<&'k str>,
    pub(super) remark: Option<&'k str>,
    pub(super) is_single_use: bool,
    pub(super) need: Need,
    /// The parts of a repair kit that are needed.
    pub(super) held: Vec<&'k str>,
    /// Pieces of a part, or of a supply that is counted.
    pub(super) count: u32,
    /// The amounts of a supply that are applied.
    pub(super) applied: Vec<Quantity>,
    /// Whether a supply is also applied without a known amount.
    pub(super) is_as_needed: bool,
    /// The capacities to fill; empty for a part.
    pub(super) fills: Vec<&'k Sourced>,
    /// Whether a fluid is topped up with it, which takes an amount that is not known.
    pub(super) is_topped_up: bool,
    pub(super) price: Option<&'k Price>,
    pub(super) supply: Option<&'k Supply>,
}

impl<'k> Item<'k> {
    /// Adds a use of it, which may depend on an outcome.
    pub(super) fn add_need(&mut self, is_conditional: bool) {
        if !is_conditional {
            self.need = Need::Always;
        }
    }

    /// An item of which nothing is needed yet.
    fn named(name: &'k str) -> Item<'k> {
        Item {
            name,
            number: None,
            bin: None,
            remark: None,
            is_single_use: false,
            need: Need::IfFound,
            held: Vec::new(),
            count: 0,
            applied: Vec::new(),
            is_as_needed: false,
            fills: Vec::new(),
            is_topped_up: false,
            price: None,
            supply: None,
        }
    }

    pub(super) fn of_part(part: &'k Part) -> Item<'k> {
        Item {
            number: part.number.as_deref(),
            bin: part.bin.as_deref(),
            is_single_use: part.single_use,
            price: part.price.as_ref(),
            ..Item::named(&part.name)
        }
    }

    pub(super) fn of_kit(kit: &'k RepairKit) -> Item<'k> {
        Item {
            number: kit.number.as_deref(),
            bin: kit.bin.as_deref(),
            price: kit.price.as_ref(),
            ..Item::named(&kit.name)
        }
    }

    pub(super) fn of_supply(supply: &'k Supply) -> Item<'k> {
        Item {
            number: supply.number.as_deref(),
            bin: supply.bin.as_deref(),
            remark: supply.note.as_deref(),
            price: supply.price.as_ref(),
            supply: Some(supply),
            ..Item::named(&supply.name)
        }
    }

    /// The sum of the fillings, in the unit of the first. `None` if a filling has no nominal value
    /// or the units do not convert.
    pub(super) fn filled(&self) -> Option<Quantity> {
        self.sum(|fill| fill.spec.value.limits().nominal())
    }

    /// The sum of one value of each filling, in the unit of the first. `None` if a filling has no such
    /// value or the units do not convert.
    pub(super) fn sum(&self, value: impl Fn(&Sourced) -> Option<Quantity>) -> Option<Quantity> {
        let values = self.fills.iter().map(|fill| value(fill));
        let applied = self.applied.iter().cloned().map(Some);
        let values: Vec<Quantity> = values.chain(applied).collect::<Option<_>>()?;
        let unit = values.first()?.unit();
        let mut sum = Rational::from_integer(0.into());
        let mut decimals = 0;
        for value in &values {
            let value = value.in_unit(unit)?;
            sum = &sum + value.value();
            decimals = decimals.max(decimals_of(&value.resolution()));
        }
        Some(Quantity::new(sum, unit, decimals))
    }

    /// For a part, price times pieces. For a supply, price times the quantity filled, divided by
    /// the quantity that the price is for.
    pub(super) fn cost(&self) -> Option<Price> {
        let price = self.price?;
        if self.count > 0 {
            return Some(price.times(&Rational::from_integer(self.count.into())));
        }
        let each = self.supply?.each.as_ref()?.value.limits().nominal()?;
        let filled = self.filled()?.in_unit(each.unit())?;
        Some(price.times(&(filled.value() / each.value())))
    }
}

/// The number of decimal places that a resolution needs: 2 for a hundredth. At most 6.
fn decimals_of(resolution: &Rational) -> u8 {
    let ten = Rational::from_integer(10.into());
    let mut step = Rational::from_integer(1.into());
    let mut decimals = 0;
    while step > *resolution && decimals < 6 {
        step = &step / &ten;
        decimals += 1;
    }
    decimals
}
