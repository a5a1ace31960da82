//! `adjust`: changes the setting that determines a reading.

use super::{ActionClass, DefaultInstruction, Effect, ReadingState, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Changes what a reading reads; it is measured again after that.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn],
    effect: Effect::Reading(ReadingState::Stale),
    instruction: DefaultInstruction::Words("do-adjust"),
    ..VerbSpec::BASE
};
