//! `fill`: a fluid is put in.

use super::{Class, Effect, FluidLevel, Instruction, Trait, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Puts a fluid in, and its supply on the kit list.",
    class: Class::Work,
    traits: &[Trait::PutsHandsIn, Trait::SignedFor],
    effect: Effect::Fluid(FluidLevel::Full),
    inverse: Some(Verb::Drain),
    instruction: Instruction::Words("do-fill"),
    result: Some("is-filled"),
    ..VerbSpec::BASE
};
