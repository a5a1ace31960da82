//! `open`: a valve is opened.

use super::{Class, Effect, Instruction, Trait, ValveState, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Opens a valve.",
    class: Class::Work,
    traits: &[Trait::InFaultTable],
    effect: Effect::Valve(ValveState::Open),
    inverse: Some(Verb::Close),
    instruction: Instruction::Words("do-open"),
    result: Some("is-open"),
    ..VerbSpec::BASE
};
