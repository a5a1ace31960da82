//! `isolate`: makes an energy safe.

use super::{ActionClass, DefaultInstruction, Effect, EnergyState, Trait, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Makes an energy safe, as the machine says.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn, Trait::InFaultTable],
    effect: Effect::Energy(|_| Some(EnergyState::Isolated)),
    inverse: Some(Verb::Restore),
    instruction: DefaultInstruction::OfEnergy(|energy| &energy.isolate),
    ..VerbSpec::BASE
};
