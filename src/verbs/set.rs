//! `set`: puts a control into a position.

use super::{ActionClass, DefaultInstruction, Effect, Qualifier, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Puts a control, such as a switch or a lever, into a position.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn, Trait::InFaultTable],
    effect: Effect::Control,
    instruction: DefaultInstruction::Words("do-set"),
    qualifier: Qualifier::Setting,
    ..VerbSpec::BASE
};
