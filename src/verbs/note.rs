//! `note`: writes down how a part sits, before it comes off.

use super::{ActionClass, DefaultInstruction, Effect, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Writes down the position of a part before it is removed.",
    class: ActionClass::Look,
    traits: &[Trait::PutsHandsIn],
    effect: Effect::Part(|state, action| state.noted = Some(action.moment)),
    instruction: DefaultInstruction::OfPart(|part, _| {
        if part.is_linkage() {
            "do-note-position"
        } else {
            "do-note"
        }
    }),
    ..VerbSpec::BASE
};
