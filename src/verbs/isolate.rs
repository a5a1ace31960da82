//! `isolate`: an energy is made safe.

use super::{Class, Effect, EnergyState, Instruction, Trait, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Makes an energy safe, as the machine says.",
    class: Class::Work,
    traits: &[Trait::InFaultTable],
    effect: Effect::Energy(|_| Some(EnergyState::Isolated)),
    inverse: Some(Verb::Restore),
    instruction: Instruction::OfEnergy(|energy| &energy.isolate),
    result: Some("is-isolated"),
    ..VerbSpec::BASE
};
