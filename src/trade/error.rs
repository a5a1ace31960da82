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
///     Some("`M12` and `M14` are the nearest; write any other with its pitch, as in `M13x1`"),
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

/// The name of `known` that was most likely meant, if one is close enough.
pub(super) fn nearest<T: AsRef<str>>(
    text: &str,
    known: impl IntoIterator<Item = T>,
) -> Option<String> {
    // One typing error in a short name, two in a long one. Longer texts are not names.
    let most_errors = match text.chars().count() {
        3..=7 => 1,
        8..=24 => 2,
        _ => return None,
    };
    let lower = text.to_lowercase();
    known
        .into_iter()
        .map(|name| {
            let name = name.as_ref().to_owned();
            (strsim::osa_distance(&name.to_lowercase(), &lower), name)
        })
        .filter(|(distance, _)| *distance <= most_errors)
        .min()
        .map(|(_, name)| name)
}
