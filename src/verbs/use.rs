//! `use`: puts a tool on the tool list.

use super::{ActionClass, DefaultInstruction, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Puts a tool on the tool list.",
    class: ActionClass::Use,
    traits: &[Trait::InFaultTable],
    instruction: DefaultInstruction::Words("do-use"),
    ..VerbSpec::BASE
};
