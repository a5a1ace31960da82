//! `apply`: consumes a supply.

use super::{ActionClass, DefaultInstruction, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Puts a supply on the kit list.",
    class: ActionClass::Use,
    instruction: DefaultInstruction::Words("do-apply"),
    ..VerbSpec::BASE
};
