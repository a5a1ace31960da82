//! `restore`: an energy is made live again.

use super::{Class, Effect, EnergyState, Instruction, Trait, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Makes an energy live again, as the machine says.",
    class: Class::Work,
    traits: &[Trait::InFaultTable],
    effect: Effect::Energy(|_| Some(EnergyState::Live)),
    inverse: Some(Verb::Isolate),
    instruction: Instruction::OfEnergy(|energy| &energy.restore),
    result: Some("is-live"),
    ..VerbSpec::BASE
};
