//! The style sheet and the scripts that all pages share, and the words that the scripts show.

use super::accent::accent_tokens;
use crate::cache::Fingerprint;
use crate::output::MARK;
use crate::render::Look;
use crate::render::templates::ICONS;
use crate::shop::Colour;
use crate::words::Words;
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// The paths of the files that all pages share.
///
/// A path contains a hash of the file's content, as a figure's does, so that a browser's cache can't
/// combine a new page with an old style sheet. The files are not embedded, because they would be most
/// of each page and take most of the publishing time.
#[derive(Clone, Serialize)]
pub(super) struct Shared {
    style: String,
    page: String,
    checklist: String,
    machines: String,
    search: String,
}

impl Shared {
    pub(super) fn of(look: &Look, accent: Option<Colour>) -> Shared {
        let paths = shared_files(look, accent).map(|(path, _)| path);
        let [style, page, checklist, machines, search] = paths;
        Shared {
            style,
            page,
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
pub(super) fn shared_files(look: &Look, accent: Option<Colour>) -> [(String, String); 5] {
    let text = |name: &str| {
        let files = look.html();
        let file = files.into_iter().find(|(file, _)| *file == name);
        file.map_or("", |(_, text)| text).to_owned()
    };
    let style = [
        text("tokens.css"),
        accent_tokens(accent),
        icons(),
        text("style.css"),
        text("shop.css"),
    ];
    [
        ("style", "css", style.concat()),
        ("page", "js", text("page.js")),
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

/// A class for each icon, which gives its drawing to the rules of `.icon` in `style.css`.
fn icons() -> String {
    let mut css = String::new();
    for (file, drawing) in ICONS {
        let name = file.trim_end_matches(".svg");
        // The text alternative of an icon is the text beside it.
        let (before, rest) = drawing.split_once("<title>").unwrap_or((drawing, ""));
        let (_, after) = rest.split_once("</title>").unwrap_or(("", rest));
        // A string of a style sheet is on one line.
        let drawing: String = before.lines().chain(after.lines()).collect();
        let drawing = drawing.replace('"', "'").replace('#', "%23");
        let drawing = drawing.replace('<', "%3C").replace('>', "%3E");
        let _ = writeln!(
            css,
            ".i-{name} {{ --icon: url(\"data:image/svg+xml,{drawing}\"); }}"
        );
    }
    css
}
