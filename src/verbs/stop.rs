//! `stop`: stops the engine.

use super::{ActionClass, DefaultInstruction, Effect, EngineState, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Stops the engine, as the machine says.",
    class: ActionClass::Work,
    traits: &[Trait::InFaultTable, Trait::SignedFor],
    effect: Effect::Engine(EngineState::Stopped),
    instruction: DefaultInstruction::Words("do-stop"),
    ..VerbSpec::BASE
};
