//! Addresses of files: `file:///srv/shop/tools.toml`.

use lsp_types::Uri;
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, percent_decode_str, utf8_percent_encode};
use std::path::{Path, PathBuf};
use std::str::FromStr as _;

/// What is written as it is in the path of an address: the unreserved characters of RFC 3986 and the separator.
const KEPT: &AsciiSet = &NON_ALPHANUMERIC
    .remove(b'-')
    .remove(b'.')
    .remove(b'_')
    .remove(b'~')
    .remove(b'/');

/// The path of a file's address. `None` if it is the address of something else.
pub(super) fn path_of(uri: &Uri) -> Option<PathBuf> {
    let rest = uri.as_str().strip_prefix("file://")?;
    // The host is empty, or this computer.
    let path = &rest[rest.find('/')?..];
    let path = path.split(['?', '#']).next().unwrap_or_default();
    let path = percent_decode_str(path).decode_utf8().ok()?;
    let bytes = path.as_bytes();
    let has_drive = cfg!(windows) && bytes.get(2) == Some(&b':');
    Some(PathBuf::from(if has_drive { &path[1..] } else { &*path }))
}

/// The address of a file. `None` if its path is not UTF-8 text.
pub(super) fn uri_of(path: &Path) -> Option<Uri> {
    let path = path.to_str()?.replace(std::path::MAIN_SEPARATOR, "/");
    let slash = if path.starts_with('/') { "" } else { "/" };
    let path = utf8_percent_encode(&path, KEPT);
    Uri::from_str(&format!("file://{slash}{path}")).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn path_of_an_address_is_the_path_that_it_was_made_from() {
        for path in ["/srv/shop/tools.toml", "/a b/ü#?%41[1].md", "/"] {
            let uri = uri_of(Path::new(path)).unwrap();
            assert_eq!(path_of(&uri).unwrap(), Path::new(path), "{}", uri.as_str());
        }
        let other = Uri::from_str("untitled:Untitled-1").unwrap();
        assert_eq!(path_of(&other), None);
        let of_editor = Uri::from_str("file:///srv/a%2Bb/c+d.md").unwrap();
        assert_eq!(path_of(&of_editor).unwrap(), Path::new("/srv/a+b/c+d.md"));
    }
}
