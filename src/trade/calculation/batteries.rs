//! The state of charge of a lead-acid battery.

use super::entry::{Bound, Calculation, Outcome, Source};
use super::given::Given;
use super::input::Input;
use super::worked::{Exact, Worked, shown};
use crate::quantity::{Kind, Rational, Unit};
use crate::trade::error::Error;
use crate::trade::figures::{ratio, whole};

const SOURCES: &[Source] = &[Source::read(
    "How can I measure my battery's \"State of Charge\"?, tables 6 and 7: 12.65 V and 1.265 when full, at 80 °F",
)];

const CAUTION: &str = "A lead-acid battery gives off hydrogen, which explodes at a spark, and its acid burns skin and eyes. \
    Wear eye protection and gloves, keep flames and sparks away, ventilate, take off the earth lead first and fit it last, \
    and never let a tool bridge the poles. Rinse acid off at once with much water, and see a doctor for the eyes. Never \
    charge a frozen battery.";

/// Charge in per cent, volts of six cells in hundredths, and relative density in thousandths, at 80 °F. Between two rows the
/// charge is interpolated.
const ROWS: [(i64, i64, i64); 5] = [
    (0, 1189, 1120),
    (25, 1206, 1155),
    (50, 1224, 1190),
    (75, 1245, 1225),
    (100, 1265, 1265),
];

/// The charge in per cent for a figure, by rows of charge and figure. Below the first row 0 %, above the last 100 %.
fn charge(figure: &Rational, rows: &[(i64, Rational)]) -> Rational {
    let mut below: Option<&(i64, Rational)> = None;
    for row in rows {
        if *figure < row.1 {
            let Some((least, start)) = below else {
                return whole(0);
            };
            let part = (figure - start) / (&row.1 - start);
            return whole(*least) + part * whole(row.0 - least);
        }
        below = Some(row);
    }
    whole(100)
}

/// The result only grows with the voltage, and only falls as the number of cells grows.
pub(super) static BATTERY_VOLTAGE: Calculation = Calculation {
    name: "battery-voltage",
    title: "the state of charge of a lead-acid battery from its voltage at rest",
    definition: "Interpolated between 11.89 V for 0 %, 12.06 V for 25 %, 12.24 V for 50 %, 12.45 V for 75 % and 12.65 V \
        for 100 %, for six cells with liquid acid at 80 °F (27 °C). At rest means without load or charger for some hours. \
        Sealed batteries (AGM, gel) read higher: use their maker's table.",
    sources: SOURCES,
    inputs: &[
        Input::of("voltage", &[Kind::Voltage], "the voltage at rest"),
        Input::count("cells", "the number of cells: 6 for a battery of 12 V").or("6"),
    ],
    results: &[Outcome::of("charge", Kind::Percent, "state of charge")
        .figures(2)
        .down("so that a battery is not taken for fuller than it is")
        .bounds(Bound::AtLeast)],
    caution: Some(CAUTION),
    example: &[("voltage", "12.45 V")],
    work: battery_voltage,
};

fn battery_voltage(given: &Given<'_>) -> Result<Worked, Error> {
    let volts = given.above_zero("voltage", Unit::VOLT)?;
    let of_six = volts * whole(6) / given.number("cells")?;
    if of_six > ratio(132, 10) {
        return Err(given
            .wrong(
                "voltage",
                "the voltage of a battery at rest, at most 2.2 V for each cell",
            )
            .with_help(
                "let it rest without charger, or take off the surface charge with a small load",
            ));
    }
    if of_six < whole(9) {
        return Err(given.wrong("voltage", "at least 1.5 V for each cell"));
    }
    let rows = ROWS.map(|(charge, volts, _)| (charge, ratio(volts, 100)));
    let charge = Exact::new(charge(&of_six, &rows), Unit::PERCENT);
    Ok(Worked {
        lines: vec![format!(
            "{} × 6 / {} = {} for six cells: {}",
            given.text("voltage"),
            given.text("cells"),
            shown(&of_six.into(), Unit::VOLT),
            charge.text()
        )],
        values: vec![Some(charge)],
    })
}

/// Both results only grow with the reading and with the temperature.
pub(super) static BATTERY_DENSITY: Calculation = Calculation {
    name: "battery-density",
    title: "the state of charge of a lead-acid battery from the density of its acid",
    definition: "The reading is corrected to 80 °F (27 °C): 0.004 is added for each 10 °F above it, and subtracted for \
        each 10 °F below it. The charge is interpolated between 1.120 for 0 %, 1.155 for 25 %, 1.190 for 50 %, 1.225 for \
        75 % and 1.265 for 100 %.",
    sources: SOURCES,
    inputs: &[
        Input::of(
            "reading",
            &[Kind::RelativeDensity],
            "what the hydrometer shows",
        ),
        Input::of(
            "temperature",
            &[Kind::Temperature],
            "the temperature of the acid",
        )
        .or("80 °F"),
    ],
    results: &[
        Outcome::of("charge", Kind::Percent, "state of charge")
            .figures(2)
            .down("so that a battery is not taken for fuller than it is")
            .bounds(Bound::AtLeast),
        Outcome::of("corrected", Kind::RelativeDensity, "density at 80 °F")
            .figures(4)
            .down("so that a battery is not taken for fuller than it is")
            .bounds(Bound::AtLeast),
    ],
    caution: Some(CAUTION),
    example: &[("reading", "1.250 SG"), ("temperature", "50 °F")],
    work: battery_density,
};

fn battery_density(given: &Given<'_>) -> Result<Worked, Error> {
    let reading = given.above_zero("reading", Unit::RELATIVE_DENSITY)?;
    let above = given.in_unit("temperature", Unit::DEGREE_FAHRENHEIT)? - whole(80);
    let corrected = reading + ratio(4, 10_000) * above;
    if corrected < whole(1) || corrected > ratio(14, 10) {
        return Err(given.wrong(
            "reading",
            "the density of a battery's acid, from 1.0 to 1.4",
        ));
    }
    let rows = ROWS.map(|(charge, _, density)| (charge, ratio(density, 1000)));
    let charge = Exact::new(charge(&corrected, &rows), Unit::PERCENT);
    let corrected = Exact::new(corrected, Unit::RELATIVE_DENSITY);
    Ok(Worked {
        lines: vec![
            format!(
                "corrected = {} + 0.004 × ({} − 80 °F) / 10 °F = {}",
                given.text("reading"),
                given.text_in("temperature", Unit::DEGREE_FAHRENHEIT),
                corrected.text()
            ),
            format!("charge = {}", charge.text()),
        ],
        values: vec![Some(charge), Some(corrected)],
    })
}
