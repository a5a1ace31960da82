//! `clean`: cleans a part.

use super::{ActionClass, DefaultInstruction, Effect, Trait, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Cleans a part.",
    class: ActionClass::Work,
    traits: &[Trait::PutsHandsIn],
    effect: Effect::Part(|state, action| {
        state.cleaned = Some(action.moment);
        // Dirt hides cracks, so an inspection before the cleaning does not count.
        if action.part.clean {
            state.inspected = None;
            state.measured_from = Some(action.moment.index);
        }
    }),
    instruction: DefaultInstruction::Words("do-clean"),
    ..VerbSpec::BASE
};
