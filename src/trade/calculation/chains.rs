//! Saw chains: pitch, gauge, drive links, length and speed.

use super::entry::{Calculation, Outcome, Source};
use super::given::Given;
use super::input::Input;
use super::worked::{Exact, Worked, shown};
use crate::quantity::{Kind, Rational, Unit};
use crate::trade::error::Error;
use crate::trade::figures::{ratio, whole};

const CAUTION: &str = "A saw chain cuts when it stands still, and a chain of the wrong size can jump off and lash out. Wear \
    gloves to handle it, stop the engine and take off the plug lead or the battery first, and fit only the chain that the \
    saw's and the bar's makers give.";

const RUNNING: &str = "A running saw chain is never measured by hand. Calculate its speed from the engine's speed; the chain \
    must stand still at idle. A higher speed than the maker's can burst the sprocket, throw the chain and kick the saw back.";

pub(super) static CHAIN_SIZE: Calculation = Calculation {
    name: "chain-size",
    title: "the pitch of a saw chain from three rivets, and the sizes that it and its gauge are sold as",
    definition: "The distance between the middles of three rivets in a row, divided by two: the average of the two \
        distances, which differ. The named pitch is the nearest of 1/4 in, 0.325 in, 3/8 in and 0.404 in, no more than \
        0.012 in off. The gauge is the thickness of the drive links where they run in the bar; the named gauge is the \
        nearest of 0.043 in, 0.050 in, 0.058 in and 0.063 in, no more than 0.0024 in off.",
    sources: &[
        Source::read(
            "Chainsaw (Wikipedia): \"the pitch of a chain is defined as half of the length spanned by any three consecutive rivets\"",
        ),
        Source::read("Chain pitch and gauge (chainsawsaustralia): the named pitches and gauges"),
    ],
    inputs: &[
        Input::length("rivets", "the distance from the first to the third rivet").single(),
        Input::length("thickness", "the thickness of a drive link")
            .single()
            .optional(),
    ],
    results: &[
        Outcome::of("pitch", Kind::Length, "measured pitch"),
        Outcome::of("named-pitch", Kind::Length, "named pitch"),
        Outcome::of("named-gauge", Kind::Length, "named gauge"),
    ],
    caution: Some(CAUTION),
    example: &[("rivets", "0.75 in"), ("thickness", "1.27 mm")],
    work: chain_size,
};

/// The named pitches in thousandths of an inch.
const PITCHES: [i64; 4] = [250, 325, 375, 404];

/// The named gauges in thousandths of an inch.
const GAUGES: [i64; 4] = [43, 50, 58, 63];

/// The named size nearest to one in inches, if it is near enough.
fn named(inches: &Rational, sizes: &[i64], most_off: &Rational) -> Option<Rational> {
    let sizes = sizes.iter().map(|thousandths| ratio(*thousandths, 1000));
    let nearest = sizes.min_by_key(|size| (size - inches).abs())?;
    ((&nearest - inches).abs() <= *most_off).then_some(nearest)
}

fn chain_size(given: &Given<'_>) -> Result<Worked, Error> {
    let pitch = given.above_zero("rivets", Unit::INCH)? / whole(2);
    let Some(named_pitch) = named(&pitch, &PITCHES, &ratio(12, 1000)) else {
        return Err(given.wrong(
            "rivets",
            "twice a pitch of about 1/4 in, 0.325 in, 3/8 in or 0.404 in",
        ));
    };
    let exact = |inches: Rational| Exact::new(inches, Unit::INCH);
    let measured = exact(pitch).shown_in(given.unit("rivets")?);
    let mut lines = vec![format!(
        "pitch = {} / 2 = {}",
        given.text("rivets"),
        measured.text()
    )];
    let mut gauge = None;
    if given.has("thickness") {
        let thickness = given.above_zero("thickness", Unit::INCH)?;
        let Some(named) = named(&thickness, &GAUGES, &ratio(24, 10_000)) else {
            return Err(given.wrong(
                "thickness",
                "a thickness of about 0.043 in, 0.050 in, 0.058 in or 0.063 in",
            ));
        };
        lines.push(format!(
            "gauge = {} = {}",
            given.text("thickness"),
            shown(&thickness.into(), Unit::INCH)
        ));
        gauge = Some(exact(named));
    }
    Ok(Worked {
        lines,
        values: vec![Some(measured), Some(exact(named_pitch)), gauge],
    })
}

const PITCH: Input = Input::length(
    "pitch",
    "the pitch, best as measured: a chain that is sold as 3/8 in measures 0.366 in",
);

pub(super) static CHAIN_LOOP: Calculation = Calculation {
    name: "chain-loop",
    title: "the length of a loop of saw chain from its drive links",
    definition: "2 × pitch × drive links: there is a drive link at every second rivet pair.",
    sources: &[
        Source::read(
            "Chainsaw (Wikipedia): the pitch is half the length over three rivets, which is one drive link",
        ),
        Source::common_practice(
            "reels of 100 ft: 1/4 in 2400 drive links, 0.325 in 1840, 3/8 in 1640, 0.404 in 1480",
        ),
    ],
    inputs: &[PITCH, Input::count("links", "the number of drive links")],
    results: &[Outcome::of("length", Kind::Length, "length of the loop").figures(4)],
    caution: Some(CAUTION),
    example: &[("pitch", "0.325 in"), ("links", "72")],
    work: chain_loop,
};

fn chain_loop(given: &Given<'_>) -> Result<Worked, Error> {
    let unit = given.unit("pitch")?;
    let pitch = given.above_zero("pitch", unit)?;
    let length = Exact::new(whole(2) * pitch * given.number("links")?, unit);
    Ok(Worked {
        lines: vec![format!(
            "length = 2 × {} × {} = {}",
            given.text("pitch"),
            given.text("links"),
            length.text()
        )],
        values: vec![Some(length)],
    })
}

pub(super) static CHAIN_LINKS: Calculation = Calculation {
    name: "chain-links",
    title: "the number of drive links of a loop of saw chain from its length",
    definition: "Length / (2 × pitch), which is a whole number for a loop that is not stretched. Count the links to be \
        certain.",
    sources: &[Source::read(
        "Chainsaw (Wikipedia): the pitch is half the length over three rivets, which is one drive link",
    )],
    inputs: &[
        PITCH,
        Input::length(
            "length",
            "the length of the loop, or of the chain to cut it from",
        ),
    ],
    results: &[Outcome::number("links", "drive links")
        .figures(1)
        .down("because a shorter loop can be cut from a longer one")],
    caution: Some(CAUTION),
    example: &[("pitch", "0.325 in"), ("length", "46.8 in")],
    work: chain_links,
};

fn chain_links(given: &Given<'_>) -> Result<Worked, Error> {
    let pitch = given.above_zero("pitch", Unit::MILLIMETRE)?;
    let length = given.above_zero("length", Unit::MILLIMETRE)?;
    let links = Exact::number((length / (whole(2) * pitch)).floor());
    Ok(Worked {
        lines: vec![format!(
            "links = {} / (2 × {}) = {} in full",
            given.text("length"),
            given.text("pitch"),
            super::worked::plain(&links.value)
        )],
        values: vec![Some(links)],
    })
}

pub(super) static CHAIN_SPEED: Calculation = Calculation {
    name: "chain-speed",
    title: "the speed of a saw chain from its sprocket and the speed of the engine",
    definition: "2 × pitch × teeth × speed of the sprocket: each tooth moves the chain on by one drive link.",
    sources: &[
        Source::read(
            "Chainsaw (Wikipedia): the pitch is half the length over three rivets, which is one drive link",
        ),
        Source::common_practice("that the sprocket turns with the engine when its clutch holds"),
    ],
    inputs: &[
        PITCH,
        Input::count("teeth", "the teeth of the drive sprocket"),
        Input::of(
            "speed",
            &[Kind::RotationalSpeed],
            "the speed of the sprocket",
        ),
    ],
    results: &[Outcome::of("chain-speed", Kind::LinearSpeed, "chain speed")
        .up("because a speed is compared with a maximum")],
    caution: Some(RUNNING),
    example: &[("pitch", "0.325 in"), ("teeth", "7"), ("speed", "9000 rpm")],
    work: chain_speed,
};

fn chain_speed(given: &Given<'_>) -> Result<Worked, Error> {
    let pitch = given.above_zero("pitch", Unit::MILLIMETRE)? / whole(1000);
    let turns = given.above_zero("speed", Unit::RPM)? / whole(60);
    let speed = Exact::new(
        whole(2) * pitch * given.number("teeth")? * turns,
        Unit::METRE_PER_SECOND,
    );
    let speed = if given.unit("pitch")? == Unit::INCH {
        speed.shown_in(Unit::FOOT_PER_MINUTE)
    } else {
        speed
    };
    Ok(Worked {
        lines: vec![format!(
            "chain speed = 2 × {} × {} × {} = {}",
            given.text("pitch"),
            given.text("teeth"),
            given.text("speed"),
            speed.text()
        )],
        values: vec![Some(speed)],
    })
}
