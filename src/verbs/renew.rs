//! `renew`: puts a new part on.

use super::{ActionClass, DefaultInstruction, Effect, PartState, Qualifier, Trait, Verb, VerbSpec};

pub(super) const VERB: VerbSpec = VerbSpec {
    reference: "Puts a new part on, and the part on the kit list.",
    class: ActionClass::Work,
    traits: &[
        Trait::PutsHandsIn,
        Trait::TakesTools,
        Trait::OpensJoint,
        Trait::SignedFor,
    ],
    effect: Effect::Part(PartState::fit),
    inverse: Some(Verb::Remove),
    instruction: DefaultInstruction::OfPart(|part, _| {
        if part.count > 1 {
            "do-renew-several"
        } else {
            "do-renew"
        }
    }),
    qualifier: Qualifier::Position,
};
