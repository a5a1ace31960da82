//! `end`: states that a condition no longer holds.

use super::{ActionClass, DefaultInstruction, Effect, Trait, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Says that a condition no longer holds.",
    class: ActionClass::Wait,
    traits: &[Trait::InFaultTable],
    effect: Effect::Condition(false),
    inverse: Some(Verb::Confirm),
    instruction: DefaultInstruction::Words("do-end"),
    ..VerbSpec::BASE
};
