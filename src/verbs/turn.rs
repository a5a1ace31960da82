//! `turn`: a part is turned by hand, such as a crankshaft.
//!
//! A crankshaft that is turned by hand can fire the engine, and turns whatever is coupled to it: the
//! action is endangered by every ignition, voltage and motion that is not isolated.

use super::{ActionClass, DefaultInstruction, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Turns a part by hand, such as a crankshaft.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn, Trait::AlwaysEndangered],
    instruction: DefaultInstruction::Words("do-turn"),
    ..VerbSpec::BASE
};
