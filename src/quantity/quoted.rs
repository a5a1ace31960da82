//! Excerpts of the input in messages.

use std::fmt;

/// An excerpt of the input in a message; `None` means the end of the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Quoted(Option<String>);

/// Maximum number of characters of an excerpt: enough for any real value, and short enough that a
/// pasted page does not fill the message.
const QUOTED: usize = 24;

impl Quoted {
    pub(super) fn new(text: &str) -> Self {
        let text = text.trim();
        if text.is_empty() {
            return Self(None);
        }
        let mut quoted: String = text.chars().take(QUOTED).collect();
        if quoted.len() < text.len() {
            quoted.push('…');
        }
        Self(Some(quoted))
    }
}

impl fmt::Display for Quoted {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.0 {
            Some(text) => write!(out, "`{text}`"),
            None => out.write_str("the end of the text"),
        }
    }
}
