//! `measure`: a reading is taken and written down.

use super::{Class, Effect, Instruction, ReadingState, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Takes a reading and writes it down beside its limits.",
    class: Class::Look,
    traits: &[Trait::InFaultTable, Trait::SignedFor],
    effect: Effect::Reading(ReadingState::Measured),
    instruction: Instruction::Words("do-measure"),
    ..VerbSpec::BASE
};
