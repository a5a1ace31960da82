//! `close`: a valve is closed.

use super::{Class, Effect, Instruction, Trait, ValveState, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Closes a valve.",
    class: Class::Work,
    traits: &[Trait::InFaultTable],
    effect: Effect::Valve(ValveState::Closed),
    inverse: Some(Verb::Open),
    instruction: Instruction::Words("do-close"),
    result: Some("is-closed"),
    ..VerbSpec::BASE
};
