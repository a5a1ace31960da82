//! The kinds of quantity.

use std::fmt;

macro_rules! kinds {
    ($($(#[$doc:meta])* $name:ident = $text:literal,)+) => {
        /// What a quantity is a quantity of.
        ///
        /// A kind is narrower than a dimension: a torque and an energy have the same dimension
        /// and still nothing in common at the bench, and a rotational speed is no frequency.
        /// Values are compared and converted within a kind, never across kinds.
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

            /// The kind in words, as messages use it: lower case, words apart.
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
    /// Pressure without a mark, as nearly all are typed; what it is counted from is for the
    /// words beside it to say. Base Pa.
    Pressure = "pressure",
    /// Pressure above that of the air around, as a gauge shows it; base kPa(g).
    ///
    /// From gauge to absolute and back takes the pressure of the air on the day: kinds apart, so
    /// that no conversion makes one up.
    GaugePressure = "gauge pressure",
    /// Pressure above none at all; base kPa(a).
    AbsolutePressure = "absolute pressure",
    /// Base mL.
    Volume = "volume",
    /// Base g.
    Mass = "mass",
    /// Base N.
    Force = "force",
    /// Turns in a time; base rpm. Apart from [`Kind::Frequency`].
    RotationalSpeed = "rotational speed",
    /// Distance in a time, as of a blade's tip; base m/s.
    LinearSpeed = "linear speed",
    /// Events in a time, as of an alternating voltage; base Hz.
    Frequency = "frequency",
    /// Base s.
    Time = "time",
    /// A point on a temperature scale; base K. A tolerance on one is a difference.
    Temperature = "temperature",
    /// A rise, a fall or a spread; no offset has a part in it. Base ΔK.
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
    /// Volume in a time; base L/min.
    Flow = "flow",
    /// A part of one thing to a part of another, as fuel to oil; base `:1`.
    Ratio = "ratio",
    /// Parts in a hundred of the same thing; base %.
    Percent = "percentage",
}

impl Kind {
    /// The kind called `name`, its words apart or joined by hyphens as in a TOML key.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        let name = name.replace('-', " ");
        Self::ALL.iter().copied().find(|kind| kind.name() == name)
    }

    /// Whether this is a pressure, from wherever it is counted.
    pub(super) fn is_pressure(self) -> bool {
        matches!(
            self,
            Self::Pressure | Self::GaugePressure | Self::AbsolutePressure
        )
    }

    /// "a torque", "an angle".
    pub(super) fn with_article(self) -> String {
        let article = if self.name().starts_with('a') {
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
