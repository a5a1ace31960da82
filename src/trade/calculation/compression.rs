//! The compression ratio of a cylinder.

use super::entry::{Calculation, Outcome, Source};
use super::given::Given;
use super::input::Input;
use super::worked::{Exact, Worked, shown};
use crate::quantity::{Kind, Rational, Unit};
use crate::trade::error::Error;
use crate::trade::figures::whole;
use crate::trade::interval::Interval;

/// Each result is a fraction whose parts grow with one input at most, or in which an input cancels but for one place, so
/// that it only grows or only falls with each.
pub(super) static COMPRESSION_RATIO: Calculation = Calculation {
    name: "compression-ratio",
    title: "the compression ratio of a cylinder from its measured volumes",
    definition: "The volume above the piston at bottom dead centre, divided by the volume above it at top dead centre: \
        (swept + clearance) / clearance. The clearance is the chamber in the head, the hole in the gasket, the cylinder \
        above the piston at top dead centre and the dish, less the dome. The ratio is the geometric one; a two-stroke \
        is often given the ratio from where its ports close.",
    sources: &[
        Source::read("Compression Ratio, \"Formula\" (primidi): (π/4 b² s + Vc) / Vc"),
        Source::read(
            "Compression Ratio, worked form (classicpickup): the parts of the clearance volume",
        ),
    ],
    inputs: &[
        Input::length("bore", "the diameter of the cylinder"),
        Input::length("stroke", "the travel of the piston"),
        Input::of(
            "chamber",
            &[Kind::Volume],
            "the volume of the chamber in the head, with the plug fitted",
        ),
        Input::length("gasket", "the thickness of the gasket when tightened").or("0 mm"),
        Input::length(
            "gasket-bore",
            "the diameter of the hole in the gasket; by default the bore",
        )
        .optional(),
        Input::length(
            "deck",
            "how far the piston stays below the top of the cylinder",
        )
        .or("0 mm"),
        Input::of(
            "dish",
            &[Kind::Volume],
            "the volume of the hollow in the piston, with its valve pockets",
        )
        .or("0 mL"),
        Input::of(
            "dome",
            &[Kind::Volume],
            "the volume of the piston's crown above its edge",
        )
        .or("0 mL"),
    ],
    results: &[
        Outcome::of("ratio", Kind::Ratio, "compression ratio")
            .up("because too high a ratio is what damages an engine"),
        Outcome::of("swept", Kind::Volume, "swept volume").figures(4),
        Outcome::of("clearance", Kind::Volume, "clearance volume").figures(4),
    ],
    caution: None,
    example: &[
        ("bore", "66 mm"),
        ("stroke", "48 mm"),
        ("chamber", "19 cm³"),
        ("gasket", "1.2 mm"),
    ],
    work: ratio,
};

fn ratio(given: &Given<'_>) -> Result<Worked, Error> {
    let millimetres = |name| given.above_zero(name, Unit::MILLIMETRE);
    let (bore, stroke) = (millimetres("bore")?, millimetres("stroke")?);
    let hole = if given.has("gasket-bore") {
        "gasket-bore"
    } else {
        "bore"
    };
    let hole_size = millimetres(hole)?;
    let gasket = given.in_unit("gasket", Unit::MILLIMETRE)?;
    let deck = given.in_unit("deck", Unit::MILLIMETRE)?;
    let millilitres = |name| given.in_unit(name, Unit::MILLILITRE);
    let (chamber, dish, dome) = (
        millilitres("chamber")?,
        millilitres("dish")?,
        millilitres("dome")?,
    );
    let swept = cylinder(&bore, &stroke);
    let in_gasket = cylinder(&hole_size, &gasket);
    let above = cylinder(&bore, &deck);
    let measured: Interval = (&chamber + &dish - &dome).into();
    let clearance = measured + in_gasket.clone() + above.clone();
    if !clearance.low().is_positive() {
        let expected = "a chamber that holds more than the dome displaces";
        return Err(given.wrong("dome", expected));
    }
    let whole_volume = swept.clone() + clearance.clone();
    let ratio = whole_volume.clone().over(clearance.clone())?;
    let text = |volume: &Interval| shown(volume, Unit::CUBIC_CENTIMETRE);
    let mut lines = vec![format!(
        "swept = π/4 × ({})² × {} = {}",
        given.text("bore"),
        given.text("stroke"),
        text(&swept)
    )];
    let mut parts = given.text_in("chamber", Unit::CUBIC_CENTIMETRE);
    let mut add = |sign: &str, part: &str| {
        parts = format!("{parts} {sign} {part}");
    };
    if !gasket.is_zero() {
        let (hole, gasket) = (given.text(hole), given.text("gasket"));
        lines.push(format!(
            "gasket = π/4 × ({hole})² × {gasket} = {}",
            text(&in_gasket)
        ));
        add("+", &text(&in_gasket));
    }
    if !deck.is_zero() {
        let (bore, deck) = (given.text("bore"), given.text("deck"));
        lines.push(format!(
            "deck = π/4 × ({bore})² × {deck} = {}",
            text(&above)
        ));
        add("+", &text(&above));
    }
    for (name, sign, volume) in [("dish", "+", &dish), ("dome", "−", &dome)] {
        if !volume.is_zero() {
            add(sign, &given.text_in(name, Unit::CUBIC_CENTIMETRE));
        }
    }
    lines.push(format!("clearance = {parts} = {}", text(&clearance)));
    lines.push(format!(
        "ratio = {} / {} = {}",
        text(&whole_volume),
        text(&clearance),
        shown(&ratio, Unit::TO_ONE)
    ));
    let unit = given.unit("chamber")?;
    Ok(Worked {
        lines,
        values: vec![
            Some(Exact::new(ratio, Unit::TO_ONE)),
            Some(Exact::new(swept, Unit::CUBIC_CENTIMETRE).shown_in(unit)),
            Some(Exact::new(clearance, Unit::CUBIC_CENTIMETRE).shown_in(unit)),
        ],
    })
}

/// The volume of a cylinder in mL, of sizes in mm.
fn cylinder(diameter: &Rational, height: &Rational) -> Interval {
    let cuboid = diameter * diameter * height / whole(4 * 1000);
    Interval::pi() * cuboid.into()
}
