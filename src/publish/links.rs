//! Sees to it that no link of the output leads nowhere.
//!
//! Looked at is the output itself: the text of every page that is written, with
//! whatever a shop's own templates made of it. A page that is kept was looked at
//! when it was written; what its links lead to can only be lost where a page is
//! no longer made, or loses a place that it had.

use crate::output::{Delivery, OutputError};
use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The links of pages and the places on them.
#[derive(Default)]
pub(super) struct Links {
    /// By their paths; none of a page that is kept and was not read yet.
    pages: Mutex<BTreeMap<String, Option<Page>>>,
}

/// What a page has that links are about.
struct Page {
    /// Hashes of its ids, in order: a large shop has millions.
    ids: Vec<u64>,
    /// Where it leads outside of itself: paths in the output, with fragments.
    to: Vec<(String, Option<String>)>,
    /// Addresses that lead to no place on itself, or out of the output.
    lost: Vec<String>,
}

impl Links {
    /// Reads a page that is written.
    pub(super) fn read(&self, path: &str, text: &str) {
        let page = Page::of(path, text);
        self.pages().insert(path.to_owned(), Some(page));
    }

    /// Notes a page that is kept.
    pub(super) fn kept(&self, path: String) {
        self.pages().insert(path, None);
    }

    /// Whether any page that is written leads to a file.
    pub(super) fn lead_to(&self, path: &str) -> bool {
        let pages = self.pages();
        let mut read = pages.values().flatten();
        read.any(|page| page.to.iter().any(|(to, _)| to == path))
    }

    fn pages(&self) -> MutexGuard<'_, BTreeMap<String, Option<Page>>> {
        self.pages.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Every link that leads nowhere: the page it is on, and its address.
    ///
    /// # Errors
    ///
    /// When a page that is kept can't be read.
    pub(super) fn broken(
        self,
        delivery: &Delivery<'_>,
        whole: bool,
    ) -> Result<Vec<(String, String)>, OutputError> {
        let mut pages = self
            .pages
            .into_inner()
            .unwrap_or_else(PoisonError::into_inner);
        if loses_any(&pages, delivery, whole)? {
            for (path, page) in &mut pages {
                if page.is_none() {
                    *page = Some(Page::of(path, &delivery.text(path)?));
                }
            }
        }
        let mut broken = Vec::new();
        // Places on pages that are kept, and were not read: each is read once at most.
        let mut kept: BTreeMap<String, Vec<u64>> = BTreeMap::new();
        for (path, page) in &pages {
            let Some(page) = page else { continue };
            for address in &page.lost {
                broken.push((path.clone(), address.clone()));
            }
            for (to, fragment) in &page.to {
                let is_there = delivery.has(to)
                    && match (fragment, pages.get(to)) {
                        (None, _) => true,
                        (Some(fragment), Some(Some(page))) => page.has(fragment),
                        (Some(fragment), Some(None)) => {
                            if !kept.contains_key(to) {
                                let read = Page::of(to, &delivery.text(to)?);
                                kept.insert(to.clone(), read.ids);
                            }
                            kept.get(to)
                                .is_some_and(|ids| ids.binary_search(&hash(fragment)).is_ok())
                        }
                        (Some(_), None) => false,
                    };
                if !is_there {
                    let fragment = fragment.as_ref().map(|one| format!("#{one}"));
                    broken.push((
                        path.clone(),
                        format!("{to}{}", fragment.unwrap_or_default()),
                    ));
                }
            }
        }
        Ok(broken)
    }
}

/// Whether a page that is kept may have lost what it leads to.
fn loses_any(
    pages: &BTreeMap<String, Option<Page>>,
    delivery: &Delivery<'_>,
    whole: bool,
) -> Result<bool, OutputError> {
    if pages.values().all(Option::is_some) {
        return Ok(false);
    }
    if whole && delivery.removes_any() {
        return Ok(true);
    }
    for (path, page) in pages {
        let Some(page) = page else { continue };
        let Some(before) = delivery.text_before(path)? else {
            continue;
        };
        let before = Page::of(path, &before);
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

impl Page {
    fn of(path: &str, text: &str) -> Page {
        let mut page = Page {
            ids: Vec::new(),
            to: Vec::new(),
            lost: Vec::new(),
        };
        let mut here = Vec::new();
        for (name, value) in attributes(text) {
            match name {
                "id" => page.ids.push(hash(&unescaped(value))),
                "href" | "src" => {
                    let value = unescaped(value);
                    if let Some(fragment) = value.strip_prefix('#') {
                        here.push(fragment.to_owned());
                    } else if !is_outside(&value) {
                        match resolved(path, &value) {
                            Some(to) => page.to.push(to),
                            None => page.lost.push(value),
                        }
                    }
                }
                _ => {}
            }
        }
        page.ids.sort_unstable();
        page.to.sort();
        page.to.dedup();
        for fragment in here {
            let id = decoded(&fragment);
            if !fragment.is_empty() && !id.is_some_and(|id| page.has(&id)) {
                page.lost.push(format!("#{fragment}"));
            }
        }
        page
    }

    fn has(&self, id: &str) -> bool {
        self.ids.binary_search(&hash(id)).is_ok()
    }
}

/// Whether an address has a scheme, and so leads out of the output: to the web, to a letter.
fn is_outside(address: &str) -> bool {
    let scheme = address.split(['/', '?', '#']).next().unwrap_or_default();
    scheme.contains(':') || address.starts_with("//")
}

/// A path of the output and its fragment, seen from a page; none where it leads out of the output.
fn resolved(page: &str, address: &str) -> Option<(String, Option<String>)> {
    let (path, fragment) = match address.split_once('#') {
        Some((path, fragment)) => (path, Some(decoded(fragment)?)),
        None => (address, None),
    };
    let path = path.split('?').next().unwrap_or_default();
    let mut parts: Vec<String> = page.split('/').map(str::to_owned).collect();
    parts.pop();
    for part in path.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop()?;
            }
            part => parts.push(decoded(part)?),
        }
    }
    Some((parts.join("/"), fragment))
}

/// A text without percent-encoding (RFC 3986, 2.1); none where it is no UTF-8.
fn decoded(text: &str) -> Option<String> {
    if !text.contains('%') {
        return Some(text.to_owned());
    }
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.bytes();
    while let Some(byte) = rest.next() {
        if byte == b'%' {
            let mut digit = || char::from(rest.next()?).to_digit(16);
            let (high, low) = (digit()?, digit()?);
            bytes.push(u8::try_from(high * 16 + low).ok()?);
        } else {
            bytes.push(byte);
        }
    }
    String::from_utf8(bytes).ok()
}

/// An attribute's value without the escapes that our pages have.
fn unescaped(value: &str) -> String {
    if !value.contains('&') {
        return value.to_owned();
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
    text
}

/// The attributes of all tags, without what stands in scripts, styles and comments.
fn attributes(text: &str) -> impl Iterator<Item = (&str, &str)> {
    let mut rest = text;
    let mut tag = "";
    std::iter::from_fn(move || {
        loop {
            tag = tag
                .trim_start_matches(|letter: char| letter.is_ascii_whitespace() || letter == '/');
            if tag.is_empty() {
                (tag, rest) = next_tag(rest)?;
                continue;
            }
            let end = tag
                .find(|letter: char| letter.is_ascii_whitespace() || letter == '=')
                .unwrap_or(tag.len());
            let (name, after) = tag.split_at(end);
            let Some(value) = after.strip_prefix('=') else {
                // Without a value.
                tag = after;
                continue;
            };
            let quote = value.chars().next().filter(|one| matches!(one, '"' | '\''));
            let (value, after) = match quote {
                Some(quote) => value[1..].split_once(quote).unwrap_or((value, "")),
                None => value
                    .split_once(|letter: char| letter.is_ascii_whitespace())
                    .unwrap_or((value, "")),
            };
            tag = after;
            return Some((name, value));
        }
    })
}

/// The inside of the next tag after its name, and what follows the tag.
fn next_tag(text: &str) -> Option<(&str, &str)> {
    let mut rest = text;
    loop {
        let at = rest.find('<')?;
        rest = &rest[at + 1..];
        if let Some(comment) = rest.strip_prefix("!--") {
            rest = comment.split_once("-->").map_or("", |(_, after)| after);
            continue;
        }
        if !rest.starts_with(|letter: char| letter.is_ascii_alphabetic()) {
            continue;
        }
        let name_end = rest
            .find(|letter: char| !letter.is_ascii_alphanumeric())
            .unwrap_or(rest.len());
        let (name, after) = rest.split_at(name_end);
        let end = tag_end(after);
        let (inside, mut after) = (&after[..end], after.get(end + 1..).unwrap_or_default());
        for raw in ["script", "style"] {
            if name.eq_ignore_ascii_case(raw) {
                let close = format!("</{raw}");
                after = after.find(&close).map_or("", |at| &after[at..]);
            }
        }
        return Some((inside, after));
    }
}

/// Where a tag ends: at the first `>` outside of quotes.
fn tag_end(text: &str) -> usize {
    let mut quote = None;
    for (at, byte) in text.bytes().enumerate() {
        match (quote, byte) {
            (None, b'>') => return at,
            (None, b'"' | b'\'') => quote = Some(byte),
            (Some(open), byte) if open == byte => quote = None,
            _ => {}
        }
    }
    text.len()
}

fn hash(text: &str) -> u64 {
    let hash = blake3::hash(text.as_bytes());
    let mut first = [0; 8];
    first.copy_from_slice(&hash.as_bytes()[..8]);
    u64::from_le_bytes(first)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(text: &str) -> Page {
        Page::of("tarn-t7/float-bowl.html", text)
    }

    #[test]
    fn links_are_resolved_from_where_the_page_stands() {
        let page = page(
            "<a href=\"../index.html#a%20b\">x</a> <img src='../figures/f-1.svg' alt=\"a > b\"> \
             <a href=\"oil.html?x=1\">y</a>",
        );
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
