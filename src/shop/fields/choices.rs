//! The words of fields that hold one of several words.

use super::super::{EnergyKind, EngineNeed, FluidState, Paper, SupplyKind, ValveState, Word};
use crate::prose::Verb;
use crate::quantity::{Gallons, Kind as Quantity};
use crate::record::{Choice, Form, OneText};
use crate::trade::{
    Bound, Calculation, Condition, DroopOf, Head, Material, PlugSeat, TighteningPattern,
};
use crate::words::Words;
use std::collections::BTreeSet;

macro_rules! choices {
    ($($of:ty: $($word:literal = $value:expr),+;)+) => {
        $(impl Choice for $of {
            fn all() -> Vec<(&'static str, Self)> {
                vec![$(($word, $value)),+]
            }
        })+
    };
}

choices! {
    EnergyKind:
        "ignition" = EnergyKind::Ignition,
        "electrical" = EnergyKind::Electrical,
        "motion" = EnergyKind::Motion,
        "spring" = EnergyKind::Spring,
        "pressure" = EnergyKind::Pressure,
        "heat" = EnergyKind::Heat,
        "gravity" = EnergyKind::Gravity;
    EngineNeed: "running" = EngineNeed::Running, "stopped" = EngineNeed::Stopped;
    FluidState: "full" = FluidState::Full, "empty" = FluidState::Empty;
    Gallons: "us" = Gallons::Us, "imperial" = Gallons::Imperial;
    Initials: "group" = Initials::PerGroup, "step" = Initials::PerStep;
    Paper: "A4" = Paper::A4, "Letter" = Paper::Letter;
    SupplyKind:
        "fuel" = SupplyKind::Fuel,
        "oil" = SupplyKind::Oil,
        "coolant" = SupplyKind::Coolant,
        "cleaner" = SupplyKind::Cleaner,
        "sealant" = SupplyKind::Sealant,
        "grease" = SupplyKind::Grease;
    ValveState: "open" = ValveState::Open, "closed" = ValveState::Closed;
    Word:
        "danger" = Word::Danger,
        "warning" = Word::Warning,
        "caution" = Word::Caution,
        "notice" = Word::Notice;
}

/// Where a checklist is initialled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Initials {
    /// At the end of each group of steps.
    PerGroup,
    /// At each step as well.
    PerStep,
}

/// The types of `trade` list their values themselves.
macro_rules! listed {
    ($($of:ty),+) => {
        $(impl Choice for $of {
            fn all() -> Vec<(&'static str, Self)> {
                let all = <$of>::ALL.iter();
                all.map(|value| (value.name(), *value)).collect()
            }
        })+
    };
}

listed!(
    Condition,
    DroopOf,
    Head,
    Material,
    PlugSeat,
    TighteningPattern
);

impl Choice for &'static Calculation {
    fn all() -> Vec<(&'static str, Self)> {
        let all = Calculation::ALL.iter();
        all.map(|calculation| (calculation.name, *calculation))
            .collect()
    }
}

/// The name of a result of some calculation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct ResultName(pub(crate) &'static str);

impl Choice for ResultName {
    fn all() -> Vec<(&'static str, Self)> {
        let results = Calculation::ALL
            .iter()
            .flat_map(|calculation| calculation.results);
        let names: BTreeSet<&'static str> = results.map(|result| result.name).collect();
        names.into_iter().map(|name| (name, Self(name))).collect()
    }
}

impl Choice for Bound {
    fn all() -> Vec<(&'static str, Self)> {
        Bound::ALL.to_vec()
    }
}

impl Choice for Verb {
    fn all() -> Vec<(&'static str, Self)> {
        let all = Verb::ALL.iter();
        all.map(|verb| (verb.word(), *verb)).collect()
    }
}

/// The number of a safety sign.
pub(crate) struct Sign;

impl OneText for Sign {
    const FORM: Form = Form::OneOf(|| Words::signs().map(str::to_owned).collect());
}

/// The number of a mandatory sign.
pub(crate) struct MandatorySign;

impl MandatorySign {
    /// Whether a sign is mandatory, by the letter of its number.
    #[must_use]
    pub(crate) fn has(number: &str) -> bool {
        number.starts_with('M')
    }
}

impl OneText for MandatorySign {
    const FORM: Form = Form::OneOf(|| {
        let signs = Words::signs().filter(|number| MandatorySign::has(number));
        signs.map(str::to_owned).collect()
    });
}

/// The name of a kind of quantity.
pub(crate) struct QuantityName;

impl OneText for QuantityName {
    const FORM: Form = Form::OneOf(|| {
        let names = Quantity::ALL.iter().map(|kind| kind.name());
        // `Quantity::from_name` also takes words that are joined by hyphens, which need no quotes.
        let joined = names.clone().map(|name| name.replace(' ', "-"));
        let spaced = names.filter(|name| name.contains(' '));
        joined.chain(spaced.map(str::to_owned)).collect()
    });
}

/// A unit of measurement.
pub(crate) struct UnitSymbol;

impl OneText for UnitSymbol {
    const FORM: Form = Form::Unit;
}

/// The name of a rule.
pub(crate) struct RuleName;

impl OneText for RuleName {
    const FORM: Form = Form::Rule;
}

/// The level of a rule, with the reason for a lower one.
pub(crate) struct LevelText;

impl OneText for LevelText {
    const FORM: Form = Form::Matching(r"^\s*(error|warning|advice|off)\s*(:|$)");
}
