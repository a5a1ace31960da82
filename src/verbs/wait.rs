//! `wait`: lets a time pass, or waits until a condition holds.
//!
//! What holds after a time is said by other verbs, such as `confirm`. A wait until a condition holds is its confirmation:
//! the job has a `confirm` in its place, and only the default instruction differs.

use super::{ActionClass, DefaultInstruction, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Waits for a time, with a countdown on a screen: `wait:10-min`. Or waits until a condition holds, and confirms it.",
    class: ActionClass::Look,
    traits: &[Trait::InFaultTable],
    instruction: DefaultInstruction::Words("do-wait"),
    ..VerbSpec::BASE
};
