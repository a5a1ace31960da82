//! `fill`: fills a fluid in.

use super::{ActionClass, DefaultInstruction, Effect, Qualifier, Trait, Verb, VerbSpec};
use crate::shop::FluidState;

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Puts a fluid in, and its supply on the kit list: the whole capacity if it was empty or drained, otherwise a top-up. `/all` says that the whole capacity is meant.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn, Trait::SignedFor],
    effect: Effect::Fluid(FluidState::Full),
    inverse: Some(Verb::Drain),
    instruction: DefaultInstruction::Words("do-fill"),
    qualifier: Qualifier::All,
};
