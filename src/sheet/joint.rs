//! The drawings of joints: the parts on a fastener, and the seal between two parts.

use super::writer::Writer;
use crate::drawing::{Layer, Stack, stack};
use crate::job::{self, Thing};
use crate::page::Drawing;
use crate::prose::Verb;
use crate::shop::{Part, PartId};

/// What puts a part back.
const FITTED: [Verb; 2] = [Verb::Fit, Verb::Renew];

impl Writer<'_, '_> {
    /// The joint that a step begins to put together. `None` if it puts back none, or another part of it was put back
    /// before.
    pub(super) fn joint(&self, step: &job::JobStep<'_>) -> Option<Drawing> {
        let actions = step.actions.iter();
        let mut fitted = actions.filter_map(|action| match action.thing {
            Thing::Part(part) if FITTED.contains(&action.verb) => Some(part),
            _ => None,
        });
        fitted.find_map(|part| self.joint_of(part, step))
    }

    fn joint_of(&self, part: &Part, step: &job::JobStep<'_>) -> Option<Drawing> {
        let parts = &self.job.machine.parts;
        let holders = part.held_by.iter().map(|holder| &parts[holder.value]);
        let mut fasteners = holders.filter(|holder| !holder.stack.is_empty());
        let fastener = fasteners.next();
        let members: Vec<PartId> = if let Some(fastener) = fastener {
            fastener.stack.iter().map(|part| part.value).collect()
        } else {
            let seal = parts.values().find(|seal| {
                seal.seals.len() > 1
                    && (seal.id == part.id
                        || seal.seals.iter().any(|sealed| sealed.value == part.id))
            })?;
            let first = seal.seals[0].value;
            let others = seal.seals[1..].iter().map(|part| part.value);
            [first, seal.id].into_iter().chain(others).collect()
        };
        let is_first = members.iter().all(|member| {
            let mut fitted = self.rehearsal.moves_of(*member, &FITTED);
            fitted.all(|fitted| fitted.moment.step >= step.number || self.is_earlier(fitted.moment))
        });
        is_first.then(|| self.stack(fastener, &members))
    }

    fn stack(&self, fastener: Option<&Part>, members: &[PartId]) -> Drawing {
        let words = self.context.words();
        let layers = members.iter().map(|member| {
            let part = &self.job.machine.parts[*member];
            let clean = (!part.faces.is_empty())
                .then(|| words.format("stack-clean", &[("faces", &words.list(&part.faces))]));
            Layer {
                name: part.name.clone(),
                notes: clean.into_iter().collect(),
                is_seal: part.single_use || !part.seals.is_empty(),
            }
        });
        let layers: Vec<Layer> = layers.collect();
        let names: Vec<String> = layers.iter().map(|layer| layer.name.clone()).collect();
        let fastener = fastener.map(|part| words.counted(&part.name, part.count).into_owned());
        stack(&Stack {
            fastener: fastener.as_deref(),
            layers: &layers,
            alt: &words.format("stack-alt", &[("parts", &names.join(", "))]),
        })
    }
}
