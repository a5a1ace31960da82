//! How text is marked as missing, and how text is written in TOML and Markdown.

/// The mark of a gap: what follows it in the line says what has still to be written. The rule `gap-not-filled` finds it.
pub(crate) use crate::rules::GAP_MARK as MISSING;

/// A TOML string.
pub(super) fn toml_text(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// Plain text as Markdown, with a backslash before whatever would be markup.
pub(super) fn markdown(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    let mut letters = text.chars().peekable();
    while let Some(letter) = letters.next() {
        // A colon inside a word would be that of an action.
        let is_in_word = letters.peek().is_some_and(|next| !next.is_whitespace());
        if "\\`*_[]<>{}#!|~&".contains(letter) || letter == ':' && is_in_word {
            escaped.push('\\');
        }
        // A line break could begin a block.
        escaped.push(if letter.is_control() { ' ' } else { letter });
    }
    escaped
}
