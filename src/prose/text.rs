//! Functions on Markdown text.

use super::Inline;
use pulldown_cmark::{Event, TagEnd};
use std::ops::Range;

/// The label of a link definition, as labels are compared.
pub(super) fn normalised(label: &str) -> String {
    let words: Vec<&str> = label.split_whitespace().collect();
    words.join(" ").to_lowercase()
}

/// Whether HTML has only comments. They are dropped without a finding.
pub(super) fn is_comment(html: &str) -> bool {
    let mut rest = html.trim();
    while let Some(comment) = rest.strip_prefix("<!--") {
        let Some((_, after)) = comment.split_once("-->") else {
            return false;
        };
        rest = after.trim_start();
    }
    rest.is_empty()
}

/// Appends text to the text before it. The parser splits text into pieces, but the marks at the end of a step can only
/// be read from the whole.
pub(super) fn push_text(inlines: &mut Vec<Inline>, text: &str) {
    if let Some(Inline::Text(last)) = inlines.last_mut() {
        last.push_str(text);
    } else {
        inlines.push(Inline::Text(text.to_owned()));
    }
}

pub(super) fn trim_end(text: &str, range: Range<usize>) -> Range<usize> {
    let trimmed = text
        .get(range.clone())
        .map_or(0, |part| part.trim_end().len());
    range.start..range.start + trimmed
}

/// Whether an event is an end. Comparing whole events would compare texts, too.
pub(super) fn is_end(event: &Event<'_>, end: TagEnd) -> bool {
    matches!(event, Event::End(ended) if *ended == end)
}
