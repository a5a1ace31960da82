//! `run`: the engine is started.

use super::{Class, Effect, EngineState, Instruction, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Starts the engine, as the machine says.",
    class: Class::Work,
    traits: &[Trait::InFaultTable],
    effect: Effect::Engine(EngineState::Running),
    instruction: Instruction::Words("do-run"),
    ..VerbSpec::BASE
};
