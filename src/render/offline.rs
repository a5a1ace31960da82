//! The files with which a published site works without its server.
//!
//! **In**: every file of the site with a fingerprint of its content. **Out**: the service worker and the manifest of a
//! web application. The worker's version is a fingerprint of all files, so a publish that changes nothing gives the
//! same bytes, and any other gives a browser a new worker.

use super::Look;
use super::address::url;
use crate::cache::Fingerprint;
use crate::output::MARK;
use serde::Serialize;

/// The path of the service worker. At the root, because a worker serves only what is below its folder.
pub(crate) const WORKER: &str = "offline.js";

/// The path of the manifest.
pub(crate) const MANIFEST: &str = "site.webmanifest";

/// The service worker of a site with these files: path and fingerprint of each, in order.
///
/// PDFs are stored only when they are read. They are most of a site, and a page says the same.
pub(crate) fn worker(look: &Look, files: &[(String, Fingerprint)]) -> String {
    let texts = look.html();
    let script = texts.iter().find(|(name, _)| *name == "offline.js");
    let script = script.map_or("", |(_, text)| *text);
    let version = Fingerprint::of_data(&(script, files));
    let is_pdf = |path: &str| {
        let extension = path.rsplit('.').next().unwrap_or_default();
        extension.eq_ignore_ascii_case("pdf")
    };
    let stored = files.iter().map(|(path, _)| path.as_str());
    let stored: Vec<String> = stored.filter(|path| !is_pdf(path)).map(url).collect();
    // Serialisation can't fail: the paths are strings.
    let stored = serde_json::to_string(&stored).unwrap_or_default();
    format!(
        "/* {MARK} */\nconst VERSION = \"{}\";\nconst FILES = {stored};\n{script}",
        version.short()
    )
}

#[derive(Serialize)]
struct Manifest<'a> {
    name: &'a str,
    start_url: &'a str,
    scope: &'a str,
    display: &'a str,
    description: &'a str,
    icons: [Icon<'a>; 1],
}

#[derive(Serialize)]
struct Icon<'a> {
    src: String,
    sizes: &'a str,
    #[serde(rename = "type")]
    media_type: &'a str,
}

/// The manifest of a shop's site. `front` is the path of its front page.
pub(crate) fn manifest(shop: &str, front: &str) -> String {
    let icon = "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 24 24'><path fill='#fff' d='M0 0h24v24H0z'/>\
        <path fill='none' stroke='#000' stroke-width='1.8' d='M5 4.5h14v16.6H5zM9 2.9h6v3.2H9zM8 11l1.3 1.3L11.6 10'/></svg>";
    let icon = icon
        .replace('#', "%23")
        .replace('<', "%3C")
        .replace('>', "%3E");
    let manifest = Manifest {
        name: shop,
        start_url: front,
        scope: "./",
        display: "standalone",
        description: MARK,
        icons: [Icon {
            src: format!("data:image/svg+xml,{icon}"),
            sizes: "any",
            media_type: "image/svg+xml",
        }],
    };
    // Serialisation can't fail: all values are strings.
    let text = serde_json::to_string_pretty(&manifest).unwrap_or_default();
    format!("{text}\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn files(content: &[u8]) -> Vec<(String, Fingerprint)> {
        let file = |path: &str, content: &[u8]| (path.to_owned(), Fingerprint::of_bytes(content));
        vec![
            file("index.html", content),
            file("m/a sheet.html", b"sheet"),
            file("m/a sheet.pdf", b"pdf"),
        ]
    }

    #[test]
    fn the_worker_changes_with_any_file_and_stores_no_pdf() {
        let look = Look::default();
        let first = worker(&look, &files(b"one"));
        assert_eq!(first, worker(&look, &files(b"one")));
        assert_ne!(first, worker(&look, &files(b"two")));
        assert!(
            first.contains("[\"index.html\",\"m/a%20sheet.html\"]"),
            "{first}"
        );
    }

    #[test]
    fn the_shops_name_is_data_in_the_manifest() {
        let text = manifest("\"Elm\" & <b>", "index.html");
        let data: serde_json::Value = serde_json::from_str(&text).expect("valid JSON");
        assert_eq!(data["name"], "\"Elm\" & <b>");
        assert_eq!(data["start_url"], "index.html");
    }
}
