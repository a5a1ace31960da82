//! `run`: starts the engine.

use super::{ActionClass, DefaultInstruction, Effect, EngineState, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Starts the engine, as the machine says.",
    class: ActionClass::Work,
    traits: &[Trait::InFaultTable],
    effect: Effect::Engine(EngineState::Running),
    instruction: DefaultInstruction::Words("do-run"),
    ..VerbSpec::BASE
};
