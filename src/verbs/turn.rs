//! `turn`: turns a part by hand, such as a crankshaft, if need be to a named position.
//!
//! Turning a crankshaft by hand can fire the engine, and turns everything that is coupled to it. So ignition,
//! electrical energy and motion must be isolated before.

use super::{ActionClass, DefaultInstruction, Qualifier, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Turns a part by hand, such as a crankshaft, if need be to a position in its `turned-to`.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn],
    instruction: DefaultInstruction::Words("do-turn"),
    qualifier: Qualifier::Turned,
    ..VerbSpec::BASE
};
