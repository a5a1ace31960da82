//! The kinds of quantity.

use std::fmt;

use super::rational::Rational;

macro_rules! kinds {
    ($($(#[$doc:meta])* $name:ident = $text:literal,)+) => {
        /// What a quantity measures.
        ///
        /// A kind is narrower than a dimension: torque and energy have the same dimension but are
        /// different kinds, and so are rotational speed and frequency. Values are compared and
        /// converted within a kind only.
        ///
        /// ```
        /// use benchleaf::quantity::{Kind, Unit};
        ///
        /// assert_eq!(Unit::FOOT_POUND.kind(), Kind::Torque);
        /// assert_eq!(Kind::RotationalSpeed.name(), "rotational speed");
        /// assert_eq!(Kind::from_name("rotational-speed"), Some(Kind::RotationalSpeed));
        /// ```
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[non_exhaustive]
        pub enum Kind {
            $($(#[$doc])* $name,)+
        }

        impl Kind {
            /// Every kind, in the order of the table.
            pub const ALL: &[Self] = &[$(Self::$name,)+];

            /// The name of the kind in messages: lower case, words separated by spaces.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$name => $text,)+
                }
            }
        }
    };
}

kinds! {
    /// Turning moment; base N·m.
    Torque = "torque",
    /// Distance; base mm.
    Length = "length",
    /// Base mm².
    Area = "area",
    /// Pressure not marked as gauge or absolute, as nearly all pressures are typed; the text
    /// beside the value says which it is. Base Pa.
    Pressure = "pressure",
    /// Pressure above ambient, as a gauge shows it; base kPa(g).
    ///
    /// A kind of its own, because conversion to absolute pressure needs the ambient pressure of
    /// the day.
    GaugePressure = "gauge pressure",
    /// Pressure above vacuum; base kPa(a).
    AbsolutePressure = "absolute pressure",
    /// Base mL.
    Volume = "volume",
    /// Base g.
    Mass = "mass",
    /// Base N.
    Force = "force",
    /// Turns per time; base rpm. Not converted to [`Kind::Frequency`].
    RotationalSpeed = "rotational speed",
    /// Distance per time, such as the speed of a blade's tip; base m/s.
    LinearSpeed = "linear speed",
    /// Cycles per time, such as of an alternating voltage; base Hz.
    Frequency = "frequency",
    /// Base s.
    Time = "time",
    /// A point on a temperature scale; base K. Its tolerance is a difference.
    Temperature = "temperature",
    /// A rise, a fall or a spread, converted without an offset; base ΔK.
    TemperatureDifference = "temperature difference",
    /// Base °.
    Angle = "angle",
    /// Base V.
    Voltage = "voltage",
    /// Base A.
    Current = "current",
    /// Base Ω.
    Resistance = "resistance",
    /// Base W.
    Power = "power",
    /// Real power is [`Kind::Power`]; base V·A.
    ApparentPower = "apparent power",
    /// Electric energy, such as that of a battery. Not converted to [`Kind::Torque`]. Base W·h.
    Energy = "energy",
    /// Electric charge, such as the capacity of a battery; base A·h.
    Charge = "charge",
    /// Base µF.
    Capacitance = "capacitance",
    /// Cross-section of a wire as a gauge number: a greater number is a thinner wire. Base AWG.
    WireGauge = "wire gauge",
    /// Volume per time; base L/min.
    Flow = "flow",
    /// Force per deflection of a spring; base N/mm.
    SpringRate = "spring rate",
    /// A-weighted sound pressure level; base dB(A).
    SoundLevel = "sound level",
    /// Density relative to that of water, such as that of a battery's acid; base SG.
    RelativeDensity = "relative density",
    /// Parts of one substance per part of another, such as fuel to oil; base `:1`.
    Ratio = "ratio",
    /// Hundredths of a whole; base %.
    Percent = "percentage",
}

impl Kind {
    /// The kind of that name. Its words may be joined by hyphens, as in a TOML key.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        let name = name.replace('-', " ");
        Self::ALL.iter().copied().find(|kind| kind.name() == name)
    }

    /// Whether this is one of the three kinds of pressure.
    pub(super) fn is_pressure(self) -> bool {
        matches!(
            self,
            Self::Pressure | Self::GaugePressure | Self::AbsolutePressure
        )
    }

    /// The least value that the kind can have, in its base unit, and whether that value is possible
    /// itself. `None` for the kinds with a direction (angle, temperature difference, voltage,
    /// current), which are negative in the other direction.
    ///
    /// Gauge pressure is negative in a vacuum, and so is a pressure that may be one: down to the
    /// pressure of the air, which is never above 110 kPa (the highest ever measured is 108.5 kPa,
    /// from memory). A percentage is at least −100 %: a droop is negative if the speed rises. The
    /// thickest wire gauge is 4/0, which counts as −3.
    pub(super) fn least(self) -> Option<(Rational, bool)> {
        let whole = |value| Rational::small(value, 1);
        Some(match self {
            Self::Angle | Self::TemperatureDifference | Self::Voltage | Self::Current => {
                return None;
            }
            Self::Pressure => (whole(-110_000), true),
            Self::GaugePressure => (whole(-110), true),
            Self::Percent => (whole(-100), true),
            Self::WireGauge => (whole(-3), true),
            Self::Ratio | Self::RelativeDensity => (whole(0), false),
            _ => (whole(0), true),
        })
    }

    /// "a torque", "an angle".
    pub(super) fn with_article(self) -> String {
        let article = if self.name().starts_with(['a', 'e']) {
            "an"
        } else {
            "a"
        };
        format!("{article} {}", self.name())
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.name())
    }
}
