//! `hold`: the job stops until somebody has signed.

use super::{Class, Instruction, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Stops the job until a role has signed.",
    class: Class::Wait,
    instruction: Instruction::Words("do-hold"),
    ..VerbSpec::BASE
};
