//! The path of a request, and the file it names.

use std::fs;
use std::path::{Component, Path, PathBuf};

/// The file below a folder that a request's path names: none where there is no such file, or where
/// it is hidden, stands outside the folder or is not named plainly.
///
/// `folder` must be a real path, without links in it.
pub(super) fn find(folder: &Path, path: &str) -> Option<PathBuf> {
    let mut file = folder.to_owned();
    for part in parts(path)? {
        file.push(part);
    }
    // A link may lead anywhere: only where the file really is counts.
    let real = file.canonicalize().ok()?;
    let below = real.strip_prefix(folder).ok()?;
    let is_hidden = |part: Component<'_>| part.as_os_str().to_string_lossy().starts_with('.');
    let is_file = fs::metadata(&real).is_ok_and(|found| found.is_file());
    (is_file && !below.components().any(is_hidden)).then_some(real)
}

/// The names in a request's path; none where it can't be the path of a page or a file of one.
fn parts(path: &str) -> Option<Vec<String>> {
    let rest = path.strip_prefix('/')?;
    let mut parts: Vec<String> = rest.split('/').map(decode).collect::<Option<_>>()?;
    // A folder's own page.
    if let Some(last) = parts.last_mut().filter(|last| last.is_empty()) {
        "index.html".clone_into(last);
    }
    parts.iter().all(|part| is_plain(part)).then_some(parts)
}

/// Whether a name is one name, on any system, and not a hidden one.
fn is_plain(part: &str) -> bool {
    let has_odd = part.contains(|letter: char| "/\\:".contains(letter) || letter.is_control());
    let mut components = Path::new(part).components();
    let is_one = matches!(
        (components.next(), components.next()),
        (Some(Component::Normal(one)), None) if one == part
    );
    is_one && !has_odd && !part.starts_with('.')
}

/// A text with its percent-encoded bytes put back, once (RFC 3986, 2.1); none where it is no text.
pub(super) fn decode(text: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.bytes();
    while let Some(byte) = rest.next() {
        if byte == b'%' {
            let digit = |byte: Option<u8>| char::from(byte?).to_digit(16);
            let (high, low) = (digit(rest.next())?, digit(rest.next())?);
            bytes.push(u8::try_from(high * 16 + low).ok()?);
        } else {
            bytes.push(byte);
        }
    }
    String::from_utf8(bytes).ok()
}

/// What a file is, by its ending (IANA media types); of an unknown one nothing is said.
pub(super) fn content_type(file: &Path) -> &'static str {
    let ending = file.extension().and_then(|ending| ending.to_str());
    match ending.unwrap_or_default().to_ascii_lowercase().as_str() {
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
        assert_eq!(decode("a%2Fb%25"), Some("a/b%".to_owned()));
        assert_eq!(decode("%C3%BC"), Some("ü".to_owned()));
        assert_eq!(decode("%+1"), None);
        assert_eq!(decode("%C3"), None);
    }
}
