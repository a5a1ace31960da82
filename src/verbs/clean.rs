//! `clean`: a part is cleaned.

use super::{ActionClass, DefaultInstruction, Effect, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Cleans a part.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn],
    effect: Effect::Part(|state, action| {
        state.cleaned = Some(action.at);
        // A crack can't be seen under dirt: a part that is cleaned is inspected after that.
        state.inspected = state.inspected.filter(|_| !action.part.clean);
    }),
    instruction: DefaultInstruction::Words("do-clean"),
    ..VerbSpec::BASE
};
