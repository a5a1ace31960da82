//! Positions in a text as the protocol counts them: lines, and units of the negotiated encoding within a line.

use lsp_types::{Position, PositionEncodingKind, Range};
use std::ops;

/// How the columns of a position are counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Encoding {
    Utf8,
    /// What a client has that offers nothing else.
    #[default]
    Utf16,
    Utf32,
}

impl Encoding {
    /// The client's first choice that is known here.
    pub(super) fn negotiated(offered: Option<&[PositionEncodingKind]>) -> Encoding {
        let mut offered = offered.unwrap_or_default().iter();
        let known = offered.find_map(|kind| match kind.as_str() {
            "utf-8" => Some(Encoding::Utf8),
            "utf-16" => Some(Encoding::Utf16),
            "utf-32" => Some(Encoding::Utf32),
            _ => None,
        });
        known.unwrap_or_default()
    }

    pub(super) fn kind(self) -> PositionEncodingKind {
        match self {
            Encoding::Utf8 => PositionEncodingKind::UTF8,
            Encoding::Utf16 => PositionEncodingKind::UTF16,
            Encoding::Utf32 => PositionEncodingKind::UTF32,
        }
    }

    /// The length of a letter.
    fn units(self, letter: char) -> usize {
        match self {
            Encoding::Utf8 => letter.len_utf8(),
            Encoding::Utf16 => letter.len_utf16(),
            Encoding::Utf32 => 1,
        }
    }

    /// The length of a text.
    pub(super) fn length(self, text: &str) -> u32 {
        let units: usize = text.chars().map(|letter| self.units(letter)).sum();
        u32::try_from(units).unwrap_or(u32::MAX)
    }
}

/// A text with the starts of its lines. A line ends with `\n`, `\r\n` or `\r`, as in the protocol.
pub(super) struct Lines<'t> {
    text: &'t str,
    starts: Vec<usize>,
    encoding: Encoding,
}

impl<'t> Lines<'t> {
    pub(super) fn of(text: &'t str, encoding: Encoding) -> Lines<'t> {
        let bytes = text.as_bytes();
        let mut starts = vec![0];
        for at in memchr::memchr2_iter(b'\n', b'\r', bytes) {
            let is_first_of_two = bytes[at] == b'\r' && bytes.get(at + 1) == Some(&b'\n');
            if !is_first_of_two {
                starts.push(at + 1);
            }
        }
        Lines {
            text,
            starts,
            encoding,
        }
    }

    /// The bytes of a line, without its end.
    pub(super) fn line(&self, line: usize) -> ops::Range<usize> {
        let Some(start) = self.starts.get(line).copied() else {
            return self.text.len()..self.text.len();
        };
        let end = self
            .starts
            .get(line + 1)
            .copied()
            .unwrap_or(self.text.len());
        let line = self.text[start..end].trim_end_matches(['\n', '\r']);
        start..start + line.len()
    }

    /// The number of the line that a byte is in, from 0.
    pub(super) fn line_of(&self, offset: usize) -> usize {
        let after = self.starts.partition_point(|start| *start <= offset);
        after.saturating_sub(1)
    }

    /// The position of a byte. That of the end of a line is before its line break.
    pub(super) fn position(&self, offset: usize) -> Position {
        let line = self.line_of(offset);
        let range = self.line(line);
        let end = offset.clamp(range.start, range.end);
        let before = self.text.get(range.start..end).unwrap_or_default();
        Position {
            line: u32::try_from(line).unwrap_or(u32::MAX),
            character: self.encoding.length(before),
        }
    }

    pub(super) fn range(&self, range: ops::Range<usize>) -> Range {
        Range {
            start: self.position(range.start),
            end: self.position(range.end),
        }
    }

    /// The byte at a position. A position behind the end of its line is at that end, one behind the last line at the end
    /// of the text, and one within a letter before that letter.
    pub(super) fn offset(&self, position: Position) -> usize {
        let range = self.line(position.line as usize);
        let mut left = position.character as usize;
        let mut offset = range.start;
        for letter in self.text[range].chars() {
            let units = self.encoding.units(letter);
            if units > left {
                break;
            }
            left -= units;
            offset += letter.len_utf8();
        }
        offset
    }

    /// The bytes of a range. Empty if its end is before its start.
    pub(super) fn offsets(&self, range: Range) -> ops::Range<usize> {
        let start = self.offset(range.start);
        start..self.offset(range.end).max(start)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "a 25 N·m\r\n± 🔧 5°\rlast\n";

    #[test]
    fn every_boundary_of_a_letter_is_found_again_in_every_encoding() {
        for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
            let lines = Lines::of(TEXT, encoding);
            for (offset, letter) in TEXT.char_indices() {
                if !matches!(letter, '\n' | '\r') {
                    assert_eq!(lines.offset(lines.position(offset)), offset, "{encoding:?}");
                }
            }
            let end = lines.position(TEXT.len());
            assert_eq!((end.line, end.character), (3, 0));
        }
    }

    /// The figures follow from the encodings: `·`, `±` and `°` have two bytes and one unit of UTF-16, and the emoji has
    /// four bytes and two units.
    #[test]
    fn columns_are_counted_in_the_negotiated_units() {
        let five = TEXT
            .find('5')
            .and_then(|first| Some(first + 1 + TEXT[first + 1..].find('5')?));
        let metre = TEXT.find('m').unwrap();
        let columns = |encoding| {
            let lines = Lines::of(TEXT, encoding);
            (
                lines.position(metre).character,
                lines.position(five.unwrap()).character,
            )
        };
        assert_eq!(columns(Encoding::Utf8), (8, 8));
        assert_eq!(columns(Encoding::Utf16), (7, 5));
        assert_eq!(columns(Encoding::Utf32), (7, 4));
    }

    #[test]
    fn positions_outside_a_text_are_at_its_nearest_place() {
        let lines = Lines::of(TEXT, Encoding::Utf16);
        let at = |line, character| lines.offset(Position { line, character });
        assert_eq!(at(0, 99), TEXT.find('\r').unwrap());
        assert_eq!(at(99, 0), TEXT.len());
        // Within the two units of the emoji.
        assert_eq!(at(1, 3), TEXT.find('🔧').unwrap());
    }
}
