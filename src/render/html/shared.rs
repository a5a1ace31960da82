//! The files that all pages share, and the words that their scripts say.

use crate::cache::Fingerprint;
use crate::output::MARK;
use crate::render::Look;
use crate::words::Words;
use serde::Serialize;
use std::collections::BTreeMap;

/// The files that all pages share, each by its path.
///
/// Their names carry their content, as a figure's does: no browser shows a page in an old dress.
/// Inside each page they would be most of it, and most of the time that publishing takes.
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

/// The words whose keys begin with a prefix, by their keys without it: a script says nothing of its
/// own.
pub(super) fn said(words: &Words, prefix: &str) -> BTreeMap<String, String> {
    let all = words.all().iter();
    all.filter_map(|(key, text)| Some((key.strip_prefix(prefix)?.to_owned(), text.clone())))
        .collect()
}

/// The files, each by its path from the output's root and its text: the style, then the scripts.
pub(super) fn shared_files(look: &Look) -> [(String, String); 4] {
    let text = |name: &str| {
        let all = look.html();
        let found = all.into_iter().find(|(known, _)| *known == name);
        found.map_or("", |(_, text)| text).to_owned()
    };
    let style = format!("{}{}", text("style.css"), text("shop.css"));
    [
        ("style", "css", style),
        ("checklist", "js", text("checklist.js")),
        ("machines", "js", text("machines.js")),
        ("search", "js", text("search.js")),
    ]
    .map(|(name, ending, text)| {
        let text = format!("/* {MARK} */\n{text}");
        let content = Fingerprint::of_bytes(text.as_bytes()).short();
        (format!("site/{name}-{content}.{ending}"), text)
    })
}
