//! Gaps of piston rings and the clearance of a piston.

use super::entry::{Bound, Calculation, Outcome, Source};
use super::expansion::grown;
use super::given::Given;
use super::input::Input;
use super::worked::{Exact, Worked, shown};
use crate::quantity::{Kind, Unit};
use crate::trade::error::Error;
use crate::trade::interval::Interval;

pub(super) static RING_GAP: Calculation = Calculation {
    name: "ring-gap",
    title: "the least end gap of a piston ring for a bore",
    definition: "Factor × bore diameter. The gap is measured with the ring square in the cylinder, at its narrowest \
        place. The factor is the gap for each unit of the bore: 0.004 is common for the top ring of a four-stroke, \
        0.0035 is the least that is published for compression rings, and 0.005 is common for second rings.",
    sources: &[
        Source::read(
            "Top Piston Ring Gap (a collection of advice on rings): 0.004 in × 4.00 in = 0.016 in; at least 0.0035",
        ),
        Source::common_practice("the maker's gap takes precedence"),
    ],
    inputs: &[
        Input::length("bore", "the diameter of the cylinder"),
        Input::number("factor", "", "the gap for each unit of the bore").or("0.004"),
    ],
    results: &[Outcome::of("gap", Kind::Length, "least end gap")
        .up("so that the ends never meet when the ring is hot")
        .bounds(Bound::AtLeast)],
    caution: None,
    example: &[("bore", "66 mm")],
    work: ring_gap,
};

fn ring_gap(given: &Given<'_>) -> Result<Worked, Error> {
    let bore = given.above_zero("bore", Unit::MILLIMETRE)?;
    let factor = given.number_above_zero("factor")?;
    let gap = Exact::new(factor * bore, Unit::MILLIMETRE).shown_in(given.unit("bore")?);
    Ok(Worked {
        lines: vec![format!(
            "gap = {} × {} = {}",
            given.text("factor"),
            given.text("bore"),
            gap.text()
        )],
        values: vec![Some(gap)],
    })
}

pub(super) static RING_GAP_IN_BORE: Calculation = Calculation {
    name: "ring-gap-in-bore",
    title: "the end gap of a piston ring in a bore of another size than the one that its gap is given for",
    definition: "Gap + π × (bore − gauge bore): the gap grows as the circumference of the cylinder does, because the \
        ring stays as long as it is.",
    sources: &[Source::read(
        "Tips For Measuring Ring End Gaps, Engine Builder, June 2012: 0.08 mm (0.003 in) for each 0.03 mm (0.001 in) of bore",
    )],
    inputs: &[
        Input::length("gap", "the end gap in the gauge bore"),
        Input::length("gauge-bore", "the diameter that the gap is given for"),
        Input::length("bore", "the diameter of the cylinder"),
    ],
    results: &[
        Outcome::of("gap-in-bore", Kind::Length, "end gap in the bore")
            .up("because a wide gap is what a worn cylinder is measured for"),
    ],
    caution: None,
    example: &[
        ("gap", "0.3 mm"),
        ("gauge-bore", "66 mm"),
        ("bore", "66.1 mm"),
    ],
    work: ring_gap_in_bore,
};

fn ring_gap_in_bore(given: &Given<'_>) -> Result<Worked, Error> {
    let gap = given.in_unit("gap", Unit::MILLIMETRE)?;
    let gauge = given.above_zero("gauge-bore", Unit::MILLIMETRE)?;
    let bore = given.above_zero("bore", Unit::MILLIMETRE)?;
    let now = Interval::from(gap) + Interval::pi() * Interval::from(bore - gauge);
    if now.low().is_negative() {
        return Err(given.wrong("bore", "a bore in which the ring is not too long"));
    }
    let now = Exact::new(now, Unit::MILLIMETRE).shown_in(given.unit("gap")?);
    Ok(Worked {
        lines: vec![format!(
            "gap = {} + π × ({} − {}) = {}",
            given.text("gap"),
            given.text("bore"),
            given.text("gauge-bore"),
            now.text()
        )],
        values: vec![Some(now)],
    })
}

pub(super) static PISTON_CLEARANCE: Calculation = Calculation {
    name: "piston-clearance",
    title: "the clearance of a piston in its cylinder, cold and hot",
    definition: "Bore − piston, both as diameters, measured at the same temperature and across the thrust faces. Hot, \
        each diameter has grown by its coefficient × diameter × rise in temperature. Coefficients are in millionths of \
        the length for each kelvin: grey cast iron about 10 to 11, steel 12, aluminium alloy 21 to 24.",
    sources: &[
        Source::read("College Physics (OpenStax), chapter 13.2: ΔL = α L ΔT"),
        Source::read(
            "Coefficients of Thermal Expansion (tecnocentro): cast iron 10, carbon steel 12, aluminium alloy 23",
        ),
    ],
    inputs: &[
        Input::length("bore", "the diameter of the cylinder"),
        Input::length(
            "piston",
            "the diameter of the piston, where the maker measures it",
        ),
        Input::of(
            "measured-at",
            &[Kind::Temperature],
            "the temperature of both when measured",
        )
        .or("20 °C"),
        Input::number(
            "bore-coefficient",
            "10⁻⁶/K",
            "the coefficient of expansion of the cylinder",
        )
        .or("10.5"),
        Input::number(
            "piston-coefficient",
            "10⁻⁶/K",
            "the coefficient of expansion of the piston",
        )
        .or("23"),
        Input::of(
            "bore-temperature",
            &[Kind::Temperature],
            "the temperature of the cylinder when hot; by default as measured",
        )
        .optional(),
        Input::of(
            "piston-temperature",
            &[Kind::Temperature],
            "the temperature of the piston when hot; by default as measured",
        )
        .optional(),
    ],
    results: &[
        Outcome::of("clearance", Kind::Length, "clearance as measured")
            .down("because too little clearance seizes the piston"),
        Outcome::of("hot-clearance", Kind::Length, "clearance when hot")
            .down("because too little clearance seizes the piston"),
    ],
    caution: None,
    example: &[
        ("bore", "66.00 mm"),
        ("piston", "65.92 mm"),
        ("bore-temperature", "150 °C"),
        ("piston-temperature", "180 °C"),
    ],
    work: piston_clearance,
};

fn piston_clearance(given: &Given<'_>) -> Result<Worked, Error> {
    let unit = given.unit("bore")?;
    let bore = given.above_zero("bore", Unit::MILLIMETRE)?;
    let piston = given.above_zero("piston", Unit::MILLIMETRE)?;
    if piston > bore {
        return Err(given.wrong("piston", "a piston that goes into the bore"));
    }
    let cold = Exact::new(&bore - &piston, Unit::MILLIMETRE).shown_in(unit);
    let mut lines = vec![format!(
        "clearance = {} − {} = {}",
        given.text("bore"),
        given.text("piston"),
        cold.text()
    )];
    let mut hot = None;
    if given.has("bore-temperature") || given.has("piston-temperature") {
        let mut size = |name, coefficient, temperature| {
            let to = if given.has(temperature) {
                temperature
            } else {
                "measured-at"
            };
            let growth = grown(given, name, coefficient, "measured-at", to)?;
            lines.push(growth.line);
            Ok(given.in_unit(name, Unit::MILLIMETRE)? + growth.millimetres)
        };
        let wide = size("bore", "bore-coefficient", "bore-temperature")?;
        let thick = size("piston", "piston-coefficient", "piston-temperature")?;
        let value = Exact::new(&wide - &thick, Unit::MILLIMETRE).shown_in(unit);
        let text = |size| {
            shown(
                &Exact::new(size, Unit::MILLIMETRE).shown_in(unit).value,
                unit,
            )
        };
        lines.push(format!(
            "when hot = {} − {} = {}",
            text(wide),
            text(thick),
            value.text()
        ));
        hot = Some(value);
    }
    Ok(Worked {
        lines,
        values: vec![Some(cold), hot],
    })
}
