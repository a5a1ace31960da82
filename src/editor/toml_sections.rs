//! The tables of a TOML file, as they are written.

use std::ops::Range;

/// A header with what follows it up to the next.
pub(super) struct TomlSection {
    /// Such as `part.cover`.
    pub(super) name: String,
    pub(super) header: Range<usize>,
    pub(super) whole: Range<usize>,
}

/// The tables of a file, in their order. What is above the first header is in none.
pub(super) fn toml_sections(text: &str) -> Vec<TomlSection> {
    let mut sections: Vec<TomlSection> = Vec::new();
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let header = line.trim();
        let name = header
            .strip_prefix('[')
            .and_then(|rest| Some(rest.split_once(']')?.0));
        if let Some(name) = name {
            let start = at + (line.len() - line.trim_start().len());
            let name = name.trim_start_matches('[').trim().to_owned();
            sections.push(TomlSection {
                name,
                header: start..start + header.len(),
                whole: start..start + header.len(),
            });
        }
        at += line.len();
        if let Some(last) = sections.last_mut().filter(|_| !line.trim().is_empty()) {
            last.whole.end = (at - (line.len() - line.trim_end().len())).max(last.header.end);
        }
    }
    sections
}
