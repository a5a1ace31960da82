//! Load, current and voltage drop of a cable.

use super::entry::{Bound, Calculation, Outcome, Source};
use super::given::Given;
use super::input::Input;
use super::worked::{Exact, Worked, plain, shown};
use crate::quantity::{Kind, Rational, Unit};
use crate::trade::error::Error;
use crate::trade::figures::{ratio, whole};
use crate::trade::interval::Interval;

/// The drop grows with current, length and temperature, and by way of the current with the power; it falls as the voltage
/// grows, if the current follows from it, and so does its share. It does neither with the power factor, which therefore has
/// no tolerance.
pub(super) static CABLE_DROP: Calculation = Calculation {
    name: "cable-drop",
    title: "the current and the voltage drop of a cable with two copper conductors",
    definition: "Current = power / (voltage × power factor). Drop = 2 × length × current × (R × power factor + X × √(1 − \
        power factor²)), for the way there and back. R is the greatest resistance of a metre of the conductor that IEC \
        60228 allows at 20 °C (for AWG that of a solid wire), × (230 + t) / 250 for a conductor at t °C. X is 0.08 mΩ for \
        each metre. With direct current the power factor is 1.",
    sources: &[
        Source::read(
            "IEC 60228, tables 1 to 3 (reproduced by mycableengineering and in data sheets of cables): resistances of plain copper",
        ),
        Source::read(
            "American wire gauge table (HyperPhysics, after Floyd, Electric Circuit Fundamentals): resistances of AWG sizes",
        ),
        Source::read(
            "IEC 60228, correction factors for the temperature (reproduced in data sheets of cables), which are 250 / (230 + t)",
        ),
        Source::from_memory("IEC 60364-5-52, annex G: the formula of the drop, and 0.08 mΩ/m"),
    ],
    inputs: &[
        Input::of("voltage", &[Kind::Voltage], "the voltage of the supply"),
        Input::of(
            "current",
            &[Kind::Current],
            "the current; this or the power",
        )
        .optional(),
        Input::of(
            "power",
            &[Kind::Power],
            "the electric power of the load; this or the current",
        )
        .optional(),
        Input::number(
            "power-factor",
            "",
            "the power factor of the load, at most 1",
        )
        .or("1")
        .single(),
        Input::length("length", "the length of the cable, one way"),
        Input::of(
            "conductor",
            &[Kind::Area, Kind::WireGauge],
            "the cross-section of a conductor, such as 1.5 mm² or 14 AWG",
        )
        .single(),
        Input::word(
            "wire",
            &["flexible", "fixed"],
            "a flexible cable (class 5) or a fixed one (class 1 or 2); for mm²",
        )
        .or("flexible"),
        Input::of(
            "temperature",
            &[Kind::Temperature],
            "the temperature of the conductor under load",
        )
        .or("70 °C"),
    ],
    results: &[
        Outcome::of("drop", Kind::Voltage, "voltage drop")
            .up("so that the load has at least the voltage that is left")
            .bounds(Bound::AtMost),
        Outcome::of("share", Kind::Percent, "share of the supply")
            .up("so that the load has at least the voltage that is left")
            .bounds(Bound::AtMost),
        Outcome::of("left", Kind::Voltage, "voltage at the load")
            .figures(4)
            .down("because the drop is rounded up"),
        Outcome::of("load-current", Kind::Current, "current")
            .up("because a current is compared with a maximum"),
    ],
    caution: Some(
        "Mains voltage kills, and so does a generator's. Whether a cable is safe depends on its fuse, its earth, how it is \
        laid and the local code, not on this drop: a licensed electrician decides. Isolate, lock and prove dead before you \
        touch a conductor. Unwind a cable reel in full before you load it.",
    ),
    example: &[
        ("voltage", "230 V"),
        ("power", "2 kW"),
        ("length", "50 m"),
        ("conductor", "1.5 mm²"),
    ],
    work: cable_drop,
};

/// Cross-sections in hundredths of a mm², and the greatest resistances of plain copper at 20 °C in tenths of a µΩ for each
/// metre: classes 1 and 2, and class 5. IEC 60228, tables 1 to 3.
const SECTIONS: [(i64, i64, i64); 15] = [
    (50, 360_000, 390_000),
    (75, 245_000, 260_000),
    (100, 181_000, 195_000),
    (150, 121_000, 133_000),
    (250, 74_100, 79_800),
    (400, 46_100, 49_500),
    (600, 30_800, 33_000),
    (1000, 18_300, 19_100),
    (1600, 11_500, 12_100),
    (2500, 7_270, 7_800),
    (3500, 5_240, 5_540),
    (5000, 3_870, 3_860),
    (7000, 2_680, 2_720),
    (9500, 1_930, 2_060),
    (12_000, 1_530, 1_610),
];

/// Resistances of solid copper wires at 20 °C, in tenths of a mΩ for 1000 ft, from 4/0 AWG, which counts as −3, to 20 AWG.
const GAUGES: [i64; 24] = [
    490, 618, 780, 983, 1_240, 1_563, 1_970, 2_485, 3_133, 3_951, 4_982, 6_282, 7_921, 9_989,
    12_600, 15_880, 20_030, 25_250, 31_840, 40_160, 50_640, 63_850, 80_510, 101_500,
];

/// The number of the first gauge in [`GAUGES`].
const FIRST_GAUGE: i64 = -3;

/// Ohms for each metre of a conductor at 20 °C.
fn resistance(given: &Given<'_>) -> Result<Rational, Error> {
    let conductor = given.quantity("conductor")?;
    if conductor.kind() == Kind::WireGauge {
        let number = conductor.value();
        let found = GAUGES.iter().zip(FIRST_GAUGE..);
        let found = found
            .into_iter()
            .find(|(_, gauge)| whole(*gauge) == *number);
        let Some((tenths, _)) = found else {
            return Err(given.wrong("conductor", "a gauge from 4/0 AWG to 20 AWG"));
        };
        return Ok(ratio(*tenths, 10_000) / (whole(1000) * ratio(3048, 10_000)));
    }
    let hundredths = given.in_unit("conductor", Unit::SQUARE_MILLIMETRE)? * whole(100);
    let found = SECTIONS
        .iter()
        .find(|(section, ..)| whole(*section) == hundredths);
    let Some((_, fixed, flexible)) = found else {
        let expected =
            "a cross-section of IEC 60228, such as 1 mm², 1.5 mm², 2.5 mm², 4 mm² or 6 mm²";
        return Err(given.wrong("conductor", expected));
    };
    let tenths = if given.word("wire")? == "fixed" {
        fixed
    } else {
        flexible
    };
    Ok(ratio(*tenths, 10_000_000))
}

fn cable_drop(given: &Given<'_>) -> Result<Worked, Error> {
    let voltage = given.above_zero("voltage", Unit::VOLT)?;
    let factor = given.number_above_zero("power-factor")?;
    if factor > whole(1) {
        return Err(given.wrong("power-factor", "a power factor of at most 1"));
    }
    let mut lines = Vec::new();
    let current = match (given.has("current"), given.has("power")) {
        (true, false) => given.above_zero("current", Unit::AMPERE)?,
        (false, true) => {
            let current = given.above_zero("power", Unit::WATT)? / (&voltage * &factor);
            lines.push(format!(
                "current = {} / ({} × {}) = {}",
                given.text_in("power", Unit::WATT),
                given.text("voltage"),
                given.text("power-factor"),
                shown(&current.clone().into(), Unit::AMPERE)
            ));
            current
        }
        (true, true) => {
            return Err(Error::new("either `current` or `power`", "both"));
        }
        (false, false) => {
            return Err(Error::new("either `current` or `power`", "neither"));
        }
    };
    let celsius = given.in_unit("temperature", Unit::DEGREE_CELSIUS)?;
    if celsius <= whole(-230) {
        return Err(given.wrong(
            "temperature",
            "a temperature at which copper has a resistance",
        ));
    }
    let hot = resistance(given)? * (whole(230) + celsius) / whole(250);
    lines.push(format!(
        "R = {} for each metre of {} at {}",
        shown(&hot.clone().into(), Unit::OHM),
        given.text("conductor"),
        given.text("temperature")
    ));
    let reactive = Interval::from(whole(1) - &factor * &factor).root("a square")?;
    let impedance =
        Interval::from(hot * &factor) + Interval::from(ratio(8, 100_000)) * reactive.clone();
    let metres = given.above_zero("length", Unit::METRE)?;
    let drop = Interval::from(whole(2) * metres * &current) * impedance;
    let left = Interval::from(voltage.clone()) - drop.clone();
    if !left.low().is_positive() {
        return Err(given.wrong("length", "a cable that leaves some voltage"));
    }
    let share = drop.clone() * Interval::from(whole(100) / voltage);
    let per_metre = if factor == whole(1) {
        "R".to_owned()
    } else {
        format!(
            "(R × {} + 0.08 mΩ × {})",
            given.text("power-factor"),
            plain(&reactive)
        )
    };
    lines.push(format!(
        "drop = 2 × {} × {} × {per_metre} = {}",
        given.text_in("length", Unit::METRE),
        shown(&current.clone().into(), Unit::AMPERE),
        shown(&drop, Unit::VOLT)
    ));
    lines.push(format!(
        "share = {} / {} = {}",
        shown(&drop, Unit::VOLT),
        given.text("voltage"),
        shown(&share, Unit::PERCENT)
    ));
    Ok(Worked {
        lines,
        values: vec![
            Some(Exact::new(drop, Unit::VOLT)),
            Some(Exact::new(share, Unit::PERCENT)),
            Some(Exact::new(left, Unit::VOLT)),
            Some(Exact::new(current, Unit::AMPERE)),
        ],
    })
}
