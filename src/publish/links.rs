//! Sees to it that no link of the output leads nowhere.
//!
//! Looked at is the output itself: the text of every page that is written, with
//! whatever a shop's own templates made of it. A page that is kept was looked at
//! when it was written; what its links lead to can only be lost where a page is
//! no longer made, or loses a place that it had.

use crate::output::{OutputError, StagedWrite};
use foldhash::quality::FixedState;
use percent_encoding::percent_decode_str;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::hash::BuildHasher;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The links of pages and the places on them.
#[derive(Default)]
pub(super) struct Links {
    /// By their paths; none of a page that is kept and was not read yet.
    pages: Mutex<BTreeMap<String, Option<PageLinks>>>,
}

/// What a page has that links are about: a large shop has millions of places and links, so that only
/// their hashes are kept. What is lost is read again, to be named.
struct PageLinks {
    /// Its ids, in order.
    ids: Box<[u64]>,
    /// Where it leads outside of itself: files, and places on them, 0 for none; in order.
    to: Box<[(u64, u64)]>,
    /// Addresses that lead to no place on itself, or out of the output.
    lost: Vec<String>,
}

/// What a page leads to: a file of the output, and a place on it.
type Way = (String, Option<String>);

impl Links {
    /// Reads a page that is written.
    pub(super) fn read(&self, path: &str, text: &str) {
        let page = PageLinks::of(path, text);
        self.pages().insert(path.to_owned(), Some(page));
    }

    /// Notes a page that is kept.
    pub(super) fn kept(&self, path: String) {
        self.pages().insert(path, None);
    }

    /// Whether any page that is written leads to a file.
    pub(super) fn lead_to(&self, path: &str) -> bool {
        let pages = self.pages();
        let file = hash(path);
        let mut read = pages.values().flatten();
        read.any(|page| page.to.iter().any(|(to, _)| *to == file))
    }

    fn pages(&self) -> MutexGuard<'_, BTreeMap<String, Option<PageLinks>>> {
        self.pages.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Every link that leads nowhere: the page it is on, and its address.
    ///
    /// # Errors
    ///
    /// When a page that is kept can't be read.
    pub(super) fn broken(
        self,
        staged: &StagedWrite<'_>,
        whole: bool,
    ) -> Result<Vec<(String, String)>, OutputError> {
        let mut pages = self
            .pages
            .into_inner()
            .unwrap_or_else(PoisonError::into_inner);
        if loses_any(&pages, staged, whole)? {
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
        // Places on pages that are kept, and were not read: each is read once at most.
        let mut kept: BTreeMap<u64, Box<[u64]>> = BTreeMap::new();
        let mut broken = Vec::new();
        for (path, page) in &pages {
            let Some(page) = page else { continue };
            for address in &page.lost {
                broken.push((path.clone(), address.clone()));
            }
            let mut lost = Vec::new();
            for (to, place) in &page.to {
                let is_there = files.contains(to)
                    && match (*place, by_hash.get(to)) {
                        (0, _) => true,
                        (place, Some((_, Some(page)))) => page.has(place),
                        (place, Some((path, None))) => {
                            if !kept.contains_key(to) {
                                kept.insert(*to, PageLinks::of(path, &staged.text(path)?).ids);
                            }
                            let ids = kept.get(to);
                            ids.is_some_and(|ids| ids.binary_search(&place).is_ok())
                        }
                        (_, None) => false,
                    };
                if !is_there {
                    lost.push((*to, *place));
                }
            }
            if !lost.is_empty() {
                let text = staged.text(path)?;
                let ways = Scan::of(path, &text).to;
                let ways = ways.into_iter().filter(|way| lost.contains(&hashed(way)));
                broken.extend(ways.map(|(to, place)| {
                    let place = place.map(|place| format!("#{place}"));
                    (path.clone(), format!("{to}{}", place.unwrap_or_default()))
                }));
            }
        }
        Ok(broken)
    }
}

/// Whether a page that is kept may have lost what it leads to.
fn loses_any(
    pages: &BTreeMap<String, Option<PageLinks>>,
    staged: &StagedWrite<'_>,
    whole: bool,
) -> Result<bool, OutputError> {
    if pages.values().all(Option::is_some) {
        return Ok(false);
    }
    if whole && staged.removes_any() {
        return Ok(true);
    }
    for (path, page) in pages {
        let Some(page) = page else { continue };
        let Some(before) = staged.text_before(path)? else {
            continue;
        };
        let before = PageLinks::of(path, &before);
        if before
            .ids
            .iter()
            .any(|id| page.ids.binary_search(id).is_err())
        {
            return Ok(true);
        }
    }
    Ok(false)
}

impl PageLinks {
    fn of(path: &str, text: &str) -> PageLinks {
        let Scan { ids, to, lost } = Scan::of(path, text);
        let mut to: Vec<(u64, u64)> = to.iter().map(hashed).collect();
        to.sort_unstable();
        to.dedup();
        PageLinks {
            ids: ids.into(),
            to: to.into(),
            lost,
        }
    }

    fn has(&self, id: u64) -> bool {
        self.ids.binary_search(&id).is_ok()
    }
}

fn hashed((to, place): &Way) -> (u64, u64) {
    (hash(to), place.as_deref().map_or(0, hash))
}

/// What was found on a page.
struct Scan {
    /// Hashes of its ids, in order.
    ids: Vec<u64>,
    to: Vec<Way>,
    lost: Vec<String>,
}

impl Scan {
    fn of(path: &str, text: &str) -> Scan {
        let mut scan = Scan {
            ids: Vec::new(),
            to: Vec::new(),
            lost: Vec::new(),
        };
        let mut here = Vec::new();
        for (name, value) in attributes(text) {
            match name {
                "id" => scan.ids.push(hash(&unescaped(value))),
                "href" | "src" => {
                    let value = unescaped(value);
                    if value.starts_with('#') {
                        here.push(value);
                    } else if !is_outside(&value) {
                        match resolved(path, &value) {
                            Some(to) => scan.to.push(to),
                            None => scan.lost.push(value.into_owned()),
                        }
                    }
                }
                _ => {}
            }
        }
        scan.ids.sort_unstable();
        let mut twice = scan.ids.windows(2).filter(|pair| pair[0] == pair[1]);
        if let Some(pair) = twice.next() {
            // A place that is there twice leads to the first of the two, whichever was meant.
            let ids = attributes(text).filter(|(name, _)| *name == "id");
            let mut same = ids.filter(|(_, id)| hash(&unescaped(id)) == pair[0]);
            let id = same.next().map_or("", |(_, id)| id);
            scan.lost.push(format!("#{id}, which is there twice,"));
        }
        for address in here {
            let fragment = &address[1..];
            let id = decoded(fragment);
            let is_there = id.is_some_and(|id| scan.ids.binary_search(&hash(&id)).is_ok());
            if !fragment.is_empty() && !is_there {
                scan.lost.push(address.into_owned());
            }
        }
        scan
    }
}

/// Whether an address has a scheme, and so leads out of the output: to the web, to a letter.
fn is_outside(address: &str) -> bool {
    let scheme = address.split(['/', '?', '#']).next().unwrap_or_default();
    scheme.contains(':') || address.starts_with("//")
}

/// A path of the output and its fragment, seen from a page; none where it leads out of the output.
fn resolved(page: &str, address: &str) -> Option<Way> {
    let (path, fragment) = match address.split_once('#') {
        Some((path, fragment)) => (path, Some(decoded(fragment)?.into_owned())),
        None => (address, None),
    };
    let path = path.split('?').next().unwrap_or_default();
    let folder = page.rfind('/').map_or("", |end| &page[..end]);
    let mut to = String::with_capacity(folder.len() + 1 + path.len());
    to.push_str(folder);
    for part in path.split('/') {
        match part {
            "" | "." => {}
            ".." if to.is_empty() => return None,
            ".." => to.truncate(to.rfind('/').unwrap_or(0)),
            part => {
                if !to.is_empty() {
                    to.push('/');
                }
                to.push_str(&decoded(part)?);
            }
        }
    }
    Some((to, fragment))
}

/// A text with its percent-encoded bytes decoded, as the URL Standard does it: a `%` without two
/// hexadecimal digits stays. None where the bytes are not UTF-8.
fn decoded(text: &str) -> Option<Cow<'_, str>> {
    percent_decode_str(text).decode_utf8().ok()
}

/// An attribute's value without the escapes that our pages have.
fn unescaped(value: &str) -> Cow<'_, str> {
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

/// The attributes of all tags, without what stands in scripts, styles and comments.
fn attributes(text: &str) -> Attributes<'_> {
    Attributes {
        text,
        at: 0,
        inside: None,
    }
}

/// See [`attributes`]. All pages go through it: it looks at each byte once.
struct Attributes<'t> {
    text: &'t str,
    at: usize,
    /// The name of the tag that it is in.
    inside: Option<&'t str>,
}

impl<'t> Iterator for Attributes<'t> {
    type Item = (&'t str, &'t str);

    fn next(&mut self) -> Option<(&'t str, &'t str)> {
        loop {
            if self.inside.is_none() {
                self.enter_tag()?;
            }
            self.pass(|byte| byte.is_ascii_whitespace() || byte == b'/');
            if self.peek()? == b'>' {
                self.leave_tag();
                continue;
            }
            let name = self.pass(|byte| !ENDS_NAME[usize::from(byte)]);
            if self.peek()? != b'=' {
                // Without a value.
                continue;
            }
            self.at += 1;
            let value = match self.peek()? {
                quote @ (b'"' | b'\'') => {
                    let start = self.at + 1;
                    let end = start + memchr::memchr(quote, &self.text.as_bytes()[start..])?;
                    self.at = end + 1;
                    &self.text[start..end]
                }
                _ => self.pass(|byte| !byte.is_ascii_whitespace() && byte != b'>'),
            };
            return Some((name, value));
        }
    }
}

/// Whether a byte ends an attribute's name.
const ENDS_NAME: [bool; 256] = {
    let mut ends = [false; 256];
    let marks = *b" \t\n\x0c\r=>/";
    let mut at = 0;
    while at < marks.len() {
        ends[marks[at] as usize] = true;
        at += 1;
    }
    ends
};

impl<'t> Attributes<'t> {
    fn peek(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    /// Goes past bytes of a kind, and returns them. A character of more than one byte is of one kind
    /// with all of them.
    #[inline]
    fn pass(&mut self, is: impl Fn(u8) -> bool) -> &'t str {
        let rest = &self.text.as_bytes()[self.at..];
        let start = self.at;
        self.at += rest
            .iter()
            .position(|byte| !is(*byte))
            .unwrap_or(rest.len());
        self.text.get(start..self.at).unwrap_or_default()
    }

    /// Goes behind the name of the next tag.
    fn enter_tag(&mut self) -> Option<()> {
        loop {
            self.at += memchr::memchr(b'<', &self.text.as_bytes()[self.at..])? + 1;
            match self.peek()? {
                b'!' => {
                    if let Some(comment) = self.text[self.at..].strip_prefix("!--") {
                        self.at = self.text.len() - comment.len() + comment.find("-->")?;
                    }
                }
                letter if letter.is_ascii_alphabetic() => {
                    self.inside = Some(self.pass(|byte| byte.is_ascii_alphanumeric()));
                    return Some(());
                }
                // Most of what is found is the end of an element.
                _ => {}
            }
        }
    }

    /// Goes behind a tag, and past the text of a script or a style.
    fn leave_tag(&mut self) {
        self.at += 1;
        let name = self.inside.take().unwrap_or_default();
        for raw in ["script", "style"] {
            if name.eq_ignore_ascii_case(raw) {
                let rest = &self.text[self.at..];
                self.at += rest.find(&format!("</{raw}")).unwrap_or(rest.len());
            }
        }
    }
}

/// A hash that is never 0.
fn hash(text: &str) -> u64 {
    FixedState::default().hash_one(text).max(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(text: &str) -> Scan {
        Scan::of("tarn-t7/float-bowl.html", text)
    }

    #[test]
    fn links_are_resolved_from_where_the_page_stands() {
        let mut page = page(
            "<a href=\"../index.html#a%20b\">x</a> <img src='../figures/f-1.svg' alt=\"a > b\"> \
             <a href=\"oil.html?x=1\">y</a>",
        );
        page.to.sort();
        let to: Vec<(&str, Option<&str>)> = page
            .to
            .iter()
            .map(|(path, fragment)| (path.as_str(), fragment.as_deref()))
            .collect();
        assert_eq!(
            to,
            [
                ("figures/f-1.svg", None),
                ("index.html", Some("a b")),
                ("tarn-t7/oil.html", None),
            ]
        );
    }

    #[test]
    fn a_fragment_needs_its_id_and_the_top_needs_none() {
        let text = "<p id=\"a&amp;b\"></p><a href=\"#a&amp;b\">1</a><a href=\"#c\">2</a><a href=\"#\">3</a>";
        assert_eq!(page(text).lost, ["#c"]);
    }

    #[test]
    fn a_place_that_is_there_twice_is_none() {
        let text = "<p id=\"a\"></p><p id=\"b\"></p><p id=\"a\"></p>";
        assert_eq!(page(text).lost, ["#a, which is there twice,"]);
    }

    #[test]
    fn what_leads_out_of_the_output_is_lost_and_the_web_is_not_looked_at() {
        let text = "<a href=\"../../x.html\">1</a><a href=\"https://example.org/x\">2</a>\
            <a href=\"mailto:a@example.org\">3</a>";
        let page = page(text);
        assert_eq!(page.lost, ["../../x.html"]);
        assert!(page.to.is_empty());
    }

    #[test]
    fn scripts_styles_comments_and_text_hold_no_links() {
        let text = "<script>x('<a href=\"1.html\">')</script><style>a[href=\"2.html\"]{}</style>\
            <!-- <a href=\"3.html\"> --><p>a < b href=\"4.html\"</p>\
            <script type=\"application/json\">{\"a\": \"<\\u002f>\"}</script><a href=\"5.html\">x</a>";
        let page = page(text);
        assert_eq!(page.to, [("tarn-t7/5.html".to_owned(), None)]);
    }
}
