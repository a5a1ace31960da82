//! `wait`: lets a time pass.
//!
//! What holds after that time is said by other verbs, such as `confirm`.

use super::{ActionClass, DefaultInstruction, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Waits for a time, with a countdown on a screen: `wait:10-min`.",
    class: ActionClass::Look,
    traits: &[Trait::InFaultTable],
    instruction: DefaultInstruction::Words("do-wait"),
    ..VerbSpec::BASE
};
