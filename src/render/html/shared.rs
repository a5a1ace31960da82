//! The style sheet and the scripts that all pages share, and the words that the scripts show.

use crate::cache::Fingerprint;
use crate::output::MARK;
use crate::render::Look;
use crate::words::Words;
use serde::Serialize;
use std::collections::BTreeMap;

/// The paths of the files that all pages share.
///
/// A path contains a hash of the file's content, as a figure's does, so that a browser's cache can't
/// combine a new page with an old style sheet. The files are not embedded, because they would be most
/// of each page and take most of the publishing time.
#[derive(Clone, Serialize)]
pub(super) struct Shared {
    style: String,
    checklist: String,
    machines: String,
    search: String,
}

impl Shared {
    pub(super) fn of(look: &Look) -> Shared {
        let [style, checklist, machines, search] = shared_files(look).map(|(path, _)| path);
        Shared {
            style,
            checklist,
            machines,
            search,
        }
    }
}

/// The words whose keys begin with a prefix, by key without the prefix. The scripts have no words of their
/// own.
pub(super) fn words_with_prefix(words: &Words, prefix: &str) -> BTreeMap<String, String> {
    let words = words.all().iter();
    words
        .filter_map(|(key, text)| Some((key.strip_prefix(prefix)?.to_owned(), text.clone())))
        .collect()
}

/// The path from the output's root and the text of each file: the style sheet, then the scripts.
pub(super) fn shared_files(look: &Look) -> [(String, String); 4] {
    let text = |name: &str| {
        let files = look.html();
        let file = files.into_iter().find(|(file, _)| *file == name);
        file.map_or("", |(_, text)| text).to_owned()
    };
    let style = format!("{}{}", text("style.css"), text("shop.css"));
    [
        ("style", "css", style),
        ("checklist", "js", text("checklist.js")),
        ("machines", "js", text("machines.js")),
        ("search", "js", text("search.js")),
    ]
    .map(|(name, extension, text)| {
        let text = format!("/* {MARK} */\n{text}");
        let content = Fingerprint::of_bytes(text.as_bytes()).short();
        (format!("site/{name}-{content}.{extension}"), text)
    })
}
