//! Ignition timing as an angle of the crankshaft and as a position of the piston.

use super::entry::{Calculation, Outcome, Source};
use super::given::Given;
use super::input::Input;
use super::worked::{Exact, Worked, plain, shown};
use crate::quantity::{Kind, Rational, Unit};
use crate::trade::error::Error;
use crate::trade::figures::whole;
use crate::trade::interval::Interval;

const SOURCES: &[Source] = &[
    Source::read(
        "Ignition timing, degrees to mm before top dead centre (calcady), with a worked example",
    ),
    Source::read(
        "Converting Crank Rotation to Piston Drop (kingpincomponents): the same triangle by the sine rule",
    ),
];

const CAUTION: &str = "Take off the plug lead and earth it before you turn the crankshaft by hand. Timing that is too early \
    makes the engine kick back at the starter and burns the piston: set what the maker gives.";

const STROKE: Input = Input::length("stroke", "the travel of the piston");
const ROD: Input = Input::length(
    "rod",
    "the length of the connecting rod, between the middles of its eyes",
);

const LATE: &str = "because late ignition does less harm than early";

/// In mm: half the stroke and the length of the rod, which is longer.
fn crank(given: &Given<'_>) -> Result<(Rational, Rational), Error> {
    let throw = given.above_zero("stroke", Unit::MILLIMETRE)? / whole(2);
    let rod = given.above_zero("rod", Unit::MILLIMETRE)?;
    if rod <= throw {
        let half = Exact::new(throw, Unit::MILLIMETRE).shown_in(given.unit("stroke")?);
        let expected = format!("a rod longer than half the stroke, {}", half.text());
        return Err(given.wrong("rod", expected));
    }
    Ok((throw, rod))
}

/// From 0° to 180° the piston only goes down; it is further down for a longer stroke, and less for a longer rod.
pub(super) static TIMING_HEIGHT: Calculation = Calculation {
    name: "timing-height",
    title: "how far the piston is below top dead centre at an angle of the crankshaft",
    definition: "r (1 − cos a) + l − √(l² − r² sin² a), where a is the angle before or after top dead centre, r is half \
        the stroke, and l is the length of the rod. The cylinder stands in line with the crankshaft.",
    sources: SOURCES,
    inputs: &[
        Input::of(
            "angle",
            &[Kind::Angle],
            "the angle of the crankshaft from top dead centre",
        ),
        STROKE,
        ROD,
    ],
    results: &[Outcome::of("height", Kind::Length, "piston below top dead centre").down(LATE)],
    caution: Some(CAUTION),
    example: &[("angle", "22°"), ("stroke", "54 mm"), ("rod", "100 mm")],
    work: timing_height,
};

fn timing_height(given: &Given<'_>) -> Result<Worked, Error> {
    let (throw, rod) = crank(given)?;
    let angle = given.in_unit("angle", Unit::DEGREE)?;
    if angle.is_negative() || angle > whole(180) {
        return Err(given.wrong("angle", "an angle from 0° to 180°"));
    }
    let (sine, cosine) = Interval::sine_and_cosine(&angle);
    let one = || Interval::from(whole(1));
    let rod_squared = Interval::from(&rod * &rod);
    let sideways = Interval::from(throw.clone()) * sine.clone();
    let upright =
        (rod_squared - sideways.clone() * sideways).root("a rod that reaches the crank")?;
    let turned = Interval::from(throw) * (one() - cosine.clone());
    let tilted = Interval::from(rod) - upright;
    let unit = given.unit("stroke")?;
    let exact = |millimetres| Exact::new(millimetres, Unit::MILLIMETRE).shown_in(unit);
    let (turned, tilted) = (exact(turned), exact(tilted));
    let height = Exact::new(turned.value.clone() + tilted.value.clone(), unit);
    let lines = vec![
        format!(
            "cos {angle} = {}, sin {angle} = {}",
            plain(&cosine),
            plain(&sine),
            angle = given.text("angle")
        ),
        format!(
            "height = {} by the crank + {} by the rod = {}",
            turned.text(),
            tilted.text(),
            height.text()
        ),
    ];
    Ok(Worked {
        lines,
        values: vec![Some(height)],
    })
}

/// The inverse of [`TIMING_HEIGHT`], which grows with the angle: so the angle grows with the height and the rod, and falls
/// as the stroke grows.
pub(super) static TIMING_ANGLE: Calculation = Calculation {
    name: "timing-angle",
    title: "the angle of the crankshaft at which the piston is so far below top dead centre",
    definition: "2 × arc tan √(x (2 l − x) / ((2 r − x) (2 r + 2 l − x))), where x is how far the piston is below top dead \
        centre, r is half the stroke, and l is the length of the rod: the cosine rule for the triangle of crank, rod and \
        cylinder.",
    sources: SOURCES,
    inputs: &[
        Input::length("height", "how far the piston is below top dead centre"),
        STROKE,
        ROD,
    ],
    results: &[Outcome::of("angle", Kind::Angle, "angle from top dead centre").down(LATE)],
    caution: Some(CAUTION),
    example: &[("height", "2.5 mm"), ("stroke", "54 mm"), ("rod", "100 mm")],
    work: timing_angle,
};

fn timing_angle(given: &Given<'_>) -> Result<Worked, Error> {
    let (throw, rod) = crank(given)?;
    let height = given.in_unit("height", Unit::MILLIMETRE)?;
    let stroke = whole(2) * &throw;
    if height.is_negative() || height > stroke {
        let expected = format!("a height from zero to the stroke, {}", given.text("stroke"));
        return Err(given.wrong("height", expected));
    }
    let half_turn = Interval::from(whole(180));
    let degrees = if height == stroke {
        half_turn
    } else {
        let above = &height * (whole(2) * &rod - &height);
        let below = (&stroke - &height) * (&stroke + whole(2) * &rod - &height);
        let tangent = Interval::from(above / below).root("a square")?;
        let radians = Interval::from(whole(2)) * tangent.arc_tangent();
        half_turn.over(Interval::pi())? * radians
    };
    let text = shown(&degrees, Unit::DEGREE);
    Ok(Worked {
        lines: vec![format!(
            "angle = {text} for {} below top dead centre",
            given.text("height")
        )],
        values: vec![Some(Exact::new(degrees, Unit::DEGREE))],
    })
}
