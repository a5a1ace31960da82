//! `confirm`: a condition holds from here on.

use super::{Class, Effect, Instruction, Trait, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Confirms that a condition holds.",
    class: Class::Wait,
    traits: &[Trait::InFaultTable],
    effect: Effect::Condition(true),
    inverse: Some(Verb::End),
    instruction: Instruction::Words("do-confirm"),
    ..VerbSpec::BASE
};
