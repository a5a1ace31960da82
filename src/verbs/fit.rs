//! `fit`: puts a part back on.

use super::{ActionClass, DefaultInstruction, Effect, PartPlace, Qualifier, Trait, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Puts a part back. A fastener is only started: `tighten` brings it to its torque.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn, Trait::TakesTools, Trait::SignedFor],
    effect: Effect::Part(|state, action| {
        // A part that is on can't be fitted again.
        if state.place == PartPlace::Off {
            state.fit(action);
        }
    }),
    inverse: Some(Verb::Remove),
    instruction: DefaultInstruction::OfPart(|part, _| {
        if part.is_fastener() {
            "do-start-by-hand"
        } else {
            "do-fit"
        }
    }),
    qualifier: Qualifier::Position,
};
