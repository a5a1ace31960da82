//! `prove`: shows that an isolated energy is safe.

use super::{ActionClass, DefaultInstruction, Effect, EnergyState, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Shows that an isolated energy is safe, as the machine says.",
    class: ActionClass::Look,
    traits: &[Trait::PutsHandsIn, Trait::InFaultTable],
    effect: Effect::Energy(|state| {
        // Proving has no effect on an energy that was not isolated.
        (state == EnergyState::Isolated).then_some(EnergyState::Proved)
    }),
    instruction: DefaultInstruction::OfEnergy(|energy| &energy.prove),
    ..VerbSpec::BASE
};
