//! `end`: a condition no longer holds.

use super::{Class, Effect, Instruction, Trait, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Says that a condition no longer holds.",
    class: Class::Wait,
    traits: &[Trait::InFaultTable],
    effect: Effect::Condition(false),
    inverse: Some(Verb::Confirm),
    instruction: Instruction::Words("do-end"),
    ..VerbSpec::BASE
};
