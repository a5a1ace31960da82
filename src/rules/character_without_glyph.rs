//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use crate::finding::{Finding, Findings, rule};
use crate::tree::{SourceKind, without_glyph};
use pulldown_cmark::{Event, Parser, Tag};
use std::collections::BTreeMap;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

rule! {
    /// A character is in none of the fonts that sheets are set in.
    ///
    /// So is a mark above or below a letter, if no font has both. It is found as it is typed, as an escape such as
    /// `\u5237`, as a reference such as `&#21047;`, and in the name of a system's folder. Comments are not printed and may contain any character.
    ///
    /// ## At the bench
    ///
    /// The PDF of the sheet can't be made: instead of the character it would have an empty box.
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
    "character-without-glyph", Printing, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    check_folder(scene, findings);
    let missing = missing(scene);
    // A text in another script has very many.
    let Some((letter, range)) = missing.iter().min_by_key(|(_, range)| range.start) else {
        return;
    };
    let code = u32::from(*letter);
    let others = match missing.len() - 1 {
        0 => String::new(),
        count => format!(", nor {count} more in this file"),
    };
    let message =
        format!("no font of the sheets has the character `{letter}` (U+{code:04X}){others}");
    findings.push(
        Finding::new(&RULE, message)
            .primary(scene.file.span(range.clone()), "")
            .help("write a word or another character"),
    );
}

/// Checks the folder of a system: its name is the title of the system.
fn check_folder(scene: &TextScene<'_>, findings: &mut Findings) {
    let SourceKind::Procedure { system, .. } = &scene.file.kind else {
        return;
    };
    if let Some(letter) = without_glyph(system).first() {
        let code = u32::from(*letter);
        let message = format!(
            "no font of the sheets has the character `{letter}` (U+{code:04X}) of the folder `{system}`"
        );
        findings.push(Finding::new(&RULE, message).help("rename the folder"));
    }
}

/// The characters of a file that are printed and that no font has, with the place of the first of each.
fn missing(scene: &TextScene<'_>) -> BTreeMap<char, Range<usize>> {
    let text = scene.file.text.as_str();
    let mut missing = Missing {
        text,
        letters: BTreeMap::new(),
    };
    // Most files have neither such a character nor an escape.
    let is_typed = !without_glyph(text).is_empty();
    let body = scene.procedure.map(|procedure| procedure.body.start());
    let (fields, body) = text.split_at(body.unwrap_or(text.len()));
    if is_typed || fields.contains(['\\', '&']) {
        let start = if scene.procedure.is_some() {
            // The line `+++` before the front matter.
            fields.find('\n').map_or(0, |end| end + 1)
        } else {
            0
        };
        let end = match scene.procedure {
            Some(_) => fields.rfind("+++").unwrap_or(fields.len()).max(start),
            None => fields.len(),
        };
        missing.in_fields(start..end);
    }
    if is_typed || body.contains('&') {
        missing.in_markdown(body, &|range| {
            fields.len() + range.start..fields.len() + range.end
        });
    }
    missing.letters
}

struct Missing<'t> {
    text: &'t str,
    letters: BTreeMap<char, Range<usize>>,
}

impl Missing<'_> {
    /// Checks a text that is printed. It comes from a range of the file, in which an escape may stand for a character.
    fn in_printed(&mut self, printed: &str, range: &Range<usize>) {
        for letter in without_glyph(printed) {
            let source = self.text.get(range.clone()).unwrap_or_default();
            let place = match source.find(letter) {
                Some(at) => range.start + at..range.start + at + letter.len_utf8(),
                None => range.clone(),
            };
            let first = self.letters.entry(letter).or_insert_with(|| place.clone());
            if place.start < first.start {
                *first = place;
            }
        }
    }

    /// Checks the texts of Markdown. `place` gives the range of the file for one of the Markdown.
    fn in_markdown(&mut self, markdown: &str, place: &dyn Fn(Range<usize>) -> Range<usize>) {
        for (event, range) in Parser::new(markdown).into_offset_iter() {
            match event {
                Event::Text(text) | Event::Code(text) => self.in_printed(&text, &place(range)),
                Event::Start(Tag::Image { title, .. } | Tag::Link { title, .. }) => {
                    self.in_printed(&title, &place(range));
                }
                _ => {}
            }
        }
    }

    /// Checks the keys and strings of TOML. A string may be Markdown.
    fn in_fields(&mut self, range: Range<usize>) {
        let text = self.text;
        let (table, _) = DeTable::parse_recoverable(text.get(range.clone()).unwrap_or_default());
        let in_file = |span: Range<usize>| range.start + span.start..range.start + span.end;
        // A list and no recursion, because a file can have any depth.
        let mut tables = vec![table.get_ref()];
        let mut values = Vec::new();
        while let Some(table) = tables.pop() {
            for (key, value) in table {
                self.in_printed(key.get_ref(), &in_file(key.span()));
                values.push(value);
            }
            while let Some(value) = values.pop() {
                let span = in_file(value.span());
                match value.get_ref() {
                    DeValue::String(string) => {
                        self.in_printed(string, &span);
                        if string.contains('&') {
                            self.in_markdown(string, &|_| span.clone());
                        }
                    }
                    DeValue::Array(items) => values.extend(items.iter()),
                    DeValue::Table(table) => tables.push(table),
                    _ => {}
                }
            }
        }
    }
}
