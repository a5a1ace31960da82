//! `slacken`: loosens a part, which stays on.

use super::{ActionClass, DefaultInstruction, Effect, PartPlace, Trait, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Loosens a part that stays on.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn, Trait::TakesTools, Trait::OpensJoint],
    effect: Effect::Part(|state, action| {
        // A part that is off stays off.
        if state.place != PartPlace::Off {
            state.set_place(PartPlace::Loose, action);
        }
        state.stage = 0;
    }),
    inverse: Some(Verb::Tighten),
    instruction: DefaultInstruction::Words("do-slacken"),
    ..VerbSpec::BASE
};
