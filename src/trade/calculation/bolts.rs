//! The stretch of a bolt and the angle that it is turned by.

use super::entry::{Calculation, Outcome, Source};
use super::given::Given;
use super::input::Input;
use super::worked::{Exact, Worked};
use crate::quantity::{Kind, Rational, Unit};
use crate::trade::error::Error;
use crate::trade::figures::{ratio, whole};

const CAUTION: &str = "A bolt that is stretched too far stays weak or breaks, also later. Angles and stretch are for bolts \
    whose maker gives them, and such bolts are often used only once. Wear eye protection, and support the tool so that \
    you do not fall if the bolt breaks.";

const PRELOAD: Input = Input::of(
    "preload",
    &[Kind::Force],
    "the force that the bolt is tightened to",
);
const LENGTH: Input = Input::length(
    "length",
    "the length that is stretched: from the head to the middle of the engaged thread",
);
const AREA: Input = Input::of(
    "area",
    &[Kind::Area],
    "the stress area, as `benchleaf torque` prints it for a thread",
);
const MODULUS: Input =
    Input::of("modulus", &[Kind::Pressure], "the modulus of elasticity").or("207000 MPa");

/// In mm: F L / (A E).
fn stretch(given: &Given<'_>) -> Result<Rational, Error> {
    let force = given.above_zero("preload", Unit::NEWTON)?;
    let length = given.above_zero("length", Unit::MILLIMETRE)?;
    let area = given.above_zero("area", Unit::SQUARE_MILLIMETRE)?;
    let modulus = given.above_zero("modulus", Unit::MEGAPASCAL)?;
    Ok(force * length / (area * modulus))
}

fn stretch_line(given: &Given<'_>, stretch: &Exact) -> String {
    format!(
        "stretch = {} × {} / ({} × {}) = {}",
        given.text("preload"),
        given.text("length"),
        given.text("area"),
        given.text("modulus"),
        stretch.text()
    )
}

pub(super) static BOLT_STRETCH: Calculation = Calculation {
    name: "bolt-stretch",
    title: "how much a bolt stretches at a preload",
    definition: "Preload × length / (stress area × modulus), as long as the bolt is elastic. The stress is preload / stress \
        area; it must stay below the proof stress of the bolt's class.",
    sources: &[
        Source::read(
            "Bolt Stretching and Tensile Stress (Engineering ToolBox), with a worked example: dl = F L / (E A)",
        ),
        Source::from_memory(
            "Shigley, Mechanical Engineering Design, 9th ed., table A-5: 207 GPa for steel",
        ),
    ],
    inputs: &[PRELOAD, LENGTH, AREA, MODULUS],
    results: &[
        Outcome::of("stretch", Kind::Length, "stretch")
            .down("so that the bolt is not stretched further"),
        Outcome::of("stress", Kind::Pressure, "stress")
            .up("because a stress is compared with a maximum"),
    ],
    caution: Some(CAUTION),
    example: &[
        ("preload", "30 kN"),
        ("length", "80 mm"),
        ("area", "58 mm²"),
    ],
    work: bolt_stretch,
};

fn bolt_stretch(given: &Given<'_>) -> Result<Worked, Error> {
    let stretch = Exact::new(stretch(given)?, Unit::MILLIMETRE).shown_in(given.unit("length")?);
    let force = given.in_unit("preload", Unit::NEWTON)?;
    let stress = force / given.in_unit("area", Unit::SQUARE_MILLIMETRE)?;
    let unit = if given.unit("preload")? == Unit::POUND_FORCE {
        Unit::PSI
    } else {
        Unit::MEGAPASCAL
    };
    let stress = Exact::new(stress, Unit::MEGAPASCAL).shown_in(unit);
    Ok(Worked {
        lines: vec![
            stretch_line(given, &stretch),
            format!(
                "stress = {} / {} = {}",
                given.text("preload"),
                given.text("area"),
                stress.text()
            ),
        ],
        values: vec![Some(stretch), Some(stress)],
    })
}

pub(super) static BOLT_ANGLE: Calculation = Calculation {
    name: "bolt-angle",
    title: "the angle that a bolt is turned by from snug to a preload",
    definition: "360° × (stretch of the bolt + compression of the joint) / pitch. The stretch is preload × length / (stress \
        area × modulus). The compression is preload / stiffness of the joint, and is left out if no stiffness is given: \
        the joint is then taken as rigid. Snug means that the faces touch and the bolt has hardly any force yet.",
    sources: &[
        Source::read(
            "Bolt Elongation by Turn (Engineers Edge), after MIL-HDBK-60: θ = 360 f L / (E p)",
        ),
        Source::from_memory(
            "Shigley, Mechanical Engineering Design, 9th ed., sections 8-4 and 8-5: stiffness of bolt and members",
        ),
    ],
    inputs: &[
        PRELOAD,
        LENGTH,
        AREA,
        Input::length(
            "pitch",
            "the pitch of the thread; this or the threads per inch",
        )
        .optional(),
        Input::number(
            "threads-per-inch",
            "",
            "the threads per inch; this or the pitch",
        )
        .single()
        .optional(),
        MODULUS,
        Input::of(
            "joint-stiffness",
            &[Kind::SpringRate],
            "the stiffness of the parts that are held together",
        )
        .optional(),
    ],
    results: &[
        Outcome::of("angle", Kind::Angle, "angle from snug")
            .down("so that the bolt is not stretched further"),
        Outcome::of("stretch", Kind::Length, "stretch of the bolt")
            .down("so that the bolt is not stretched further"),
    ],
    caution: Some(CAUTION),
    example: &[
        ("preload", "30 kN"),
        ("length", "80 mm"),
        ("area", "58 mm²"),
        ("pitch", "1.5 mm"),
    ],
    work: bolt_angle,
};

fn bolt_angle(given: &Given<'_>) -> Result<Worked, Error> {
    let unit = given.unit("length")?;
    let stretched = stretch(given)?;
    let mut turned = stretched.clone();
    let stretched = Exact::new(stretched, Unit::MILLIMETRE).shown_in(unit);
    let mut lines = vec![stretch_line(given, &stretched)];
    let mut sum = stretched.text();
    if given.has("joint-stiffness") {
        let stiffness = given.above_zero("joint-stiffness", Unit::NEWTON_PER_MILLIMETRE)?;
        let compressed = given.in_unit("preload", Unit::NEWTON)? / stiffness;
        turned = turned + &compressed;
        let compressed = Exact::new(compressed, Unit::MILLIMETRE).shown_in(unit);
        lines.push(format!(
            "compression = {} / {} = {}",
            given.text("preload"),
            given.text("joint-stiffness"),
            compressed.text()
        ));
        sum = format!("({sum} + {})", compressed.text());
    }
    let (pitch, pitch_text) = match (given.has("pitch"), given.has("threads-per-inch")) {
        (true, false) => (
            given.above_zero("pitch", Unit::MILLIMETRE)?,
            given.text("pitch"),
        ),
        (false, true) => {
            let threads = given.number_above_zero("threads-per-inch")?;
            let text = format!("(1 in / {})", given.text("threads-per-inch"));
            (ratio(254, 10) / threads, text)
        }
        (both, _) => {
            let found = if both { "both" } else { "neither" };
            return Err(Error::new("either `pitch` or `threads-per-inch`", found));
        }
    };
    let angle = Exact::new(whole(360) * turned / pitch, Unit::DEGREE);
    lines.push(format!(
        "angle = 360° × {sum} / {pitch_text} = {}",
        angle.text()
    ));
    Ok(Worked {
        lines,
        values: vec![Some(angle), Some(stretched)],
    })
}
