//! `close`: closes a valve.

use super::{ActionClass, DefaultInstruction, Effect, Trait, ValveState, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Closes a valve.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn, Trait::InFaultTable],
    effect: Effect::Valve(ValveState::Closed),
    inverse: Some(Verb::Open),
    instruction: DefaultInstruction::Words("do-close"),
    ..VerbSpec::BASE
};
