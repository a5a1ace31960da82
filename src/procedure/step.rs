//! Reads a step and the marks at its end.

use super::caution::cautions_of;
use super::names::Directory;
use super::{Step, rules};
use crate::finding::{Finding, Findings, Located, Span, nearest};
use crate::prose::{self, ActionLink, Image, Inline, Item, ProseBlock, Verb};

/// Reads an item of a numbered list.
pub(super) fn read_step(item: Item, directory: &Directory<'_>, findings: &mut Findings) -> Step {
    let span = item.span;
    let mut step = Step {
        id: None,
        if_fitted: false,
        only: None,
        done: Vec::new(),
        waivers: Vec::new(),
        cautions: Vec::new(),
        text: Vec::new(),
        notes: Vec::new(),
        figures: Vec::new(),
        span,
    };
    let mut paragraphs: Vec<Vec<Inline>> = Vec::new();
    for block in item.blocks {
        gather(block, &mut paragraphs, &mut step, findings);
    }
    let mut is_first = true;
    let mut kept = Vec::new();
    for mut inlines in paragraphs {
        step.figures.extend(take_figures(&mut inlines));
        // A caution inside the text is printed above the step.
        step.cautions.extend(take_cautions(&mut inlines));
        if std::mem::take(&mut is_first) {
            take_marks(&mut inlines, &mut step, directory, findings);
        }
        trim(&mut inlines);
        report_misplaced_marks(&inlines, span, findings);
        if !inlines.is_empty() {
            kept.push(inlines);
        }
    }
    let mut kept = kept.into_iter();
    step.text = kept.next().unwrap_or_default();
    step.notes = kept.collect();
    if step.text.is_empty() {
        findings.push(
            Finding::new(&rules::EMPTY_STEP, "a step says nothing")
                .primary(span, "")
                .help("say what is done, or take the number out"),
        );
    }
    step
}

/// Reports marks that are not at the end of the first paragraph. They would be printed and have no effect.
fn report_misplaced_marks(inlines: &[Inline], span: Span, findings: &mut Findings) {
    if !has_brace(inlines) {
        return;
    }
    let text = prose::plain(inlines);
    for mark in ["{#", "{if-fitted", "{only", "{waive"] {
        if text.contains(mark) {
            findings.push(
                Finding::new(
                    &rules::UNKNOWN_MARK,
                    format!("`{mark}…` does not stand at the end of the step's first paragraph"),
                )
                .primary(span, "")
                .help("move it there, with nothing behind it"),
            );
        }
    }
}

/// Whether text has a brace. This check is cheap, and most text has none.
fn has_brace(inlines: &[Inline]) -> bool {
    inlines.iter().any(|inline| match inline {
        Inline::Text(text) | Inline::Code(text) => text.contains('{'),
        Inline::Strong(parts)
        | Inline::Emphasis(parts)
        | Inline::Link(_, parts)
        | Inline::Action(_, parts) => has_brace(parts),
        Inline::Image(image) => image.alt.contains('{'),
        Inline::Break => false,
    })
}

/// Collects the paragraphs of a block into `paragraphs`, and its cautions into `step`.
fn gather(
    block: ProseBlock,
    paragraphs: &mut Vec<Vec<Inline>>,
    step: &mut Step,
    findings: &mut Findings,
) {
    match block {
        ProseBlock::Paragraph(inlines, _) => paragraphs.push(inlines),
        ProseBlock::List(list) => {
            for item in list.items {
                for block in item.blocks {
                    gather(block, paragraphs, step, findings);
                }
            }
        }
        ProseBlock::Quote(blocks, span) => {
            step.cautions.extend(cautions_of(&blocks, span, findings));
        }
        ProseBlock::Heading(heading) => findings.push(
            Finding::new(&rules::HEADING_LEVEL, "a heading stands inside a step")
                .primary(heading.span, ""),
        ),
    }
}

/// Removes the images from text, at any depth, and returns them.
pub(super) fn take_figures(inlines: &mut Vec<Inline>) -> Vec<Image> {
    let mut figures = Vec::new();
    take(inlines, &mut |inline| match inline {
        Inline::Image(image) => {
            figures.push((**image).clone());
            true
        }
        _ => false,
    });
    figures
}

fn take_cautions(inlines: &mut Vec<Inline>) -> Vec<ActionLink> {
    let mut cautions = Vec::new();
    take(inlines, &mut |inline| match inline {
        Inline::Action(action, _) if action.verb == Verb::Caution => {
            cautions.push((**action).clone());
            true
        }
        _ => false,
    });
    cautions
}

/// Removes the inlines that `is_selected` selects, and the parents that this sheets empty.
fn take(inlines: &mut Vec<Inline>, is_selected: &mut dyn FnMut(&Inline) -> bool) {
    inlines.retain_mut(|inline| {
        if is_selected(inline) {
            return false;
        }
        match inline {
            Inline::Strong(parts) | Inline::Emphasis(parts) | Inline::Link(_, parts) => {
                let was_empty = parts.is_empty();
                take(parts, is_selected);
                was_empty || !parts.is_empty()
            }
            Inline::Action(_, parts) => {
                take(parts, is_selected);
                true
            }
            _ => true,
        }
    });
}

/// Removes white space and breaks at both ends.
fn trim(inlines: &mut Vec<Inline>) {
    while let Some(last) = inlines.last_mut() {
        match last {
            Inline::Text(text) => {
                text.truncate(text.trim_end().len());
                if !text.is_empty() {
                    break;
                }
            }
            Inline::Break => {}
            _ => break,
        }
        inlines.pop();
    }
    while let Some(first) = inlines.first_mut() {
        match first {
            Inline::Text(text) => {
                let spaces = text.len() - text.trim_start().len();
                text.drain(..spaces);
                if !text.is_empty() {
                    break;
                }
            }
            Inline::Break => {}
            _ => break,
        }
        inlines.remove(0);
    }
}

/// Removes the marks at the end of a paragraph and reads them: `{#nuts-off}`, `{if-fitted}`, `{only="a b"}`.
fn take_marks(
    inlines: &mut [Inline],
    step: &mut Step,
    directory: &Directory<'_>,
    findings: &mut Findings,
) {
    let Some(Inline::Text(text)) = inlines.last_mut() else {
        return;
    };
    while let Some(body) = text.trim_end().strip_suffix('}') {
        let Some(open) = body.rfind('{') else {
            return;
        };
        let marks = body[open + 1..].to_owned();
        text.truncate(open);
        read_marks(&marks, step, directory, findings);
    }
}

fn read_marks(marks: &str, step: &mut Step, directory: &Directory<'_>, findings: &mut Findings) {
    let mut rest = marks.trim();
    while !rest.is_empty() {
        let (mark, value, after) = next_mark(rest);
        rest = after.trim_start();
        // The parser joins text, so the span of the mark is not known.
        let span: Span = step.span;
        match (mark, value) {
            (mark, None) if mark.starts_with('#') && step.id.is_none() => {
                step.id = Some(Located {
                    value: mark[1..].to_owned(),
                    span,
                });
            }
            ("if-fitted", None) => step.if_fitted = true,
            ("only", Some(ids)) if !ids.trim().is_empty() => {
                let names = ids.split_whitespace().map(|id| Located {
                    value: id.to_owned(),
                    span,
                });
                let names: Vec<Located<String>> = names.collect();
                step.only = Some(directory.only_machines(&names, findings));
            }
            ("waive", Some(text)) => match text.split_once(':') {
                Some((rule, reason)) if !reason.trim().is_empty() => {
                    let (rule, reason) = (rule.trim().to_owned(), reason.trim().to_owned());
                    step.waivers.push((rule, reason));
                }
                _ => findings.push(
                    Finding::new(&rules::UNKNOWN_MARK, "a waiver has no reason")
                        .primary(span, "")
                        .help("name the rule and say why: `{waive=\"part-left-off: dries overnight\"}`"),
                ),
            },
            ("only", _) => findings.push(
                Finding::new(&rules::UNKNOWN_MARK, "`{only}` names no machine")
                    .primary(span, "")
                    .help("name them in quotes: `{only=\"tarn-t7 tarn-p50\"}`"),
            ),
            (mark, None) if mark.starts_with('#') => findings.push(
                Finding::new(&rules::UNKNOWN_MARK, "a step has two ids")
                    .primary(span, "")
                    .help("keep one"),
            ),
            (other, _) => findings.push(
                Finding::new(
                    &rules::UNKNOWN_MARK,
                    format!("`{{{other}}}` is not a mark of a step"),
                )
                .primary(span, "")
                .suggest(nearest(other, ["if-fitted", "only", "waive"])),
            ),
        }
    }
}

/// A mark, its quoted value if it has one, and the rest of the text.
fn next_mark(text: &str) -> (&str, Option<&str>, &str) {
    let end = text.find([' ', '=']).unwrap_or(text.len());
    let (mark, rest) = text.split_at(end);
    let Some(quoted) = rest.strip_prefix("=\"") else {
        // A value without quotes belongs to an unknown mark.
        let end = rest.find(' ').unwrap_or(rest.len());
        return (mark, None, &rest[end..]);
    };
    match quoted.split_once('"') {
        Some((value, after)) => (mark, Some(value), after),
        None => (mark, Some(quoted), ""),
    }
}

impl Step {
    /// The step's text and notes, in reading order.
    pub(crate) fn paragraphs(&self) -> impl Iterator<Item = &[Inline]> {
        std::iter::once(self.text.as_slice()).chain(self.notes.iter().map(Vec::as_slice))
    }

    /// Every action in the text and the notes. The cautions above the step are not included.
    pub(crate) fn actions(&self) -> impl Iterator<Item = &ActionLink> {
        self.paragraphs().flat_map(prose::actions)
    }
}
