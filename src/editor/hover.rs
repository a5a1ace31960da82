//! What is under the pointer: an action with its values and the machine's state before it, a value in other units, a
//! heading with the steps that are written for it, or a name.

use super::client::Client;
use super::describe::{Describer, Description, escaped};
use super::encoding::Lines;
use super::jobs::{grouped, machines, names_of, with_jobs};
use super::name::{NameKind, Scope, has_thing};
use super::names::{name_at, written};
use super::place::Place;
use crate::Sources;
use crate::finding::Span;
use crate::job::Job;
use crate::page::{Detail, SafetyMessage};
use crate::procedure::{Procedure, Section, Step};
use crate::prose::{ActionLink, Verb};
use crate::quantity::{Limits, Quantity, UnitOrder, find};
use crate::rehearsal;
use crate::sheet::JobDocument;
use crate::shop::Machine;
use crate::tree::Source;
use lsp_types::{Hover, HoverContents, HoverParams, MarkupContent, MarkupKind};
use std::fmt::Write as _;

/// The most machines whose differences are shown.
const MOST_MACHINES: usize = 4;

/// The most steps of a derived section that are shown.
const MOST_STEPS: usize = 60;

pub(super) fn hover(client: &Client, parameters: &HoverParams) -> Option<Hover> {
    let place = Place::find(client, &parameters.text_document_position_params)?;
    let (sources, file) = place.opened.get()?;
    let (span, text) = text_at(sources, file, place.offset)?;
    let lines = Lines::of(&file.text, place.opened.encoding);
    Some(Hover {
        contents: HoverContents::Markup(MarkupContent {
            kind: MarkupKind::Markdown,
            value: text,
        }),
        range: Some(lines.range(span.range())),
    })
}

fn text_at(sources: &Sources, file: &Source, offset: usize) -> Option<(Span, String)> {
    let contains = |span: Span| span.start() <= offset && offset < span.end();
    if let Some(procedure) = written(sources, file.id) {
        for step in procedure.steps() {
            let links = step.actions().chain(&step.cautions);
            let link = links.into_iter().find(|link| contains(link.span));
            if let Some(link) = link.filter(|link| link.verb != Verb::See) {
                return Some((link.span, of_action(sources, procedure, step, link)));
            }
        }
        let mut sections = procedure.sections.iter();
        if let Some(section) = sections.find(|section| section.reverse && contains(section.span)) {
            return Some((section.span, of_derived(sources, procedure, section)?));
        }
    }
    let value = value_at(sources, file, offset);
    value.or_else(|| of_name(sources, file, offset))
}

/// A name: of a record, a machine or a procedure.
fn of_name(sources: &Sources, file: &Source, offset: usize) -> Option<(Span, String)> {
    let name = name_at(sources, file, offset)?;
    let describer = Describer::new(sources);
    let machines: Vec<&Machine> = match &name.scope {
        Scope::Machines(ids) => ids.iter().map(|id| &sources.shop.machines[*id]).collect(),
        _ => Vec::new(),
    };
    let text = if machines.is_empty() {
        describer.describe(name.kind, &name.key, None)?.markdown()
    } else {
        let texts_of = machines.iter().filter_map(|machine| {
            let description = describer.describe(name.kind, &name.key, Some(machine))?;
            Some((*machine, description))
        });
        on_machines(&grouped(texts_of), Description::markdown)
    };
    Some((name.span, text))
}

/// Texts that differ between machines, each under the machines' names.
fn on_machines<T>(groups: &[(Vec<&Machine>, T)], text: impl Fn(&T) -> String) -> String {
    let is_same = groups.len() == 1;
    let texts = groups.iter().take(MOST_MACHINES).map(|(machines, value)| {
        let text = text(value);
        if is_same {
            text
        } else {
            format!("*{}*\n\n{text}", escaped(&names_of(machines)))
        }
    });
    texts.collect::<Vec<_>>().join("\n\n---\n\n")
}

/// An action: what its thing is, the step with its details, and the machine's state before it.
fn of_action(sources: &Sources, procedure: &Procedure, step: &Step, link: &ActionLink) -> String {
    let describer = Describer::new(sources);
    let kind = link.verb.takes();
    let key = kind.key_in(&link.thing.value);
    let on = machines(sources, procedure, |machine| {
        step.is_for(machine.index) && has_thing(&sources.shop, machine, kind, key)
    });
    let heading = format!("`{}:` {}", link.verb.word(), link.verb.spec().reference);
    let steps = with_jobs(sources, procedure, &on, |job| {
        of_step(job, link.span, &describer)
    });
    let texts_of = on.iter().enumerate().filter_map(|(index, machine)| {
        let description = describer.describe(NameKind::Thing(kind), key, Some(machine));
        let step = steps.get(index).cloned().flatten();
        let mut texts: Vec<String> = description.iter().map(Description::markdown).collect();
        texts.extend(step);
        (!texts.is_empty()).then(|| (*machine, texts.join("\n\n")))
    });
    let groups = grouped(texts_of);
    if groups.is_empty() {
        return heading;
    }
    let texts = on_machines(&groups, Clone::clone);
    format!(
        "{heading}

{texts}"
    )
}

/// A step of a job, found by one of its actions, as it is printed; and the machine's state before that action.
fn of_step(job: &Job<'_>, action: Span, describer: &Describer<'_>) -> Option<String> {
    let mut before = None;
    let rehearsal = rehearsal::rehearse(job, |scene| {
        if before.is_none() && scene.action.span == action {
            before = Some((scene.step.number, scene.before.differences()));
        }
    });
    // Cautions are no actions. Their step has others.
    let of_caution = || {
        let mut steps = job.steps();
        let step = steps.find(|step| step.span.contains(action))?;
        Some((step.number, Vec::new()))
    };
    let is_rehearsed = before.is_some();
    let (number, differences) = before.or_else(of_caution)?;
    let mut faults = describer.sources.faults.iter();
    let is_fault = faults.any(|fault| fault.file == job.procedure.file);
    let mut text = format!("{} {number}", if is_fault { "Cause" } else { "Step" });
    if !is_fault {
        let document = JobDocument::new(job, &rehearsal, &describer.output);
        let (messages, details) = document.step(number)?;
        for detail in details {
            let _ = write!(text, "\n- {}", escaped(&detail_text(detail)));
        }
        for message in messages {
            let _ = write!(text, "\n- {}", message_text(message));
        }
    }
    if is_rehearsed {
        let changes = differences
            .iter()
            .map(|change| format!("`{}` {}", change.key, change.how));
        let changes: Vec<String> = changes.collect();
        let state = if changes.is_empty() {
            "all as found".to_owned()
        } else {
            changes.join("; ")
        };
        let _ = write!(text, "\n\nBefore this step: {state}");
    }
    Some(text)
}

fn detail_text(detail: &Detail) -> String {
    let value = detail.value.iter().map(|value| {
        let second = value.second.as_ref().map(|second| format!(" ({second})"));
        format!("{}{}", value.first, second.unwrap_or_default())
    });
    let facts: Vec<String> = value.chain(detail.more.iter().cloned()).collect();
    format!("{}: {}", detail.label, facts.join(", "))
}

fn message_text(message: &SafetyMessage) -> String {
    format!(
        "**{}** {}. {}",
        super::describe::signal_word(message.word),
        escaped(message.hazard.trim_end_matches('.')),
        escaped(&message.reminder)
    )
}

/// A section whose steps are derived: the steps, with their numbers on the sheet.
fn of_derived(sources: &Sources, procedure: &Procedure, section: &Section) -> Option<String> {
    let describer = Describer::new(sources);
    let on = machines(sources, procedure, |_| true);
    let lists = with_jobs(sources, procedure, &on, |job| {
        let rehearsal = rehearsal::rehearse(job, |_| {});
        let document = JobDocument::new(job, &rehearsal, &describer.output);
        let derived = job.sections.iter();
        let derived =
            derived.filter(|section_of_job| section_of_job.derived_at == Some(section.span));
        let numbers: Vec<u32> = derived
            .flat_map(|section| section.steps())
            .map(|step| step.number)
            .collect();
        let texts = document
            .step_texts()
            .filter(|(number, _)| numbers.contains(number));
        let lines = texts
            .take(MOST_STEPS)
            .map(|(number, text)| format!("{number}. {}", escaped(&text)));
        lines.collect::<Vec<_>>().join("\n")
    });
    if lists.is_empty() {
        return None;
    }
    let groups = grouped(on.into_iter().zip(lists));
    Some(format!(
        "The steps of this section:\n\n{}",
        on_machines(&groups, Clone::clone)
    ))
}

/// A value in the text: its window, and its other units.
fn value_at(sources: &Sources, file: &Source, offset: usize) -> Option<(Span, String)> {
    let start = file.text[..offset].rfind('\n').map_or(0, |end| end + 1);
    let end = file.text[offset..]
        .find('\n')
        .map_or(file.text.len(), |end| offset + end);
    let values = find(&file.text[start..end], sources.shop.gallons).found;
    let at = offset - start;
    let value = values
        .into_iter()
        .find(|value| value.range.start <= at && at <= value.range.end)?;
    let span = file.span(start + value.range.start..start + value.range.end);
    Some((span, in_all_units(sources, &value.limits)))
}

fn in_all_units(sources: &Sources, limits: &Limits) -> String {
    let mut lines = vec![format!("**{}**", limits.text())];
    if let (Some(lower), Some(upper)) = (limits.lower(), limits.upper()) {
        if lower != upper {
            lines.push(format!("- window: {} to {}", lower.text(), upper.text()));
        }
    } else {
        let bound = |label: &str, value: Option<Quantity>| {
            value.map(|value| format!("- {label} {}", value.text()))
        };
        lines.extend(bound("at least", limits.lower()));
        lines.extend(bound("at most", limits.upper()));
    }
    let own = UnitOrder::default();
    let units = sources.shop.units.units(limits.kind()).iter();
    let mut seen = vec![limits.unit()];
    for unit in units.chain(own.units(limits.kind())) {
        if !seen.contains(unit) {
            seen.push(*unit);
            lines.extend(limits.text_in(*unit).map(|text| format!("- {text}")));
        }
    }
    lines.join("\n")
}
