//! The units that a shop prints, and their order.

use std::collections::BTreeMap;
use std::fmt;

use super::kind::Kind;
use super::limits::Limits;
use super::rational::Rational;
use super::spec::Spec;
use super::unit::Unit;

/// The units that a shop prints for each kind: always the first of a list, and one of the others.
///
/// The list of a kind has units of that kind, each once. With an empty list, values print as they
/// were written. So does a value written in a unit that differs from the first by a power of ten
/// (mL for L, bar for kPa), because a reader needs no conversion there.
///
/// The second unit is the first of the others in which the value is large enough to be read easily,
/// or else the one in which it is largest. Large enough is 10 for a torque (in·lbf below about
/// 15 ft·lbf, ft·lbf above: common practice, no source) and 1 for all other kinds.
///
/// ```
/// use benchleaf::quantity::{Spec, UnitOrder};
///
/// let order = UnitOrder::default();
/// let shown = order.show(&Spec::parse("9 N·m ± 1 N·m")?);
/// assert_eq!(shown.first.text(), "9\u{a0}N·m ± 1\u{a0}N·m");
/// assert_eq!(shown.second().unwrap().text(), "80\u{a0}in·lbf (71 to 88)");
///
/// let shown = order.show(&Spec::parse("3100 rpm ± 100 rpm")?);
/// assert_eq!(shown.second(), None);
/// # Ok::<(), benchleaf::quantity::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnitOrder {
    lists: BTreeMap<Kind, Vec<Unit>>,
    both_gallons: bool,
}

/// A spec as a page shows it, in one unit or several.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shown {
    /// In the first unit.
    pub first: Spec,
    /// In another unit, if there is one; a volume may be in a US and an imperial one.
    pub others: Vec<Spec>,
}

impl Shown {
    /// The first of the others.
    #[must_use]
    pub fn second(&self) -> Option<&Spec> {
        self.others.first()
    }
}

/// Why a list of units is not accepted for a kind.
///
/// ```
/// use benchleaf::quantity::{Kind, Unit, UnitOrder};
///
/// let error = UnitOrder::default().set(Kind::Torque, vec![Unit::PSI]).unwrap_err();
/// assert_eq!(error.to_string(), "expected units of torque, found `psi`, a pressure");
/// assert_eq!(error.unit(), Unit::PSI);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OrderError {
    kind: Kind,
    unit: Unit,
}

impl OrderError {
    /// The unit that is of another kind or listed twice.
    #[must_use]
    pub fn unit(&self) -> Unit {
        self.unit
    }
}

impl fmt::Display for OrderError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { kind, unit } = self;
        if unit.kind() == *kind {
            write!(
                out,
                "expected each unit of {kind} once, found `{unit}` twice"
            )
        } else {
            let other = unit.kind().with_article();
            write!(out, "expected units of {kind}, found `{unit}`, {other}")
        }
    }
}

impl std::error::Error for OrderError {}

impl Default for UnitOrder {
    /// SI units first, then US customary ones; a single unit where no other is in use.
    fn default() -> Self {
        Self {
            lists: Kind::ALL
                .iter()
                .map(|&kind| (kind, default_units(kind).to_vec()))
                .collect(),
            both_gallons: false,
        }
    }
}

const fn default_units(kind: Kind) -> &'static [Unit] {
    match kind {
        Kind::Torque => &[Unit::NEWTON_METRE, Unit::FOOT_POUND, Unit::INCH_POUND],
        Kind::Length => &[Unit::MILLIMETRE, Unit::INCH],
        Kind::Area => &[Unit::SQUARE_MILLIMETRE, Unit::SQUARE_INCH],
        Kind::Pressure => &[Unit::KILOPASCAL, Unit::PSI],
        Kind::GaugePressure => &[Unit::KILOPASCAL_GAUGE, Unit::PSI_GAUGE],
        Kind::AbsolutePressure => &[Unit::KILOPASCAL_ABSOLUTE, Unit::PSI_ABSOLUTE],
        Kind::Volume => &[
            Unit::LITRE,
            Unit::US_GALLON,
            Unit::US_QUART,
            Unit::US_FLUID_OUNCE,
        ],
        Kind::Mass => &[Unit::KILOGRAM, Unit::POUND, Unit::OUNCE],
        Kind::Force => &[Unit::NEWTON, Unit::POUND_FORCE],
        Kind::RotationalSpeed => &[Unit::RPM],
        Kind::LinearSpeed => &[Unit::METRE_PER_SECOND, Unit::FOOT_PER_MINUTE],
        Kind::Frequency => &[Unit::HERTZ],
        Kind::Temperature => &[Unit::DEGREE_CELSIUS, Unit::DEGREE_FAHRENHEIT],
        Kind::TemperatureDifference => &[Unit::DIFFERENCE_CELSIUS, Unit::DIFFERENCE_FAHRENHEIT],
        Kind::Angle => &[Unit::DEGREE],
        Kind::Power => &[Unit::KILOWATT, Unit::HORSEPOWER],
        Kind::Flow => &[Unit::LITRE_PER_MINUTE, Unit::US_GALLON_PER_MINUTE],
        Kind::SpringRate => &[Unit::NEWTON_PER_MILLIMETRE, Unit::POUND_FORCE_PER_INCH],
        // A second unit, such as minutes beside hours, would not help a reader.
        Kind::Time
        | Kind::Voltage
        | Kind::Current
        | Kind::Resistance
        | Kind::ApparentPower
        | Kind::Energy
        | Kind::Charge
        | Kind::Capacitance
        | Kind::WireGauge
        | Kind::SoundLevel
        | Kind::RelativeDensity
        | Kind::Ratio
        | Kind::Percent => &[],
    }
}

impl UnitOrder {
    /// The units of a kind, in order.
    #[must_use]
    pub fn units(&self, kind: Kind) -> &[Unit] {
        self.lists.get(&kind).map_or(&[], Vec::as_slice)
    }

    /// Sets the units of a kind. With an empty list, values print as they are written.
    ///
    /// # Errors
    ///
    /// If a unit is of another kind or listed twice. The order is unchanged then.
    pub fn set(&mut self, kind: Kind, units: Vec<Unit>) -> Result<(), OrderError> {
        for (index, &unit) in units.iter().enumerate() {
            if unit.kind() != kind || units[..index].contains(&unit) {
                return Err(OrderError { kind, unit });
            }
        }
        self.lists.insert(kind, units);
        Ok(())
    }

    /// Whether volumes and flows are shown in US and in imperial units beside the first unit.
    #[must_use]
    pub fn has_both_gallons(&self) -> bool {
        self.both_gallons
    }

    /// Sets whether volumes and flows are shown in US and in imperial units beside the first unit.
    ///
    /// ```
    /// use benchleaf::quantity::{Spec, UnitOrder};
    ///
    /// let mut order = UnitOrder::default();
    /// order.set_both_gallons(true);
    /// let shown = order.show(&Spec::parse("4.5 L")?);
    /// let others: Vec<String> = shown.others.iter().map(Spec::text).collect();
    /// assert_eq!(others, ["1.19\u{a0}US\u{a0}gal", "7.92\u{a0}imp\u{a0}pt"]);
    /// # Ok::<(), benchleaf::quantity::Error>(())
    /// ```
    pub fn set_both_gallons(&mut self, both: bool) {
        self.both_gallons = both;
    }

    /// The spec in the shop's units.
    ///
    /// The written value is always printed, exactly. If it is written in the first unit of its kind,
    /// it comes first, and the second value is converted from it. If it is written in another of
    /// the listed units, it comes second. If it is written in a unit that is not listed, it comes
    /// first, and the value in the first listed unit second.
    #[must_use]
    pub fn show(&self, spec: &Spec) -> Shown {
        let written = spec.limits().unit();
        let rounded_in = |unit: Unit| spec.rounded_in(unit);
        if let Some(area) = spec.limits().nominal().and_then(|gauge| gauge.wire_area()) {
            return Shown {
                first: spec.clone(),
                others: vec![Spec::from(area)],
            };
        }
        let Some((&first, others)) = self.units(written.kind()).split_first() else {
            return Shown {
                first: spec.clone(),
                others: Vec::new(),
            };
        };
        let systems = both_systems(written.kind()).filter(|_| self.both_gallons);
        let is_of_system =
            |systems: &[&[Unit]; 2]| systems.iter().any(|units| units.contains(&written));
        let is_second = others.contains(&written) || systems.as_ref().is_some_and(is_of_system);
        let shown_first = match rounded_in(first) {
            Some(first) if is_second => first,
            _ => spec.clone(),
        };
        if let Some(systems) = systems {
            let others = systems.iter().filter_map(|units| {
                if units.contains(&written) {
                    // It was written in this system.
                    return is_second.then(|| spec.clone());
                }
                suitable(spec.limits(), units).and_then(rounded_in)
            });
            return Shown {
                first: shown_first,
                others: others.collect(),
            };
        }
        let second = if is_second {
            Some(spec.clone())
        } else if written.decimal_shift(first).is_some() {
            suitable(spec.limits(), others).and_then(rounded_in)
        } else {
            rounded_in(first)
        };
        Shown {
            first: shown_first,
            others: second.into_iter().collect(),
        }
    }
}

/// The units of the two systems of volumes and flows, larger ones first.
const fn both_systems(kind: Kind) -> Option<[&'static [Unit]; 2]> {
    match kind {
        Kind::Volume => Some([
            &[
                Unit::US_GALLON,
                Unit::US_QUART,
                Unit::US_PINT,
                Unit::US_FLUID_OUNCE,
            ],
            &[
                Unit::IMPERIAL_GALLON,
                Unit::IMPERIAL_PINT,
                Unit::IMPERIAL_FLUID_OUNCE,
                Unit::IMPERIAL_QUART,
            ],
        ]),
        Kind::Flow => Some([
            &[Unit::US_GALLON_PER_MINUTE, Unit::US_GALLON_PER_HOUR],
            &[
                Unit::IMPERIAL_GALLON_PER_MINUTE,
                Unit::IMPERIAL_GALLON_PER_HOUR,
            ],
        ]),
        _ => None,
    }
}

/// The first of `units` in which the limits are large enough to be read easily, or else the one in
/// which they are largest.
fn suitable(limits: &Limits, units: &[Unit]) -> Option<Unit> {
    let enough = Rational::small(
        match limits.kind() {
            Kind::Torque => 10,
            _ => 1,
        },
        1,
    );
    let [nominal, upper, lower] = [
        limits.nominal_value(),
        limits.upper_value(),
        limits.lower_value(),
    ];
    let value = nominal.or(upper).or(lower)?;
    let size = |unit: Unit| limits.unit().value_to(unit, value).abs();
    let large = units.iter().find(|unit| size(**unit) >= enough);
    large
        .or_else(|| units.iter().max_by_key(|unit| size(**unit)))
        .copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// First and second text, with plain spaces.
    fn shown(text: &str) -> (String, String) {
        let spec = Spec::parse(text).expect(text);
        let shown = UnitOrder::default().show(&spec);
        let second = shown.second().map(Spec::text).unwrap_or_default();
        (
            shown.first.text().replace('\u{a0}', " "),
            second.replace('\u{a0}', " "),
        )
    }

    fn pair(first: &str, second: &str) -> (String, String) {
        (first.to_owned(), second.to_owned())
    }

    #[test]
    fn the_second_unit_suits_the_size() {
        assert_eq!(shown("9 N·m"), pair("9 N·m", "79.7 in·lbf"));
        assert_eq!(shown("20 N·m ± 2 N·m").1, "14.8 ft·lbf (13.3 to 16.2)");
        assert_eq!(shown("3.6 L"), pair("3.6 L", "3.80 US qt"));
        assert_eq!(shown("0.08 L").1, "2.71 US fl oz");
        assert_eq!(shown("0.1 mm").1, "0.003\u{202f}94 in");
    }

    #[test]
    fn what_was_written_is_always_printed() {
        assert_eq!(shown("80 in-lb"), pair("9.04 N·m", "80 in·lbf"));
        assert_eq!(shown("1.2 kgf·m"), pair("1.2 kgf·m", "11.8 N·m"));
        assert_eq!(shown("1/4 turn"), pair("1/4 turn", "90°"));
        assert_eq!(
            shown("20 N·m + 90°"),
            pair("20 N·m + 90°", "14.8 ft·lbf + 90°")
        );
    }

    #[test]
    fn a_moved_decimal_point_makes_no_other_unit() {
        assert_eq!(shown("50 mL"), pair("50 mL", "1.69 US fl oz"));
        assert_eq!(
            shown("at least 15 bar"),
            pair("at least 15 bar", "at least 218 psi")
        );
        assert_eq!(shown("50 Hz"), pair("50 Hz", ""));
    }

    #[test]
    fn a_kind_without_units_prints_as_written() {
        assert_eq!(shown("35 min"), pair("35 min", ""));
        assert_eq!(shown("50:1"), pair("50:1", ""));
    }

    #[test]
    fn a_list_is_of_one_kind_without_doubles() {
        let mut order = UnitOrder::default();
        let twice = vec![Unit::BAR, Unit::BAR];
        let error = order.set(Kind::Pressure, twice).expect_err("twice");
        assert_eq!(
            error.to_string(),
            "expected each unit of pressure once, found `bar` twice"
        );
        assert_eq!(order, UnitOrder::default());
        order
            .set(Kind::Pressure, vec![Unit::BAR, Unit::PSI])
            .expect("pressures");
        assert_eq!(order.units(Kind::Pressure), [Unit::BAR, Unit::PSI]);
    }
}
