//! Where a thing is used.

use super::Site;
use crate::page::{JobId, LinkTarget, PageId, TextRun};
use crate::sheet::Use;
use std::collections::BTreeMap;

/// Where a thing is used, each procedure with its steps: on many, how many there are, and where the
/// whole list is.
pub(super) fn used_in(site: &Site<'_, '_>, found: Option<&Use<'_>>) -> Vec<TextRun> {
    /// A list that is longer is no longer read, and there may be thousands.
    const MOST: usize = 40;
    let words = &site.output.edition.words;
    let Some(found) = found else {
        return vec![TextRun::text("–")];
    };
    let mut by_procedure: BTreeMap<&str, Vec<(&str, &[u32])>> = BTreeMap::new();
    for ((procedure, machine), steps) in &found.places {
        let places = by_procedure.entry(procedure).or_default();
        places.push((machine, steps));
    }
    if by_procedure.len() > MOST {
        let count = by_procedure.len().to_string();
        let text = TextRun::text(words.say("in-procedures", &[("count", &count)]));
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
            .map_or(procedure, |at| &site.jobs[at].procedure.title.value);
        let (machine, steps) = places[0];
        // On another machine the numbers are others: there the link leads to the procedure.
        let is_one = found.machine.is_some() || places.len() == 1;
        let job = JobId::new(machine, procedure);
        let target = match steps.first() {
            _ if !is_one => LinkTarget::procedure(procedure),
            Some(step) => LinkTarget::Step { job, step: *step },
            None => LinkTarget::Job(job),
        };
        runs.push(TextRun::link(target, vec![TextRun::text(title)]));
        if is_one && !steps.is_empty() {
            let numbers: Vec<String> = steps.iter().map(u32::to_string).collect();
            let (key, numbers) = match numbers.as_slice() {
                [one] => ("step", one.clone()),
                several => ("steps-numbered", words.list(several)),
            };
            let steps = words.say(key, &[("number", &numbers)]);
            // A number is one machine's: where the reader has not chosen it, it is named.
            let name = site.shop.machines.get(machine);
            let name = name.filter(|_| found.machine.is_none());
            let of = name.map(|name| format!(", {}", name.name.value));
            runs.push(TextRun::text(format!(
                " ({steps}{})",
                of.unwrap_or_default()
            )));
        }
    }
    runs
}
