//! Reads a step and the marks at its end.

use super::inlines::{take, trim};
use super::names::Directory;
use super::quote::read_quote;
use super::stray::report_misplaced_marks;
use super::{Step, rules};
use crate::finding::{Finding, Findings, Located, Span, nearest};
use crate::prose::{self, ActionLink, Inline, Item, ProseBlock, Verb};

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
        above: Vec::new(),
        text: Vec::new(),
        notes: Vec::new(),
        figures: Vec::new(),
        span,
    };
    let mut reader = StepReader {
        step: &mut step,
        directory,
        has_begun: false,
        in_text: Vec::new(),
    };
    for block in item.blocks {
        reader.block(block, findings);
    }
    let in_text = reader.in_text;
    step.cautions.extend(in_text);
    if step.text.is_empty() {
        findings.push(
            Finding::new(&rules::EMPTY_STEP, "a step has no text")
                .primary(span, "")
                .help("say what is done, or remove the number"),
        );
    }
    step
}

/// Reads the blocks of a step, one after another.
struct StepReader<'s, 'd> {
    step: &'s mut Step,
    directory: &'s Directory<'d>,
    /// Whether a paragraph was read. Only the first can end in marks.
    has_begun: bool,
    /// The cautions inside the text. They are printed above the step, after those that stand there.
    in_text: Vec<ActionLink>,
}

impl StepReader<'_, '_> {
    fn block(&mut self, block: ProseBlock, findings: &mut Findings) {
        match block {
            ProseBlock::Paragraph(inlines, _) => self.paragraph(inlines, findings),
            ProseBlock::List(list) => {
                if let Some(item) = list.items.first().filter(|_| list.numbered) {
                    findings.push(
                        Finding::new(
                            &prose::UNSUPPORTED_MARKDOWN,
                            "a numbered list inside a step is not supported",
                        )
                        .primary(item.span, "")
                        .help(
                            "begin its lines with `-`, or without indentation to make them steps of their own",
                        ),
                    );
                }
                for block in list.items.into_iter().flat_map(|item| item.blocks) {
                    self.block(block, findings);
                }
            }
            ProseBlock::Quote(blocks, span) => {
                let quote = read_quote(blocks, span, findings);
                self.step.cautions.extend(quote.cautions);
                self.step.above.extend(quote.notes);
            }
            ProseBlock::Heading(heading) => findings.push(
                Finding::new(&rules::WRONG_HEADING_LEVEL, "a heading is inside a step")
                    .primary(heading.span, "")
                    .help("put it at the start of its line, after the list"),
            ),
            // Quotes become notes only here.
            ProseBlock::Note(note) => self.step.above.push(note),
        }
    }

    fn paragraph(&mut self, mut inlines: Vec<Inline>, findings: &mut Findings) {
        take(&mut inlines, &mut |inline| match inline {
            Inline::Image(image) => {
                self.step.figures.push((**image).clone());
                true
            }
            Inline::Action(action, _) if action.verb == Verb::Caution => {
                self.in_text.push((**action).clone());
                true
            }
            _ => false,
        });
        if !std::mem::replace(&mut self.has_begun, true) {
            take_marks(&mut inlines, self.step, self.directory, findings);
        }
        trim(&mut inlines);
        report_misplaced_marks(&inlines, self.step.span, findings);
        if inlines.is_empty() {
            return;
        }
        if self.step.text.is_empty() {
            self.step.text = inlines;
        } else {
            self.step.notes.push(inlines);
        }
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
                    .help("name them in quotes: `{only=\"tarn-yarrow tarn-sedge\"}`"),
            ),
            (mark, None) if mark.starts_with('#') => findings.push(
                Finding::new(&rules::UNKNOWN_MARK, "a step has two ids")
                    .primary(span, "")
                    .help("keep one"),
            ),
            // It is reported where the text is read.
            (other, _) if prose::is_action(other) => {}
            (other, _) => {
                let near = nearest(other, ["if-fitted", "only", "waive"]);
                let finding = Finding::new(
                    &rules::UNKNOWN_MARK,
                    format!("`{{{other}}}` is not a mark of a step"),
                )
                .primary(span, "")
                .suggest(
                    near,
                    "the marks of a step are `{#id}`, `{if-fitted}`, `{only=\"…\"}` and `{waive=\"…\"}`",
                );
                findings.push(match near {
                    Some(near) if near.is_certain => finding.propose_text(format!("{{{other}"), format!("{{{near}")),
                    _ => finding,
                });
            }
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

    /// The paragraphs of the notes above the step.
    pub(crate) fn note_paragraphs(&self) -> impl Iterator<Item = &[Inline]> {
        let paragraphs = self.above.iter().flat_map(|note| &note.paragraphs);
        paragraphs.map(Vec::as_slice)
    }

    /// Every action in the text and the notes. The cautions above the step are not included.
    pub(crate) fn actions(&self) -> impl Iterator<Item = &ActionLink> {
        self.paragraphs().flat_map(prose::actions)
    }
}
