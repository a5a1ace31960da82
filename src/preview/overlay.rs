//! The script that is added to a served page, and the page that stands in for a missing one.

use super::status::PageStatus;
use crate::render::script_text;
use crate::words::{DEFAULT_LANGUAGE, Words};
use serde::Serialize;
use std::collections::BTreeMap;

const SCRIPT: &str = include_str!("../../templates/preview/preview.js");
const STYLE: &str = include_str!("../../templates/preview/preview.css");
const PAGE: &str = include_str!("../../templates/preview/page.html");

/// What the script needs besides the status: words, by language.
#[derive(Clone, Debug)]
pub(super) struct Overlay {
    /// The language of stand-in pages.
    language: String,
    words: Vec<Words>,
}

impl Default for Overlay {
    fn default() -> Overlay {
        Overlay {
            language: DEFAULT_LANGUAGE.to_owned(),
            words: Words::built_in().to_vec(),
        }
    }
}

/// The script's data.
#[derive(Serialize)]
struct ScriptData<'a> {
    state: &'a PageStatus<'a>,
    style: &'a str,
    /// By language, the words whose keys begin with `preview-`. The script itself has no words.
    words: BTreeMap<&'a str, BTreeMap<&'a str, &'a str>>,
    /// The language of a page in a language that there are no words in.
    fallback: &'a str,
    /// The language of findings.
    findings: &'a str,
}

impl Overlay {
    /// A copy with another language and other words, where these are given.
    pub(super) fn with(&self, language: Option<String>, words: Option<Vec<Words>>) -> Overlay {
        Overlay {
            language: language.unwrap_or_else(|| self.language.clone()),
            words: words.unwrap_or_else(|| self.words.clone()),
        }
    }

    /// A page with the script added. Only the served copy has it, never the file.
    pub(super) fn add_to(&self, page: &[u8], state: &PageStatus<'_>) -> Vec<u8> {
        let words = self.words.iter().map(|words| {
            let all = words.all().iter();
            let ours = all.filter(|(key, _)| key.starts_with("preview-"));
            let ours = ours.map(|(key, text)| (key.as_str(), text.as_str()));
            (words.language(), ours.collect())
        });
        let data = ScriptData {
            state,
            style: STYLE,
            words: words.collect(),
            fallback: DEFAULT_LANGUAGE,
            findings: DEFAULT_LANGUAGE,
        };
        // Texts and numbers can always be serialized.
        let json = serde_json::to_string(&data).unwrap_or_default();
        let added = format!(
            "<script type=\"application/json\" id=\"benchleaf-preview\">{}</script>\n<script>\n{SCRIPT}</script>\n",
            script_text(&json)
        );
        // At the end: the script runs when the whole page has been parsed.
        let end = b"</body>";
        let at = page.windows(end.len()).rposition(|here| here == end);
        let (before, after) = page.split_at(at.unwrap_or(page.len()));
        [before, added.as_bytes(), after].concat()
    }

    /// The page that stands in when there are no pages yet, or none of this name.
    pub(super) fn stand_in(&self, is_built: bool) -> String {
        let words = Words::best(&self.words, &self.language).unwrap_or_else(|| Words::english());
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

/// Escapes text for an element or a quoted attribute, and for [`Overlay::stand_in`]'s placeholders.
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
    use super::super::status::BuildStatus;
    use super::*;
    use crate::report::FindingEntry;
    use std::collections::BTreeSet;

    fn with_script(page: &str, build: &BuildStatus) -> String {
        let state = PageStatus { page: None, build };
        let page = Overlay::default().add_to(page.as_bytes(), &state);
        String::from_utf8(page).unwrap()
    }

    #[test]
    fn the_script_stands_at_the_end_of_the_page() {
        let page = with_script(
            "<body><pre></body></pre>text</body>\n</html>\n",
            &BuildStatus::default(),
        );
        let (before, _) = page.split_once("<script").unwrap();
        assert_eq!(before, "<body><pre></body></pre>text");
        assert!(page.ends_with("</script>\n</body>\n</html>\n"));
        let page = with_script("no end", &BuildStatus::default());
        assert!(page.starts_with("no end<script") && page.ends_with("</script>\n"));
    }

    #[test]
    fn no_text_of_a_finding_ends_what_the_script_reads() {
        let hostile = "</script><!--<script>alert(1)</script>&\"'";
        let build = BuildStatus {
            findings: vec![FindingEntry::trouble(hostile)],
            ..BuildStatus::default()
        };
        let page = with_script("<body></body>", &build);
        let plain = with_script("<body></body>", &BuildStatus::default());
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
        let own = Words::english().with_own("[en]\npreview-missing = \"<b>&{text}\"");
        // A place there is not is refused; without it, the rest is text.
        assert!(own.is_err());
        let own = Words::english()
            .with_own("[en]\npreview-missing = \"<b>&\"")
            .unwrap();
        let overlay = Overlay::default().with(Some("en-GB".to_owned()), Some(vec![own]));
        let page = overlay.stand_in(true);
        assert!(
            page.contains("&lt;b&gt;&amp;") && !page.contains("<b>"),
            "{page}"
        );
        assert!(page.contains("<html lang=\"en-GB\">"));
        for page in [page, Overlay::default().stand_in(false)] {
            for place in ["{language}", "{title}", "{text}", "{front}", "{hidden}"] {
                assert!(!page.contains(place), "{place}");
            }
        }
    }

    /// Every word that the script or this file uses exists, and every existing one is used.
    #[test]
    fn the_words_of_the_preview_are_those_that_it_uses() {
        let own = include_str!("overlay.rs");
        let own = own.split("#[cfg(test)]").next().unwrap();
        let used: BTreeSet<&str> = [SCRIPT, own]
            .iter()
            .flat_map(|text| text.split('"'))
            .filter(|text| text.starts_with("preview-") && *text != "preview-")
            .collect();
        let existing = Words::english().all().keys().map(String::as_str);
        let existing: BTreeSet<&str> = existing.filter(|key| key.starts_with("preview-")).collect();
        assert_eq!(used, existing);
    }
}
