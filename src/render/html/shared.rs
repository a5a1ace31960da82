//! The style sheets and the scripts that pages share, and the words that the scripts show.

use super::accent::accent_tokens;
use crate::cache::Fingerprint;
use crate::output::MARK;
use crate::render::Look;
use crate::render::templates::{ICONS, SIGNS, Template};
use crate::shop::Colour;
use crate::words::Words;
use crate::words::marks::plain;
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// The paths of the files that pages share.
///
/// A path contains a hash of the file's content, as a figure's does, so that a browser's cache can't
/// combine a new page with an old style sheet. The files are not embedded, because they would be most
/// of each page and take most of the publishing time.
#[derive(Clone, Serialize)]
pub(super) struct Shared(BTreeMap<&'static str, String>);

/// A file that pages share.
pub(super) struct SharedFile {
    /// The name that templates know it by.
    pub(super) name: &'static str,
    /// From the output's root.
    pub(super) path: String,
    pub(super) text: String,
}

impl Shared {
    pub(super) fn of(files: &[SharedFile]) -> Shared {
        let files = files.iter();
        Shared(files.map(|file| (file.name, file.path.clone())).collect())
    }
}

/// The words whose keys begin with a prefix, by key without the prefix. The scripts have no words of their
/// own.
fn words_with_prefix(words: &Words, prefix: &str) -> BTreeMap<String, String> {
    let words = words.all().iter();
    words
        .filter_map(|(key, text)| Some((key.strip_prefix(prefix)?.to_owned(), text.clone())))
        .collect()
}

/// The scripts of a live checklist, in the order in which they are loaded.
const LIVE: [&str; 25] = [
    "live_base.js",
    "live_digest.js",
    "live_record.js",
    "live_store.js",
    "live_reading.js",
    "live_sheet.js",
    "live_job.js",
    "live_messages.js",
    "live_outcomes.js",
    "live_holds.js",
    "live_count.js",
    "live_clock.js",
    "live_awake.js",
    "live_wait.js",
    "live_controls.js",
    "live_photos.js",
    "live_positions.js",
    "live_gauge.js",
    "live_changes.js",
    "live_bench.js",
    "live_list.js",
    "live_files.js",
    "live_handover.js",
    "live_serial.js",
    "live_panel.js",
];

/// The script that starts the others.
const START: &str = "live_start.js";

/// The style sheets and the scripts, in the words' language.
pub(super) fn shared_files(look: &Look, accent: Option<Colour>, words: &Words) -> Vec<SharedFile> {
    let texts = look.html();
    let text = |name: &str| {
        let file = texts.iter().find(|(file, _)| *file == name);
        file.map_or("", |(_, text)| *text)
    };
    let style = [
        text("tokens.css"),
        &accent_tokens(accent),
        &icons(),
        &signs(),
        text("style.css"),
        text("shop.css"),
    ]
    .concat();
    let scripts = LIVE.iter().chain([&START]).map(|name| text(name));
    let words_of = |prefix: &str, name: &str| {
        // Serialisation can't fail: keys and values are strings.
        let words = serde_json::to_string(&words_with_prefix(words, prefix)).unwrap_or_default();
        format!("const {name} = {};\n", plain(&words))
    };
    let page = words_of("page-state-", "PAGE_WORDS") + text("page.js");
    let figures = words_of("view-", "VIEW_WORDS") + text("figures.js");
    let search = words_of("search-", "SEARCH_WORDS") + text("search_box.js") + text("search.js");
    [
        ("style", "css", style),
        ("page", "js", page),
        ("figures", "js", figures),
        ("checklist", "js", scripts.collect::<Vec<_>>().concat()),
        ("checklist_style", "css", text("checklist.css").to_owned()),
        ("checklist_words", "js", words_of("live-", "LIVE_WORDS")),
        ("open_jobs", "js", text("open_jobs.js").to_owned()),
        ("search", "js", search),
    ]
    .map(|(name, extension, text)| {
        let text = format!("/* {MARK} */\n{}", without_comments(&text));
        let content = Fingerprint::of_bytes(text.as_bytes()).short();
        SharedFile {
            name,
            path: format!("site/{name}-{content}.{extension}"),
            text,
        }
    })
    .into()
}

/// A script or a style sheet without its comments and indentation, which are a quarter of it. Comments are those that
/// begin a line. The text is unchanged if a template literal of a script spans several lines, where they would not be
/// comments.
fn without_comments(text: &str) -> String {
    let mut kept = String::with_capacity(text.len());
    let mut is_comment = false;
    for line in text.lines() {
        let mut line = line.trim();
        if !is_comment && line.starts_with("/*") {
            is_comment = true;
        }
        if is_comment {
            let Some((_, after)) = line.split_once("*/") else {
                continue;
            };
            is_comment = false;
            line = after.trim();
        }
        if line.is_empty() || line.starts_with("//") {
            continue;
        }
        if line.matches('`').count() % 2 == 1 {
            return text.to_owned();
        }
        kept.push_str(line);
        kept.push('\n');
    }
    kept
}

/// A class for each icon, which gives its drawing to the rules of `.icon` in `style.css`.
fn icons() -> String {
    drawings("i", "icon", ICONS)
}

/// A class for each safety sign, as for icons. A drawing on a page itself would be on it many times.
fn signs() -> String {
    drawings("s", "sign", SIGNS)
}

fn drawings(class: &str, variable: &str, files: &[Template]) -> String {
    let mut css = String::new();
    for (file, drawing) in files {
        let name = file.trim_end_matches(".svg");
        // Pages have the text alternative in their own language.
        let (before, rest) = drawing.split_once("<title>").unwrap_or((drawing, ""));
        let (_, after) = rest.split_once("</title>").unwrap_or(("", rest));
        // A string of a style sheet is on one line.
        let lines = before.lines().chain(after.lines());
        let drawing: String = lines.map(str::trim_start).collect();
        let drawing = drawing.replace('"', "'").replace('#', "%23");
        let drawing = drawing.replace('<', "%3C").replace('>', "%3E");
        let _ = writeln!(
            css,
            ".{class}-{name} {{ --{variable}: url(\"data:image/svg+xml,{drawing}\"); }}"
        );
    }
    css
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_and_indentation_are_left_out() {
        let script = "// Says it.\n{\n  /** What.\n   * More. */\n  say(\"// a /* b */\"); // why\n\n  /* A */ go();\n}\n";
        let expected = "{\nsay(\"// a /* b */\"); // why\ngo();\n}\n";
        assert_eq!(without_comments(script), expected);
        let literal = "const text = `\n// no comment\n`;\n";
        assert_eq!(without_comments(literal), literal);
    }
}
