//! `restore`: makes an energy live again.

use super::{ActionClass, DefaultInstruction, Effect, EnergyState, Trait, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Makes an energy live again, as the machine says.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn, Trait::InFaultTable],
    effect: Effect::Energy(|_| Some(EnergyState::Live)),
    inverse: Some(Verb::Isolate),
    instruction: DefaultInstruction::OfEnergy(|energy| &energy.restore),
    ..VerbSpec::BASE
};
