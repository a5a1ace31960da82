//! `turn`: turns a part by hand, such as a crankshaft.
//!
//! Turning a crankshaft by hand can fire the engine, and turns everything that is coupled to it. So ignition,
//! electrical energy and motion must be isolated before.

use super::{ActionClass, DefaultInstruction, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Turns a part by hand, such as a crankshaft.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn],
    instruction: DefaultInstruction::Words("do-turn"),
    ..VerbSpec::BASE
};
