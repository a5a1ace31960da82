//! `do`: a procedure is done here in full.

use super::{Class, Instruction, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Does a procedure here, in full.",
    class: Class::Refer,
    instruction: Instruction::Words("do-do"),
    ..VerbSpec::BASE
};
