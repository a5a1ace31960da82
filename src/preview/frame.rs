//! What is added to a page so that it follows its sources, and the page where there is none.

use super::board::State;
use crate::render::script_text;
use crate::words::{LANGUAGES, Words};
use serde::Serialize;
use std::collections::BTreeMap;

const SCRIPT: &str = include_str!("../../templates/preview/preview.js");
const STYLE: &str = include_str!("../../templates/preview/preview.css");
const PAGE: &str = include_str!("../../templates/preview/page.html");

/// The words that what is added is said in.
#[derive(Clone, Debug)]
pub(super) struct Frame {
    /// Of pages that stand in for one that there is not.
    language: String,
    words: Vec<Words>,
}

impl Default for Frame {
    fn default() -> Frame {
        Frame {
            language: LANGUAGES[0].to_owned(),
            words: LANGUAGES
                .iter()
                .filter_map(|language| Words::of(language).cloned())
                .collect(),
        }
    }
}

/// What the script of the preview reads.
#[derive(Serialize)]
struct Given<'a> {
    state: &'a State<'a>,
    style: &'a str,
    /// By language, the words whose keys begin with `preview-`: the script says nothing of its own.
    words: BTreeMap<&'a str, BTreeMap<&'a str, &'a str>>,
}

impl Frame {
    /// The same, with a language and words where they are known.
    pub(super) fn with(&self, language: Option<String>, words: Option<Vec<Words>>) -> Frame {
        Frame {
            language: language.unwrap_or_else(|| self.language.clone()),
            words: words.unwrap_or_else(|| self.words.clone()),
        }
    }

    /// A page with the script of the preview in it. Only what is served has it, never a file.
    pub(super) fn around(&self, page: &[u8], state: &State<'_>) -> Vec<u8> {
        let words = self.words.iter().map(|words| {
            let all = words.all().iter();
            let ours = all.filter(|(key, _)| key.starts_with("preview-"));
            let ours = ours.map(|(key, text)| (key.as_str(), text.as_str()));
            (words.language(), ours.collect())
        });
        let given = Given {
            state,
            style: STYLE,
            words: words.collect(),
        };
        // Texts and numbers: they always have a JSON.
        let json = serde_json::to_string(&given).unwrap_or_default();
        let added = format!(
            "<script type=\"application/json\" id=\"benchleaf-preview\">{}</script>\n<script>\n{SCRIPT}</script>\n",
            script_text(&json)
        );
        // At the end, so that the page is all there when it runs.
        let end = b"</body>";
        let at = page.windows(end.len()).rposition(|here| here == end);
        let (before, after) = page.split_at(at.unwrap_or(page.len()));
        [before, added.as_bytes(), after].concat()
    }

    /// The page where none has been made yet, or none of this name.
    pub(super) fn instead(&self, is_built: bool) -> String {
        let words = Words::of(&self.language)
            .and_then(|of| {
                self.words
                    .iter()
                    .find(|one| one.language() == of.language())
            })
            .unwrap_or_else(|| Words::english());
        let (title, text) = if is_built {
            (
                words.get("preview-missing"),
                words.get("preview-missing-text"),
            )
        } else {
            (
                words.get("preview-none-yet"),
                words.get("preview-none-yet-text"),
            )
        };
        let places = [
            ("{language}", self.language.as_str()),
            ("{title}", title),
            ("{text}", text),
            ("{front}", words.get("preview-front")),
        ];
        let filled = places.iter().fold(PAGE.to_owned(), |page, (place, text)| {
            page.replace(place, &escape(text))
        });
        let front = if is_built { "" } else { "hidden" };
        filled.replace("{hidden}", front)
    }
}

/// A text as the inside of an element or of a quoted attribute.
fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '{' => escaped.push_str("&#123;"),
            _ => escaped.push(letter),
        }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::super::board::Run;
    use super::*;
    use crate::report::Entry;
    use std::collections::BTreeSet;

    fn around(page: &str, run: &Run) -> String {
        let state = State { page: None, run };
        let page = Frame::default().around(page.as_bytes(), &state);
        String::from_utf8(page).unwrap()
    }

    #[test]
    fn the_script_stands_at_the_end_of_the_page() {
        let page = around(
            "<body><pre></body></pre>text</body>\n</html>\n",
            &Run::default(),
        );
        let (before, _) = page.split_once("<script").unwrap();
        assert_eq!(before, "<body><pre></body></pre>text");
        assert!(page.ends_with("</script>\n</body>\n</html>\n"));
        let page = around("no end", &Run::default());
        assert!(page.starts_with("no end<script") && page.ends_with("</script>\n"));
    }

    #[test]
    fn no_text_of_a_finding_ends_what_the_script_reads() {
        let hostile = "</script><!--<script>alert(1)</script>&\"'";
        let run = Run {
            findings: vec![Entry::trouble(hostile)],
            ..Run::default()
        };
        let page = around("<body></body>", &run);
        let plain = around("<body></body>", &Run::default());
        for end in ["<script", "</script", "<!--"] {
            assert_eq!(
                page.matches(end).count(),
                plain.matches(end).count(),
                "{end}"
            );
        }
        let (_, after) = page.split_once("id=\"benchleaf-preview\">").unwrap();
        let (json, _) = after.split_once("</script>").unwrap();
        let read: serde_json::Value = serde_json::from_str(json).unwrap();
        assert_eq!(read["state"]["findings"][0]["message"], hostile);
        assert_eq!(read["state"]["page"], serde_json::Value::Null);
    }

    #[test]
    fn a_page_that_stands_in_is_filled_and_escaped() {
        let own = Words::english().with_own("[preview-missing]\nen = \"<b>&{text}\"");
        // A place there is not is refused; without it, the rest is text.
        assert!(own.is_err());
        let own = Words::english()
            .with_own("[preview-missing]\nen = \"<b>&\"")
            .unwrap();
        let frame = Frame::default().with(Some("en-GB".to_owned()), Some(vec![own]));
        let page = frame.instead(true);
        assert!(
            page.contains("&lt;b&gt;&amp;") && !page.contains("<b>"),
            "{page}"
        );
        assert!(page.contains("<html lang=\"en-GB\">"));
        for page in [page, Frame::default().instead(false)] {
            for place in ["{language}", "{title}", "{text}", "{front}", "{hidden}"] {
                assert!(!page.contains(place), "{place}");
            }
        }
    }

    /// The script says nothing of its own, and no word is there that nobody says.
    #[test]
    fn every_word_of_the_preview_is_there_and_said() {
        let own = include_str!("frame.rs");
        let own = own.split("#[cfg(test)]").next().unwrap();
        let said: BTreeSet<&str> = [SCRIPT, own]
            .iter()
            .flat_map(|text| text.split('"'))
            .filter(|text| text.starts_with("preview-") && *text != "preview-")
            .collect();
        let there = Words::english().all().keys().map(String::as_str);
        let there: BTreeSet<&str> = there.filter(|key| key.starts_with("preview-")).collect();
        assert_eq!(said, there);
    }
}
