//! Hints in the text: the numbers of steps as they are printed, and what links without text stand for.

use super::client::Client;
use super::describe::Describer;
use super::encoding::Lines;
use super::jobs::{machines, with_jobs};
use super::name::{NameKind, has_thing};
use super::names::written;
use super::place::Opened;
use crate::finding::Span;
use crate::procedure::{Procedure, Step};
use crate::prose::{ActionLink, Inline};
use lsp_types::{InlayHint, InlayHintLabel, InlayHintParams};
use std::collections::BTreeMap;

/// The most letters of a hint. It must not push the text off the screen.
const MOST_LETTERS: usize = 60;

pub(super) fn inlay_hints(client: &Client, parameters: &InlayHintParams) -> Option<Vec<InlayHint>> {
    let opened = Opened::find(client, &parameters.text_document.uri)?;
    let (sources, file) = opened.get()?;
    let procedure = written(sources, file.id)?;
    let lines = Lines::of(&file.text, opened.encoding);
    let range = lines.offsets(parameters.range);
    let is_shown = |span: Span| span.start() <= range.end && range.start <= span.end();
    let describer = Describer::new(sources);
    let numbers = numbers(sources, procedure);
    let mut hints = Vec::new();
    for step in procedure.steps().filter(|step| is_shown(step.span)) {
        if let Some(numbers) = numbers.get(&step.span) {
            let indent = sources.tree.text(step.span);
            let indent = indent.len() - indent.trim_start().len();
            let at = lines.position(step.span.start() + indent);
            hints.push(hint(at, numbers.join(" / "), true));
        }
        let empty = empty_links(&step.text).into_iter();
        let empty = empty.chain(step.notes.iter().flat_map(|note| empty_links(note)));
        for link in empty.filter(|link| is_shown(link.span)) {
            let values = values(&describer, procedure, step, link);
            if !values.is_empty() {
                hints.push(hint(
                    lines.position(link.span.end()),
                    values.join(" / "),
                    false,
                ));
            }
        }
    }
    Some(hints)
}

fn hint(position: lsp_types::Position, text: String, is_before: bool) -> InlayHint {
    let short: String = text.chars().take(MOST_LETTERS).collect();
    let label = if short == text {
        text
    } else {
        format!("{short}…")
    };
    InlayHint {
        position,
        label: InlayHintLabel::String(label),
        kind: None,
        text_edits: None,
        tooltip: None,
        padding_left: Some(!is_before),
        padding_right: Some(is_before),
        data: None,
    }
}

/// The numbers of each step in the jobs of its procedure, each once. A job of another procedure may include the step under
/// another number.
fn numbers(sources: &crate::Sources, procedure: &Procedure) -> BTreeMap<Span, Vec<String>> {
    let on = machines(sources, procedure, |_| true);
    let mut numbers: BTreeMap<Span, Vec<String>> = BTreeMap::new();
    let of_jobs = with_jobs(sources, procedure, &on, |job| {
        let steps = job.steps().filter(|step| !step.is_derived);
        let own = steps.filter(|step| step.origin.file == procedure.file);
        own.map(|step| (step.span, step.number.to_string()))
            .collect::<Vec<_>>()
    });
    for (span, number) in of_jobs.into_iter().flatten() {
        let known = numbers.entry(span).or_default();
        if !known.contains(&number) {
            known.push(number);
        }
    }
    numbers
}

/// The actions without text, at any depth.
fn empty_links(inlines: &[Inline]) -> Vec<&ActionLink> {
    let mut links = Vec::new();
    for inline in inlines {
        match inline {
            Inline::Action(link, parts) if parts.is_empty() => links.push(&**link),
            Inline::Action(_, parts)
            | Inline::Strong(parts)
            | Inline::Emphasis(parts)
            | Inline::Link(_, parts) => links.extend(empty_links(parts)),
            Inline::Text(_) | Inline::Code(_) | Inline::Break | Inline::Image(_) => {}
        }
    }
    links
}

/// What a link stands for on the machines of its step: the name and the first value, each once.
fn values(
    describer: &Describer<'_>,
    procedure: &Procedure,
    step: &Step,
    link: &ActionLink,
) -> Vec<String> {
    let sources = describer.sources;
    let kind = link.verb.takes();
    let key = kind.key_in(&link.thing.value);
    let mut values: Vec<String> = Vec::new();
    let mut add = |description: Option<super::describe::Description>| {
        let Some(description) = description else {
            return;
        };
        let value = match description.facts.first() {
            Some(fact) => format!("{}, {fact}", description.name),
            None => description.name,
        };
        if !values.contains(&value) {
            values.push(value);
        }
    };
    if kind.is_of_machine() {
        let on = machines(sources, procedure, |machine| {
            step.is_for(machine.index) && has_thing(&sources.shop, machine, kind, key)
        });
        for machine in on {
            add(describer.describe(NameKind::Thing(kind), key, Some(machine)));
        }
    } else {
        add(describer.describe(NameKind::Thing(kind), key, None));
    }
    values
}
