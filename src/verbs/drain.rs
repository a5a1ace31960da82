//! `drain`: a fluid is let out.

use super::{Class, Effect, FluidLevel, Instruction, Trait, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Lets a fluid out.",
    class: Class::Work,
    traits: &[Trait::PutsHandsIn],
    effect: Effect::Fluid(FluidLevel::Empty),
    inverse: Some(Verb::Fill),
    instruction: Instruction::Words("do-drain"),
    result: Some("is-drained"),
    ..VerbSpec::BASE
};
