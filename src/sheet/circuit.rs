//! The drawings of the order in which circuits are opened.

use super::writer::Writer;
use crate::drawing::{Removal, Removals, removals};
use crate::job::{self, Thing};
use crate::page::{Drawing, DrawingKind};
use crate::prose::Verb;
use crate::rehearsal::EnergyState;
use crate::shop::{EnergyKind, Part};

impl Writer<'_, '_> {
    /// The order in which leads are taken off, where a step takes off the first of them: with the switches and the energies
    /// as they are before the step.
    pub(super) fn circuit(&self, step: &job::JobStep<'_>) -> Option<Drawing> {
        let mut removed = step.actions.iter().filter_map(|action| match action.thing {
            Thing::Part(part) if action.verb == Verb::Remove => Some(part),
            _ => None,
        });
        let first = removed.find(|part| !part.off_first.is_empty())?;
        let words = self.context.words();
        let state = self.state_before(step.number)?;
        let mut order = Vec::new();
        for control in self.job.machine.controls.values() {
            let position = control.position_name(state.control(control.id).now);
            order.push(shown(&control.name, position.to_owned()));
        }
        for energy in self.job.machine.energies.values() {
            let is_circuit = matches!(
                energy.kind,
                Some(EnergyKind::Electrical | EnergyKind::Ignition)
            );
            let key = match state.energy(energy.id).now {
                EnergyState::Live => "is-live",
                EnergyState::Isolated => "is-isolated-not-proved",
                EnergyState::Proved => "is-isolated-and-proved",
            };
            if is_circuit {
                order.push(shown(&energy.name, words.get(key).to_owned()));
            }
        }
        let after = first.off_first.iter();
        let after = after.map(|part| &self.job.machine.parts[part.value]);
        let leads: Vec<&Part> = [first].into_iter().chain(after).collect();
        for (index, lead) in leads.iter().enumerate() {
            let note = (index == 0).then(|| words.get("first-off").to_owned());
            order.push(Removal {
                name: lead.name.clone(),
                notes: note.into_iter().collect(),
                is_numbered: true,
            });
        }
        let names: Vec<&str> = leads.iter().map(|lead| lead.name.as_str()).collect();
        Some(removals(&Removals {
            kind: DrawingKind::Electrical,
            steps: &order,
            target: None,
            alt: &words.format("electrical-alt", &[("parts", &names.join(", "))]),
        }))
    }
}

/// A switch or an energy, with its state.
fn shown(name: &str, state: String) -> Removal {
    Removal {
        name: name.to_owned(),
        notes: vec![state],
        is_numbered: false,
    }
}
