//! The text that says where a thing is used.

use super::Site;
use crate::page::{JobId, LinkTarget, PageId, TextRun};
use crate::sheet::Use;
use crate::words::Words;
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
        let target = if is_one_machine {
            LinkTarget::Job(job.clone())
        } else {
            LinkTarget::procedure(procedure)
        };
        runs.push(TextRun::link(target, vec![TextRun::text(title)]));
        if is_one_machine && !steps.is_empty() {
            runs.push(TextRun::text(" ("));
            runs.extend(step_links(words, &job, steps));
            // Step numbers belong to one machine. Name it, unless the thing belongs to a machine
            // anyway.
            let name = site.shop.machines.get(machine);
            let name = name.filter(|_| usage.machine.is_none());
            let machine_name = name.map(|name| format!(", {}", name.name.value));
            runs.push(TextRun::text(format!(
                "{})",
                machine_name.unwrap_or_default()
            )));
        }
    }
    runs
}

/// "steps 4, 5 and 9", with a link for each number.
fn step_links(words: &Words, job: &JobId, steps: &[u32]) -> Vec<TextRun> {
    let numbers: Vec<String> = steps.iter().map(u32::to_string).collect();
    let (key, numbers) = match numbers.as_slice() {
        [number] => ("step", number.clone()),
        numbers => ("steps-numbered", words.list(numbers)),
    };
    let text = words.format(key, &[("number", &numbers)]);
    let is_digit = |letter: char| letter.is_ascii_digit();
    let mut steps = steps.iter();
    let mut runs = Vec::new();
    let mut rest = text.as_str();
    while let Some((before, after)) = rest.find(is_digit).map(|at| rest.split_at(at)) {
        let end = after
            .find(|letter| !is_digit(letter))
            .unwrap_or(after.len());
        let (number, after) = after.split_at(end);
        if !before.is_empty() {
            runs.push(TextRun::text(before));
        }
        let number = TextRun::text(number);
        runs.push(match steps.next() {
            Some(step) => {
                let (job, step) = (job.clone(), *step);
                TextRun::link(LinkTarget::Step { job, step }, vec![number])
            }
            None => number,
        });
        rest = after;
    }
    if !rest.is_empty() {
        runs.push(TextRun::text(rest));
    }
    runs
}
