//! The preload and torque of a threaded joint, limited by the bolt or by the tapped hole.

use std::fmt;

use super::error::{Error, quoted};
use super::figures::{pi, ratio, shown, whole};
use super::strength::{Strength, StrengthClass, uncalculated};
use super::thread::Thread;
use crate::quantity::{Kind, Quantity, Rational, Unit};

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
            /// All variants, in the order of the table.
            pub const ALL: &[Self] = &[$(Self::$variant,)+];

            /// The name, in lower case.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$variant => $text,)+
                }
            }

            /// The source of the figure.
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

            /// Parses a [`name`](Self::name), in any case.
            ///
            /// # Errors
            ///
            /// If the text is not a name. The message lists all names.
            pub fn parse(text: &str) -> Result<Self, Error> {
                let typed = text.trim().to_lowercase();
                let found = Self::ALL.iter().find(|known| known.name() == typed);
                found.copied().ok_or_else(|| {
                    let names: Vec<&str> = Self::ALL.iter().map(|known| known.name()).collect();
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
    /// The state of the threads and seats when a joint is tightened.
    ///
    /// It determines the nut factor K of T = K · d · F, the share of the torque that is lost to
    /// friction. Where published values differ, the lowest is used, because a thread with less
    /// friction than expected is overtightened. Measured nut factors vary by a quarter to a third,
    /// so the results are a guide, and the value of a machine's maker takes precedence.
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
    /// Plain steel as delivered, neither oiled nor degreased.
    Dry = "dry", 20, "0.20 to 0.25 in \"Bolt Torque Calculation\" (mechconcepts), 0.18 to 0.27 in \
        \"Engineering Data: nut factor equation\" (zipfastener); 0.20 is what tables of dry torques use";
    /// Engine oil on the threads and under the head.
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
    /// K of T = K · d · F, without a unit.
    #[must_use]
    pub fn nut_factor(self) -> Rational {
        ratio(self.hundredths(), 100)
    }
}

named! {
    /// The material of a tapped hole. It limits the torque only where its thread is weaker than the bolt.
    Material, "a tapped material", shear_strength: "The shear strength, in `MPa`.";
    /// Plain structural steel. A hole in a stronger steel takes more.
    Steel = "steel", 208, "0.577 × 360 MPa, the tensile strength of S235 in EN 10025-2 and the factor of \
        the distortion-energy theory (both from memory)";
    /// Grey cast iron of the weakest usual grade.
    CastIron = "cast iron", 179, "26 000 psi of ASTM A48 class 20 (makeitfrom)";
    /// Cast aluminium, such as engine cases.
    Aluminium = "aluminium", 140, "below the shear strength of usual crankcase alloys: 152 MPa of \
        319.0-F, 179 of 356.0-T6 (\"Typical Mechanical Properties\", barrcasting, lbfoundry); 356.0 \
        as cast has 91 (substech)";
    /// Moulded thermoplastic without fibre reinforcement.
    Plastic = "plastic", 25, "from memory: the low end of polypropylene and ABS";
}

impl Material {
    /// The divisor of π · d₂ · L · τ in the force that strips a tapped thread. See [`takes`].
    const fn divisor(self) -> i64 {
        match self {
            Self::Steel => 2,
            _ => 3,
        }
    }
}

/// A tapped hole with its material and its length of engagement.
///
/// The length is above zero. It counts full threads only, without chamfer and run-out.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Tapped {
    material: Material,
    engagement: Quantity,
}

impl Tapped {
    /// A tapped hole in `material`, with the bolt screwed in by `engagement`.
    ///
    /// # Errors
    ///
    /// If `engagement` is not a length above zero.
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

/// The torque of a joint, and how it was computed. See [`takes`].
///
/// In the units of the thread: N·m, kN, mm² and `MPa`, or ft·lbf (below 20 ft·lbf, in·lbf), lbf,
/// in² and psi. Values are exact except for the stress area, and print with three significant
/// figures.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Takes {
    /// The recommended torque: that of three quarters of the force at which the bolt is at its proof
    /// load or the tapped thread may strip, whichever is less.
    pub torque: Quantity,
    /// The torque at which the proof load is reached or the tapped thread may strip: four thirds of
    /// [`torque`](Self::torque). A greater torque is wrong unless the maker specifies it.
    pub ceiling: Quantity,
    /// The clamping force at [`torque`](Self::torque).
    pub preload: Quantity,
    /// See [`Thread::stress_area`].
    pub stress_area: Quantity,
    /// The strength of the bolt.
    pub strength: Strength,
    /// Where the tapped thread may strip, if a tapped hole was given.
    pub strips_at: Option<StripsAt>,
    /// The computation, one step per line, for a mechanic to follow.
    pub arithmetic: Vec<String>,
}

/// Where a tapped thread may strip.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StripsAt {
    /// The material of the hole.
    pub material: Material,
    /// The clamping force, in kN or lbf.
    pub force: Quantity,
    /// The torque that gives the force, in N·m, ft·lbf or in·lbf.
    pub torque: Quantity,
    /// Whether the tapped thread is weaker than the bolt, and so limits the torque.
    pub limits: bool,
}

/// The share of the proof load, or of the force that strips a tapped thread, that a joint is tightened
/// to if it will be taken apart again.
///
/// Source: Shigley, Mechanical Engineering Design, 9th ed., section 8-9, as quoted in "Bolt
/// Torque Calculation" (mechconcepts), for the proof load. That a tapped thread is given the same
/// margin is our own choice.
fn preload_part() -> Rational {
    ratio(3, 4)
}

/// The torque of a joint: T = K · d · F, with F three quarters of the proof load.
///
/// A tapped hole whose thread strips below the proof load takes the place of the proof load: F is three
/// quarters of that force, so the margin is the same. It is π · d₂ · L · τ / 3, or / 2 in steel.
/// Perfectly mating threads would shear half the cylinder of the hole over the length of
/// engagement; a third allows for play. Source: NASA RP-1228, "Fastener Design Manual", pullout load
/// of tapped holes, from a later edition of the same author's text. In steel the half is used: by the
/// formulas of FED-STD-H28/2 (from memory), the least shear area of the threads of M6 6H/6g is
/// 0.51 of the cylinder for the bolt and 0.73 for the hole. So plain steel is weaker than a bolt of class
/// 8.8 below an engagement of about 1.1 diameters. For the sources of shear strengths, see
/// [`Material`].
///
/// ```
/// use benchleaf::trade::{Condition, StrengthClass, Thread, takes};
///
/// let m6 = Thread::parse("M6")?;
/// let takes = takes(&m6, StrengthClass::parse("8.8")?, Condition::Dry, None)?;
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
/// As [`StrengthClass::strength`].
pub fn takes(
    thread: &Thread,
    class: StrengthClass,
    condition: Condition,
    tapped: Option<&Tapped>,
) -> Result<Takes, Error> {
    takes_with(thread, class.strength(thread)?, condition, tapped)
}

/// As [`takes`], for a bolt of any strength.
pub(super) fn takes_with(
    thread: &Thread,
    strength: Strength,
    condition: Condition,
    tapped: Option<&Tapped>,
) -> Result<Takes, Error> {
    let units = if thread.is_metric() { METRIC } else { INCH };
    let area = thread.stress_area().ok_or_else(|| uncalculated(thread))?;
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
    let torque_of = |force: &Rational| {
        let force = Quantity::new(force.clone(), units.force, 0);
        torque_for(&condition.nut_factor(), &thread.diameter(), &force)
    };
    let line = |force: &Rational, torque: &Quantity| {
        format!(
            "T = 0.{:02} × {} × {} = {torque}",
            condition.hundredths(),
            thread.diameter(),
            units.show(force),
        )
    };
    let Some(tapped) = tapped else {
        let torque = torque_of(&wanted)?;
        arithmetic.push(line(&wanted, &torque));
        return Ok(Takes {
            ceiling: torque_of(&proof_load)?,
            preload: units.show(&wanted),
            torque,
            stress_area: area,
            strength,
            strips_at: None,
            arithmetic,
        });
    };

    let (strips, shown) = tapped.strips_at(thread, &units)?;
    arithmetic.push(shown);
    let material = tapped.material;
    let limits = strips < proof_load;
    let (preload, most) = if limits {
        let preload = preload_part() * &strips;
        arithmetic.push(format!(
            "F = 0.75 × {} = {}, because the {material} is weaker than the bolt",
            units.show(&strips),
            units.show(&preload),
        ));
        (preload, strips.clone())
    } else {
        (wanted, proof_load)
    };
    let (torque, strips_torque) = (torque_of(&preload)?, torque_of(&strips)?);
    arithmetic.push(format!("{}, recommended", line(&preload, &torque)));
    arithmetic.push(format!(
        "{}, strips the {material}",
        line(&strips, &strips_torque)
    ));
    Ok(Takes {
        torque,
        ceiling: torque_of(&most)?,
        preload: units.show(&preload),
        stress_area: area,
        strength,
        strips_at: Some(StripsAt {
            material,
            force: units.show(&strips),
            torque: strips_torque,
            limits,
        }),
        arithmetic,
    })
}

impl Tapped {
    /// The force at which the tapped thread may strip, in N or lbf, and its arithmetic.
    fn strips_at(&self, thread: &Thread, units: &Units) -> Result<(Rational, String), Error> {
        let shear = whole(self.material.shear_strength());
        let shear = converted(&Quantity::new(shear, Unit::MEGAPASCAL, 0), units.stress);
        let length = converted(&self.engagement, units.length);
        let diameter = thread
            .pitch_diameter()
            .ok_or_else(|| uncalculated(thread))?;
        let divisor = self.material.divisor();
        let cylinder = pi() * diameter.value() * length.value();
        let force = cylinder * shear.value() / whole(divisor);
        let line = format!(
            "S = π × {diameter} × {length} × {shear} / {divisor} = {}, where the {} may strip",
            units.show(&force),
            self.material,
        );
        Ok((force, line))
    }
}

/// `value` in another unit, which must be of its kind.
fn converted(value: &Quantity, unit: Unit) -> Quantity {
    value.in_unit(unit).unwrap_or_else(|| value.clone())
}

/// The units of a computation. In both systems, stress times area gives `force`.
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
    /// A force as printed.
    fn show(&self, force: &Rational) -> Quantity {
        if self.force == Unit::NEWTON {
            shown(force / whole(1000), Unit::KILONEWTON)
        } else {
            shown(force.clone(), self.force)
        }
    }
}

/// The torque that gives a preload: T = K · d · F, printed with three significant figures.
///
/// In N·m. For a force in lbf in ft·lbf, below 20 ft·lbf in in·lbf, as small wrenches are marked
/// (common practice). Source: Shigley, Mechanical Engineering Design, 9th ed.,
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
/// If `diameter` is not a length, or `preload` is not a force.
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
