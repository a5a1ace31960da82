//! `drain`: drains a fluid.

use super::{ActionClass, DefaultInstruction, Effect, Trait, Verb, VerbSpec};
use crate::shop::FluidState;

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Lets a fluid out.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn],
    effect: Effect::Fluid(FluidState::Empty),
    inverse: Some(Verb::Fill),
    instruction: DefaultInstruction::Words("do-drain"),
    ..VerbSpec::BASE
};
