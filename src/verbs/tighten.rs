//! `tighten`: tightens a fastener to its torque, or to a stage.

use super::{ActionClass, DefaultInstruction, Effect, PartPlace, Qualifier, Trait, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Brings a fastener to its torque, by its stages and pattern.",
    class: ActionClass::Work,
    traits: &[
        Trait::PutsHandsIn,
        Trait::TakesTools,
        Trait::MovesLockedSetting,
        Trait::SignedFor,
    ],
    effect: Effect::Part(|state, action| {
        if state.place == PartPlace::Off {
            return;
        }
        let last = action.part.stages.len();
        let stage = action.stage.unwrap_or(last);
        let place = if stage == last {
            PartPlace::On
        } else {
            PartPlace::Loose
        };
        state.set_place(place, action);
        state.stage = stage;
    }),
    inverse: Some(Verb::Slacken),
    instruction: DefaultInstruction::OfPart(|part, stage| match stage {
        // A clip is pushed home, not turned.
        _ if !part.is_fastener() => "do-push-home",
        Some(_) => "do-tighten-stage",
        None => "do-tighten",
    }),
    qualifier: Qualifier::Stage,
};
