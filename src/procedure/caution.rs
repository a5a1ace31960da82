//! Reads cautions in block quotes.

use super::rules;
use crate::finding::{Finding, Findings, Span};
use crate::prose::{ActionLink, Inline, ProseBlock, Verb};

/// The cautions in a block quote. Other content of the quote is reported, because it would not be printed.
pub(super) fn cautions_of(
    blocks: &[ProseBlock],
    span: Span,
    findings: &mut Findings,
) -> Vec<ActionLink> {
    let mut cautions = Vec::new();
    let mut has_only_cautions = true;
    for block in blocks {
        let ProseBlock::Paragraph(inlines, _) = block else {
            has_only_cautions = false;
            continue;
        };
        for inline in inlines {
            match inline {
                Inline::Action(action, _) if action.verb == Verb::Caution => {
                    cautions.push((**action).clone());
                }
                Inline::Text(text) if text.trim().is_empty() => {}
                Inline::Break => {}
                _ => has_only_cautions = false,
            }
        }
    }
    if cautions.is_empty() || !has_only_cautions {
        let message = if cautions.is_empty() {
            "a block quote contains no caution"
        } else {
            "a block quote contains more than cautions"
        };
        findings.push(
            Finding::new(&rules::QUOTE_WITHOUT_CAUTION, message)
                .primary(span, "")
                .help("put only cautions in it: `> [](caution:petrol-fire)`"),
        );
    }
    cautions
}
