//! `adjust`: what a reading reads is changed.

use super::{Class, Effect, Instruction, ReadingState, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Changes what a reading reads; it is measured again after that.",
    class: Class::Work,
    effect: Effect::Reading(ReadingState::Stale),
    instruction: Instruction::Words("do-adjust"),
    ..VerbSpec::BASE
};
