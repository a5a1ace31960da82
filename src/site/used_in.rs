//! The text that says where a thing is used.

use super::Site;
use crate::page::{JobId, LinkTarget, PageId, TextRun};
use crate::sheet::Use;
use std::collections::BTreeMap;

/// Links to the procedures that use a thing, with step numbers. Above a limit, only their number,
/// with a link to the where-used sheet.
pub(super) fn used_in(site: &Site<'_, '_>, usage: Option<&Use<'_>>) -> Vec<TextRun> {
    /// Nobody reads a longer list, and a large shop has thousands.
    const MAX_PROCEDURES: usize = 40;
    let words = &site.output.edition.words;
    let Some(usage) = usage else {
        return vec![TextRun::text("–")];
    };
    let mut by_procedure: BTreeMap<&str, Vec<(&str, &[u32])>> = BTreeMap::new();
    for ((procedure, machine), steps) in &usage.places {
        let places = by_procedure.entry(procedure).or_default();
        places.push((machine, steps));
    }
    if by_procedure.len() > MAX_PROCEDURES {
        let count = by_procedure.len().to_string();
        let text = TextRun::text(words.format("in-procedures", &[("count", &count)]));
        return vec![TextRun::link(
            LinkTarget::Page(PageId::WhereUsed),
            vec![text],
        )];
    }
    let mut runs = Vec::new();
    for (procedure, places) in by_procedure {
        if !runs.is_empty() {
            runs.push(TextRun::text("; "));
        }
        let title = site
            .jobs
            .binary_search_by(|job| job.procedure.id.as_str().cmp(procedure))
            .map_or(procedure, |index| &site.jobs[index].procedure.title.value);
        let (machine, steps) = places[0];
        // Step numbers differ between machines. If several machines are possible, link to the
        // procedure.
        let is_one_machine = usage.machine.is_some() || places.len() == 1;
        let job = JobId::new(machine, procedure);
        let target = match steps.first() {
            _ if !is_one_machine => LinkTarget::procedure(procedure),
            Some(step) => LinkTarget::Step { job, step: *step },
            None => LinkTarget::Job(job),
        };
        runs.push(TextRun::link(target, vec![TextRun::text(title)]));
        if is_one_machine && !steps.is_empty() {
            let numbers: Vec<String> = steps.iter().map(u32::to_string).collect();
            let (key, numbers) = match numbers.as_slice() {
                [number] => ("step", number.clone()),
                numbers => ("steps-numbered", words.list(numbers)),
            };
            let steps = words.format(key, &[("number", &numbers)]);
            // Step numbers belong to one machine. Name it, unless the thing belongs to a machine
            // anyway.
            let name = site.shop.machines.get(machine);
            let name = name.filter(|_| usage.machine.is_none());
            let machine_name = name.map(|name| format!(", {}", name.name.value));
            runs.push(TextRun::text(format!(
                " ({steps}{})",
                machine_name.unwrap_or_default()
            )));
        }
    }
    runs
}
