//! What each verb means: one file a verb.
//!
//! Comes in: nothing. Goes out: for every [`Verb`] a [`VerbSpec`]: its class, its effect on the model
//! of a machine, what undoes it, the instruction that the compiler writes for it, and its line in the
//! author's reference. The rehearsal, the derived reassembly, the hazards, the readings that an action
//! makes stale and the reference all read this table, so a verb's meaning is written once.
//!
//! The list of verbs is in `prose`, which has to know them to read a link; a verb in that list without
//! a file here does not compile.

mod effect;
mod traits;

use crate::model::{
    EnergyState, EngineState, FluidLevel, Moment, PartPlace, PartState, ReadingState,
};
use crate::prose::{ThingKind, Verb, each_verb};
use crate::shop::{Energy, Part, ValveState};
pub(crate) use effect::apply;
pub(crate) use traits::Trait;

/// What kind of action a verb is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ActionClass {
    /// Changes the machine: readings that were taken before no longer hold.
    Work,
    /// Looks at the machine and changes nothing.
    Look,
    /// Uses a tool or a supply.
    Use,
    /// Waits for something or somebody: a condition, a signature.
    Wait,
    /// Names something that is written elsewhere.
    Refer,
}

/// What an action does to the model of its machine.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Effect {
    /// Nothing that the model knows.
    None,
    /// Changes a part's state.
    Part(fn(&mut PartState, &PartAction<'_>)),
    /// Leaves a valve in this state.
    Valve(ValveState),
    /// Leaves a fluid at this level.
    Fluid(FluidLevel),
    /// Leaves an energy in the state that this gives for its present one; none leaves it alone.
    Energy(fn(EnergyState) -> Option<EnergyState>),
    /// Whether a condition holds afterwards.
    Condition(bool),
    /// Leaves the engine in this state.
    Engine(EngineState),
    /// Leaves a reading in this state.
    Reading(ReadingState),
}

/// An action on a part, as its effect sees it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PartAction<'p> {
    pub(crate) verb: Verb,
    pub(crate) part: &'p Part,
    /// The stage it is tightened to, from 1; none for all of them.
    pub(crate) stage: Option<usize>,
    /// Whether the fluid that the part carries stands in it, so that a leak would show. True for a part
    /// that carries none.
    pub(crate) is_wet: bool,
    pub(crate) at: Moment,
}

/// The instruction that the compiler writes for an action without text.
///
/// A key names a text in the files of words; its places are filled by whoever prints it.
#[derive(Clone, Copy, Debug)]
pub(crate) enum DefaultInstruction {
    /// None: the action is never written out.
    None,
    /// The text of this key.
    Words(&'static str),
    /// The text of the key that this gives for a part and the stage it is tightened to.
    OfPart(fn(&Part, Option<usize>) -> &'static str),
    /// The energy's own instruction, from the machine's file.
    OfEnergy(fn(&Energy) -> &crate::shop::Instruction),
}

/// What may follow a thing's name in an action: `fit:PART/SEAT`, `tighten:PART/2`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Qualifier {
    /// Nothing.
    None,
    /// The seat of a linkage, its words joined by hyphens.
    Seat,
    /// The number of a stage.
    Stage,
}

/// All that is known of a verb besides its word and the kind of thing it takes.
#[derive(Debug)]
pub(crate) struct VerbSpec {
    /// What it does, as a line of the author's reference.
    pub(crate) reference: &'static str,
    pub(crate) class: ActionClass,
    pub(crate) traits: &'static [Trait],
    pub(crate) effect: Effect,
    /// The verb that brings back what this one undid; none where nothing has to be brought back.
    pub(crate) inverse: Option<Verb>,
    pub(crate) instruction: DefaultInstruction,
    /// The key of the state that a checklist has ticked after it: "closed".
    pub(crate) result: Option<&'static str>,
    pub(crate) qualifier: Qualifier,
}

impl VerbSpec {
    /// The base of every row: an action without effect.
    const BASE: VerbSpec = VerbSpec {
        reference: "",
        class: ActionClass::Refer,
        traits: &[],
        effect: Effect::None,
        inverse: None,
        instruction: DefaultInstruction::None,
        result: None,
        qualifier: Qualifier::None,
    };

    /// Whether the verb has a trait.
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
    /// What the verb means.
    pub(crate) fn spec(self) -> &'static VerbSpec {
        TABLE[self as usize]
    }

    /// How an author writes the verb: `tighten:PART`, and `tighten:PART/STAGE` where a stage may follow.
    pub(crate) fn forms(self) -> Vec<String> {
        let thing = match self.takes() {
            // A machine has one engine, and this is its name.
            ThingKind::Engine => "engine".to_owned(),
            kind => kind.word().to_uppercase(),
        };
        let plain = format!("{}:{thing}", self.word());
        let qualified = match self.spec().qualifier {
            Qualifier::None => None,
            Qualifier::Seat => Some(format!("{plain}/SEAT")),
            Qualifier::Stage => Some(format!("{plain}/STAGE")),
        };
        std::iter::once(plain).chain(qualified).collect()
    }
}

impl PartState {
    /// Moves the part by an action.
    fn set_place(&mut self, place: PartPlace, action: &PartAction<'_>) {
        self.place = place;
        self.since = Some(action.at);
        self.how = Some((action.verb, action.at.index));
    }

    /// Puts the part, or a new one, on.
    fn fit(&mut self, action: &PartAction<'_>) {
        // A fastener is started by hand, and is loose until it is tightened.
        let place = if action.part.is_fastener() {
            PartPlace::Loose
        } else {
            PartPlace::On
        };
        self.set_place(place, action);
        self.unchecked = Some(action.at);
        self.inspected = None;
        self.cleaned = None;
        self.stage = 0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fmt::Write as _;

    #[test]
    fn the_reference_has_a_line_for_each_verb() {
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
            // To fit a new part is undone as fitting the old one is.
            let back = inverse.spec().inverse;
            assert!(
                back == Some(*verb) || *verb == Verb::Renew,
                "`{}` is not undone by what it undoes",
                verb.word()
            );
        }
    }

    #[test]
    fn an_effect_fits_the_kind_of_thing() {
        for verb in Verb::ALL {
            let fits = match verb.spec().effect {
                Effect::None => true,
                Effect::Part(_) => verb.takes() == ThingKind::Part,
                Effect::Valve(_) => verb.takes() == ThingKind::Valve,
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
