//! Masks everything in a file that is not prose, for the rules that look for typed values.

use crate::tree::Source;
use memchr::{memchr, memmem};

/// A file's text with everything that is not prose (addresses, code, marks, comments) replaced byte for
/// byte by `_`, so that places in it are places in the file.
///
/// A mark without its counterpart hides nothing: code, marks and addresses end in their paragraph.
pub(super) fn prose_of(file: &Source) -> String {
    let typed = file.text.as_str();
    let mut text = typed.as_bytes().to_vec();
    for (open, find_end) in MASKED {
        let finder = memmem::Finder::new(open);
        let mut from = 0;
        while let Some(at) = finder.find(&typed.as_bytes()[from..]) {
            let start = from + at;
            let masked = find_end(typed, start);
            text[masked.range].fill(b'_');
            from = masked.next;
        }
    }
    // The masked ranges lie between ASCII marks, so no character is cut in two.
    String::from_utf8(text).unwrap_or_default()
}

/// The text that an opening mark masks, and where to look for the next mark.
struct Masked {
    range: std::ops::Range<usize>,
    next: usize,
}

impl Masked {
    fn nothing(next: usize) -> Masked {
        Masked {
            range: next..next,
            next,
        }
    }
}

/// What an opening mark at a position of a text masks.
type FindMasked = fn(&str, usize) -> Masked;

/// Opening marks, each with a function that finds what it masks from the mark's position.
const MASKED: [(&str, FindMasked); 4] = [
    ("](", address),
    ("`", code),
    ("{", marks),
    ("<!--", comment),
];

/// The address of a link or figure, without its title, which is printed.
fn address(text: &str, start: usize) -> Masked {
    let inside = start + 2;
    let rest = &text[inside..];
    let end = if rest.starts_with('<') {
        rest.find(['>', '\n'])
    } else {
        rest.find(|letter: char| letter == ')' || letter.is_whitespace())
    };
    let end = inside + end.unwrap_or(rest.len());
    Masked {
        range: inside..end,
        next: end,
    }
}

/// Code (CommonMark 0.31, 6.1): from a string of backticks to the next one of the same length in the same block.
fn code(text: &str, start: usize) -> Masked {
    let bytes = text.as_bytes();
    let length_at = |at: usize| bytes[at..].iter().take_while(|byte| **byte == b'`').count();
    let is_escaped = text[..start].len() - text[..start].trim_end_matches('\\').len();
    if is_escaped % 2 == 1 {
        return Masked::nothing(start + 1);
    }
    let length = length_at(start);
    let inside = start + length;
    let end_of_block = block_end(text, inside);
    let mut at = inside;
    while let Some(next) = memchr(b'`', &bytes[at..end_of_block]) {
        let close = at + next;
        let closing = length_at(close);
        if closing == length {
            let code = &text[inside..close];
            // A space at one end is reported as a missing backtick, so the text may be prose.
            let is_code =
                code.starts_with(char::is_whitespace) == code.ends_with(char::is_whitespace);
            return Masked {
                range: if is_code { inside..close } else { close..close },
                next: close + closing,
            };
        }
        at = close + closing;
    }
    Masked::nothing(inside)
}

/// The marks of a step or heading, which end its line. In records, the braces of an inline table.
fn marks(text: &str, start: usize) -> Masked {
    let inside = start + 1;
    let Some(length) = text[inside..block_end(text, inside)].find('}') else {
        return Masked::nothing(inside);
    };
    let end = inside + length;
    let after = text[end + 1..].trim_start_matches([' ', '\t', '\r']);
    let ends_line = after.is_empty() || after.starts_with(['\n', '{', ',', ']']);
    Masked {
        range: if ends_line { inside..end } else { end..end },
        next: end + 1,
    }
}

fn comment(text: &str, start: usize) -> Masked {
    let inside = start + "<!--".len();
    match text[inside..].find("-->") {
        Some(length) => Masked {
            range: inside..inside + length,
            next: inside + length + "-->".len(),
        },
        None => Masked::nothing(inside),
    }
}

/// The end of the block that contains a position: before an empty line, a heading, a quotation or a list item.
fn block_end(text: &str, from: usize) -> usize {
    let mut end = from;
    for (index, line) in text[from..].split_inclusive('\n').enumerate() {
        if index > 0 && begins_block(line.trim()) {
            break;
        }
        end += line.len();
    }
    end
}

fn begins_block(line: &str) -> bool {
    let number = line.trim_start_matches(|letter: char| letter.is_ascii_digit());
    let is_numbered = number.len() < line.len() && number.starts_with(['.', ')']);
    let is_marked = ["- ", "* ", "+ ", "#", ">"]
        .iter()
        .any(|mark| line.starts_with(mark));
    line.is_empty() || is_marked || is_numbered
}

#[cfg(test)]
mod tests {
    use super::prose_of;
    use crate::tree::{self, Memory};

    fn masked(text: &str) -> String {
        let tree = tree::read(&Memory::new([("air/cover.md", text)]));
        prose_of(&tree.files[0])
    }

    #[test]
    fn only_what_is_not_prose_is_masked() {
        for (text, prose) in [
            ("a `9 N` b", "a `___` b"),
            ("a ``9 ` N`` b", "a ``_____`` b"),
            ("a ` 9 N ` b", "a `_____` b"),
            ("a `9\nN` b", "a `___` b"),
            ("[a 9 N](fit:b-9) b", "[a 9 N](_______) b"),
            ("![a](<b 9.svg> \"c 9 N\")", "![a](_______> \"c 9 N\")"),
            ("a b {#a-9}\nb", "a b {____}\nb"),
            ("a {if-fitted} {only=\"p-9\"}", "a {_________} {__________}"),
            ("a <!-- 9 N\n\n8 N --> b", "a <!--__________--> b"),
        ] {
            let expected = prose.replace('_', "");
            let found = masked(text);
            assert_eq!(found.len(), text.len(), "{text}");
            assert_eq!(found.replace('_', ""), expected, "{text}");
        }
    }

    /// The text after a mark without its counterpart is not masked.
    #[test]
    fn an_unpaired_mark_hides_no_text() {
        for text in [
            "a `9 N b",
            "a `9 N\n\nb` 8 N",
            "1. a `9 N\n2. b` 8 N",
            "1. a `9 N\n   - b` 8 N",
            "a `9 N\n# b` 8 N",
            "a `9 N\n> b` 8 N",
            "a ``9 N` b",
            "a \\`9 N` b",
            "press `A to 9 N and `B",
            "a {9 N\n\nb} 8 N",
            "a {9 N} b",
            "a <!-- 9 N",
        ] {
            assert_eq!(masked(text), text);
        }
        assert_eq!(masked("[a](fit:b 9 N\n\n8 N)"), "[a](_____ 9 N\n\n8 N)");
    }
}
