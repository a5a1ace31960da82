//! `confirm`: states that a condition holds from here on.

use super::{ActionClass, DefaultInstruction, Effect, Trait, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Confirms that a condition holds.",
    class: ActionClass::Wait,
    traits: &[Trait::InFaultTable],
    effect: Effect::Condition(true),
    inverse: Some(Verb::End),
    instruction: DefaultInstruction::Words("do-confirm"),
    ..VerbSpec::BASE
};
