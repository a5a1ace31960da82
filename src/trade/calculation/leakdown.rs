//! The leak-down of a cylinder.

use super::entry::{Bound, Calculation, Outcome, Source};
use super::given::Given;
use super::input::Input;
use super::worked::{Exact, Worked};
use crate::quantity::{Kind, Unit};
use crate::trade::error::Error;
use crate::trade::figures::whole;

pub(super) static LEAK_DOWN: Calculation = Calculation {
    name: "leak-down",
    title: "the leak-down of a cylinder from two gauge pressures",
    definition: "(supply − held) / supply, in per cent, with both pressures as the gauges show them: above the pressure \
        of the air. The supply is the pressure before the restriction of the tester, and the held pressure that behind \
        it, in the cylinder. Testers with another restriction give other figures, so compare readings of one tester.",
    sources: &[
        Source::from_memory(
            "FAA Advisory Circular 43.13-1B, section 8-14: a loss of 25 per cent of 80 psi is written 60/80",
        ),
        Source::common_practice(
            "that leak-down is the loss as a share of the pressure that is fed in",
        ),
    ],
    inputs: &[
        Input::of("supply", PRESSURES, "the pressure that is fed in"),
        Input::of("held", PRESSURES, "the pressure that the cylinder holds"),
    ],
    results: &[Outcome::of("leakage", Kind::Percent, "leak-down")
        .up("so that a leak is not made smaller")
        .bounds(Bound::AtMost)],
    caution: Some(
        "The pressure turns the crankshaft, and whatever it drives, unless the piston is exactly at top dead centre. Hold \
        it with the maker's tool, keep hands and clothing clear, wear eye protection, and let the pressure off before you \
        unscrew the adapter.",
    ),
    example: &[("supply", "80 psi"), ("held", "72 psi")],
    work: leak_down,
};

/// A gauge that is read beside its value need not say that it is one.
const PRESSURES: &[Kind] = &[Kind::Pressure, Kind::GaugePressure];

fn leak_down(given: &Given<'_>) -> Result<Worked, Error> {
    let unit = given.unit("supply")?;
    if given.quantity("held")?.in_unit(unit).is_none() {
        let expected = "two pressures that are both marked as gauge pressures, or neither";
        return Err(given.wrong("held", expected));
    }
    let supply = given.above_zero("supply", unit)?;
    let held = given.in_unit("held", unit)?;
    if held.is_negative() || held > supply {
        return Err(given.wrong("held", "a held pressure from zero to the supply"));
    }
    let leakage = Exact::new((&supply - held) / &supply * whole(100), Unit::PERCENT);
    Ok(Worked {
        lines: vec![format!(
            "leak-down = ({supply} − {held}) / {supply} = {}",
            leakage.text(),
            supply = given.text("supply"),
            held = given.text("held"),
        )],
        values: vec![Some(leakage)],
    })
}
