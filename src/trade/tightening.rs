//! What a threaded joint takes: preload, torque, and whether a tapped hole would give way first.

use std::fmt;

use super::error::{Error, quoted};
use super::figures::{aim, exact, pi, ratio, shown, whole};
use super::strength::{Class, Strength};
use super::thread::Thread;
use crate::quantity::{Kind, Limits, Quantity, Rational, Unit};

macro_rules! named {
    (
        $(#[$doc:meta])* $name:ident, $what:literal, $number:ident: $number_doc:literal;
        $($(#[$row_doc:meta])* $variant:ident = $text:literal, $value:literal, $source:literal;)+
    ) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        #[non_exhaustive]
        pub enum $name {
            $($(#[$row_doc])* $variant,)+
        }

        impl $name {
            /// All of them, in the order of the table.
            pub const ALL: &[Self] = &[$(Self::$variant,)+];

            /// The word for it, lower case.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$variant => $text,)+
                }
            }

            /// Where its figure comes from.
            #[must_use]
            pub const fn source(self) -> &'static str {
                match self {
                    $(Self::$variant => $source,)+
                }
            }

            #[doc = $number_doc]
            const fn $number(self) -> i64 {
                match self {
                    $(Self::$variant => $value,)+
                }
            }

            /// Reads the word, in any case.
            ///
            /// # Errors
            ///
            /// Where the text is none of the words; the message names them all.
            pub fn parse(text: &str) -> Result<Self, Error> {
                let typed = text.trim().to_lowercase();
                let found = Self::ALL.iter().find(|one| one.name() == typed);
                found.copied().ok_or_else(|| {
                    let names: Vec<&str> = Self::ALL.iter().map(|one| one.name()).collect();
                    Error::new(format!("{} ({})", $what, names.join(", ")), quoted(text))
                })
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
                out.write_str(self.name())
            }
        }
    };
}

named! {
    /// The state of threads and seats when a joint is tightened.
    ///
    /// It decides the nut factor K of T = K · d · F: how much of the torque goes into friction.
    /// Where published typical values differ, the lowest stands here: a thread that is more
    /// slippery than thought is the one that is overtightened. Measured nut factors scatter by a
    /// quarter to a third, so what follows from them is a guide, and the value of a machine's
    /// maker rules.
    ///
    /// ```
    /// use benchleaf::quantity::Rational;
    /// use benchleaf::trade::Condition;
    ///
    /// assert_eq!(Condition::parse("dry")?.nut_factor(), Rational::new(1.into(), 5.into()));
    /// assert_eq!(
    ///     Condition::parse("oily").unwrap_err().to_string(),
    ///     "expected the state of the thread (dry, oiled, plated, threadlocker), found `oily`",
    /// );
    /// # Ok::<(), benchleaf::trade::Error>(())
    /// ```
    Condition, "the state of the thread", hundredths: "The nut factor, in hundredths.";
    /// Plain steel as it comes, neither oiled nor freed of all oil.
    Dry = "dry", 20, "0.20 to 0.25 in \"Bolt Torque Calculation\" (mechconcepts), 0.18 to 0.27 in \
        \"Engineering Data: nut factor equation\" (zipfastener); 0.20 is what tables of dry torques use";
    /// Engine oil on threads and under the head.
    Oiled = "oiled", 15, "0.15 to 0.20 in \"Bolt Torque Calculation\" (mechconcepts); 0.18 in Shigley, \
        Mechanical Engineering Design, 9th ed., table 8-15";
    /// Zinc-plated, not oiled.
    Plated = "plated", 17, "0.17 in a coating maker's newsletter on nut factors (constantcontact archive); \
        0.20 in Shigley, Mechanical Engineering Design, 9th ed., table 8-15";
    /// Wet liquid threadlocker on the threads.
    Threadlocker = "threadlocker", 15, "as oiled: the wet compound lubricates (\"Effect of \
        Lubricants\", sinotruks); 0.14 on steel in \"Basic Torque / Tension Equation\"";
}

impl Condition {
    /// K of T = K · d · F: a number without a unit.
    #[must_use]
    pub fn nut_factor(self) -> Rational {
        ratio(self.hundredths(), 100)
    }
}

named! {
    /// What a hole is tapped in, where that is weaker than the bolt.
    Material, "a tapped material", shear_strength: "The shear strength, in `MPa`.";
    /// Cast aluminium, as of engine cases.
    Aluminium = "aluminium", 140, "below the shear strength of usual crankcase alloys: 152 MPa of \
        319.0-F, 179 of 356.0-T6 (\"Typical Mechanical Properties\", barrcasting, lbfoundry); 356.0 \
        as cast has 91 (substech)";
    /// Moulded thermoplastic without fibres.
    Plastic = "plastic", 25, "from memory: the low end of polypropylene and ABS";
}

/// A tapped hole and how far the bolt is screwed into it.
///
/// The length is above zero and counts full threads only, not the chamfer or the run-out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tapped {
    material: Material,
    engagement: Quantity,
}

impl Tapped {
    /// # Errors
    ///
    /// Where `engagement` is no length above zero.
    pub fn new(material: Material, engagement: Quantity) -> Result<Self, Error> {
        if engagement.kind() != Kind::Length || *engagement.value() <= whole(0) {
            let found = format!("`{engagement}`");
            return Err(Error::new("a length of engagement above zero", found));
        }
        Ok(Self {
            material,
            engagement,
        })
    }
}

/// What a joint takes, and how that was worked out.
///
/// In the units of the thread: N·m, kN, mm² and `MPa`, or ft·lbf (below 20 ft·lbf, in·lbf), lbf,
/// in² and psi. Values are exact but for the stress area, and shown with three figures.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Takes {
    /// The torque that gives the preload: what to expect in a table.
    pub torque: Quantity,
    /// The torque at which the proof load is reached or the tapped thread may strip: more than
    /// this can't be right without the maker's word.
    pub ceiling: Quantity,
    /// The force the joint is held together with at [`torque`](Self::torque).
    pub preload: Quantity,
    /// See [`Thread::stress_area`].
    pub stress_area: Quantity,
    /// What the bolt withstands.
    pub strength: Strength,
    /// The force at which the tapped thread may strip, where a hole was given.
    pub strips_at: Option<Quantity>,
    /// The arithmetic, a step a line, as a mechanic can follow it.
    pub arithmetic: Vec<String>,
}

/// The part of the proof load that a joint is tightened to if it is to be taken apart again.
///
/// Source: Shigley, Mechanical Engineering Design, 9th ed., section 8-9, as quoted in "Bolt
/// Torque Calculation" (mechconcepts).
fn preload_part() -> Rational {
    ratio(3, 4)
}

/// What a joint takes: T = K · d · F, with F three quarters of the proof load.
///
/// Where the hole is tapped in weaker material, F is no more than the force at which that may
/// strip: π · d₂ · L · τ / 3. Of the shell of the hole over the length of engagement, threads that
/// mate perfectly leave the material a half; a third allows for their play, and no further reserve
/// is taken. Source: NASA RP-1228, "Fastener Design Manual", pullout load of tapped holes, read in a later
/// edition of the same author's text; the shear strengths have their sources on [`Material`].
///
/// ```
/// use benchleaf::trade::{Class, Condition, Thread, takes};
///
/// let m6 = Thread::parse("M6")?;
/// let takes = takes(&m6, Class::parse("8.8")?, Condition::Dry, None)?;
/// assert_eq!(takes.torque.text(), "10.5\u{a0}N·m");
/// let lines: Vec<String> = takes.arithmetic.iter().map(|line| line.replace('\u{a0}', " ")).collect();
/// assert_eq!(lines, [
///     "A = 20.1 mm²",
///     "F = 0.75 × 580 MPa × 20.1 mm² = 8.74 kN",
///     "T = 0.20 × 6 mm × 8.74 kN = 10.5 N·m",
/// ]);
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
///
/// # Errors
///
/// As [`Class::strength`].
pub fn takes(
    thread: &Thread,
    class: Class,
    condition: Condition,
    tapped: Option<&Tapped>,
) -> Result<Takes, Error> {
    let strength = class.strength(thread)?;
    let units = if thread.is_metric() { METRIC } else { INCH };
    let area = thread.stress_area();
    let proof_load = strength.proof.value() * area.value();
    let wanted = preload_part() * &proof_load;
    let mut arithmetic = vec![
        format!("A = {area}"),
        format!(
            "F = 0.75 × {} × {area} = {}",
            strength.proof,
            units.show(&wanted)
        ),
    ];

    let strips_at = tapped.map(|tapped| {
        let (force, line) = tapped.strips_at(thread, &units);
        arithmetic.push(line);
        force
    });
    let held = |force: Rational| match &strips_at {
        Some(most) if *most < force => most.clone(),
        _ => force,
    };
    let preload = held(wanted);
    let torque_of = |force: &Rational| {
        let force = Quantity::new(force.clone(), units.force, 0);
        torque_for(&condition.nut_factor(), &thread.diameter(), &force)
    };
    let torque = torque_of(&preload)?;
    arithmetic.push(format!(
        "T = 0.{:02} × {} × {} = {torque}",
        condition.hundredths(),
        thread.diameter(),
        units.show(&preload),
    ));
    let ceiling = torque_of(&held(proof_load))?;
    Ok(Takes {
        torque,
        ceiling,
        preload: units.show(&preload),
        stress_area: area,
        strength,
        strips_at: strips_at.map(|force| units.show(&force)),
        arithmetic,
    })
}

impl Tapped {
    /// The force at which the tapped thread may strip, in N or lbf, and its arithmetic.
    fn strips_at(&self, thread: &Thread, units: &Units) -> (Rational, String) {
        let shear = whole(self.material.shear_strength());
        let shear = converted(&Quantity::new(shear, Unit::MEGAPASCAL, 0), units.stress);
        let length = converted(&self.engagement, units.length);
        let diameter = thread.pitch_diameter();
        let force = pi() * diameter.value() * length.value() * shear.value() / whole(3);
        let line = format!(
            "S = π × {diameter} × {length} × {shear} / 3 = {}, where the {} may strip",
            units.show(&force),
            self.material,
        );
        (force, line)
    }
}

/// `value` in another unit of its kind, which the caller has seen to.
fn converted(value: &Quantity, unit: Unit) -> Quantity {
    value.in_unit(unit).unwrap_or_else(|| value.clone())
}

/// The units that the arithmetic of a thread is written in. Stress times area is the small unit
/// of force in both systems.
struct Units {
    length: Unit,
    stress: Unit,
    force: Unit,
}

const METRIC: Units = Units {
    length: Unit::MILLIMETRE,
    stress: Unit::MEGAPASCAL,
    force: Unit::NEWTON,
};

const INCH: Units = Units {
    length: Unit::INCH,
    stress: Unit::PSI,
    force: Unit::POUND_FORCE,
};

impl Units {
    /// A force as it is printed.
    fn show(&self, force: &Rational) -> Quantity {
        if self.force == Unit::NEWTON {
            shown(force / whole(1000), Unit::KILONEWTON)
        } else {
            shown(force.clone(), self.force)
        }
    }
}

/// The torque that gives a preload: T = K · d · F, shown with three figures.
///
/// In N·m, or for a force in lbf, in ft·lbf; below 20 ft·lbf in in·lbf, which wrenches of that size
/// are marked in (common practice). Source: Shigley, Mechanical Engineering Design, 9th ed.,
/// section 8-8.
///
/// ```
/// use benchleaf::quantity::{Quantity, Rational};
/// use benchleaf::trade::torque_for;
///
/// let value = |text| Quantity::parse(text).unwrap();
/// let nut_factor = Rational::new(1.into(), 5.into());
/// let torque = torque_for(&nut_factor, &value("3/4 in"), &value("25000 lbf"))?;
/// assert_eq!(torque.text(), "312\u{a0}ft·lbf");
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
///
/// # Errors
///
/// Where `diameter` is no length, or `preload` no force.
pub fn torque_for(
    nut_factor: &Rational,
    diameter: &Quantity,
    preload: &Quantity,
) -> Result<Quantity, Error> {
    let units = if preload.unit() == Unit::POUND_FORCE {
        INCH
    } else {
        METRIC
    };
    let wrong = |value: &Quantity, expected| Error::new(expected, format!("`{value}`"));
    let length = diameter
        .in_unit(units.length)
        .ok_or_else(|| wrong(diameter, "a diameter"))?;
    let force = preload
        .in_unit(units.force)
        .ok_or_else(|| wrong(preload, "a force"))?;
    let torque = nut_factor * length.value() * force.value();
    Ok(if units.force == Unit::NEWTON {
        shown(torque / whole(1000), Unit::NEWTON_METRE)
    } else if torque < whole(240) {
        shown(torque, Unit::INCH_POUND)
    } else {
        shown(torque / whole(12), Unit::FOOT_POUND)
    })
}

/// The units that torques are confused in.
const CONFUSED: [Unit; 4] = [
    Unit::NEWTON_METRE,
    Unit::INCH_POUND,
    Unit::FOOT_POUND,
    Unit::KILOGRAM_FORCE_METRE,
];

/// What was perhaps meant by a torque that can't be right for its thread: the same number in
/// another unit, where that would be, the likeliest first. Empty where the torque may be right,
/// or no unit would make it so.
///
/// `takes` is the torque that the joint takes at three quarters of proof. A torque may be right
/// from an eighth of that (covers, plastics and gaskets want little) to four thirds of it, where
/// the proof load is reached. The same number in another unit would be right from half of it: the
/// least that makers of machines ask where strength decides. All three are our own choice, made
/// so that slips by a factor of 8.85 (N·m and in·lbf), 9.8 (N·m and kgf·m) and 12 (in·lbf and
/// ft·lbf) are found; N·m for ft·lbf differ too little to be told from a gentle torque.
///
/// ```
/// use benchleaf::quantity::{Limits, Quantity};
/// use benchleaf::trade::unit_slips;
///
/// let takes = Quantity::parse("10.5 N·m").unwrap();
/// let slips = |typed| unit_slips(&Limits::parse(typed).unwrap(), &takes);
/// assert_eq!(slips("86 N·m"), [Quantity::parse("86 in·lbf").unwrap()]);
/// assert_eq!(slips("1 N·m"), [Quantity::parse("1 kgf·m").unwrap()]);
/// assert_eq!(slips("9 N·m ± 1 N·m"), []);
/// ```
#[must_use]
pub fn unit_slips(torque: &Limits, takes: &Quantity) -> Vec<Quantity> {
    let Some(aim) = aim(torque).filter(|_| torque.kind() == Kind::Torque) else {
        return Vec::new();
    };
    let share = |unit: Unit| {
        let meant = exact(aim.clone(), unit);
        let takes = takes.in_unit(unit)?;
        (*takes.value() > whole(0)).then(|| (meant.value() / takes.value(), meant))
    };
    let within = |part: &Rational, least: Rational| least <= *part && *part <= ratio(4, 3);
    match share(torque.unit()) {
        Some((part, _)) if !within(&part, ratio(1, 8)) => {}
        _ => return Vec::new(),
    }
    let mut slips: Vec<(Rational, Quantity)> = CONFUSED
        .into_iter()
        .filter(|unit| *unit != torque.unit())
        .filter_map(share)
        .filter(|(part, _)| within(part, ratio(1, 2)))
        .collect();
    // As far above as below: twice and half are equally unlikely.
    let strangeness = |part: &Rational| {
        if *part < whole(1) {
            whole(1) / part
        } else {
            part.clone()
        }
    };
    slips.sort_by_key(|(part, _)| strangeness(part));
    slips.into_iter().map(|(_, meant)| meant).collect()
}
