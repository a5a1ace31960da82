//! `do`: includes a procedure.

use super::{ActionClass, DefaultInstruction, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Does a procedure here, in full.",
    class: ActionClass::Refer,
    instruction: DefaultInstruction::Words("do-do"),
    ..VerbSpec::BASE
};
