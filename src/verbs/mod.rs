//! Defines the meaning of each verb, one file per verb.
//!
//! In: nothing. Out: a [`VerbSpec`] for every [`Verb`]: its class, its effect on the model of a machine, its inverse,
//! its default instruction and its line in the author's reference. The rehearsal, the derived reassembly, the cautions
//! and the reference all use this table, so the meaning of a verb is defined once.
//!
//! The list of verbs is in `prose`, which needs it to parse links. A verb in that list without a file here is a compile
//! error.

mod danger;
mod effect;
mod need;
mod traits;

use crate::model::{EnergyState, EngineState, Moment, PartPlace, PartState, ReadingState};
use crate::prose::{ThingKind, Verb, each_verb};
use crate::shop::{Energy, FluidState, Part, ValveState};
pub(crate) use danger::{endangers, endangers_hands_at, is_done_by_hand, is_named};
pub(crate) use effect::apply;
pub(crate) use need::{conditions_needed, fluid_met};
pub(crate) use traits::Trait;

/// The class of a verb.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ActionClass {
    /// Changes the machine, so that earlier measurements are no longer valid.
    Work,
    /// Inspects the machine without changing it.
    Look,
    /// Uses a tool or a supply.
    Use,
    /// Waits for a condition or a signature. Earlier measurements are no longer valid.
    Wait,
    /// Refers to something that is defined elsewhere.
    Refer,
}

/// The effect of an action on the model of its machine.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Effect {
    /// No effect.
    None,
    /// The function that changes the state of a part.
    Part(fn(&mut PartState, &PartAction<'_>)),
    /// The state of the valve afterwards.
    Valve(ValveState),
    /// Puts a control into the position that the action names.
    Control,
    /// The level of the fluid afterwards.
    Fluid(FluidState),
    /// Computes the new state of an energy from the current one. `None` leaves it unchanged.
    Energy(fn(EnergyState) -> Option<EnergyState>),
    /// Whether a condition holds afterwards.
    Condition(bool),
    /// The state of the engine afterwards.
    Engine(EngineState),
    /// The state of the reading afterwards.
    Reading(ReadingState),
}

/// The input of an effect on a part.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PartAction<'p> {
    pub(crate) verb: Verb,
    pub(crate) part: &'p Part,
    /// The stage that it is tightened to, from 1. `None` means all stages.
    pub(crate) stage: Option<usize>,
    /// Whether a leak at its joint would show. True for a part that carries no fluid.
    pub(crate) shows_leak: bool,
    pub(crate) moment: Moment,
}

/// The instruction that the compiler writes for an action without text.
///
/// Keys are those of texts in `templates/words`. The code that prints a text fills in its placeholders.
#[derive(Clone, Copy, Debug)]
pub(crate) enum DefaultInstruction {
    /// The action is never printed without text of its own.
    None,
    /// The key of a text.
    Words(&'static str),
    /// Computes the key of a text from a part and the stage that it is tightened to.
    OfPart(fn(&Part, Option<usize>) -> &'static str),
    /// The instruction in the energy's record.
    OfEnergy(fn(&Energy) -> &crate::shop::Instruction),
}

/// The qualifier of `fill` for the whole capacity of a fluid.
pub(crate) const WHOLE: &str = "all";

/// The qualifier after a thing's name in an action: `fit:PART/POSITION`, `tighten:PART/2`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Qualifier {
    None,
    /// The position of a linkage, with hyphens between its words.
    Position,
    /// The position that a part is turned to.
    Turned,
    /// The number of a tightening stage, from 1.
    Stage,
    /// The position of a control, which has to be named.
    Setting,
    /// The word `all`: the whole capacity of a fluid.
    All,
    /// The amount of a supply.
    Amount,
}

/// The meaning of a verb. Its word and the kind of thing that it takes are in `prose`.
#[derive(Debug)]
pub(crate) struct VerbSpec {
    /// A sentence about its effect, for the table in `procedures/README.md`.
    pub(crate) reference: &'static str,
    pub(crate) class: ActionClass,
    pub(crate) traits: &'static [Trait],
    pub(crate) effect: Effect,
    /// The verb that undoes this one. `None` if nothing has to be undone.
    pub(crate) inverse: Option<Verb>,
    pub(crate) instruction: DefaultInstruction,
    pub(crate) qualifier: Qualifier,
}

impl VerbSpec {
    /// The defaults that each verb's file overrides.
    const BASE: VerbSpec = VerbSpec {
        reference: "",
        class: ActionClass::Refer,
        traits: &[],
        effect: Effect::None,
        inverse: None,
        instruction: DefaultInstruction::None,
        qualifier: Qualifier::None,
    };

    pub(crate) fn has(&self, wanted: Trait) -> bool {
        self.traits.contains(&wanted)
    }
}

macro_rules! table {
    ($($verb:ident $word:literal $kind:ident $module:ident;)+) => {
        $(mod $module;)+

        /// In the order of [`Verb::ALL`].
        static TABLE: [&VerbSpec; Verb::ALL.len()] = [$(&$module::VERB),+];
    };
}

each_verb!(table);

impl Verb {
    /// The meaning of the verb.
    pub(crate) fn spec(self) -> &'static VerbSpec {
        TABLE[self as usize]
    }

    /// The forms in which authors write the verb: `tighten:PART`, and `tighten:PART/STAGE` if it takes a qualifier.
    pub(crate) fn forms(self) -> Vec<String> {
        let thing = match self.takes() {
            // `engine` is the only name that an engine can have.
            ThingKind::Engine => "engine".to_owned(),
            kind => kind.word().to_uppercase(),
        };
        let plain = format!("{}:{thing}", self.word());
        let qualified = match self.spec().qualifier {
            Qualifier::None => None,
            Qualifier::Position | Qualifier::Turned => Some(format!("{plain}/POSITION")),
            Qualifier::Stage => Some(format!("{plain}/STAGE")),
            Qualifier::Setting => return vec![format!("{plain}/POSITION")],
            Qualifier::All => Some(format!("{plain}/{WHOLE}")),
            Qualifier::Amount => Some(format!("{plain}/AMOUNT")),
        };
        let until = (self == Verb::Wait).then(|| format!("{}:CONDITION", self.word()));
        let of_part = (self == Verb::Measure).then(|| "measure:PART/DIMENSION".to_owned());
        let forms = std::iter::once(plain).chain(qualified);
        forms.chain(until).chain(of_part).collect()
    }
}

impl PartState {
    /// Sets the place of the part and records the action.
    fn set_place(&mut self, place: PartPlace, action: &PartAction<'_>) {
        self.place = place;
        self.since = Some(action.moment);
        self.how = Some((action.verb, action.moment.index));
    }

    /// Puts the part, or a new part, on.
    fn fit(&mut self, action: &PartAction<'_>) {
        // A fastener is only started by hand: it is loose until it is tightened.
        let place = if action.part.is_fastener() {
            PartPlace::Loose
        } else {
            PartPlace::On
        };
        self.set_place(place, action);
        self.leak_check_due = Some(action.moment);
        self.inspected = None;
        self.measured_from = Some(action.moment.index);
        self.cleaned = None;
        self.stage = 0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fmt::Write as _;

    #[test]
    fn the_reference_documents_every_verb() {
        let mut table = String::from("| action | what it does |\n| --- | --- |\n");
        for verb in Verb::ALL {
            let forms: Vec<String> = verb
                .forms()
                .iter()
                .map(|form| format!("`{form}`"))
                .collect();
            let line = verb.spec().reference;
            assert!(
                line.ends_with('.'),
                "`{}` has no line for the reference",
                verb.word()
            );
            let _ = writeln!(table, "| {} | {line} |", forms.join(", "));
        }
        let reference = include_str!("../../procedures/README.md");
        assert!(
            reference.contains(&table),
            "procedures/README.md should have:\n{table}"
        );
    }

    #[test]
    fn a_verb_and_its_inverse_take_the_same_kind_of_thing() {
        for verb in Verb::ALL {
            let Some(inverse) = verb.spec().inverse else {
                continue;
            };
            assert_eq!(verb.takes(), inverse.takes(), "`{}`", verb.word());
            // `remove` undoes `renew`, but `fit` undoes `remove`.
            let inverse_of_inverse = inverse.spec().inverse;
            assert!(
                inverse_of_inverse == Some(*verb) || *verb == Verb::Renew,
                "the inverse of the inverse of `{}` is another verb",
                verb.word()
            );
        }
    }

    #[test]
    fn effects_match_the_kind_of_thing_that_the_verb_takes() {
        for verb in Verb::ALL {
            let fits = match verb.spec().effect {
                Effect::None => true,
                Effect::Part(_) => verb.takes() == ThingKind::Part,
                Effect::Valve(_) => verb.takes() == ThingKind::Valve,
                Effect::Control => verb.takes() == ThingKind::Control,
                Effect::Fluid(_) => verb.takes() == ThingKind::Fluid,
                Effect::Energy(_) => verb.takes() == ThingKind::Energy,
                Effect::Condition(_) => verb.takes() == ThingKind::Condition,
                Effect::Engine(_) => verb.takes() == ThingKind::Engine,
                Effect::Reading(_) => verb.takes() == ThingKind::Reading,
            };
            assert!(
                fits,
                "the effect of `{}` is for another kind of thing",
                verb.word()
            );
        }
    }
}
