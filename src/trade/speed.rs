//! Speeds of generators, governors, tachometers, belt drives and blades.

use super::error::Error;
use super::figures::{pi, ratio, shown, whole};
use crate::quantity::{Kind, Quantity, Rational, Unit};

/// The frequency of a generator at a speed, in Hz: f = n × p / 120.
///
/// `poles` is the number of poles, not of pairs. Source: NEETS module 5 (US Navy), p. 3-14.
///
/// ```
/// use benchleaf::quantity::Quantity;
/// use benchleaf::trade::frequency;
///
/// let speed = Quantity::parse("3690 rpm").unwrap();
/// assert_eq!(frequency(&speed, 2)?.text(), "61.5\u{a0}Hz");
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
///
/// # Errors
///
/// If `speed` is not a rotational speed, or `poles` is zero or odd.
pub fn frequency(speed: &Quantity, poles: u32) -> Result<Quantity, Error> {
    let rpm = rpm(speed)?;
    Ok(shown(rpm * pairs(poles)? / whole(60), Unit::HERTZ))
}

/// The speed at which a generator gives a frequency, in rpm: n = 120 × f / p, the inverse of
/// [`frequency`].
///
/// ```
/// use benchleaf::quantity::Quantity;
/// use benchleaf::trade::synchronous_speed;
///
/// let frequency = Quantity::parse("60 Hz").unwrap();
/// assert_eq!(synchronous_speed(&frequency, 2)?.text(), "3600\u{a0}rpm");
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
///
/// # Errors
///
/// If `frequency` is not a frequency, or `poles` is zero or odd.
pub fn synchronous_speed(frequency: &Quantity, poles: u32) -> Result<Quantity, Error> {
    let hertz = in_unit(frequency, Unit::HERTZ, "a frequency")?;
    Ok(shown(hertz * whole(60) / pairs(poles)?, Unit::RPM))
}

fn pairs(poles: u32) -> Result<Rational, Error> {
    if poles == 0 || !poles.is_multiple_of(2) {
        let error = Error::new("an even number of poles", poles.to_string());
        return Err(error.with_help("poles come in pairs: north and south"));
    }
    Ok(whole(i64::from(poles / 2)))
}

/// The speed that a governor's droop is a percentage of. Two definitions are in use.
///
/// The same droop is a larger number of the full-load speed than of the no-load speed: from 3150 rpm
/// without load to 3000 rpm under load are 5 % of the first and 4.76 % of the second.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum DroopOf {
    /// Of the speed at full load, the declared speed of a generating set: (n₀ − n₁) / n₁.
    ///
    /// Sources: ISO 8528-5, speed droop δ (from memory); an engine maker's service manual, which
    /// calls it steady-state regulation, (N3 − N1) / N1, and a page on droop (marinesite), both read
    /// in stored copies.
    #[default]
    FullLoad,
    /// Of the speed without load, the high idle: (n₀ − n₁) / n₀.
    ///
    /// Sources: a page on droop (marinerspoint) and the worked example of a forum for small
    /// generators, both read in stored copies. Common practice for small sets.
    NoLoad,
}

impl DroopOf {
    /// Both definitions.
    pub const ALL: [Self; 2] = [Self::FullLoad, Self::NoLoad];

    /// Its name in a shop's file and on the command line: `full-load` or `no-load`.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::FullLoad => "full-load",
            Self::NoLoad => "no-load",
        }
    }

    /// What it refers to, in English: "of the full-load speed".
    #[must_use]
    pub fn text(self) -> &'static str {
        match self {
            Self::FullLoad => "of the full-load speed",
            Self::NoLoad => "of the no-load speed",
        }
    }
}

/// The droop of a governor in per cent of one of its two speeds, see [`DroopOf`].
///
/// Both speeds are rotational speeds or both are frequencies. Negative if the speed rises under load.
///
/// ```
/// use benchleaf::quantity::Quantity;
/// use benchleaf::trade::{DroopOf, droop};
///
/// let value = |text| Quantity::parse(text).unwrap();
/// let of = |of| droop(&value("3750 rpm"), &value("3600 rpm"), of).unwrap().text();
/// assert_eq!(of(DroopOf::FullLoad), "4.17\u{a0}%");
/// assert_eq!(of(DroopOf::NoLoad), "4.00\u{a0}%");
/// ```
///
/// # Errors
///
/// If the two are not both rotational speeds or both frequencies, or one is not above zero.
pub fn droop(no_load: &Quantity, full_load: &Quantity, of: DroopOf) -> Result<Quantity, Error> {
    let loaded = turning(full_load)?;
    let unloaded = in_unit(
        no_load,
        full_load.unit(),
        "both speeds, or both frequencies",
    )?;
    let whole_speed = match of {
        DroopOf::FullLoad => loaded,
        DroopOf::NoLoad if unloaded > whole(0) => &unloaded,
        DroopOf::NoLoad => {
            let expected = "a speed or frequency without load, above zero";
            return Err(Error::new(expected, format!("`{no_load}`")));
        }
    };
    Ok(shown(
        (&unloaded - loaded) / whole_speed * whole(100),
        Unit::PERCENT,
    ))
}

/// The speed or frequency to set without load, so that it is `full_load` under load at a droop in
/// per cent: n₁ × (1 + droop) for [`DroopOf::FullLoad`], n₁ / (1 − droop) for [`DroopOf::NoLoad`].
///
/// ```
/// use benchleaf::quantity::Quantity;
/// use benchleaf::trade::{DroopOf, no_load_for};
///
/// let value = |text| Quantity::parse(text).unwrap();
/// let of = |of| no_load_for(&value("60 Hz"), &value("4 %"), of).unwrap().text();
/// assert_eq!(of(DroopOf::FullLoad), "62.4\u{a0}Hz");
/// assert_eq!(of(DroopOf::NoLoad), "62.5\u{a0}Hz");
/// ```
///
/// # Errors
///
/// If `full_load` is not a speed or frequency above zero, or `droop` is not a percentage, or, of the
/// no-load speed, not below 100 %.
pub fn no_load_for(full_load: &Quantity, droop: &Quantity, of: DroopOf) -> Result<Quantity, Error> {
    let loaded = turning(full_load)?;
    let share = in_unit(droop, Unit::PERCENT, "a droop in per cent")? / whole(100);
    let value = match of {
        DroopOf::FullLoad => loaded * (whole(1) + share),
        DroopOf::NoLoad if share < whole(1) => loaded / (whole(1) - share),
        DroopOf::NoLoad => {
            return Err(Error::new("a droop below 100 %", format!("`{droop}`")));
        }
    };
    Ok(shown(value, full_load.unit()))
}

fn turning(value: &Quantity) -> Result<&Rational, Error> {
    let kinds = [Kind::RotationalSpeed, Kind::Frequency];
    if kinds.contains(&value.kind()) && *value.value() > whole(0) {
        return Ok(value.value());
    }
    let expected = "a speed or frequency under load, above zero";
    Err(Error::new(expected, format!("`{value}`")))
}

/// When an engine's ignition fires, which determines what a pick-up on a lead counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Ignition {
    /// A two-stroke, or a four-stroke with a wasted spark, as most single-cylinder engines: one pulse
    /// per turn. Sources: "Ignition Cycle Calculator" (codingace)
    /// and "Inductive Engine Monitor" (experimental-engineering).
    EveryTurn,
    /// A four-stroke fired from the camshaft, at the lead of one plug: half a pulse per turn. Source:
    /// "Ignition Cycle Calculator" (codingace).
    EverySecondTurn,
    /// A four-stroke with this many cylinders, one coil and a distributor, at the lead of the coil:
    /// half a pulse per turn and cylinder. Source: "rev counter" (ukcar).
    Distributor(u8),
}

impl Ignition {
    /// Pulses per turn of the crankshaft; zero for a distributor with no cylinders.
    #[must_use]
    pub fn pulses_per_turn(self) -> Rational {
        match self {
            Self::EveryTurn => whole(1),
            Self::EverySecondTurn => ratio(1, 2),
            Self::Distributor(cylinders) => ratio(cylinders.into(), 2),
        }
    }
}

/// The reading of a tachometer that is set to `set` pulses per turn on an engine that gives `given`:
/// speed × given / set. It is correct if the two are equal.
///
/// ```
/// use benchleaf::quantity::Quantity;
/// use benchleaf::trade::{Ignition, indicated_speed};
///
/// let speed = Quantity::parse("3000 rpm").unwrap();
/// let given = Ignition::EveryTurn.pulses_per_turn();
/// let set = Ignition::EverySecondTurn.pulses_per_turn();
/// assert_eq!(indicated_speed(&speed, &given, &set)?.text(), "6000\u{a0}rpm");
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
///
/// # Errors
///
/// If `speed` is not a rotational speed, or a number of pulses is not above zero.
pub fn indicated_speed(
    speed: &Quantity,
    given: &Rational,
    set: &Rational,
) -> Result<Quantity, Error> {
    rpm(speed)?;
    for pulses in [given, set] {
        if *pulses <= whole(0) {
            return Err(Error::new("pulses a turn above zero", "zero or less"));
        }
    }
    Ok(shown(speed.value() * given / set, speed.unit()))
}

/// The speed of a pulley driven by a belt without slip: n × D / d.
///
/// `driving` and `driven` are the pitch diameters of the two pulleys.
///
/// ```
/// use benchleaf::quantity::Quantity;
/// use benchleaf::trade::driven_speed;
///
/// let value = |text| Quantity::parse(text).unwrap();
/// let speed = driven_speed(&value("3000 rpm"), &value("60 mm"), &value("120 mm"))?;
/// assert_eq!(speed.text(), "1500\u{a0}rpm");
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
///
/// # Errors
///
/// If `speed` is not a rotational speed, or a diameter is not a length above zero.
pub fn driven_speed(
    speed: &Quantity,
    driving: &Quantity,
    driven: &Quantity,
) -> Result<Quantity, Error> {
    rpm(speed)?;
    let value = speed.value() * diameter(driving)? / diameter(driven)?;
    Ok(shown(value, speed.unit()))
}

/// The speed of a blade's tip, in m/s: π × d × n.
///
/// `diameter` is that of the circle of the tips. The value of π is too large by one part in ten
/// million, which is on the safe side of a maximum speed.
///
/// ```
/// use benchleaf::quantity::{Quantity, Unit};
/// use benchleaf::trade::tip_speed;
///
/// let value = |text| Quantity::parse(text).unwrap();
/// let tip = tip_speed(&value("530 mm"), &value("3100 rpm"))?;
/// assert_eq!(tip.text(), "86.0\u{a0}m/s");
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
///
/// # Errors
///
/// If `diameter` is not a length above zero, or `speed` is not a rotational speed.
pub fn tip_speed(diameter: &Quantity, speed: &Quantity) -> Result<Quantity, Error> {
    let metres = self::diameter(diameter)? / whole(1000);
    let value = pi() * metres * rpm(speed)? / whole(60);
    Ok(shown(value, Unit::METRE_PER_SECOND))
}

/// In mm, above zero.
fn diameter(value: &Quantity) -> Result<Rational, Error> {
    let millimetres = in_unit(value, Unit::MILLIMETRE, "a diameter")?;
    if millimetres > whole(0) {
        return Ok(millimetres);
    }
    Err(Error::new("a diameter above zero", format!("`{value}`")))
}

fn rpm(speed: &Quantity) -> Result<Rational, Error> {
    in_unit(speed, Unit::RPM, "a rotational speed")
}

fn in_unit(value: &Quantity, unit: Unit, expected: &str) -> Result<Rational, Error> {
    match value.in_unit(unit) {
        Some(converted) => Ok(converted.value().clone()),
        None => Err(Error::new(expected, format!("`{value}`"))),
    }
}
