//! Reads block quotes: cautions, and notes.

use super::inlines::{take_figures, trim};
use super::rules;
use super::stray::{report_misplaced_marks, report_unread};
use crate::finding::{Finding, Findings, Span};
use crate::prose::{self, ActionLink, Inline, Note, ProseBlock, Verb};
use crate::words::{Words, languages};

/// The word that a note begins with, in all languages.
const WORD: &str = "Note:";

/// The texts of pages that are signal words.
const SIGNAL_WORDS: [&str; 4] = ["danger", "warning", "caution", "notice"];

/// Both forms of a block quote, for help.
const FORMS: &str = "name the caution of a hazard, `> [](caution:petrol-fire)`, or begin other information with `Note:`, \
                     `> Note: The old gasket may stay on the head.`";

/// The content of a block quote.
#[derive(Debug, Default)]
pub(super) struct Quote {
    pub(super) cautions: Vec<ActionLink>,
    pub(super) notes: Vec<Note>,
}

/// Reads a block quote. Content that is neither a caution nor a note is reported, because it would not be printed.
pub(super) fn read_quote(blocks: Vec<ProseBlock>, span: Span, findings: &mut Findings) -> Quote {
    let mut quote = Quote::default();
    let mut has_others = false;
    for block in blocks {
        match block {
            ProseBlock::Paragraph(mut inlines, at) => {
                let begins_note = take_word(&mut inlines, at, findings);
                if begins_note {
                    quote.notes.push(Note {
                        paragraphs: Vec::new(),
                    });
                }
                match quote.notes.last_mut() {
                    Some(note) => {
                        let cautions = read_note_paragraph(inlines, at, note, findings);
                        quote.cautions.extend(cautions);
                    }
                    None => has_others |= !only_cautions(&inlines, &mut quote.cautions),
                }
            }
            ProseBlock::List(list) if !quote.notes.is_empty() => {
                let at = list.items.first().map_or(span, |item| item.span);
                report_unread("a list in a note", at, findings);
            }
            _ => has_others = true,
        }
    }
    report_content(&quote, has_others, span, findings);
    quote
}

/// Reports a quote that is not clearly one or the other.
fn report_content(quote: &Quote, has_others: bool, span: Span, findings: &mut Findings) {
    let message = match (quote.cautions.as_slice(), quote.notes.as_slice()) {
        ([], []) => "a block quote contains neither a caution nor a note",
        ([_, ..], [_, ..]) => {
            findings.push(
                Finding::new(
                    &rules::QUOTE_WITHOUT_CAUTION,
                    "a block quote contains both a caution and a note",
                )
                .primary(span, "")
                .help(
                    "write two block quotes with an empty line between them: `> [](caution:petrol-fire)` and \
                     `> Note: The old gasket may stay on the head.`",
                ),
            );
            return;
        }
        _ if has_others && quote.notes.is_empty() => "a block quote contains more than cautions",
        _ if has_others => "a block quote contains more than a note",
        (_, notes) if notes.iter().any(|note| note.paragraphs.is_empty()) => "a note has no text",
        _ => return,
    };
    findings.push(
        Finding::new(&rules::QUOTE_WITHOUT_CAUTION, message)
            .primary(span, "")
            .help(FORMS),
    );
}

/// Collects the cautions of a paragraph, and returns whether it has nothing else.
fn only_cautions(inlines: &[Inline], cautions: &mut Vec<ActionLink>) -> bool {
    let mut has_only_cautions = true;
    for inline in inlines {
        match inline {
            Inline::Action(action, _) if action.verb == Verb::Caution => {
                cautions.push((**action).clone());
            }
            Inline::Text(text) if text.trim().is_empty() => {}
            Inline::Break => {}
            _ => has_only_cautions = false,
        }
    }
    has_only_cautions
}

/// Removes the word that a note begins with. Returns whether the paragraph begins with it. A word that is spelt or set
/// otherwise is reported, and counts as well.
fn take_word(inlines: &mut Vec<Inline>, at: Span, findings: &mut Findings) -> bool {
    // What is typed in place of the word, in bytes. Asterisks are the usual marks of bold and italic text.
    let typed = match inlines.first_mut() {
        Some(Inline::Text(text)) => {
            let Some(start) = text
                .get(..WORD.len())
                .filter(|start| start.eq_ignore_ascii_case(WORD))
            else {
                return false;
            };
            let is_exact = start == WORD;
            text.drain(..WORD.len());
            if is_exact {
                return true;
            }
            WORD.len()
        }
        Some(Inline::Strong(parts) | Inline::Emphasis(parts)) if is_word(parts) => {
            let inside = prose::plain(parts).len();
            let is_strong = matches!(inlines.first(), Some(Inline::Strong(_)));
            inlines.remove(0);
            let colon = match inlines.first_mut() {
                Some(Inline::Text(text)) if text.starts_with(':') => {
                    text.remove(0);
                    1
                }
                _ => 0,
            };
            inside + colon + if is_strong { 4 } else { 2 }
        }
        _ => return false,
    };
    findings.push(
        Finding::new(
            &rules::QUOTE_WITHOUT_CAUTION,
            "a note does not begin with `Note:` in plain text",
        )
        .primary(at, "")
        .help("begin it with this word, a capital and no emphasis: `> Note: The old gasket may stay on the head.`")
        .edit(at.part(0..typed.min(at.len())), WORD),
    );
    true
}

/// Whether emphasised text is the word of a note, with or without its colon.
fn is_word(parts: &[Inline]) -> bool {
    let text = prose::plain(parts);
    text.trim_end_matches(':').eq_ignore_ascii_case("note")
}

/// Appends a paragraph to a note, and returns the cautions in it.
fn read_note_paragraph(
    mut inlines: Vec<Inline>,
    at: Span,
    note: &mut Note,
    findings: &mut Findings,
) -> Vec<ActionLink> {
    for figure in take_figures(&mut inlines) {
        report_unread("a figure in a note", figure.span, findings);
    }
    report_misplaced_marks(&inlines, at, findings);
    let mut cautions = Vec::new();
    for action in prose::actions(&inlines) {
        match action.verb {
            Verb::See => {}
            Verb::Caution => cautions.push(action.clone()),
            verb => findings.push(
                Finding::new(
                    &rules::ACTION_OUTSIDE_STEP,
                    format!("`{}:{}` is in a note", verb.word(), action.thing.value),
                )
                .primary(action.span, "nobody performs a note")
                .help("make it a step, or write the name of the thing without a link"),
            ),
        }
    }
    trim(&mut inlines);
    if let Some(word) = signal_word(&inlines) {
        findings.push(
            Finding::new(
                &rules::NOTE_WITH_SIGNAL_WORD,
                format!("a note begins with the signal word `{word}`"),
            )
            .primary(at, "would not be printed as a safety message")
            .help(
                "write the message once in `cautions.toml`, and name it above the step in the place of the note: \
                 `> [](caution:petrol-fire)`",
            ),
        );
    }
    if !inlines.is_empty() {
        note.paragraphs.push(inlines);
    }
    cautions
}

/// The signal word that a text begins with, in any language of pages: "Warning: hot", "DANGER of fire". It is none if the
/// sentence goes on with it, as in "Warning lamps stay on" and "Notice the mark on the rim".
fn signal_word(inlines: &[Inline]) -> Option<String> {
    let text = prose::plain(inlines);
    let end = text.find(|letter: char| !letter.is_alphabetic());
    let (word, rest) = text.split_at(end.unwrap_or(text.len()));
    let lower = word.to_lowercase();
    let mut known = languages().filter_map(Words::of).flat_map(|words| {
        SIGNAL_WORDS
            .iter()
            .map(move |key| (*key, words.get(key).to_lowercase()))
    });
    let (key, _) = known.find(|(_, signal)| *signal == lower)?;
    let is_emphasised = match inlines.first() {
        Some(Inline::Strong(parts) | Inline::Emphasis(parts)) => {
            let emphasised = prose::plain(parts);
            emphasised.trim_end_matches(|letter: char| !letter.is_alphabetic()) == word
        }
        _ => false,
    };
    let is_capitals = !word.chars().any(char::is_lowercase);
    let after = rest.trim_start();
    let is_alone = after.is_empty()
        || rest.starts_with([':', '!', '.', ',', ';'])
        || after.starts_with(['–', '—'])
        || after.starts_with("- ");
    let names_hazard = key == "danger" && (after.starts_with("of ") || after.starts_with("de "));
    (is_emphasised || is_capitals || is_alone || names_hazard).then(|| word.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tree::{self, Memory};

    /// Reads a block quote: the cautions, the notes as plain text, and the messages of the findings. The last is the text
    /// with the edits of the findings.
    fn read(text: &str) -> (Vec<String>, Vec<String>, Vec<String>, String) {
        let tree = tree::read(&Memory::new([("air/a.md", text.to_owned())]));
        let file = tree.files.first().expect("there is one file");
        let mut findings = Findings::new();
        let mut quote = Quote::default();
        for block in prose::read(text, file.span(0..text.len()), &mut findings) {
            let ProseBlock::Quote(blocks, span) = block else {
                panic!("a block quote: {text}");
            };
            let read = read_quote(blocks, span, &mut findings);
            quote.cautions.extend(read.cautions);
            quote.notes.extend(read.notes);
        }
        let mut edited = text.to_owned();
        for edit in findings.iter().flat_map(|finding| &finding.edits) {
            edited.replace_range(edit.span.range(), &edit.replacement);
        }
        let cautions = quote.cautions.into_iter();
        let notes = quote.notes.into_iter().map(|note| {
            let paragraphs = note.paragraphs.iter();
            let texts: Vec<String> = paragraphs.map(|inlines| prose::plain(inlines)).collect();
            texts.join(" / ")
        });
        (
            cautions.map(|caution| caution.thing.value).collect(),
            notes.collect(),
            findings
                .iter()
                .map(|finding| format!("{}: {}", finding.rule.name, finding.message))
                .collect(),
            edited,
        )
    }

    #[test]
    fn a_quote_is_a_caution_or_a_note() {
        let notes: [(&str, &[&str]); 12] = [
            (
                "> Note: The gasket may stay on.",
                &["The gasket may stay on."],
            ),
            (
                "> Note: It stays\n> on the head.",
                &["It stays on the head."],
            ),
            ("> Note: One.\n>\n> Two.", &["One. / Two."]),
            ("> Note: One.\n>\n> Note: Two.", &["One.", "Two."]),
            ("> Note:\n>\n> One.", &["One."]),
            (
                "> Note: As in [the test](see:step/test).",
                &["As in the test."],
            ),
            (
                "> Note: **Left** is the side of the pulley.",
                &["Left is the side of the pulley."],
            ),
            // These sentences go on with a word that is a signal word elsewhere.
            (
                "> Note: Warning lamps stay on until it runs.",
                &["Warning lamps stay on until it runs."],
            ),
            (
                "> Note: Notice the mark on the rim.",
                &["Notice the mark on the rim."],
            ),
            (
                "> Note: Caution plates are part YAR-7.",
                &["Caution plates are part YAR-7."],
            ),
            (
                "> Note: Dangerous Corner is the name of the yard.",
                &["Dangerous Corner is the name of the yard."],
            ),
            (
                "> Note: The plate says DANGER.",
                &["The plate says DANGER."],
            ),
        ];
        for (text, expected) in notes {
            let (cautions, notes, findings, _) = read(text);
            assert_eq!(
                (cautions.len(), findings.as_slice()),
                (0, &[][..]),
                "{text}"
            );
            assert_eq!(notes, expected, "{text}");
        }
        for text in [
            "> [](caution:fire)",
            "> [](caution:fire)\n>\n> [](caution:edge)",
        ] {
            let (cautions, notes, findings, _) = read(text);
            assert_eq!((notes.len(), findings.as_slice()), (0, &[][..]), "{text}");
            assert_eq!(cautions.len(), text.matches("caution").count(), "{text}");
        }
    }

    #[test]
    fn a_quote_that_is_neither_or_both_is_a_finding() {
        let neither = "quote-without-caution: a block quote contains neither a caution nor a note";
        let both = "quote-without-caution: a block quote contains both a caution and a note";
        let more = "quote-without-caution: a block quote contains more than cautions";
        let empty = "quote-without-caution: a note has no text";
        let word = "quote-without-caution: a note does not begin with `Note:` in plain text";
        let signal = |word: &str| {
            format!("note-with-signal-word: a note begins with the signal word `{word}`")
        };
        let cases = [
            ("> Mind your fingers!", neither.to_owned()),
            ("> Notes: it is open.", neither.to_owned()),
            ("> - Mind your fingers!", neither.to_owned()),
            ("> Note: It is hot. [](caution:fire)", both.to_owned()),
            (
                "> [](caution:fire)\n>\n> Note: It is open.",
                both.to_owned(),
            ),
            ("> [](caution:fire) Mind it.", more.to_owned()),
            ("> Note:", empty.to_owned()),
            ("> NOTE: It is open.", word.to_owned()),
            ("> **Note:** It is open.", word.to_owned()),
            ("> *Note*: It is open.", word.to_owned()),
            ("> Note: Warning: it is hot.", signal("Warning")),
            ("> Note: DANGER it is hot.", signal("DANGER")),
            ("> Note: **Caution** it is hot.", signal("Caution")),
            ("> Note: Notice – it bends.", signal("Notice")),
            ("> Note: Danger of fire.", signal("Danger")),
            ("> Note: Peligro: quema.", signal("Peligro")),
            (
                "> Note: It is open.\n>\n> Warning! It is hot.",
                signal("Warning"),
            ),
            (
                "> Note: First [](clean:cover).",
                "action-outside-step: `clean:cover` is in a note".to_owned(),
            ),
            (
                "> Note: As here: ![it](a.svg)",
                "unsupported-markdown: a figure in a note is not supported".to_owned(),
            ),
            (
                "> Note: It is open.\n>\n> - Here.",
                "unsupported-markdown: a list in a note is not supported".to_owned(),
            ),
            (
                "> Note: It is open. {if-fitted}",
                "unknown-mark: `{if-fitted…` is not at the end of the step's first paragraph"
                    .to_owned(),
            ),
        ];
        for (text, expected) in cases {
            let (_, _, findings, edited) = read(text);
            assert_eq!(findings, std::slice::from_ref(&expected), "{text}");
            if expected == word {
                let expected = "> Note: It is open.";
                assert_eq!(edited, expected, "{text}");
                assert_eq!(read(&edited).2, [""; 0], "{text}");
            } else {
                assert_eq!(edited, text);
            }
        }
    }
}
