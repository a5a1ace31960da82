//! The error of this module: what was expected, what was found, and how to fix it.

use std::fmt;

/// Why a text does not parse, or why values cannot be combined.
///
/// [`Display`](fmt::Display) gives the message: what was expected and what was found, in lower case
/// and without a full stop. [`help`](Self::help) says how to fix it. Text quoted from the input is
/// shortened but not escaped: escape it before printing it on a terminal.
///
/// ```
/// use benchleaf::trade::Thread;
///
/// let error = Thread::parse("M13").unwrap_err();
/// assert_eq!(
///     error.to_string(),
///     "expected a diameter with a coarse pitch of ISO 262, found `M13`",
/// );
/// assert_eq!(
///     error.help(),
///     Some("`M12` and `M14` have one; write any other with its pitch, as in `M13x1`"),
/// );
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Error {
    expected: String,
    found: String,
    help: Option<String>,
}

impl Error {
    pub(super) fn new(expected: impl Into<String>, found: impl Into<String>) -> Self {
        Self {
            expected: expected.into(),
            found: found.into(),
            help: None,
        }
    }

    pub(super) fn with_help(self, help: impl Into<String>) -> Self {
        Self {
            help: Some(help.into()),
            ..self
        }
    }

    /// How to fix it, if that is known.
    #[must_use]
    pub fn help(&self) -> Option<&str> {
        self.help.as_deref()
    }
}

impl fmt::Display for Error {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "expected {}, found {}", self.expected, self.found)
    }
}

impl std::error::Error for Error {}

/// Maximum number of characters of an excerpt: enough for any designation, and short enough that a
/// pasted page does not fill the message.
const QUOTED: usize = 24;

/// `text` as an excerpt for a message.
pub(super) fn quoted(text: &str) -> String {
    let text = text.trim();
    if text.is_empty() {
        return "nothing".to_owned();
    }
    let kept: String = text.chars().take(QUOTED).collect();
    let more = if kept.len() < text.len() { "…" } else { "" };
    format!("`{kept}{more}`")
}

/// The name of `known` that is `text` with other punctuation: a comma for the decimal point, hyphens,
/// spaces and case. A name with another number is never offered, because it is another thing:
/// `10.8` is as near to `10.9` as to `9.8`.
pub(super) fn same_spelling<'k>(
    text: &str,
    known: impl IntoIterator<Item = &'k str>,
) -> Option<&'k str> {
    let plain = |name: &str| -> String {
        let kept = name.chars().filter(|c| !matches!(c, '-' | '_' | ' '));
        let kept = kept.map(|c| if c == ',' { '.' } else { c });
        kept.flat_map(char::to_lowercase).collect()
    };
    let text = plain(text);
    known.into_iter().find(|name| plain(name) == text)
}
