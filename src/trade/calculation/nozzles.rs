//! Nozzles of pressure washers.

use super::entry::{Bound, Calculation, Outcome, Source};
use super::given::Given;
use super::input::Input;
use super::worked::{Exact, Worked, plain};
use crate::quantity::{Kind, Rational, Unit};
use crate::trade::error::Error;
use crate::trade::figures::whole;
use crate::trade::interval::Interval;

const SOURCES: &[Source] = &[
    Source::read(
        "Pressure Washer Nozzle Selection Guide (portlandcompressor): its chart has the number as US gal/min at 4000 psi",
    ),
    Source::from_memory("the flow of an orifice, q = C A √(2 Δp / ρ), in textbooks on hydraulics"),
];

const CAUTION: &str = "A jet of a pressure washer goes through gloves and skin. Such a wound looks small and needs a \
    surgeon at once: tell the doctor that it is an injection. Switch off, let the pressure off and lock the trigger before \
    you change a nozzle. Never aim at people, animals, wiring or sockets, and wear eye protection. A nozzle that is too \
    small raises the pressure above what pump and hose are made for.";

const PRESSURES: &[Kind] = &[Kind::Pressure, Kind::GaugePressure];

/// In psi, above zero.
fn psi(given: &Given<'_>, name: &str) -> Result<Rational, Error> {
    let unit = match given.quantity(name)?.kind() {
        Kind::GaugePressure => Unit::PSI_GAUGE,
        _ => Unit::PSI,
    };
    given.above_zero(name, unit)
}

/// √(one / other).
fn root_of_ratio(one: Rational, other: Rational) -> Result<Interval, Error> {
    Interval::from(one / other).root("a ratio of pressures")
}

/// The unit of a flow beside a pressure.
fn flow_unit(given: &Given<'_>, pressure: &str) -> Result<Unit, Error> {
    let unit = given.unit(pressure)?;
    Ok(if unit == Unit::PSI || unit == Unit::PSI_GAUGE {
        Unit::US_GALLON_PER_MINUTE
    } else {
        Unit::LITRE_PER_MINUTE
    })
}

pub(super) static NOZZLE_SIZE: Calculation = Calculation {
    name: "nozzle-size",
    title: "the size number of a pressure washer's nozzle for a flow and a pressure",
    definition: "Flow in US gal/min × √(4000 psi / pressure): the number of a nozzle is the flow of water that it passes \
        at 4000 psi, in US gallons a minute. Choose the size that is sold next above, because a smaller one raises the \
        pressure.",
    sources: SOURCES,
    inputs: &[
        Input::of("flow", &[Kind::Flow], "the flow of the pump"),
        Input::of("pressure", PRESSURES, "the pressure at the nozzle"),
    ],
    results: &[
        Outcome::number("size", "nozzle size").up("because a smaller nozzle raises the pressure")
    ],
    caution: Some(CAUTION),
    example: &[("flow", "9 L/min"), ("pressure", "150 bar")],
    work: nozzle_size,
};

fn nozzle_size(given: &Given<'_>) -> Result<Worked, Error> {
    let flow = given.above_zero("flow", Unit::US_GALLON_PER_MINUTE)?;
    let root = root_of_ratio(whole(4000), psi(given, "pressure")?)?;
    let size = Exact::number(Interval::from(flow) * root);
    Ok(Worked {
        lines: vec![format!(
            "size = {} × √(4000 psi / {}) = {}",
            given.text_in("flow", Unit::US_GALLON_PER_MINUTE),
            given.text("pressure"),
            plain(&size.value)
        )],
        values: vec![Some(size)],
    })
}

pub(super) static NOZZLE_FLOW: Calculation = Calculation {
    name: "nozzle-flow",
    title: "the flow through a pressure washer's nozzle at a pressure",
    definition: "Size × √(pressure / 4000 psi), in US gal/min: the number of a nozzle is the flow of water that it passes \
        at 4000 psi.",
    sources: SOURCES,
    inputs: &[
        Input::number("size", "", "the number of the nozzle, such as 4.5"),
        Input::of("pressure", PRESSURES, "the pressure at the nozzle"),
    ],
    results: &[Outcome::of("flow", Kind::Flow, "flow")
        .down("because the pump must give at least what is counted on")],
    caution: Some(CAUTION),
    example: &[("size", "4.5"), ("pressure", "150 bar")],
    work: nozzle_flow,
};

fn nozzle_flow(given: &Given<'_>) -> Result<Worked, Error> {
    let root = root_of_ratio(psi(given, "pressure")?, whole(4000))?;
    let flow = Interval::from(given.number_above_zero("size")?) * root;
    let flow = Exact::new(flow, Unit::US_GALLON_PER_MINUTE).shown_in(flow_unit(given, "pressure")?);
    Ok(Worked {
        lines: vec![format!(
            "flow = {} US gal/min × √({} / 4000 psi) = {}",
            given.text("size"),
            given.text("pressure"),
            flow.text()
        )],
        values: vec![Some(flow)],
    })
}

pub(super) static NOZZLE_PRESSURE: Calculation = Calculation {
    name: "nozzle-pressure",
    title: "the pressure that a flow builds up at a pressure washer's nozzle",
    definition: "4000 psi × (flow / size)², with the flow in US gal/min: the number of a nozzle is the flow of water that \
        it passes at 4000 psi.",
    sources: SOURCES,
    inputs: &[
        Input::number("size", "", "the number of the nozzle, such as 4.5"),
        Input::of("flow", &[Kind::Flow], "the flow of the pump"),
    ],
    results: &[
        Outcome::of("pressure", Kind::Pressure, "pressure at the nozzle")
            .up("because the pressure is compared with a maximum")
            .bounds(Bound::AtMost),
    ],
    caution: Some(CAUTION),
    example: &[("size", "4.5"), ("flow", "12 L/min")],
    work: nozzle_pressure,
};

fn nozzle_pressure(given: &Given<'_>) -> Result<Worked, Error> {
    let flow = given.above_zero("flow", Unit::US_GALLON_PER_MINUTE)?;
    let share = flow / given.number_above_zero("size")?;
    let unit = if given.unit("flow")? == Unit::US_GALLON_PER_MINUTE {
        Unit::PSI
    } else {
        Unit::BAR
    };
    let pressure = Exact::new(whole(4000) * &share * &share, Unit::PSI).shown_in(unit);
    Ok(Worked {
        lines: vec![format!(
            "pressure = 4000 psi × ({} / {})² = {}",
            given.text_in("flow", Unit::US_GALLON_PER_MINUTE),
            given.text("size"),
            pressure.text()
        )],
        values: vec![Some(pressure)],
    })
}

pub(super) static FLOW_AT_PRESSURE: Calculation = Calculation {
    name: "flow-at-pressure",
    title: "the flow through the same nozzle or orifice at another pressure",
    definition: "Flow × √(new pressure / pressure): the flow of a liquid through an orifice grows with the root of the \
        pressure drop.",
    sources: SOURCES,
    inputs: &[
        Input::of("flow", &[Kind::Flow], "the flow that is known"),
        Input::of("pressure", PRESSURES, "the pressure that it is known at"),
        Input::of("new-pressure", PRESSURES, "the other pressure"),
    ],
    results: &[
        Outcome::of("new-flow", Kind::Flow, "flow at the other pressure")
            .down("because the pump must give at least what is counted on"),
    ],
    caution: Some(CAUTION),
    example: &[
        ("flow", "9 L/min"),
        ("pressure", "150 bar"),
        ("new-pressure", "100 bar"),
    ],
    work: flow_at_pressure,
};

fn flow_at_pressure(given: &Given<'_>) -> Result<Worked, Error> {
    let unit = given.unit("flow")?;
    let flow = given.above_zero("flow", unit)?;
    let root = root_of_ratio(psi(given, "new-pressure")?, psi(given, "pressure")?)?;
    let flow = Exact::new(Interval::from(flow) * root, unit);
    Ok(Worked {
        lines: vec![format!(
            "flow = {} × √({} / {}) = {}",
            given.text("flow"),
            given.text("new-pressure"),
            given.text("pressure"),
            flow.text()
        )],
        values: vec![Some(flow)],
    })
}
