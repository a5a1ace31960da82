//! Reads a step and the marks at its end.

use super::inlines::{take, trim};
use super::names::Directory;
use super::outcome::{MOST_REPEATS, Outcome, Repeat, When};
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
        when: None,
        repeat: None,
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
    let mut looping = LoopMarks::default();
    while let Some(body) = text.trim_end().strip_suffix('}') {
        let Some(open) = body.rfind('{') else {
            break;
        };
        let marks = body[open + 1..].to_owned();
        text.truncate(open);
        read_marks(&marks, step, &mut looping, directory, findings);
    }
    step.repeat = looping.repeat(step.span, findings).map(Box::new);
}

/// The marks of a loop, which are written together.
#[derive(Default)]
struct LoopMarks {
    until: Option<When>,
    back_to: Option<Located<String>>,
    at_most: Option<u32>,
    /// Whether any of them could not be read, which is reported.
    is_broken: bool,
}

impl LoopMarks {
    /// The loop. `None` if a mark is missing or can't be read.
    fn repeat(self, span: Span, findings: &mut Findings) -> Option<Repeat> {
        match self {
            LoopMarks {
                until: Some(until),
                back_to: Some(back_to),
                at_most: Some(at_most),
                is_broken: false,
            } => Some(Repeat {
                until,
                back_to,
                at_most,
            }),
            LoopMarks {
                until: None,
                back_to: None,
                at_most: None,
                ..
            }
            | LoopMarks {
                is_broken: true, ..
            } => None,
            _ => {
                findings.push(
                    Finding::new(&rules::UNKNOWN_MARK, "a mark of a repetition is missing")
                        .primary(span, "")
                        .help(format!(
                            "say until when, back to which step, and how often at most: {LOOP}"
                        )),
                );
                None
            }
        }
    }
}

/// How a loop is written.
const LOOP: &str = "`{until=\"float-height.within\" back-to=\"bend\" at-most=\"3\"}`";

/// Reads an outcome in a mark.
fn read_when(mark: &str, text: &str, span: Span, findings: &mut Findings) -> Option<When> {
    let located = Located {
        value: text.trim().to_owned(),
        span,
    };
    match When::parse(&located) {
        Ok(when) => Some(when),
        Err(message) => {
            let words: Vec<&str> = Outcome::words().collect();
            let (_, word) = text.rsplit_once('.').unwrap_or_default();
            let near = nearest(word, words.iter().copied());
            let otherwise = format!(
                "write a reading or a part, a point and an outcome, such as `{{{mark}=\"float-height.over\"}}`; the outcomes \
                 are `{}`",
                words.join("`, `")
            );
            findings.push(
                Finding::new(&rules::UNKNOWN_MARK, message)
                    .primary(span, "")
                    .suggest(near, &otherwise),
            );
            None
        }
    }
}

fn read_marks(
    marks: &str,
    step: &mut Step,
    looping: &mut LoopMarks,
    directory: &Directory<'_>,
    findings: &mut Findings,
) {
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
            ("if", Some(text)) if step.when.is_none() => {
                step.when = read_when(mark, text, span, findings).map(Box::new);
            }
            ("until", Some(text)) if looping.until.is_none() => {
                looping.until = read_when(mark, text, span, findings);
                looping.is_broken |= looping.until.is_none();
            }
            ("back-to", Some(id)) if !id.trim().is_empty() => {
                looping.back_to = Some(Located {
                    value: id.trim().trim_start_matches('#').to_owned(),
                    span,
                });
            }
            ("at-most", Some(count)) => {
                let count = count.trim().parse().ok();
                looping.at_most = count.filter(|count| (2..=MOST_REPEATS).contains(count));
                if looping.at_most.is_none() {
                    looping.is_broken = true;
                    findings.push(
                        Finding::new(&rules::UNKNOWN_MARK, "`{at-most}` has no number of repetitions")
                            .primary(span, "")
                            .help(format!("write how often the steps are done at most, from 2 to {MOST_REPEATS}: {LOOP}")),
                    );
                }
            }
            ("if" | "until" | "back-to" | "at-most", _) => {
                looping.is_broken = true;
                let message = if value.is_some() {
                    format!("a step has two marks `{mark}`")
                } else {
                    format!("`{{{mark}}}` says nothing")
                };
                findings.push(
                    Finding::new(&rules::UNKNOWN_MARK, message)
                        .primary(span, "")
                        .help(format!("write `{{if=\"float-height.over\"}}`, or {LOOP}")),
                );
            }
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
                let near = nearest(other, ["if", "if-fitted", "only", "waive", "until", "back-to", "at-most"]);
                let finding = Finding::new(
                    &rules::UNKNOWN_MARK,
                    format!("`{{{other}}}` is not a mark of a step"),
                )
                .primary(span, "")
                .suggest(
                    near,
                    "the marks of a step are `{#id}`, `{if=\"…\"}`, `{if-fitted}`, `{only=\"…\"}`, `{waive=\"…\"}`, and those of \
                     a repetition, `{until=\"…\" back-to=\"…\" at-most=\"…\"}`",
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

    /// The actions that find out whether the step is done, and whether it is repeated. They are done in other steps.
    pub(crate) fn outcomes(&self) -> impl Iterator<Item = &ActionLink> {
        let until = self.repeat.iter().map(|repeat| &repeat.until);
        self.when
            .as_deref()
            .into_iter()
            .chain(until)
            .map(|when| &when.link)
    }

    /// Every action in the text and the notes. The cautions above the step are not included.
    pub(crate) fn actions(&self) -> impl Iterator<Item = &ActionLink> {
        self.paragraphs().flat_map(prose::actions)
    }
}
