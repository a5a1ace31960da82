//! `note`: how a part sits is written down before it comes off.

use super::{Class, Effect, Instruction, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Writes down how a part sits before it comes off.",
    class: Class::Look,
    effect: Effect::Part(|state, action| state.noted = Some(action.at)),
    instruction: Instruction::OfPart(|part, _| {
        if part.is_linkage() {
            "do-note-seat"
        } else {
            "do-note"
        }
    }),
    ..VerbSpec::BASE
};
