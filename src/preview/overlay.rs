//! Adds the preview's script to a served page, and makes the placeholder for a missing page.

use super::status::PageStatus;
use crate::render::script_text;
use crate::words::{DEFAULT_LANGUAGE, Words};
use serde::Serialize;
use std::collections::BTreeMap;

const SCRIPT: &str = include_str!("../../templates/preview/preview.js");
const STYLE: &str = include_str!("../../templates/preview/preview.css");
const PAGE: &str = include_str!("../../templates/preview/page.html");

/// The words of the script and of the placeholder page, by language.
#[derive(Clone, Debug)]
pub(super) struct Overlay {
    /// The language of placeholder pages.
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
    /// The language to use for a page in a language without words.
    fallback: &'a str,
    /// The language of findings.
    findings: &'a str,
}

impl Overlay {
    /// A copy with another language and other words, if these are given.
    pub(super) fn with(&self, language: Option<String>, words: Option<Vec<Words>>) -> Overlay {
        Overlay {
            language: language.unwrap_or_else(|| self.language.clone()),
            words: words.unwrap_or_else(|| self.words.clone()),
        }
    }

    /// Adds the script to a page that is served. The file stays as it is.
    pub(super) fn add_to(&self, page: &[u8], state: &PageStatus<'_>) -> Vec<u8> {
        let words = self.words.iter().map(|words| {
            let texts = words.all().iter();
            let texts = texts.filter(|(key, _)| key.starts_with("preview-"));
            let texts = texts.map(|(key, text)| (key.as_str(), text.as_str()));
            (words.language(), texts.collect())
        });
        let data = ScriptData {
            state,
            style: STYLE,
            words: words.collect(),
            fallback: DEFAULT_LANGUAGE,
            findings: DEFAULT_LANGUAGE,
        };
        // Serialization can't fail: the data has only texts and numbers.
        let json = serde_json::to_string(&data).unwrap_or_default();
        let script = format!(
            "<script type=\"application/json\" id=\"benchleaf-preview\">{}</script>\n<script>\n{SCRIPT}</script>\n",
            script_text(&json)
        );
        // At the end of the body, so that the script runs after the page has been parsed.
        let end = b"</body>";
        let at = page.windows(end.len()).rposition(|window| window == end);
        let (before, after) = page.split_at(at.unwrap_or(page.len()));
        [before, script.as_bytes(), after].concat()
    }

    /// The page to show if there are no pages yet (`is_built` is false), or no page at a path.
    pub(super) fn placeholder(&self, is_built: bool) -> String {
        let words = Words::choose(&self.words, &self.language).unwrap_or_else(|| Words::english());
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
        let values = [
            ("{language}", self.language.as_str()),
            ("{title}", title),
            ("{text}", text),
            ("{front}", words.get("preview-front")),
        ];
        let page = values.iter().fold(PAGE.to_owned(), |page, (name, text)| {
            page.replace(name, &escape(text))
        });
        let hidden = if is_built { "" } else { "hidden" };
        page.replace("{hidden}", hidden)
    }
}

/// Escapes text for an element or a quoted attribute, and for [`Overlay::placeholder`]'s placeholders.
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
    use super::super::status::{BuildStatus, ShownFinding};
    use super::*;
    use crate::report::FindingEntry;
    use std::collections::BTreeSet;

    fn with_script(page: &str, build: &BuildStatus) -> String {
        let state = PageStatus { page: None, build };
        let page = Overlay::default().add_to(page.as_bytes(), &state);
        String::from_utf8(page).unwrap()
    }

    #[test]
    fn script_is_added_at_the_end_of_the_body() {
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
    fn finding_text_can_not_end_the_script_element() {
        let hostile = "</script><!--<script>alert(1)</script>&\"'";
        let build = BuildStatus {
            findings: vec![ShownFinding::new(FindingEntry::without_rule(hostile), &[])],
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
        let data: serde_json::Value = serde_json::from_str(json).unwrap();
        assert_eq!(data["state"]["findings"][0]["message"], hostile);
        assert_eq!(data["state"]["page"], serde_json::Value::Null);
    }

    #[test]
    fn placeholder_page_is_filled_and_escaped() {
        let own = Words::english().with_own("[en]\npreview-missing = \"<b>&{text}\"");
        // A replacement with an unknown placeholder is an error.
        assert!(own.is_err());
        let own = Words::english()
            .with_own("[en]\npreview-missing = \"<b>&\"")
            .unwrap();
        let overlay = Overlay::default().with(Some("en-GB".to_owned()), Some(vec![own]));
        let page = overlay.placeholder(true);
        assert!(
            page.contains("&lt;b&gt;&amp;") && !page.contains("<b>"),
            "{page}"
        );
        assert!(page.contains("<html lang=\"en-GB\">"));
        for page in [page, Overlay::default().placeholder(false)] {
            for name in ["{language}", "{title}", "{text}", "{front}", "{hidden}"] {
                assert!(!page.contains(name), "{name}");
            }
        }
    }

    #[test]
    fn script_and_placeholder_use_exactly_the_preview_words() {
        let source = include_str!("overlay.rs");
        let source = source.split("#[cfg(test)]").next().unwrap();
        let used: BTreeSet<&str> = [SCRIPT, source]
            .iter()
            .flat_map(|text| text.split('"'))
            .filter(|text| text.starts_with("preview-") && *text != "preview-")
            .collect();
        let defined = Words::english().all().keys().map(String::as_str);
        let defined: BTreeSet<&str> = defined.filter(|key| key.starts_with("preview-")).collect();
        assert_eq!(used, defined);
    }
}
