//! `apply`: consumes a supply.

use super::{ActionClass, DefaultInstruction, Qualifier, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Puts a supply on the kit list, with the amount if it is given: `apply:light-grease/2-mL`.",
    class: ActionClass::Use,
    instruction: DefaultInstruction::Words("do-apply"),
    qualifier: Qualifier::Amount,
    ..VerbSpec::BASE
};
