//! Ratios of pulleys and gears, and lengths of belts.

use super::entry::{Calculation, Outcome, Source};
use super::given::Given;
use super::input::Input;
use super::worked::{Exact, Worked, plain};
use crate::quantity::{Kind, Rational, Unit};
use crate::trade::error::Error;
use crate::trade::figures::whole;
use crate::trade::interval::Interval;
use crate::trade::speed::driven_speed;

const CAUTION: &str = "Belts, chains and gears draw in hands, hair and clothing. Stop the engine and make it safe before \
    you measure or turn anything, and refit every guard. A faster drive may exceed the limit of what it drives: compare \
    the speed with the maker's limit.";

const SPEED_RESULT: Outcome = Outcome::of(
    "driven-speed",
    Kind::RotationalSpeed,
    "speed of the last one",
)
.up("because a speed is compared with a maximum")
.figures(4);

const RATIO_RESULT: Outcome = Outcome::of(
    "ratio",
    Kind::Ratio,
    "turns of the first for each turn of the last",
)
.figures(4);

const SPEED: Input = Input::of(
    "speed",
    &[Kind::RotationalSpeed],
    "the speed of the first one",
)
.optional();

pub(super) static PULLEY_RATIO: Calculation = Calculation {
    name: "pulley-ratio",
    title: "the ratio of one belt drive, or of up to three in a row, and the speed of the last pulley",
    definition: "The product of driven diameter / driving diameter of each drive, with pitch diameters and without slip. \
        The speed of the last pulley is the speed of the first one divided by this ratio. In a row, each drive begins on \
        the shaft that the one before it drives.",
    sources: &[Source::read(
        "Formulas (a curriculum on mechanical power transmission): compound reduction = the product of the reductions",
    )],
    inputs: &[
        Input::length("driver", "the pitch diameter of the driving pulley"),
        Input::length("driven", "the pitch diameter of the driven pulley"),
        Input::length("driver-2", "of a second drive: the driving pulley").optional(),
        Input::length("driven-2", "of a second drive: the driven pulley").optional(),
        Input::length("driver-3", "of a third drive: the driving pulley").optional(),
        Input::length("driven-3", "of a third drive: the driven pulley").optional(),
        SPEED,
    ],
    results: &[RATIO_RESULT, SPEED_RESULT],
    caution: Some(CAUTION),
    example: &[
        ("driver", "60 mm"),
        ("driven", "180 mm"),
        ("speed", "3000 rpm"),
    ],
    work: ratio,
};

pub(super) static GEAR_RATIO: Calculation = Calculation {
    name: "gear-ratio",
    title: "the ratio of one pair of gears or sprockets, or of up to three in a row, and the speed of the last one",
    definition: "The product of driven teeth / driving teeth of each pair. The speed of the last gear is the speed of \
        the first one divided by this ratio. In a row, each pair begins on the shaft that the one before it drives; a gear \
        between two others on a shaft of its own does not change the ratio.",
    sources: &[Source::read(
        "Formulas (a curriculum on mechanical power transmission): compound reduction = the product of the reductions",
    )],
    inputs: &[
        Input::count("driver", "the teeth of the driving gear"),
        Input::count("driven", "the teeth of the driven gear"),
        Input::count("driver-2", "of a second pair: the driving gear").optional(),
        Input::count("driven-2", "of a second pair: the driven gear").optional(),
        Input::count("driver-3", "of a third pair: the driving gear").optional(),
        Input::count("driven-3", "of a third pair: the driven gear").optional(),
        SPEED,
    ],
    results: &[RATIO_RESULT, SPEED_RESULT],
    caution: Some(CAUTION),
    example: &[
        ("driver", "20"),
        ("driven", "40"),
        ("driver-2", "15"),
        ("driven-2", "45"),
        ("speed", "3600 rpm"),
    ],
    work: ratio,
};

/// The pairs of inputs of a row of drives.
const PAIRS: [(&str, &str); 3] = [
    ("driver", "driven"),
    ("driver-2", "driven-2"),
    ("driver-3", "driven-3"),
];

/// Counts of teeth are kept as lengths, so both calculations are the same.
fn ratio(given: &Given<'_>) -> Result<Worked, Error> {
    let mut ratio = whole(1);
    let mut speed = if given.has("speed") {
        Some(given.quantity("speed")?.clone())
    } else {
        None
    };
    let mut parts = Vec::new();
    let mut ended = false;
    for (driver, driven) in PAIRS {
        if given.has(driver) != given.has(driven) {
            let expected = format!("both `{driver}` and `{driven}`");
            return Err(Error::new(expected, "one of them"));
        }
        if !given.has(driver) {
            ended = true;
            continue;
        }
        if ended {
            return Err(Error::new("a second drive before the third", "a third one"));
        }
        let size = |name| given.above_zero(name, Unit::MILLIMETRE);
        ratio = ratio * size(driven)? / size(driver)?;
        if let Some(before) = speed {
            speed = Some(driven_speed(
                &before,
                given.quantity(driver)?,
                given.quantity(driven)?,
            )?);
        }
        parts.push(format!("{} / {}", given.text(driven), given.text(driver)));
    }
    let ratio = Exact::new(ratio, Unit::TO_ONE);
    let mut lines = vec![format!("ratio = {} = {}", parts.join(" × "), ratio.text())];
    let speed = speed.map(|speed| {
        let exact = Exact::new(speed.value().clone(), speed.unit());
        lines.push(format!(
            "speed = {} / {} = {}",
            given.text("speed"),
            plain(&ratio.value),
            exact.text()
        ));
        exact
    });
    Ok(Worked {
        lines,
        values: vec![Some(ratio), speed],
    })
}

/// The length grows with each input: its derivatives are 2 × the cosine of the belt's slope, and for each radius π plus or
/// minus twice the slope, which is below 90°.
pub(super) static BELT_LENGTH: Calculation = Calculation {
    name: "belt-length",
    title: "the length of an open or crossed belt around two pulleys",
    definition: "Two straight runs and two arcs: 2 √(C² − s²) + π (R + r) + 2 s × arc tan(s / √(C² − s²)), where C is \
        the distance of the shafts, R and r are the radii, and s is R − r for an open belt and R + r for a crossed one. \
        This is the length along the pitch line for pitch diameters, and the inside length of a flat belt for the \
        diameters of the pulleys.",
    sources: &[
        Source::read("Belt length of two pulleys (timeguy): the exact length with the arc"),
        Source::read(
            "Find the length of belt (sarthaks): worked examples of open and crossed belts",
        ),
    ],
    inputs: &[
        Input::length("driver", "the diameter of one pulley"),
        Input::length("driven", "the diameter of the other pulley"),
        Input::length("distance", "the distance between the middles of the shafts"),
        Input::word(
            "run",
            &["open", "crossed"],
            "whether the belt crosses itself",
        )
        .or("open"),
    ],
    results: &[Outcome::of("length", Kind::Length, "belt length").figures(4)],
    caution: Some(CAUTION),
    example: &[
        ("driver", "105 mm"),
        ("driven", "393 mm"),
        ("distance", "697 mm"),
    ],
    work: belt_length,
};

fn belt_length(given: &Given<'_>) -> Result<Worked, Error> {
    let radius = |name| -> Result<Rational, Error> {
        Ok(given.above_zero(name, Unit::MILLIMETRE)? / whole(2))
    };
    let (one, other) = (radius("driver")?, radius("driven")?);
    let distance = given.above_zero("distance", Unit::MILLIMETRE)?;
    let sum = &one + &other;
    if distance <= sum {
        let expected = "shafts further apart than the sum of the pulleys' radii";
        return Err(given.wrong("distance", expected));
    }
    let crossed = given.word("run")? == "crossed";
    let slope = if crossed {
        sum.clone()
    } else {
        (&one - &other).abs()
    };
    let straight =
        Interval::from(&distance * &distance - &slope * &slope).root("a straight run")?;
    let angle = Interval::from(slope.clone())
        .over(straight.clone())?
        .arc_tangent();
    let two = || Interval::from(whole(2));
    let runs = two() * straight;
    let arcs = Interval::pi() * Interval::from(sum)
        + two() * Interval::from(slope.clone()) * angle.clone();
    let unit = given.unit("distance")?;
    let exact = |millimetres: Interval| Exact::new(millimetres, Unit::MILLIMETRE).shown_in(unit);
    let (runs, arcs) = (exact(runs), exact(arcs));
    let length = Exact::new(runs.value.clone() + arcs.value.clone(), unit);
    let degrees = Interval::from(whole(180)).over(Interval::pi())? * angle;
    let slope = exact(slope.into());
    let lines = vec![
        format!(
            "s = {}, at a slope of {}",
            slope.text(),
            Exact::new(degrees, Unit::DEGREE).text()
        ),
        format!(
            "length = two runs of together {} + two arcs of together {} = {}",
            runs.text(),
            arcs.text(),
            length.text()
        ),
    ];
    Ok(Worked {
        lines,
        values: vec![Some(length)],
    })
}
