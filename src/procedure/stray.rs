//! Reports what stands where it is not read: lists, figures and actions outside steps, and misplaced marks.

use super::inlines::take_figures;
use super::rules;
use crate::finding::{Finding, Findings, Span};
use crate::prose::{self, Inline, List, ProseBlock, Verb};

/// Checks an unnumbered list: it may hold text and unnumbered lists, and no actions.
pub(super) fn check_plain_list(list: &List, findings: &mut Findings) {
    for item in &list.items {
        for block in &item.blocks {
            match block {
                ProseBlock::Paragraph(inlines, span) => {
                    report_stray_actions(inlines, findings);
                    if !take_figures(&mut inlines.clone()).is_empty() {
                        report_unread("a figure in a list of points", *span, findings);
                    }
                }
                ProseBlock::List(inner) if !inner.numbered => check_plain_list(inner, findings),
                ProseBlock::List(_) => {
                    report_unread("a numbered list in a list of points", item.span, findings);
                }
                ProseBlock::Quote(_, span) => {
                    report_unread("a quotation in a list of points", *span, findings);
                }
                // Quotes become notes only where they are read.
                ProseBlock::Note(_) => {}
                ProseBlock::Heading(heading) => {
                    report_unread("a heading in a list of points", heading.span, findings);
                }
            }
        }
    }
}

pub(super) fn report_unread(what: &str, span: Span, findings: &mut Findings) {
    findings.push(
        Finding::new(
            &prose::UNSUPPORTED_MARKDOWN,
            format!("{what} is not supported"),
        )
        .primary(span, "")
        .help("make it a step, or move it to where it is allowed"),
    );
}

/// Reports actions outside steps, because they are not rehearsed. References are allowed.
pub(super) fn report_stray_actions(inlines: &[Inline], findings: &mut Findings) {
    for action in prose::actions(inlines) {
        if action.verb != Verb::See {
            let message = format!(
                "`{}:{}` is outside a step",
                action.verb.word(),
                action.thing.value
            );
            findings.push(
                Finding::new(&rules::ACTION_OUTSIDE_STEP, message)
                    .primary(action.span, "")
                    .help("make it an item of a numbered list"),
            );
        }
    }
}

/// Reports marks that are not at the end of the first paragraph. They would be printed and have no effect.
pub(super) fn report_misplaced_marks(inlines: &[Inline], span: Span, findings: &mut Findings) {
    if !has_brace(inlines) {
        return;
    }
    let text = prose::plain(inlines);
    for mark in [
        "{#",
        "{if-fitted",
        "{if=",
        "{only",
        "{waive",
        "{until",
        "{back-to",
        "{at-most",
    ] {
        if text.contains(mark) {
            findings.push(
                Finding::new(
                    &rules::UNKNOWN_MARK,
                    format!("`{mark}…` is not at the end of the step's first paragraph"),
                )
                .primary(span, "")
                .help("move it there, with nothing after it"),
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
