//! `open`: opens a valve.

use super::{ActionClass, DefaultInstruction, Effect, Trait, ValveState, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Opens a valve.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn, Trait::InFaultTable],
    effect: Effect::Valve(ValveState::Open),
    inverse: Some(Verb::Close),
    instruction: DefaultInstruction::Words("do-open"),
    ..VerbSpec::BASE
};
