//! The file that a request's path names.

use percent_encoding::percent_decode_str;
use std::borrow::Cow;
use std::fs;
use std::path::{Component, Path, PathBuf};

/// The file in a folder that a request's path names. None when there is no such file, when it is
/// hidden or outside the folder, or when the path is not in its plain form.
///
/// `folder` must be a canonical path.
pub(super) fn find(folder: &Path, path: &str) -> Option<PathBuf> {
    let mut file = folder.to_owned();
    for part in parts(path)? {
        file.push(part.as_ref());
    }
    // A symbolic link may lead anywhere: the canonical path counts.
    let real = file.canonicalize().ok()?;
    let below = real.strip_prefix(folder).ok()?;
    let is_hidden = |part: Component<'_>| part.as_os_str().to_string_lossy().starts_with('.');
    let is_file = fs::metadata(&real).is_ok_and(|found| found.is_file());
    (is_file && !below.components().any(is_hidden)).then_some(real)
}

/// The names in a request's path. None when one of them can't be the name of a served file.
fn parts(path: &str) -> Option<Vec<Cow<'_, str>>> {
    let rest = path.strip_prefix('/')?;
    let mut parts: Vec<Cow<'_, str>> = rest.split('/').map(decode).collect::<Option<_>>()?;
    // A folder's own page.
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

/// A text with its percent-encoded bytes decoded once, as the URL Standard does it: a `%` without
/// two hexadecimal digits stays. None where the bytes are not UTF-8.
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
        let all = tempfile::tempdir().unwrap();
        let folder = all.path().canonicalize().unwrap().join("pages");
        for (path, text) in [
            ("index.html", "front"),
            ("es/index.html", "delante"),
            ("tarn-t7/a b ü.html", "page"),
            (".benchleaf/record.json", "hidden"),
            ("tarn-t7/.hidden.html", "hidden"),
        ] {
            let file = folder.join(path);
            fs::create_dir_all(file.parent().unwrap()).unwrap();
            fs::write(file, text).unwrap();
        }
        fs::write(all.path().join("secret.html"), "secret").unwrap();
        (all, folder)
    }

    #[test]
    fn a_path_leads_to_its_file() {
        let (_all, folder) = folder();
        for (path, file) in [
            ("/", "index.html"),
            ("/index.html", "index.html"),
            ("/es/", "es/index.html"),
            ("/tarn-t7/a%20b%20%C3%BC.html", "tarn-t7/a b ü.html"),
            ("/tarn%2Dt7/a b ü.html", "tarn-t7/a b ü.html"),
        ] {
            assert_eq!(find(&folder, path), Some(folder.join(file)), "{path}");
        }
    }

    #[test]
    fn nothing_else_is_found() {
        let (_all, folder) = folder();
        for path in [
            "",
            "index.html",
            "/nothing.html",
            "/tarn-t7",
            "/tarn-t7/",
            "/../secret.html",
            "/tarn-t7/../../secret.html",
            "/tarn-t7/../index.html",
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
            "/tarn-t7/.hidden.html",
            "/index.html/",
            "/~root",
        ] {
            assert_eq!(find(&folder, path), None, "{path}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_link_is_followed_only_to_what_may_be_served() {
        use std::os::unix::fs::symlink;
        let (all, folder) = folder();
        symlink(all.path().join("secret.html"), folder.join("out.html")).unwrap();
        symlink(all.path(), folder.join("up")).unwrap();
        symlink(folder.join(".benchleaf"), folder.join("side")).unwrap();
        symlink(folder.join("es"), folder.join("en")).unwrap();
        symlink("loop", folder.join("loop")).unwrap();
        for path in ["/out.html", "/up/secret.html", "/side/record.json", "/loop"] {
            assert_eq!(find(&folder, path), None, "{path}");
        }
        assert_eq!(find(&folder, "/en/"), Some(folder.join("es/index.html")));
    }

    #[test]
    fn what_is_decoded_is_text_or_nothing() {
        assert_eq!(decode("a%2Fb%25").as_deref(), Some("a/b%"));
        assert_eq!(decode("%C3%BC").as_deref(), Some("ü"));
        assert_eq!(decode("%+1").as_deref(), Some("%+1"));
        assert_eq!(decode("%C3"), None);
    }
}
