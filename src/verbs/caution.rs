//! `caution`: prints a safety message above a step.

use super::{ActionClass, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Prints a safety message above the step.",
    class: ActionClass::Refer,
    traits: &[Trait::InFaultTable],
    ..VerbSpec::BASE
};
