//! `remove`: takes a part off.

use super::{ActionClass, DefaultInstruction, Effect, PartPlace, Trait, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Takes a part off.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn, Trait::TakesTools, Trait::OpensJoint],
    effect: Effect::Part(|state, action| {
        state.set_place(PartPlace::Off, action);
        state.removed_at = Some(action.moment.index);
        state.stage = 0;
    }),
    inverse: Some(Verb::Fit),
    instruction: DefaultInstruction::OfPart(|part, _| match (part.is_fastener(), part.count) {
        (false, _) => "do-remove",
        (true, 0 | 1) => "do-undo",
        (true, _) => "do-undo-several",
    }),
    ..VerbSpec::BASE
};
