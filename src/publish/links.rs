//! Checks that no link in the output is broken.
//!
//! **In**: the text of every HTML page that the run writes, as the shop's own templates rendered it,
//! and the paths of the pages that it keeps. **Out**: the broken links.
//!
//! A kept page was checked when it was written. Its links can only break if another page is removed or
//! loses an id, and only then are kept pages read again.

use crate::output::{OutputError, StagedWrite};
use foldhash::quality::FixedState;
use percent_encoding::percent_decode_str;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::hash::BuildHasher;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The links and ids of all pages.
#[derive(Default)]
pub(super) struct Links {
    /// By path. `None` for a kept page that has not been read.
    pages: Mutex<BTreeMap<String, Option<PageLinks>>>,
}

/// The ids and link targets of a page. A large shop has millions of them, so only hashes are stored;
/// the page is read again to report a broken link by its text.
struct PageLinks {
    /// The hashes of the page's ids, sorted.
    ids: Box<[u64]>,
    /// The hashes of the links to other files, sorted: path and fragment. A fragment of 0 means none.
    targets: Box<[(u64, u64)]>,
    /// Addresses that can be reported without other pages: fragments of this page without an id, and
    /// paths that leave the output.
    broken: Vec<String>,
}

/// The target of a link: the path of a file in the output, and a fragment.
type Target = (String, Option<String>);

impl Links {
    /// Adds a page that the run writes.
    pub(super) fn add_written(&self, path: &str, text: &str) {
        let page = PageLinks::of(path, text);
        self.pages().insert(path.to_owned(), Some(page));
    }

    /// Adds a page that is kept from an earlier run.
    pub(super) fn add_kept(&self, path: String) {
        self.pages().insert(path, None);
    }

    /// Whether any page that the run writes links to a file.
    pub(super) fn has_link_to(&self, path: &str) -> bool {
        let pages = self.pages();
        let file = hash(path);
        let mut written = pages.values().flatten();
        written.any(|page| page.targets.iter().any(|(path, _)| *path == file))
    }

    fn pages(&self) -> MutexGuard<'_, BTreeMap<String, Option<PageLinks>>> {
        self.pages.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Every broken link: the path of its page, and its address. `is_whole` says whether the run removes
    /// the files that it does not make.
    ///
    /// # Errors
    ///
    /// If a page can't be read.
    pub(super) fn broken(
        self,
        staged: &StagedWrite<'_>,
        is_whole: bool,
    ) -> Result<Vec<(String, String)>, OutputError> {
        let mut pages = self
            .pages
            .into_inner()
            .unwrap_or_else(PoisonError::into_inner);
        if loses_targets(&pages, staged, is_whole) {
            for (path, page) in &mut pages {
                if page.is_none() {
                    *page = Some(PageLinks::of(path, &staged.text(path)?));
                }
            }
        }
        let files: BTreeSet<u64> = staged.paths().iter().map(|path| hash(path)).collect();
        let by_hash: BTreeMap<u64, (&str, &Option<PageLinks>)> = pages
            .iter()
            .map(|(path, page)| (hash(path), (path.as_str(), page)))
            .collect();
        // The ids of kept pages that other pages link to. Each such page is read at most once.
        let mut ids_of_kept: BTreeMap<u64, Box<[u64]>> = BTreeMap::new();
        let mut broken = Vec::new();
        for (path, page) in &pages {
            let Some(page) = page else { continue };
            for address in &page.broken {
                broken.push((path.clone(), address.clone()));
            }
            let mut broken_targets = Vec::new();
            for (file, fragment) in &page.targets {
                let exists = files.contains(file)
                    && match (*fragment, by_hash.get(file)) {
                        (0, _) => true,
                        (fragment, Some((_, Some(page)))) => page.has_id(fragment),
                        (fragment, Some((path, None))) => {
                            if !ids_of_kept.contains_key(file) {
                                ids_of_kept
                                    .insert(*file, PageLinks::of(path, &staged.text(path)?).ids);
                            }
                            let ids = ids_of_kept.get(file);
                            ids.is_some_and(|ids| ids.binary_search(&fragment).is_ok())
                        }
                        (_, None) => false,
                    };
                if !exists {
                    broken_targets.push((*file, *fragment));
                }
            }
            if !broken_targets.is_empty() {
                let text = staged.text(path)?;
                let targets = PageScan::of(path, &text).targets.into_iter();
                let targets =
                    targets.filter(|target| broken_targets.contains(&hash_target(target)));
                broken.extend(targets.map(|(file, fragment)| {
                    let fragment = fragment.map(|fragment| format!("#{fragment}"));
                    (
                        path.clone(),
                        format!("{file}{}", fragment.unwrap_or_default()),
                    )
                }));
            }
        }
        Ok(broken)
    }
}

/// Whether the run removes a file or an id that a kept page may link to.
fn loses_targets(
    pages: &BTreeMap<String, Option<PageLinks>>,
    staged: &StagedWrite<'_>,
    is_whole: bool,
) -> bool {
    if pages.values().all(Option::is_some) {
        return false;
    }
    if is_whole && staged.removes_any() {
        return true;
    }
    for (path, page) in pages {
        let Some(page) = page else { continue };
        let Some(previous) = staged.previous_text(path) else {
            continue;
        };
        let previous = PageLinks::of(path, &previous);
        if previous
            .ids
            .iter()
            .any(|id| page.ids.binary_search(id).is_err())
        {
            return true;
        }
    }
    false
}

impl PageLinks {
    fn of(path: &str, text: &str) -> PageLinks {
        let PageScan {
            ids,
            targets,
            broken,
        } = PageScan::of(path, text);
        let mut targets: Vec<(u64, u64)> = targets.iter().map(hash_target).collect();
        targets.sort_unstable();
        targets.dedup();
        PageLinks {
            ids: ids.into(),
            targets: targets.into(),
            broken,
        }
    }

    fn has_id(&self, id: u64) -> bool {
        self.ids.binary_search(&id).is_ok()
    }
}

fn hash_target((path, fragment): &Target) -> (u64, u64) {
    (hash(path), fragment.as_deref().map_or(0, hash))
}

/// The ids and links in the text of a page.
struct PageScan {
    /// Hashes of the ids, sorted.
    ids: Vec<u64>,
    targets: Vec<Target>,
    /// As [`PageLinks::broken`], and ids that occur twice.
    broken: Vec<String>,
}

impl PageScan {
    fn of(path: &str, text: &str) -> PageScan {
        let mut scan = PageScan {
            ids: Vec::new(),
            targets: Vec::new(),
            broken: Vec::new(),
        };
        let mut same_page = Vec::new();
        for (name, value) in attributes(text) {
            match name {
                "id" => scan.ids.push(hash(&unescape(value))),
                "href" | "src" => {
                    let value = unescape(value);
                    if value.starts_with('#') {
                        same_page.push(value);
                    } else if !is_external(&value) {
                        match resolve(path, &value) {
                            Some(target) => scan.targets.push(target),
                            None => scan.broken.push(value.into_owned()),
                        }
                    }
                }
                _ => {}
            }
        }
        scan.ids.sort_unstable();
        let mut duplicates = scan.ids.windows(2).filter(|pair| pair[0] == pair[1]);
        if let Some(pair) = duplicates.next() {
            // A browser goes to the first of two equal ids, which may be the wrong one.
            let ids = attributes(text).filter(|(name, _)| *name == "id");
            let mut same = ids.filter(|(_, id)| hash(&unescape(id)) == pair[0]);
            let id = same.next().map_or("", |(_, id)| id);
            scan.broken.push(format!("#{id}, which occurs twice,"));
        }
        for address in same_page {
            let fragment = &address[1..];
            let id = decode(fragment);
            let exists = id.is_some_and(|id| scan.ids.binary_search(&hash(&id)).is_ok());
            if !fragment.is_empty() && !exists {
                scan.broken.push(address.into_owned());
            }
        }
        scan
    }
}

/// Whether an address has a scheme or a host, and so leaves the output: `https:`, `mailto:`, `//`.
fn is_external(address: &str) -> bool {
    let scheme = address.split(['/', '?', '#']).next().unwrap_or_default();
    scheme.contains(':') || address.starts_with("//")
}

/// Resolves a relative address against the path of its page. None if it leaves the output.
fn resolve(page: &str, address: &str) -> Option<Target> {
    let (path, fragment) = match address.split_once('#') {
        Some((path, fragment)) => (path, Some(decode(fragment)?.into_owned())),
        None => (address, None),
    };
    let path = path.split('?').next().unwrap_or_default();
    let folder = page.rfind('/').map_or("", |end| &page[..end]);
    let mut resolved = String::with_capacity(folder.len() + 1 + path.len());
    resolved.push_str(folder);
    for part in path.split('/') {
        match part {
            "" | "." => {}
            ".." if resolved.is_empty() => return None,
            ".." => resolved.truncate(resolved.rfind('/').unwrap_or(0)),
            part => {
                if !resolved.is_empty() {
                    resolved.push('/');
                }
                resolved.push_str(&decode(part)?);
            }
        }
    }
    Some((resolved, fragment))
}

/// Decodes percent-encoded bytes as in the URL Standard: a `%` without two hexadecimal digits is kept.
/// None if the result is not UTF-8.
fn decode(text: &str) -> Option<Cow<'_, str>> {
    percent_decode_str(text).decode_utf8().ok()
}

/// Resolves the character references that our templates write in attribute values.
fn unescape(value: &str) -> Cow<'_, str> {
    if !value.contains('&') {
        return Cow::Borrowed(value);
    }
    let named = [
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", "\""),
        ("&#x27;", "'"),
        ("&#39;", "'"),
        ("&#x2F;", "/"),
        ("&amp;", "&"),
    ];
    let mut text = value.to_owned();
    for (escape, letter) in named {
        text = text.replace(escape, letter);
    }
    Cow::Owned(text)
}

/// Iterates over the attributes of all tags as name and value, in order. Skips the content of scripts,
/// styles and comments, and attributes without a value.
fn attributes(text: &str) -> Attributes<'_> {
    Attributes {
        text,
        offset: 0,
        tag: None,
    }
}

/// See [`attributes`]. Reads each byte once, because it runs on every page.
struct Attributes<'t> {
    text: &'t str,
    /// Byte offset into `text`.
    offset: usize,
    /// The name of the current tag. None between tags.
    tag: Option<&'t str>,
}

impl<'t> Iterator for Attributes<'t> {
    type Item = (&'t str, &'t str);

    fn next(&mut self) -> Option<(&'t str, &'t str)> {
        loop {
            if self.tag.is_none() {
                self.enter_tag()?;
            }
            self.take_while(|byte| byte.is_ascii_whitespace() || byte == b'/');
            if self.peek()? == b'>' {
                self.leave_tag();
                continue;
            }
            let name = self.take_while(|byte| !ENDS_NAME[usize::from(byte)]);
            if self.peek()? != b'=' {
                // The attribute has no value.
                continue;
            }
            self.offset += 1;
            let value = match self.peek()? {
                quote @ (b'"' | b'\'') => {
                    let start = self.offset + 1;
                    let end = start + memchr::memchr(quote, &self.text.as_bytes()[start..])?;
                    self.offset = end + 1;
                    &self.text[start..end]
                }
                _ => self.take_while(|byte| !byte.is_ascii_whitespace() && byte != b'>'),
            };
            return Some((name, value));
        }
    }
}

/// Whether a byte ends an attribute's name, by the byte's value.
const ENDS_NAME: [bool; 256] = {
    let mut ends = [false; 256];
    let delimiters = *b" \t\n\x0c\r=>/";
    let mut index = 0;
    while index < delimiters.len() {
        ends[delimiters[index] as usize] = true;
        index += 1;
    }
    ends
};

impl<'t> Attributes<'t> {
    fn peek(&self) -> Option<u8> {
        self.text.as_bytes().get(self.offset).copied()
    }

    /// Advances past the bytes that pass `is`, and returns them. `is` must give the same answer for all
    /// bytes of a multi-byte character, so that the end is a character boundary.
    #[inline]
    fn take_while(&mut self, is: impl Fn(u8) -> bool) -> &'t str {
        let rest = &self.text.as_bytes()[self.offset..];
        let start = self.offset;
        self.offset += rest
            .iter()
            .position(|byte| !is(*byte))
            .unwrap_or(rest.len());
        self.text.get(start..self.offset).unwrap_or_default()
    }

    /// Advances past the name of the next start tag. None at the end of the text.
    fn enter_tag(&mut self) -> Option<()> {
        loop {
            self.offset += memchr::memchr(b'<', &self.text.as_bytes()[self.offset..])? + 1;
            match self.peek()? {
                b'!' => {
                    if let Some(comment) = self.text[self.offset..].strip_prefix("!--") {
                        self.offset = self.text.len() - comment.len() + comment.find("-->")?;
                    }
                }
                letter if letter.is_ascii_alphabetic() => {
                    self.tag = Some(self.take_while(|byte| byte.is_ascii_alphanumeric()));
                    return Some(());
                }
                // Mostly end tags.
                _ => {}
            }
        }
    }

    /// Advances past the `>` of the tag, and past the content of a script or style element.
    fn leave_tag(&mut self) {
        self.offset += 1;
        let name = self.tag.take().unwrap_or_default();
        for raw in ["script", "style"] {
            if name.eq_ignore_ascii_case(raw) {
                let rest = &self.text[self.offset..];
                self.offset += rest.find(&format!("</{raw}")).unwrap_or(rest.len());
            }
        }
    }
}

/// A hash that is never 0, so that 0 can mean no fragment.
fn hash(text: &str) -> u64 {
    FixedState::default().hash_one(text).max(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(text: &str) -> PageScan {
        PageScan::of("tarn-yarrow/float-bowl.html", text)
    }

    #[test]
    fn links_are_resolved_against_the_path_of_their_page() {
        let mut page = page(
            "<a href=\"../index.html#a%20b\">x</a> <img src='../figures/f-1.svg' alt=\"a > b\"> \
             <a href=\"oil.html?x=1\">y</a>",
        );
        page.targets.sort();
        let targets: Vec<(&str, Option<&str>)> = page
            .targets
            .iter()
            .map(|(path, fragment)| (path.as_str(), fragment.as_deref()))
            .collect();
        assert_eq!(
            targets,
            [
                ("figures/f-1.svg", None),
                ("index.html", Some("a b")),
                ("tarn-yarrow/oil.html", None),
            ]
        );
    }

    #[test]
    fn fragment_without_id_is_broken_and_empty_fragment_is_not() {
        let text = "<p id=\"a&amp;b\"></p><a href=\"#a&amp;b\">1</a><a href=\"#c\">2</a><a href=\"#\">3</a>";
        assert_eq!(page(text).broken, ["#c"]);
    }

    #[test]
    fn duplicate_id_is_reported() {
        let text = "<p id=\"a\"></p><p id=\"b\"></p><p id=\"a\"></p>";
        assert_eq!(page(text).broken, ["#a, which occurs twice,"]);
    }

    #[test]
    fn path_outside_the_output_is_broken_and_external_links_are_ignored() {
        let text = "<a href=\"../../x.html\">1</a><a href=\"https://example.org/x\">2</a>\
            <a href=\"mailto:a@example.org\">3</a>";
        let page = page(text);
        assert_eq!(page.broken, ["../../x.html"]);
        assert!(page.targets.is_empty());
    }

    #[test]
    fn links_in_scripts_styles_comments_and_text_are_ignored() {
        let text = "<script>x('<a href=\"1.html\">')</script><style>a[href=\"2.html\"]{}</style>\
            <!-- <a href=\"3.html\"> --><p>a < b href=\"4.html\"</p>\
            <script type=\"application/json\">{\"a\": \"<\\u002f>\"}</script><a href=\"5.html\">x</a>";
        let page = page(text);
        assert_eq!(page.targets, [("tarn-yarrow/5.html".to_owned(), None)]);
    }
}
