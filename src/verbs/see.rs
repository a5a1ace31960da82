//! `see`: refers to a procedure, fault table, step or figure.

use super::{ActionClass, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Refers to a procedure, a fault table, a step or a figure.",
    class: ActionClass::Refer,
    traits: &[Trait::InFaultTable],
    ..VerbSpec::BASE
};
