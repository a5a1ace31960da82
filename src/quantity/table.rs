//! The table of units.
//!
//! To add a unit, add a row: constant, printed symbol, kind, writing, factor to the kind's base
//! unit, offset (temperatures only), accepted spellings, source. Spellings are compared regardless
//! of what joins their parts, and those of customary units regardless of case, so that one of
//! `ft-lb`, `ft.lbs` and `Ft Lb` is enough.
//!
//! NIST SP 811, 7.4, prefers words beside the value to a mark for gauge or absolute pressure. The
//! marks are used here because a value is copied alone from a field to a page, and without its mark
//! it would mean something else.
//!
//! Factors are computed only from the definitions below. None needs π: the base of angles is the
//! degree and that of rotational speeds the turn, and there are no radians, because a turn is not a
//! rational number of radians.

use super::factor::Factor;
use super::kind::Kind;
use super::unit::{Row, Unit, Writing};

// Exact by definition, in the base units of the kinds. Sources: the international yard and pound
// agreement of 1959 (inch, pound), CGPM 1901 (standard gravity), and for the others NIST
// Handbook 44, appendix C (US gallon), and the UK units of measurement regulations (gallon).
const INCH_MM: Factor = Factor::decimal(254, 1);
const FOOT_MM: Factor = INCH_MM.times(Factor::whole(12));
const POUND_G: Factor = Factor::decimal(45_359_237, 5);
const GRAVITY: Factor = Factor::decimal(980_665, 5);
const US_GALLON_ML: Factor = INCH_MM
    .squared()
    .times(INCH_MM)
    .times(Factor::whole(231))
    .over(THOUSAND);
const IMPERIAL_GALLON_ML: Factor = Factor::decimal(454_609, 2);
// Conventional densities in kg/m³, as the conventional columns of mercury and water use them.
const MERCURY: Factor = Factor::decimal(135_951, 1);
const WATER: Factor = Factor::whole(1000);

const THOUSAND: Factor = Factor::whole(1000);
const THOUSANDTH: Factor = Factor::decimal(1, 3);
const POUND_FORCE_N: Factor = POUND_G.over(THOUSAND).times(GRAVITY);
const INCH_M: Factor = INCH_MM.over(THOUSAND);
const FOOT_M: Factor = FOOT_MM.over(THOUSAND);
const PSI_PA: Factor = POUND_FORCE_N.over(INCH_M.squared());
const US_FLUID_OUNCE_ML: Factor = US_GALLON_ML.over(Factor::whole(128));
const US_GALLON_L: Factor = US_GALLON_ML.over(THOUSAND);
const IMPERIAL_GALLON_L: Factor = IMPERIAL_GALLON_ML.over(THOUSAND);
const INCH_POUND_NM: Factor = INCH_M.times(POUND_FORCE_N);

macro_rules! units {
    ($($name:ident = $symbol:literal, $kind:ident, $writing:ident, $factor:expr, $offset:expr,
        [$($spelling:literal),*], $source:literal;)+) => {
        impl Unit {
            $(
                #[doc = concat!("`", $symbol, "`: ", $source, ".")]
                pub const $name: Self = Self(&Row {
                    symbol: $symbol,
                    kind: Kind::$kind,
                    writing: Writing::$writing,
                    factor: $factor,
                    offset: $offset,
                    spellings: &[$($spelling),*],
                    source: $source,
                });
            )+

            /// Every unit, in the order of the table.
            pub const ALL: &[Self] = &[$(Self::$name,)+];
        }
    };
}

const NONE: Factor = Factor::ZERO;
const ONE: Factor = Factor::ONE;

units! {
    NEWTON_METRE = "N·m", Torque, Symbol, ONE, NONE,
        ["Nm", "NM", "newton metre", "newton metres", "newton meter", "newton meters"], "SI";
    KILONEWTON_METRE = "kN·m", Torque, Symbol, THOUSAND, NONE,
        ["kNm"], "SI, 1000 N·m";
    CENTINEWTON_METRE = "cN·m", Torque, Symbol, Factor::decimal(1, 2), NONE,
        ["cNm", "N·cm", "Ncm"], "SI, 0.01 N·m";
    NEWTON_MILLIMETRE = "N·mm", Torque, Symbol, THOUSANDTH, NONE,
        ["Nmm"], "SI, 0.001 N·m";
    DECANEWTON_METRE = "daN·m", Torque, Symbol, Factor::whole(10), NONE,
        ["daNm", "m·daN", "mdaN"], "SI, 10 N·m";
    FOOT_POUND = "ft·lbf", Torque, Trade, FOOT_M.times(POUND_FORCE_N), NONE,
        ["ft·lb", "ft·lbs", "lbf·ft", "lb·ft", "lbs·ft", "ftlb", "ftlbs", "ftlbf", "foot pound",
         "foot pounds", "pound foot", "pound feet"],
        "foot × pound-force = 0.3048 m × 0.45359237 kg × 9.80665 m/s²";
    INCH_POUND = "in·lbf", Torque, Trade, INCH_POUND_NM, NONE,
        ["in·lb", "in·lbs", "lbf·in", "lb·in", "lbs·in", "inlb", "inlbs", "inlbf", "inch pound",
         "inch pounds", "pound inch", "pound inches"],
        "inch × pound-force = 0.0254 m × 0.45359237 kg × 9.80665 m/s²";
    OUNCE_INCH = "ozf·in", Torque, Trade, INCH_POUND_NM.over(Factor::whole(16)), NONE,
        ["oz·in", "in·ozf", "in·oz", "inch ounce", "inch ounces", "ounce inch", "ounce inches"],
        "in·lbf / 16";
    KILOGRAM_FORCE_METRE = "kgf·m", Torque, Symbol, GRAVITY, NONE,
        ["kg·m", "kgm", "kgfm", "kp·m", "kpm", "m·kgf", "m·kg", "mkg"], "1 kg × 9.80665 m/s² × 1 m";
    KILOGRAM_FORCE_CENTIMETRE = "kgf·cm", Torque, Symbol, GRAVITY.over(Factor::whole(100)), NONE,
        ["kg·cm", "kgcm", "kgfcm", "kp·cm", "cm·kgf", "cm·kg"], "1 kg × 9.80665 m/s² × 0.01 m";

    MILLIMETRE = "mm", Length, Symbol, ONE, NONE,
        ["MM", "millimetre", "millimetres", "millimeter", "millimeters"], "SI";
    CENTIMETRE = "cm", Length, Symbol, Factor::whole(10), NONE,
        ["centimetre", "centimetres", "centimeter", "centimeters"], "SI, 10 mm";
    METRE = "m", Length, Symbol, THOUSAND, NONE,
        ["metre", "metres", "meter", "meters"], "SI, 1000 mm";
    MICROMETRE = "µm", Length, Symbol, THOUSANDTH, NONE,
        ["um", "micron", "microns"], "SI, 0.001 mm";
    INCH = "in", Length, Fractional, INCH_MM, NONE,
        ["inch", "inches", "\""], "25.4 mm, 1959 agreement";
    THOU = "thou", Length, Trade, INCH_MM.over(THOUSAND), NONE,
        ["mil", "mils", "thousandth", "thousandths"], "0.001 in";
    FOOT = "ft", Length, Fractional, FOOT_MM, NONE,
        ["foot", "feet", "'"], "12 in";

    SQUARE_MILLIMETRE = "mm²", Area, Symbol, ONE, NONE,
        ["sq mm"], "SI";
    SQUARE_CENTIMETRE = "cm²", Area, Symbol, Factor::whole(100), NONE,
        ["sq cm"], "SI, 100 mm²";
    SQUARE_INCH = "in²", Area, Trade, INCH_MM.squared(), NONE,
        ["sq in", "square inch", "square inches"], "(25.4 mm)²";
    SQUARE_FOOT = "ft²", Area, Trade, FOOT_MM.squared(), NONE,
        ["sq ft", "square foot", "square feet"], "(304.8 mm)²";

    PASCAL = "Pa", Pressure, Symbol, ONE, NONE,
        ["pascal", "pascals"], "SI";
    KILOPASCAL = "kPa", Pressure, Symbol, THOUSAND, NONE,
        ["kpa", "KPa", "KPA", "Kpa"], "SI, 1000 Pa";
    MEGAPASCAL = "MPa", Pressure, Symbol, Factor::whole(1_000_000), NONE,
        ["N/mm²"], "SI, 1 000 000 Pa";
    BAR = "bar", Pressure, Symbol, Factor::whole(100_000), NONE,
        ["Bar", "BAR", "bars"], "100 000 Pa, accepted for use with the SI";
    MILLIBAR = "mbar", Pressure, Symbol, Factor::whole(100), NONE,
        ["millibar", "millibars"], "0.001 bar, 100 Pa";
    PSI = "psi", Pressure, Trade, PSI_PA, NONE,
        ["lbf/in²", "lb/in²", "lbs/in²"],
        "pound-force / inch² = 0.45359237 kg × 9.80665 m/s² / (0.0254 m)²";
    KILOGRAM_FORCE_PER_SQUARE_CENTIMETRE = "kgf/cm²", Pressure, Symbol, GRAVITY.times(Factor::whole(10_000)), NONE,
        ["kg/cm²", "at"], "1 kg × 9.80665 m/s² / (0.01 m)²";
    INCH_OF_MERCURY = "inHg", Pressure, Trade, MERCURY.times(GRAVITY).times(INCH_M), NONE,
        ["in Hg", "\"Hg"], "conventional: 13 595.1 kg/m³ × 9.80665 m/s² × 0.0254 m";
    MILLIMETRE_OF_MERCURY = "mmHg", Pressure, Symbol, MERCURY.times(GRAVITY).over(THOUSAND), NONE,
        ["mm Hg"], "conventional: 13 595.1 kg/m³ × 9.80665 m/s² × 0.001 m";
    INCH_OF_WATER = "inH2O", Pressure, Trade, WATER.times(GRAVITY).times(INCH_M), NONE,
        ["in H2O", "\"H2O", "in WC", "inWC", "\"WC"],
        "conventional: 1000 kg/m³ × 9.80665 m/s² × 0.0254 m";

    KILOPASCAL_GAUGE = "kPa(g)", GaugePressure, Symbol, ONE, NONE,
        ["kPag", "kPa gauge", "kPa gage"], "SI, 1000 Pa, above the pressure of the air";
    BAR_GAUGE = "bar(g)", GaugePressure, Symbol, Factor::whole(100), NONE,
        ["barg", "bar gauge", "bar gage"], "100 000 Pa, above the pressure of the air";
    PSI_GAUGE = "psig", GaugePressure, Trade, PSI_PA.over(THOUSAND), NONE,
        ["psi(g)", "psi gauge", "psi gage"], "psi, above the pressure of the air";
    KILOGRAM_FORCE_PER_SQUARE_CENTIMETRE_GAUGE = "kgf/cm²(g)", GaugePressure, Symbol, GRAVITY.times(Factor::whole(10)), NONE,
        ["kg/cm²(g)", "atü", "atu"], "kgf/cm², above the pressure of the air";

    KILOPASCAL_ABSOLUTE = "kPa(a)", AbsolutePressure, Symbol, ONE, NONE,
        ["kPaa", "kPa abs", "kPa absolute"], "SI, 1000 Pa, above no pressure at all";
    BAR_ABSOLUTE = "bar(a)", AbsolutePressure, Symbol, Factor::whole(100), NONE,
        ["bara", "bar abs", "bar absolute"], "100 000 Pa, above no pressure at all";
    PSI_ABSOLUTE = "psia", AbsolutePressure, Trade, PSI_PA.over(THOUSAND), NONE,
        ["psi(a)", "psi abs", "psi absolute"], "psi, above no pressure at all";
    KILOGRAM_FORCE_PER_SQUARE_CENTIMETRE_ABSOLUTE = "kgf/cm²(a)", AbsolutePressure, Symbol, GRAVITY.times(Factor::whole(10)), NONE,
        ["kg/cm²(a)", "ata"], "kgf/cm², above no pressure at all";

    MILLILITRE = "mL", Volume, Symbol, ONE, NONE,
        ["ml", "ML", "millilitre", "millilitres", "milliliter", "milliliters"],
        "accepted for use with the SI, 1 cm³";
    LITRE = "L", Volume, Symbol, THOUSAND, NONE,
        ["l", "ltr", "litre", "litres", "liter", "liters"], "accepted for use with the SI, 1000 mL";
    CUBIC_CENTIMETRE = "cm³", Volume, Symbol, ONE, NONE,
        ["cc", "CC", "ccm"], "SI, 1 mL";
    CUBIC_INCH = "in³", Volume, Trade, INCH_MM.squared().times(INCH_MM).over(THOUSAND), NONE,
        ["cu in", "cuin", "cubic inch", "cubic inches"], "(25.4 mm)³";
    US_FLUID_OUNCE = "US fl oz", Volume, Fractional, US_FLUID_OUNCE_ML, NONE,
        ["US floz", "US fluid ounce", "US fluid ounces"], "US gallon / 128";
    US_PINT = "US pt", Volume, Fractional, US_GALLON_ML.over(Factor::whole(8)), NONE,
        ["US pint", "US pints"], "US gallon / 8";
    US_QUART = "US qt", Volume, Fractional, US_GALLON_ML.over(Factor::whole(4)), NONE,
        ["US quart", "US quarts"], "US gallon / 4";
    US_GALLON = "US gal", Volume, Fractional, US_GALLON_ML, NONE,
        ["US gallon", "US gallons"], "231 in³";
    IMPERIAL_GALLON = "imp gal", Volume, Fractional, IMPERIAL_GALLON_ML, NONE,
        ["UK gal", "imperial gal", "imperial gallon", "imperial gallons"], "4.54609 L";
    IMPERIAL_QUART = "imp qt", Volume, Fractional, IMPERIAL_GALLON_ML.over(Factor::whole(4)), NONE,
        ["UK qt", "imperial quart", "imperial quarts"], "imperial gallon / 4";
    IMPERIAL_PINT = "imp pt", Volume, Fractional, IMPERIAL_GALLON_ML.over(Factor::whole(8)), NONE,
        ["UK pt", "imperial pint", "imperial pints"], "imperial gallon / 8";
    IMPERIAL_FLUID_OUNCE = "imp fl oz", Volume, Fractional, IMPERIAL_GALLON_ML.over(Factor::whole(160)), NONE,
        ["UK fl oz", "imp floz", "imperial fluid ounce", "imperial fluid ounces"], "imperial gallon / 160";

    GRAM = "g", Mass, Symbol, ONE, NONE,
        ["gram", "grams"], "SI, 0.001 kg";
    KILOGRAM = "kg", Mass, Symbol, THOUSAND, NONE,
        ["Kg", "KG", "kgs", "kilogram", "kilograms"], "SI, 1000 g";
    OUNCE = "oz", Mass, Trade, POUND_G.over(Factor::whole(16)), NONE,
        ["ounce", "ounces"], "pound / 16";
    POUND = "lb", Mass, Trade, POUND_G, NONE,
        ["lbs", "lbm", "pound", "pounds"], "453.59237 g, 1959 agreement";

    NEWTON = "N", Force, Symbol, ONE, NONE,
        ["newton", "newtons"], "SI";
    KILONEWTON = "kN", Force, Symbol, THOUSAND, NONE,
        ["kilonewton", "kilonewtons"], "SI, 1000 N";
    POUND_FORCE = "lbf", Force, Trade, POUND_FORCE_N, NONE,
        ["pound force", "pounds force"], "0.45359237 kg × 9.80665 m/s²";
    KILOGRAM_FORCE = "kgf", Force, Symbol, GRAVITY, NONE,
        ["kp"], "1 kg × 9.80665 m/s²";

    RPM = "rpm", RotationalSpeed, Trade, ONE, NONE,
        ["r.p.m", "r/min", "rev/min", "revs/min", "1/min", "/min", "min⁻¹"], "turns in a minute";
    TURN_PER_SECOND = "rev/s", RotationalSpeed, Trade, Factor::whole(60), NONE,
        ["r/s", "revs/s", "rps"], "60 turns in a minute";

    METRE_PER_SECOND = "m/s", LinearSpeed, Symbol, ONE, NONE,
        [], "SI";
    KILOMETRE_PER_HOUR = "km/h", LinearSpeed, Symbol, THOUSAND.over(Factor::whole(3600)), NONE,
        ["kmh", "kph", "km/hr"], "1000 m / 3600 s";
    FOOT_PER_MINUTE = "ft/min", LinearSpeed, Trade, FOOT_M.over(Factor::whole(60)), NONE,
        ["fpm"], "0.3048 m / 60 s";
    FOOT_PER_SECOND = "ft/s", LinearSpeed, Trade, FOOT_M, NONE,
        ["fps", "ft/sec"], "0.3048 m / 1 s";
    MILE_PER_HOUR = "mi/h", LinearSpeed, Trade, FOOT_M.times(Factor::whole(5280)).over(Factor::whole(3600)), NONE,
        ["mph"], "5280 ft / 3600 s";

    HERTZ = "Hz", Frequency, Symbol, ONE, NONE,
        ["hz", "HZ", "hertz", "1/s"], "SI";
    KILOHERTZ = "kHz", Frequency, Symbol, THOUSAND, NONE,
        ["khz", "KHz"], "SI, 1000 Hz";

    SECOND = "s", Time, Symbol, ONE, NONE,
        ["sec", "secs", "second", "seconds"], "SI";
    MILLISECOND = "ms", Time, Symbol, THOUSANDTH, NONE,
        ["msec", "millisecond", "milliseconds"], "SI, 0.001 s";
    MINUTE = "min", Time, Symbol, Factor::whole(60), NONE,
        ["mins", "minute", "minutes"], "accepted for use with the SI, 60 s";
    HOUR = "h", Time, Symbol, Factor::whole(3600), NONE,
        ["hr", "hrs", "hour", "hours"], "accepted for use with the SI, 60 min";
    DAY = "d", Time, Symbol, Factor::whole(86_400), NONE,
        ["day", "days"], "accepted for use with the SI, 24 h";

    KELVIN = "K", Temperature, Symbol, ONE, NONE,
        ["kelvin", "kelvins"], "SI";
    DEGREE_CELSIUS = "°C", Temperature, Symbol, ONE, Factor::decimal(27_315, 2),
        ["degC", "deg C", "℃", "celsius", "Celsius", "degrees C", "degrees Celsius"],
        "SI: K less 273.15";
    DEGREE_FAHRENHEIT = "°F", Temperature, Symbol, Factor::whole(5).over(Factor::whole(9)), Factor::decimal(45_967, 2),
        ["degF", "deg F", "℉", "fahrenheit", "Fahrenheit", "degrees F", "degrees Fahrenheit"],
        "5/9 K; 32 °F = 0 °C";

    DIFFERENCE_KELVIN = "ΔK", TemperatureDifference, Symbol, ONE, NONE,
        ["delta K", "K difference"], "SI";
    DIFFERENCE_CELSIUS = "Δ°C", TemperatureDifference, Symbol, ONE, NONE,
        ["delta °C", "delta degC", "delta deg C", "°C difference", "degC difference"], "SI, 1 K";
    DIFFERENCE_FAHRENHEIT = "Δ°F", TemperatureDifference, Symbol, Factor::whole(5).over(Factor::whole(9)), NONE,
        ["delta °F", "delta degF", "delta deg F", "°F difference", "degF difference"], "5/9 K";

    DEGREE = "°", Angle, Symbol, ONE, NONE,
        ["deg", "degs", "degree", "degrees"], "1/360 of a turn";
    TURN = "turn", Angle, Fractional, Factor::whole(360), NONE,
        ["turns", "rev", "revs", "revolution", "revolutions"], "360°";

    VOLT = "V", Voltage, Symbol, ONE, NONE,
        ["volt", "volts", "VDC", "V DC", "Vdc", "VAC", "V AC", "Vac"], "SI";
    MILLIVOLT = "mV", Voltage, Symbol, THOUSANDTH, NONE,
        ["millivolt", "millivolts"], "SI, 0.001 V";
    KILOVOLT = "kV", Voltage, Symbol, THOUSAND, NONE,
        ["kilovolt", "kilovolts"], "SI, 1000 V";

    AMPERE = "A", Current, Symbol, ONE, NONE,
        ["amp", "amps", "ampere", "amperes"], "SI";
    MILLIAMPERE = "mA", Current, Symbol, THOUSANDTH, NONE,
        ["milliamp", "milliamps"], "SI, 0.001 A";
    KILOAMPERE = "kA", Current, Symbol, THOUSAND, NONE,
        [], "SI, 1000 A";

    OHM = "Ω", Resistance, Symbol, ONE, NONE,
        ["ohm", "ohms", "Ohm", "Ohms"], "SI";
    MILLIOHM = "mΩ", Resistance, Symbol, THOUSANDTH, NONE,
        ["mohm", "mohms", "milliohm", "milliohms"], "SI, 0.001 Ω";
    KILOHM = "kΩ", Resistance, Symbol, THOUSAND, NONE,
        ["kohm", "kohms", "kilohm", "kilohms"], "SI, 1000 Ω";
    MEGOHM = "MΩ", Resistance, Symbol, Factor::whole(1_000_000), NONE,
        ["Mohm", "Mohms", "megohm", "megohms"], "SI, 1 000 000 Ω";

    WATT = "W", Power, Symbol, ONE, NONE,
        ["watt", "watts"], "SI";
    KILOWATT = "kW", Power, Symbol, THOUSAND, NONE,
        ["kw", "KW", "kilowatt", "kilowatts"], "SI, 1000 W";
    HORSEPOWER = "hp", Power, Fractional, Factor::whole(550).times(FOOT_M).times(POUND_FORCE_N), NONE,
        ["bhp", "horsepower"], "550 ft·lbf/s";
    METRIC_HORSEPOWER = "PS", Power, Fractional, Factor::whole(75).times(GRAVITY), NONE,
        ["metric hp", "cv", "ch"], "75 kgf·m/s";

    VOLT_AMPERE = "V·A", ApparentPower, Symbol, ONE, NONE,
        ["VA"], "SI, 1 W";
    KILOVOLT_AMPERE = "kV·A", ApparentPower, Symbol, THOUSAND, NONE,
        ["kVA", "KVA"], "SI, 1000 V·A";

    WATT_HOUR = "W·h", Energy, Symbol, ONE, NONE,
        ["Wh", "watt hour", "watt hours"], "SI, 3600 J";

    AMPERE_HOUR = "A·h", Charge, Symbol, ONE, NONE,
        ["Ah", "AH", "amp hour", "amp hours", "ampere hour", "ampere hours"], "SI, 3600 C";

    MICROFARAD = "µF", Capacitance, Symbol, ONE, NONE,
        ["uF", "mfd", "MFD", "microfarad", "microfarads"], "SI, 0.000 001 F";

    WIRE_GAUGE = "AWG", WireGauge, Trade, ONE, NONE,
        [], "a number of the series of ASTM B258";

    LITRE_PER_MINUTE = "L/min", Flow, Symbol, ONE, NONE,
        ["l/min", "lpm", "LPM"], "1 L in 60 s";
    MILLILITRE_PER_MINUTE = "mL/min", Flow, Symbol, THOUSANDTH, NONE,
        ["ml/min"], "0.001 L in 60 s";
    LITRE_PER_HOUR = "L/h", Flow, Symbol, ONE.over(Factor::whole(60)), NONE,
        ["l/h", "L/hr", "l/hr", "lph", "LPH"], "1 L in 3600 s";
    US_GALLON_PER_MINUTE = "US gal/min", Flow, Trade, US_GALLON_L, NONE,
        ["US gpm"], "231 in³ in 60 s";
    US_GALLON_PER_HOUR = "US gal/h", Flow, Trade, US_GALLON_L.over(Factor::whole(60)), NONE,
        ["US gal/hr", "US gph"], "231 in³ in 3600 s";
    IMPERIAL_GALLON_PER_MINUTE = "imp gal/min", Flow, Trade, IMPERIAL_GALLON_L, NONE,
        ["UK gal/min", "imp gpm", "UK gpm"], "4.54609 L in 60 s";
    IMPERIAL_GALLON_PER_HOUR = "imp gal/h", Flow, Trade, IMPERIAL_GALLON_L.over(Factor::whole(60)), NONE,
        ["UK gal/h", "imp gal/hr", "imp gph", "UK gph"], "4.54609 L in 3600 s";

    NEWTON_PER_MILLIMETRE = "N/mm", SpringRate, Symbol, ONE, NONE,
        [], "SI, 1000 N/m";
    POUND_FORCE_PER_INCH = "lbf/in", SpringRate, Trade, POUND_FORCE_N.over(INCH_MM), NONE,
        ["lb/in", "lbs/in", "pounds per inch"], "0.45359237 kg × 9.80665 m/s² / 25.4 mm";

    DECIBEL_A = "dB(A)", SoundLevel, Symbol, ONE, NONE,
        ["dBA", "db(A)", "dbA"], "IEC 61672: ten times the logarithm of the ratio of squared pressures";

    RELATIVE_DENSITY = "SG", RelativeDensity, Trade, ONE, NONE,
        ["s.g", "sp gr", "specific gravity", "relative density", "rel density"], "the density of water";

    TO_ONE = ":1", Ratio, Symbol, ONE, NONE,
        [], "so many parts to one";
    PERCENT = "%", Percent, Symbol, ONE, NONE,
        ["percent", "per cent", "pct"], "0.01 of the whole (NIST SP 811, 7.10.2)";
}

impl Unit {
    /// Whether the symbol follows its number without a space: 90°, 50:1 (NIST SP 811, 7.2).
    pub(super) fn closes_up(self) -> bool {
        self == Self::DEGREE || self == Self::TO_ONE
    }

    /// The temperature scale of a unit of temperature differences: °C for Δ°C.
    pub(super) fn scale_of_difference(self) -> Option<Self> {
        let scale = self.symbol().strip_prefix('Δ')?;
        Self::ALL
            .iter()
            .find(|unit| unit.symbol() == scale)
            .copied()
    }
}

impl Kind {
    /// The base unit of the kind: factor one, no offset.
    #[must_use]
    pub const fn base(self) -> Unit {
        match self {
            Self::Torque => Unit::NEWTON_METRE,
            Self::Length => Unit::MILLIMETRE,
            Self::Area => Unit::SQUARE_MILLIMETRE,
            Self::Pressure => Unit::PASCAL,
            Self::GaugePressure => Unit::KILOPASCAL_GAUGE,
            Self::AbsolutePressure => Unit::KILOPASCAL_ABSOLUTE,
            Self::Volume => Unit::MILLILITRE,
            Self::Mass => Unit::GRAM,
            Self::Force => Unit::NEWTON,
            Self::RotationalSpeed => Unit::RPM,
            Self::LinearSpeed => Unit::METRE_PER_SECOND,
            Self::Frequency => Unit::HERTZ,
            Self::Time => Unit::SECOND,
            Self::Temperature => Unit::KELVIN,
            Self::TemperatureDifference => Unit::DIFFERENCE_KELVIN,
            Self::Angle => Unit::DEGREE,
            Self::Voltage => Unit::VOLT,
            Self::Current => Unit::AMPERE,
            Self::Resistance => Unit::OHM,
            Self::Power => Unit::WATT,
            Self::ApparentPower => Unit::VOLT_AMPERE,
            Self::Energy => Unit::WATT_HOUR,
            Self::Charge => Unit::AMPERE_HOUR,
            Self::Capacitance => Unit::MICROFARAD,
            Self::WireGauge => Unit::WIRE_GAUGE,
            Self::Flow => Unit::LITRE_PER_MINUTE,
            Self::SpringRate => Unit::NEWTON_PER_MILLIMETRE,
            Self::SoundLevel => Unit::DECIBEL_A,
            Self::RelativeDensity => Unit::RELATIVE_DENSITY,
            Self::Ratio => Unit::TO_ONE,
            Self::Percent => Unit::PERCENT,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_complete() {
        for unit in Unit::ALL {
            assert!(!unit.symbol().is_empty());
            assert!(!unit.source().is_empty(), "{unit} has no source");
            assert_ne!(unit.0.factor, Factor::ZERO, "{unit} has no factor");
        }
    }

    #[test]
    fn every_kind_has_a_base_of_size_one() {
        for &kind in Kind::ALL {
            let base = kind.base();
            assert_eq!(base.kind(), kind);
            assert_eq!((base.0.factor, base.0.offset), (Factor::ONE, Factor::ZERO));
        }
    }

    #[test]
    fn every_pair_of_a_kind_converts_without_overflow() {
        for from in Unit::ALL {
            for to in Unit::ALL.iter().filter(|to| to.kind() == from.kind()) {
                let there = from.difference_to(*to, &from.factor());
                assert_eq!(to.difference_to(*from, &there), from.factor());
            }
        }
    }
}
