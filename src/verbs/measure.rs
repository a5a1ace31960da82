//! `measure`: takes a reading and writes it down.

use super::{ActionClass, DefaultInstruction, Effect, ReadingState, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Takes a reading, or measures a dimension of a part, and writes it down beside its limits.",
    class: ActionClass::Look,
    traits: &[Trait::PutsHandsIn, Trait::InFaultTable, Trait::SignedFor],
    effect: Effect::Reading(ReadingState::Measured),
    instruction: DefaultInstruction::Words("do-measure"),
    ..VerbSpec::BASE
};
