//! `use`: a tool is used.

use super::{Class, Instruction, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Puts a tool on the tool list.",
    class: Class::Use,
    traits: &[Trait::InFaultTable],
    instruction: Instruction::Words("do-use"),
    ..VerbSpec::BASE
};
