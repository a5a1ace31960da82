//! Reads a file of a tree, within the limits on its size, its lines and its words.

use super::kind::{PathKind, SourceKind, path_kind};
use super::world::{FileState, World};
use std::io;
use std::ops::Range;

/// The largest accepted source, in bytes. The sources of the demonstration shop have at most 30 kB.
const MAX_SOURCE: u64 = 8 << 20;

/// The longest accepted line of a source, in bytes. A line holds a paragraph at most.
pub(super) const MAX_LINE: usize = 16 << 10;

/// The most letters and digits of a word. The typesetter takes a time that grows with the square of a word's length to
/// break a line in it.
pub(super) const MAX_WORD: usize = 200;

/// The largest accepted figure, in bytes.
const MAX_FIGURE: u64 = 64 << 20;

/// The content of a file, or why there is none.
pub(super) enum Content {
    Source(SourceKind, Result<String, InvalidUtf8>),
    Figure(Vec<u8>),
    Unreadable(io::Error),
    /// The file has more bytes than this limit.
    TooLarge(u64),
    /// This line of a source is too long. Lines count from 1.
    LongLine(usize),
    /// The file looks like a source, but its path is not that of a source.
    Unread,
}

/// Text that is not UTF-8.
pub(super) struct InvalidUtf8 {
    /// The text with its invalid bytes replaced by U+FFFD.
    pub(super) text: String,
    /// The offset of the first invalid byte.
    pub(super) offset: usize,
}

/// The content of a file, and the state in which the file has it.
pub(super) struct ReadFile {
    pub(super) content: Content,
    pub(super) state: Option<FileState>,
}

/// How often a file that changes while it is read is read again.
const MOST_READS: usize = 5;

/// Reads a file. None if the file is ignored.
pub(super) fn read_file(world: &dyn World, path: &str) -> Option<ReadFile> {
    let mut state = world.state(path);
    for _ in 0..MOST_READS {
        let content = content(world, path, state)?;
        let after = world.state(path);
        if after == state {
            return Some(ReadFile { content, state });
        }
        state = after;
    }
    let content = Content::Unreadable(io::Error::other("it changes while it is read"));
    Some(ReadFile { content, state })
}

fn content(world: &dyn World, path: &str, state: Option<FileState>) -> Option<Content> {
    let kind = path_kind(path);
    match kind {
        PathKind::Ignored => return None,
        PathKind::Unread => return Some(Content::Unread),
        PathKind::Source(_) | PathKind::Figure => {}
    }
    let limit = match kind {
        PathKind::Source(_) => MAX_SOURCE,
        _ => MAX_FIGURE,
    };
    if state.is_some_and(|state| state.size > limit) {
        return Some(Content::TooLarge(limit));
    }
    Some(match (world.read(path), kind) {
        (Err(error), _) => Content::Unreadable(error),
        (Ok(bytes), _) if bytes.len() as u64 > limit => Content::TooLarge(limit),
        (Ok(bytes), PathKind::Source(kind)) => match long_line(&bytes) {
            Some(line) => Content::LongLine(line),
            None => Content::Source(kind, decode(bytes)),
        },
        (Ok(bytes), _) => Content::Figure(bytes),
    })
}

/// The mark that may begin a file. It is no part of the text.
pub(super) const BYTE_ORDER_MARK: char = '\u{feff}';

/// Whether a source with this text is read.
pub(super) fn is_within_limits(text: &str) -> bool {
    text.len() as u64 <= MAX_SOURCE && long_line(text.as_bytes()).is_none()
}

/// The number of the first line that is too long.
fn long_line(bytes: &[u8]) -> Option<usize> {
    let mut start = 0;
    let ends = memchr::memchr_iter(b'\n', bytes).chain([bytes.len()]);
    for (index, end) in ends.enumerate() {
        if end - start > MAX_LINE {
            return Some(index + 1);
        }
        start = end + 1;
    }
    None
}

/// The place of the first word that is too long.
pub(super) fn long_word(text: &str) -> Option<Range<usize>> {
    let mut start = 0;
    // A word that is too long fills the whole window. Otherwise it begins after the last byte that is in no word.
    while let Some(window) = text.as_bytes().get(start..=start + MAX_WORD) {
        match window
            .iter()
            .rposition(|byte| !byte.is_ascii_alphanumeric())
        {
            Some(at) => start += at + 1,
            None => return Some(start..start + MAX_WORD + 1),
        }
    }
    None
}

fn decode(bytes: Vec<u8>) -> Result<String, InvalidUtf8> {
    match String::from_utf8(bytes) {
        // Offsets of spans are relative to the text after the byte order mark.
        Ok(text) => Ok(match text.strip_prefix(BYTE_ORDER_MARK) {
            Some(rest) => rest.to_owned(),
            None => text,
        }),
        Err(error) => Err(InvalidUtf8 {
            offset: error.utf8_error().valid_up_to(),
            text: String::from_utf8_lossy(error.as_bytes()).into_owned(),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::{MAX_WORD, long_word};

    #[test]
    fn first_word_that_is_too_long_is_found_wherever_it_is() {
        let (long, word) = ("x".repeat(MAX_WORD + 1), "x".repeat(MAX_WORD));
        for before in 0..2 * MAX_WORD {
            let place = before + 1..before + 2 + MAX_WORD;
            let before = "a b-c. ".repeat(60)[..before].to_owned() + " ";
            assert_eq!(long_word(&format!("{before}{long}")), Some(place.clone()));
            assert_eq!(long_word(&format!("{before}{long} {long}")), Some(place));
            let sound = format!("{before}{word} {word}\u{e9}{word}\n{word}");
            assert_eq!(long_word(&sound), None);
        }
    }
}
