//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use crate::finding::{Finding, Findings, rule};
use crate::tree::has_glyph;
use std::collections::BTreeMap;

rule! {
    /// A character is in none of the fonts that sheets are set in.
    ///
    /// Comments are not printed and may contain any character.
    ///
    /// ## At the bench
    ///
    /// The PDF of the sheet can't be made, or has an empty box instead of the character.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.brush]
    /// name = "brush 刷子"
    /// ```
    ///
    /// ## Fix
    ///
    /// Write a word or another character. The fonts have Latin, Greek and Cyrillic letters, and most signs of the
    /// trade.
    "character-without-glyph", Printing, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    let text = scene.file.text.as_str();
    if text.is_ascii() {
        return;
    }
    let markdown = scene.procedure.map(|procedure| procedure.body.start());
    let mut missing: BTreeMap<char, usize> = BTreeMap::new();
    for (at, letter) in text.char_indices() {
        if has_glyph(letter) || missing.contains_key(&letter) {
            continue;
        }
        let is_comment = if markdown.is_some_and(|body| at >= body) {
            is_in_html_comment(text, at)
        } else {
            is_in_toml_comment(text, at)
        };
        if !is_comment {
            missing.insert(letter, at);
        }
    }
    // A text in another script has very many.
    let Some((letter, at)) = missing.iter().min_by_key(|(_, at)| **at) else {
        return;
    };
    let code = u32::from(*letter);
    let others = match missing.len() - 1 {
        0 => String::new(),
        count => format!(", nor {count} more in this file"),
    };
    let message =
        format!("no font of the sheets has the character `{letter}` (U+{code:04X}){others}");
    let span = scene.file.span(*at..at + letter.len_utf8());
    findings.push(
        Finding::new(&RULE, message)
            .primary(span, "")
            .help("write a word or another character"),
    );
}

fn is_in_html_comment(text: &str, at: usize) -> bool {
    let before = &text[..at];
    before
        .rfind("<!--")
        .is_some_and(|start| !before[start..].contains("-->"))
}

/// Whether a position is after a `#` that is not in a string of one line.
fn is_in_toml_comment(text: &str, at: usize) -> bool {
    let line = text[..at].rfind('\n').map_or(0, |end| end + 1);
    let mut quote = None;
    let mut is_escaped = false;
    for letter in text[line..at].chars() {
        match (quote, letter) {
            _ if is_escaped => is_escaped = false,
            (Some('"'), '\\') => is_escaped = true,
            (Some(open), letter) if open == letter => quote = None,
            (None, '"' | '\'') => quote = Some(letter),
            (None, '#') => return true,
            _ => {}
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::{is_in_html_comment, is_in_toml_comment};

    #[test]
    fn comments_are_not_printed() {
        for (line, is_comment) in [
            ("a = 1 # 刷", true),
            ("# 刷", true),
            ("a = \"# 刷\"", false),
            ("a = '#' # 刷", true),
            ("a = \"\\\"# 刷\"", false),
            ("# a\nb = \"刷\"", false),
        ] {
            let at = line.find('刷').unwrap();
            assert_eq!(is_in_toml_comment(line, at), is_comment, "{line}");
        }
        assert!(is_in_html_comment("a <!-- 刷 -->", 7));
        assert!(!is_in_html_comment("<!-- a --> 刷", 11));
    }
}
