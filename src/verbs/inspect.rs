//! `inspect`: inspects a part.

use super::{ActionClass, DefaultInstruction, Effect, PartPlace, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Looks at a part against its limits, and at its joint for leaks.",
    class: ActionClass::Look,
    traits: &[Trait::PutsHandsIn, Trait::InFaultTable],
    effect: Effect::Part(|state, action| {
        if action.shows_leak || state.place == PartPlace::Off {
            state.leak_check_due = None;
        }
        state.inspected = Some(action.moment);
    }),
    instruction: DefaultInstruction::Words("do-inspect"),
    ..VerbSpec::BASE
};
