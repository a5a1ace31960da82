//! `hold`: stops the job until a role has signed.

use super::{ActionClass, DefaultInstruction, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Stops the job until a role has signed.",
    class: ActionClass::Wait,
    instruction: DefaultInstruction::Words("do-hold"),
    ..VerbSpec::BASE
};
