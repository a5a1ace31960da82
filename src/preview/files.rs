//! Resolves the path of a request to a file, and determines its media type.

use percent_encoding::percent_decode_str;
use std::borrow::Cow;
use std::fs;
use std::path::{Component, Path, PathBuf};

/// Resolves a request's path to a file in a folder. None if the file does not exist, if it is hidden or
/// outside the folder, or if the path is not normalized.
///
/// `folder` must be a canonical path.
pub(super) fn find(folder: &Path, path: &str) -> Option<PathBuf> {
    let mut file = folder.to_owned();
    for part in parts(path)? {
        file.push(part.as_ref());
    }
    // Resolves symbolic links, which can point outside the folder.
    let canonical = file.canonicalize().ok()?;
    let relative = canonical.strip_prefix(folder).ok()?;
    let is_hidden = |part: Component<'_>| part.as_os_str().to_string_lossy().starts_with('.');
    let is_file = fs::metadata(&canonical).is_ok_and(|metadata| metadata.is_file());
    (is_file && !relative.components().any(is_hidden)).then_some(canonical)
}

/// Decodes the names in a request's path. None if one of them can't be the name of a served file.
fn parts(path: &str) -> Option<Vec<Cow<'_, str>>> {
    let rest = path.strip_prefix('/')?;
    let mut parts: Vec<Cow<'_, str>> = rest.split('/').map(decode).collect::<Option<_>>()?;
    // A path that ends with a slash means the folder's index page.
    if let Some(last) = parts.last_mut().filter(|last| last.is_empty()) {
        *last = "index.html".into();
    }
    parts.iter().all(|part| is_plain(part)).then_some(parts)
}

/// Whether a text is a single file name on every system, and not hidden.
fn is_plain(part: &str) -> bool {
    let has_special = part.contains(|letter: char| "/\\:".contains(letter) || letter.is_control());
    let mut components = Path::new(part).components();
    let is_single = matches!(
        (components.next(), components.next()),
        (Some(Component::Normal(name)), None) if name == part
    );
    is_single && !has_special && !part.starts_with('.')
}

/// Decodes percent-encoded bytes once, as in the URL Standard: a `%` without two hexadecimal digits is
/// kept. None if the result is not UTF-8.
pub(super) fn decode(text: &str) -> Option<Cow<'_, str>> {
    percent_decode_str(text).decode_utf8().ok()
}

/// The media type of a file, by its extension.
pub(super) fn content_type(file: &Path) -> &'static str {
    let extension = file.extension().and_then(|extension| extension.to_str());
    match extension.unwrap_or_default().to_ascii_lowercase().as_str() {
        "html" => "text/html; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "js" | "mjs" => "text/javascript; charset=utf-8",
        "json" => "application/json",
        "txt" => "text/plain; charset=utf-8",
        "xml" => "application/xml",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "jpg" | "jpeg" => "image/jpeg",
        "pdf" => "application/pdf",
        "woff2" => "font/woff2",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder() -> (tempfile::TempDir, PathBuf) {
        let outer = tempfile::tempdir().unwrap();
        let folder = outer.path().canonicalize().unwrap().join("pages");
        for (path, text) in [
            ("index.html", "front"),
            ("es/index.html", "delante"),
            ("tarn-yarrow/a b ü.html", "page"),
            (".benchleaf/record.json", "hidden"),
            ("tarn-yarrow/.hidden.html", "hidden"),
        ] {
            let file = folder.join(path);
            fs::create_dir_all(file.parent().unwrap()).unwrap();
            fs::write(file, text).unwrap();
        }
        fs::write(outer.path().join("secret.html"), "secret").unwrap();
        (outer, folder)
    }

    #[test]
    fn path_resolves_to_its_file() {
        let (_outer, folder) = folder();
        for (path, file) in [
            ("/", "index.html"),
            ("/index.html", "index.html"),
            ("/es/", "es/index.html"),
            ("/tarn-yarrow/a%20b%20%C3%BC.html", "tarn-yarrow/a b ü.html"),
            ("/tarn%2Dyarrow/a b ü.html", "tarn-yarrow/a b ü.html"),
        ] {
            assert_eq!(find(&folder, path), Some(folder.join(file)), "{path}");
        }
    }

    #[test]
    fn other_paths_are_refused() {
        let (_outer, folder) = folder();
        for path in [
            "",
            "index.html",
            "/nothing.html",
            "/tarn-yarrow",
            "/tarn-yarrow/",
            "/../secret.html",
            "/tarn-yarrow/../../secret.html",
            "/tarn-yarrow/../index.html",
            "/./index.html",
            "/%2e%2e/secret.html",
            "/%2E%2E%2Fsecret.html",
            "/..%2fsecret.html",
            "/es%2findex.html",
            "/%252e%252e/secret.html",
            "/..%5csecret.html",
            "/..\\secret.html",
            "//index.html",
            "//etc/passwd",
            "/%2Fetc%2Fpasswd",
            "/es//index.html",
            "/C:/index.html",
            "/C%3A%5Cindex.html",
            "/index.html%00",
            "/index.html%00.png",
            "/index.html%",
            "/index.html%4",
            "/index.html%zz",
            "/%ff%fe.html",
            "/.benchleaf/record.json",
            "/%2ebenchleaf/record.json",
            "/tarn-yarrow/.hidden.html",
            "/index.html/",
            "/~root",
        ] {
            assert_eq!(find(&folder, path), None, "{path}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn symbolic_link_resolves_only_to_a_served_file() {
        use std::os::unix::fs::symlink;
        let (outer, folder) = folder();
        symlink(outer.path().join("secret.html"), folder.join("out.html")).unwrap();
        symlink(outer.path(), folder.join("up")).unwrap();
        symlink(folder.join(".benchleaf"), folder.join("side")).unwrap();
        symlink(folder.join("es"), folder.join("en")).unwrap();
        symlink("loop", folder.join("loop")).unwrap();
        for path in ["/out.html", "/up/secret.html", "/side/record.json", "/loop"] {
            assert_eq!(find(&folder, path), None, "{path}");
        }
        assert_eq!(find(&folder, "/en/"), Some(folder.join("es/index.html")));
    }

    #[test]
    fn percent_encoding_is_decoded_once_and_must_be_utf8() {
        assert_eq!(decode("a%2Fb%25").as_deref(), Some("a/b%"));
        assert_eq!(decode("%C3%BC").as_deref(), Some("ü"));
        assert_eq!(decode("%+1").as_deref(), Some("%+1"));
        assert_eq!(decode("%C3"), None);
    }
}
