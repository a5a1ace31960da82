//! `caution`: the safety message above a step.

use super::{Class, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Prints a safety message above the step.",
    class: Class::Refer,
    traits: &[Trait::InFaultTable],
    ..VerbSpec::BASE
};
