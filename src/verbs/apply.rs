//! `apply`: a supply is used up.

use super::{Class, Instruction, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Puts a supply on the kit list.",
    class: Class::Use,
    instruction: Instruction::Words("do-apply"),
    ..VerbSpec::BASE
};
