//! `prove`: an isolated energy is shown to be safe.

use super::{Class, Effect, EnergyState, Instruction, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Shows that an isolated energy is safe, as the machine says.",
    class: Class::Look,
    traits: &[Trait::InFaultTable],
    effect: Effect::Energy(|state| {
        // An energy that was never isolated does not become safe by a look at it.
        (state == EnergyState::Isolated).then_some(EnergyState::Proved)
    }),
    instruction: Instruction::OfEnergy(|energy| &energy.prove),
    result: Some("is-proved"),
    ..VerbSpec::BASE
};
