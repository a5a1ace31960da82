//! What was expected, what was found, and how to mend it.

use std::fmt;

/// Why a text names nothing of the trade's, or why values don't go together.
///
/// The message (through [`Display`](fmt::Display)) says what was expected and what was found, in
/// lower case and without a full stop; what to do about it is apart, in [`help`](Self::help).
/// Text quoted from the input is cut to a few words but otherwise as typed: whoever prints it on
/// a terminal makes it safe.
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
///     Some("`M12` and `M14` are the nearest; any other is written with its pitch, as in `M13x1`"),
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

    /// How to mend it, where that can be said.
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

/// The most characters of the input that a message repeats: enough for any designation, too few
/// for a pasted page to swamp the message.
const QUOTED: usize = 24;

/// `text` as a message repeats it.
pub(super) fn quoted(text: &str) -> String {
    let text = text.trim();
    if text.is_empty() {
        return "nothing".to_owned();
    }
    let kept: String = text.chars().take(QUOTED).collect();
    let more = if kept.len() < text.len() { "…" } else { "" };
    format!("`{kept}{more}`")
}

/// The one of `known` that was most likely meant, if one is truly near.
pub(super) fn nearest<T: AsRef<str>>(
    text: &str,
    known: impl IntoIterator<Item = T>,
) -> Option<String> {
    // One slip in a short name, two in a long one; of what is longer than any name, none is near.
    let slips = match text.chars().count() {
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
        .filter(|(distance, _)| *distance <= slips)
        .min()
        .map(|(_, name)| name)
}
