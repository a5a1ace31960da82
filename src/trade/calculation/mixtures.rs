//! Dilution of concentrates, and antifreeze.

use super::entry::{Bound, Calculation, Outcome, Source};
use super::given::Given;
use super::input::Input;
use super::worked::{Exact, Worked, plain};
use crate::quantity::{Kind, Rational, Unit};
use crate::trade::error::Error;
use crate::trade::figures::{ratio, whole};
use crate::trade::mix::petrol_to_fill;

const CHEMICAL: &str = "Concentrates burn skin and eyes. Read the label and the safety data sheet, wear gloves and eye \
    protection, pour the concentrate into the water and not the other way round, and never mix two products: acids and \
    chlorine bleach together give off a poisonous gas.";

const CONCENTRATE: Outcome = Outcome::of("concentrate", Kind::Volume, "concentrate")
    .down("so that the mixture is not stronger than the label says");
const WATER: Outcome =
    Outcome::of("water", Kind::Volume, "water").up("because the concentrate is rounded down");

/// Concentrate and water grow with the total; with the number of parts, the concentrate falls and the water grows.
pub(super) static DILUTION: Calculation = Calculation {
    name: "dilution",
    title: "how much concentrate and water make a volume at a ratio",
    definition: "Labels mean two things by 1:20. With `--means added`, the default, 20 parts of water are added to one of \
        concentrate, which makes 21 parts: concentrate = total / 21. With `--means total`, one part in 20 is concentrate: \
        concentrate = total / 20. Write the greater number first: 20:1. Look on the label which is meant.",
    sources: &[
        Source::read(
            "Dilution ratio calculator (calculate.co.nz): both conventions, 1:10 as 9.09 % and as 10 %",
        ),
        Source::read("How To Dilution Ratios (autogeekonline): worked examples of the first"),
    ],
    inputs: &[
        Input::of("total", &[Kind::Volume], "the volume to make"),
        Input::of(
            "ratio",
            &[Kind::Ratio],
            "the parts to one part of concentrate, such as 20:1",
        ),
        Input::word(
            "means",
            &["added", "total"],
            "whether the parts are those of the water that is added, or of the whole",
        )
        .or("added"),
    ],
    results: &[CONCENTRATE, WATER],
    caution: Some(CHEMICAL),
    example: &[("total", "5 L"), ("ratio", "20:1")],
    work: dilution,
};

fn dilution(given: &Given<'_>) -> Result<Worked, Error> {
    let unit = given.unit("total")?;
    let total = given.above_zero("total", unit)?;
    let parts = given.above_zero("ratio", Unit::TO_ONE)?;
    let (total_text, ratio_text) = (given.text("total"), plain(&parts.clone().into()));
    let (concentrate, line) = if given.word("means")? == "added" {
        // The share of the petrol in a mixture, whose ratio is that of what is added to one part as well.
        let water = petrol_to_fill(given.quantity("total")?, given.quantity("ratio")?);
        let water = water.map(|water| water.value().clone()).unwrap_or_default();
        (
            total.clone() - water,
            format!("{total_text} / ({ratio_text} + 1)"),
        )
    } else {
        if parts < whole(1) {
            return Err(given.wrong("ratio", "at least 1:1 if the parts are those of the whole"));
        }
        (&total / &parts, format!("{total_text} / {ratio_text}"))
    };
    Ok(poured(total, concentrate, unit, &line))
}

/// The results for a volume of concentrate in a total.
fn poured(total: Rational, concentrate: Rational, unit: Unit, line: &str) -> Worked {
    let water = Exact::new(total - &concentrate, unit);
    let concentrate = Exact::new(concentrate, unit);
    Worked {
        lines: vec![
            format!("concentrate = {line} = {}", concentrate.text()),
            format!("water = what is left = {}", water.text()),
        ],
        values: vec![Some(concentrate), Some(water)],
    }
}

/// Concentrate grows with the total and the share and falls as the strength grows; the water does the opposite but for the
/// total.
pub(super) static DILUTION_SHARE: Calculation = Calculation {
    name: "dilution-share",
    title: "how much concentrate and water make a volume of a strength in per cent",
    definition: "Total × share / strength of the concentrate, all by volume. A share of the product as it is sold counts \
        it as 100 %; a share of its active substance needs the strength that the label gives.",
    sources: &[
        Source::read(
            "Dilution ratio calculator (calculate.co.nz): 10 % of the whole is one part in ten",
        ),
        Source::from_memory("the rule of dilution, c₁ V₁ = c₂ V₂, in textbooks of chemistry"),
    ],
    inputs: &[
        Input::of("total", &[Kind::Volume], "the volume to make"),
        Input::of("share", &[Kind::Percent], "the strength to make"),
        Input::of(
            "strength",
            &[Kind::Percent],
            "the strength of the concentrate",
        )
        .or("100 %"),
    ],
    results: &[CONCENTRATE, WATER],
    caution: Some(CHEMICAL),
    example: &[("total", "10 L"), ("share", "5 %")],
    work: dilution_share,
};

fn dilution_share(given: &Given<'_>) -> Result<Worked, Error> {
    let unit = given.unit("total")?;
    let total = given.above_zero("total", unit)?;
    let (share, strength) = (given.share("share")?, given.share("strength")?);
    if share > strength || strength.is_zero() {
        let expected = format!(
            "a share of at most the strength, {}",
            given.text("strength")
        );
        return Err(given.wrong("share", expected));
    }
    let concentrate = &total * share / strength;
    let line = format!(
        "{} × {} / {}",
        given.text("total"),
        given.text("share"),
        given.text("strength")
    );
    Ok(poured(total, concentrate, unit, &line))
}

const COOLANT: &str = "Never open a hot cooling system: it scalds. Antifreeze is poisonous and tastes sweet: keep it from \
    children and animals, wipe up what is spilt, and hand in what is drained. Do not mix kinds of coolant; use the one, \
    and the strength, that the maker gives.";

/// Shares of glycol by volume in per cent, and freezing points in tenths of a °C.
type Freezing = &'static [(i64, i64)];

const ETHYLENE: Freezing = &[
    (0, 0),
    (10, -34),
    (20, -79),
    (30, -137),
    (40, -235),
    (50, -368),
    (60, -528),
];

const PROPYLENE: Freezing = &[
    (0, 0),
    (5, -11),
    (10, -22),
    (15, -39),
    (20, -67),
    (25, -89),
    (30, -128),
    (35, -161),
    (40, -206),
    (45, -267),
    (50, -333),
];

const FREEZING_SOURCES: &[Source] = &[
    Source::read(
        "Ethylene glycol frost protection (kaspercalc): −13.7 °C at 30 %, −36.8 °C at 50 %, −52.8 °C at 60 %",
    ),
    Source::from_memory(
        "ASHRAE Handbook, Fundamentals, Physical properties of secondary coolants: ethylene glycol at 10 %, 20 % and 40 %",
    ),
    Source::read("Lange's Handbook of Chemistry, 15th ed., table 5.13: propylene glycol"),
];

const GLYCOL: Input = Input::word(
    "glycol",
    &["ethylene", "propylene"],
    "the glycol of the antifreeze",
)
.or("ethylene");

fn freezing(given: &Given<'_>) -> Result<Freezing, Error> {
    Ok(if given.word("glycol")? == "propylene" {
        PROPYLENE
    } else {
        ETHYLENE
    })
}

pub(super) static ANTIFREEZE_PROTECTION: Calculation = Calculation {
    name: "antifreeze-protection",
    title: "the freezing point of a mixture of antifreeze and water",
    definition: "The freezing point of the table at the share of glycol, or at the next lesser share that the table has: the \
        mixture freezes no earlier. Ethylene glycol: −3.4 °C at 10 %, −7.9 °C at 20 %, −13.7 °C at 30 %, −23.5 °C at \
        40 %, −36.8 °C at 50 %, −52.8 °C at 60 % by volume; above 60 % it rises again. Propylene glycol: from −1.1 °C \
        at 5 % to −33.3 °C at 50 %. Concentrates hold some water and other substances, so the maker's table takes \
        precedence.",
    sources: FREEZING_SOURCES,
    inputs: &[
        Input::of("share", &[Kind::Percent], "the share of glycol, by volume"),
        GLYCOL,
    ],
    results: &[
        Outcome::of("freezing-point", Kind::Temperature, "freezing point")
            .up("so that no frost is expected to be survived that is not")
            .bounds(Bound::AtMost),
    ],
    caution: Some(COOLANT),
    example: &[("share", "45 %")],
    work: antifreeze_protection,
};

fn antifreeze_protection(given: &Given<'_>) -> Result<Worked, Error> {
    let share = given.in_unit("share", Unit::PERCENT)?;
    let rows = freezing(given)?;
    let most = rows.last().map_or(0, |(share, _)| *share);
    if share.is_negative() || share > whole(most) {
        return Err(given.wrong("share", format!("a share from 0 % to {most} %")));
    }
    let row = rows.iter().rev().find(|(least, _)| whole(*least) <= share);
    let (least, tenths) = row.copied().unwrap_or((0, 0));
    let point = Exact::new(ratio(tenths, 10), Unit::DEGREE_CELSIUS);
    Ok(Worked {
        lines: vec![format!(
            "{} is at least {least} % of {} glycol: {}",
            given.text("share"),
            given.text("glycol"),
            point.text()
        )],
        values: vec![Some(point)],
    })
}

pub(super) static ANTIFREEZE_SHARE: Calculation = Calculation {
    name: "antifreeze-share",
    title: "the share of antifreeze that keeps a mixture from freezing down to a temperature",
    definition: "The least share of glycol of the table whose freezing point is not above the temperature. The table is that \
        of `antifreeze-protection`, in steps of 10 % for ethylene glycol and of 5 % for propylene glycol.",
    sources: FREEZING_SOURCES,
    inputs: &[
        Input::of(
            "temperature",
            &[Kind::Temperature],
            "the lowest temperature that is expected",
        ),
        GLYCOL,
    ],
    results: &[
        Outcome::of("share", Kind::Percent, "share of glycol, by volume")
            .figures(2)
            .up("so that the mixture does not freeze")
            .bounds(Bound::AtLeast),
    ],
    caution: Some(COOLANT),
    example: &[("temperature", "-20 °C")],
    work: antifreeze_share,
};

fn antifreeze_share(given: &Given<'_>) -> Result<Worked, Error> {
    let celsius = given.in_unit("temperature", Unit::DEGREE_CELSIUS)?;
    let rows = freezing(given)?;
    let row = rows
        .iter()
        .find(|(_, tenths)| ratio(*tenths, 10) <= celsius);
    let Some((share, tenths)) = row else {
        let expected = "a temperature that the table reaches";
        let coldest = rows.last().map_or(0, |(_, tenths)| *tenths);
        let coldest = Exact::new(ratio(coldest, 10), Unit::DEGREE_CELSIUS).text();
        let error = given.wrong("temperature", expected);
        return Err(error.with_help(format!("its lowest freezing point is {coldest}")));
    };
    let point = Exact::new(ratio(*tenths, 10), Unit::DEGREE_CELSIUS);
    let share = Exact::new(whole(*share), Unit::PERCENT);
    Ok(Worked {
        lines: vec![format!(
            "{} of {} glycol freezes at {}",
            share.text(),
            given.text("glycol"),
            point.text()
        )],
        values: vec![Some(share)],
    })
}

/// The volume grows with the capacity and the wanted share, and falls as the present share and the strength grow.
pub(super) static ANTIFREEZE_REFILL: Calculation = Calculation {
    name: "antifreeze-refill",
    title: "how much to drain and refill with antifreeze, to raise its share in a cooling system",
    definition: "Capacity × (wanted − present) / (strength − present), with shares by volume: so much of the old mixture is \
        drained, and as much antifreeze is filled in and mixed by running the engine. The strength is the share of glycol \
        in what is filled in: 100 % for a concentrate, 50 % for a mixture that is sold ready.",
    sources: &[
        Source::from_memory(
            "the balance of a mixture, in textbooks of algebra: present × (capacity − x) + strength × x = wanted × capacity",
        ),
        Source::read(
            "Elementary Technical Mathematics, section 6.6, exercise 23 (gradesaver): a worked example",
        ),
    ],
    inputs: &[
        Input::of(
            "capacity",
            &[Kind::Volume],
            "the capacity of the whole cooling system",
        ),
        Input::of(
            "present",
            &[Kind::Percent],
            "the share that a tester shows now",
        ),
        Input::of("wanted", &[Kind::Percent], "the share that is wanted"),
        Input::of(
            "strength",
            &[Kind::Percent],
            "the share of glycol in what is filled in",
        )
        .or("100 %"),
    ],
    results: &[
        Outcome::of("volume", Kind::Volume, "volume to drain and to refill")
            .up("so that the mixture protects as far as wanted"),
    ],
    caution: Some(COOLANT),
    example: &[("capacity", "8 L"), ("present", "30 %"), ("wanted", "50 %")],
    work: antifreeze_refill,
};

fn antifreeze_refill(given: &Given<'_>) -> Result<Worked, Error> {
    let unit = given.unit("capacity")?;
    let capacity = given.above_zero("capacity", unit)?;
    let (present, wanted, strength) = (
        given.share("present")?,
        given.share("wanted")?,
        given.share("strength")?,
    );
    if wanted < present {
        let expected = format!("at least the present share, {}", given.text("present"));
        return Err(given.wrong("wanted", expected));
    }
    if strength <= present || wanted > strength {
        let expected = format!(
            "a share of less than what is filled in, {}",
            given.text("strength")
        );
        let name = if wanted > strength {
            "wanted"
        } else {
            "present"
        };
        return Err(given.wrong(name, expected));
    }
    let volume = Exact::new(
        capacity * (&wanted - &present) / (strength - &present),
        unit,
    );
    Ok(Worked {
        lines: vec![format!(
            "volume = {} × ({} − {present}) / ({} − {present}) = {}",
            given.text("capacity"),
            given.text("wanted"),
            given.text("strength"),
            volume.text(),
            present = given.text("present"),
        )],
        values: vec![Some(volume)],
    })
}
