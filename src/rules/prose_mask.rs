//! Masks everything in a file that is not prose, for the rules that look for typed values.

use crate::tree::Source;
use memchr::memmem::Finder;
use std::sync::LazyLock;

/// What opens and what closes text that is not prose.
static MASKED: LazyLock<[(Finder<'static>, Finder<'static>); 4]> = LazyLock::new(|| {
    let marks = [("](", ")"), ("`", "`"), ("{", "}"), ("<!--", "-->")];
    marks.map(|(open, close)| (Finder::new(open), Finder::new(close)))
});

/// A file's text with everything that is not prose (addresses, code, marks, comments) replaced byte for
/// byte by `_`, so that places in it are places in the file.
pub(super) fn prose_of(file: &Source) -> String {
    let typed = file.text.as_bytes();
    let mut text = typed.to_vec();
    for (open, close) in &*MASKED {
        let mut from = 0;
        while let Some(start) = open.find(&typed[from..]) {
            let inside = from + start + open.needle().len();
            let Some(length) = close.find(&typed[inside..]) else {
                break;
            };
            let end = inside + length;
            text[inside..end].fill(b'_');
            from = end + close.needle().len();
        }
    }
    // The masked ranges lie between ASCII marks, so no character is cut in two.
    String::from_utf8(text).unwrap_or_default()
}
