//! `stop`: the engine is stopped.

use super::{Class, Effect, EngineState, Instruction, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Stops the engine, as the machine says.",
    class: Class::Work,
    traits: &[Trait::InFaultTable, Trait::SignedFor],
    effect: Effect::Engine(EngineState::Stopped),
    instruction: Instruction::Words("do-stop"),
    ..VerbSpec::BASE
};
