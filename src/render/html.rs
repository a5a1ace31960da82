//! Renders leaves and their index as HTML pages with tera.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt::Write as _;

use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use serde::Serialize;
use tera::value::Key;
use tera::{Context, Kwargs, Map, State, Tera, Value};

use super::pieces::{Of, Piece, Pieces};
use super::{Look, RenderError, qr, templates};
use crate::output::MARK;
use crate::page::{Block, Head, Leaf, LeafKind, Section, Step};
use crate::site::{Nav, Page, Part};
use crate::words::Words;

/// The page templates of one language, parsed and ready.
///
/// A page needs nothing but the output folder it stands in: figures, and the
/// style and the scripts that all pages share. It reads the same from a disk,
/// a server or paper, and without the scripts too.
pub struct Html {
    tera: Tera,
    look: Look,
    /// The words as the templates read them, made once: a page has no copy of its own.
    words: Value,
    /// What the script of a checklist says, by the words' keys without `live-`.
    live: BTreeMap<String, String>,
    /// What the script of the search says, as the inside of a script element of JSON.
    search_words: String,
    shared: Shared,
    pieces: Pieces,
}

/// The files that all pages share, each by its path and its text.
///
/// Their names carry their content, as a figure's does: no browser shows a page in an old dress.
/// Inside each page they would be most of it, and most of the time that publishing takes.
#[derive(Clone, Serialize)]
struct Shared {
    style: String,
    checklist: String,
    machines: String,
    search: String,
}

impl std::fmt::Debug for Html {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Html").finish_non_exhaustive()
    }
}

/// What a leaf's page reads.
#[derive(Serialize)]
struct LeafPage<'a> {
    leaf: WithoutBody<'a>,
    nav: &'a Nav,
    language: &'a str,
    /// From the page up to the output's root: `../`.
    up: String,
    /// True where a PDF of the same name stands beside the page.
    pdf: bool,
    /// What the script of a checklist reads; none on other leaves, which have no script.
    live: Option<String>,
}

/// A leaf but for its blocks, which are laid out beforehand.
#[derive(Serialize)]
struct WithoutBody<'a> {
    kind: LeafKind,
    head: &'a Head,
}

/// What the script of a checklist knows of its page.
#[derive(Serialize)]
struct Live<'a> {
    path: &'a str,
    mark: &'a str,
    revision: Option<u32>,
    title: &'a str,
    machine: Option<&'a str>,
    /// The words whose keys begin with `live-`, without that: the script says nothing of its own.
    words: &'a BTreeMap<String, String>,
}

/// What the search on a page reads.
#[derive(Serialize)]
struct Search<'a> {
    /// What the edition's paths begin with.
    prefix: &'a str,
    words: &'a str,
}

/// What a page of the site reads.
#[derive(Serialize)]
struct SitePage<'a> {
    search: Search<'a>,
    language: &'a str,
    /// From the page up to the output's root.
    up: String,
}

impl Html {
    /// Parses the templates: those that are built in, with a shop's own laid over them. `words` are
    /// those of the pages' language.
    ///
    /// # Errors
    ///
    /// When one of them has a fault.
    pub fn new(look: &Look, words: &Words) -> Result<Html, RenderError> {
        let mut tera = Tera::new();
        // Every template escapes, whatever its name ends in.
        tera.autoescape_on([""]);
        tera.register_filter("url", |path: &str, _: Kwargs, _: &State| url(path));
        tera.register_filter("sentence", |text: &str, _: Kwargs, _: &State| {
            sentence(text)
        });
        tera.register_filter("css", |text: &str, _: Kwargs, _: &State| css(text));
        tera.register_filter("drawing", |number: &str, _: Kwargs, _: &State| {
            drawing(number)
        });
        tera.register_filter("qr", |address: &str, _: Kwargs, _: &State| {
            qr::qr(address).unwrap_or_default()
        });
        tera.register_filter("around", |order: Vec<u32>, _: Kwargs, _: &State| {
            around(&order)
        });
        // The style and the scripts are files of their own, and no templates.
        let is_page = |name: &str| name.rsplit('.').next() == Some("html");
        let pages = look.html().into_iter();
        tera.add_raw_templates(pages.filter(|(name, _)| is_page(name)))
            .map_err(|error| fault(&error, look))?;
        let [style, checklist, machines, search] = shared_files(look).map(|(path, _)| path);
        // Texts and nothing else: they always have a JSON.
        let searched = serde_json::to_string(&said(words, "search-")).unwrap_or_default();
        Ok(Html {
            tera,
            look: look.clone(),
            words: Value::from_serializable(words.all()),
            live: said(words, "live-"),
            search_words: element(&searched),
            shared: Shared {
                style,
                checklist,
                machines,
                search,
            },
            pieces: Pieces::default(),
        })
    }

    /// The page of a leaf, to stand at its [`Head::path`] with `.html`. `nav` leads
    /// from it to other pages; `pdf` says whether a PDF of it stands beside the page.
    ///
    /// # Errors
    ///
    /// When a template has a fault, or no piece for what is on the leaf.
    ///
    /// [`Head::path`]: crate::page::Head::path
    pub fn leaf(&self, leaf: &Leaf, nav: &Nav, pdf: bool) -> Result<String, RenderError> {
        let depth = leaf.head.path.matches('/').count();
        let blocks = self.laid(&leaf.blocks, leaf.kind.slug(), depth)?;
        let page = self.render(
            "leaf.html",
            &[("blocks", blocks)],
            &LeafPage {
                leaf: WithoutBody {
                    kind: leaf.kind,
                    head: &leaf.head,
                },
                nav,
                language: &leaf.head.language,
                up: up(depth),
                pdf,
                live: self.live(leaf),
            },
        )?;
        // A shop's own templates can't leave out what every leaf has to carry.
        if leaf
            .blocks
            .iter()
            .any(|block| matches!(block, Block::Notices { .. }))
            && !page.contains("class=\"notices\"")
        {
            return Err(RenderError::Template {
                why: "the templates leave out the notices that every leaf has to carry".to_owned(),
            });
        }
        Ok(page)
    }

    /// The files that all pages share, each by its path from the output's root, and its text.
    #[must_use]
    pub fn shared(&self) -> Vec<(String, String)> {
        shared_files(&self.look).into()
    }

    /// A page of the site, to stand at its path with `.html`. `prefix` is what the paths of its
    /// edition begin with.
    ///
    /// # Errors
    ///
    /// When a template has a fault, or no piece for what is on the page.
    pub fn page(&self, mut page: Page, prefix: &str) -> Result<String, RenderError> {
        let depth = page.path.matches('/').count();
        let parts = std::mem::take(&mut page.parts).into_iter();
        let parts: Result<Vec<Value>, RenderError> =
            parts.map(|part| self.part(part, depth)).collect();
        // A template that asks for them where they are not is told so.
        let mut without_parts = self.value(&page)?.into_map().unwrap_or_default();
        without_parts.remove(&Key::Str("parts"));
        self.render(
            "site.html",
            &[("page", without_parts.into()), ("parts", parts?.into())],
            &SitePage {
                search: Search {
                    prefix,
                    words: &self.search_words,
                },
                language: &page.language,
                up: up(depth),
            },
        )
    }

    /// What the script of a checklist reads, as the inside of a script element of JSON.
    fn live(&self, leaf: &Leaf) -> Option<String> {
        if leaf.kind != LeafKind::BenchChecklist {
            return None;
        }
        let head = &leaf.head;
        let read = Live {
            path: &head.path,
            mark: &head.mark,
            revision: head.revision,
            title: &head.title,
            machine: head.machine.as_deref(),
            words: &self.live,
        };
        // Texts and nothing else: they always have a JSON. Without one, the page stays a sheet.
        serde_json::to_string(&read).ok().map(|json| element(&json))
    }

    /// A part of a page as the templates read it, its blocks laid out.
    fn part(&self, mut part: Part, depth: usize) -> Result<Value, RenderError> {
        let blocks = match &mut part {
            Part::Blocks { blocks } | Part::OnMachine { blocks, .. } => std::mem::take(blocks),
            Part::Links { .. } => return self.value(&part),
        };
        let mut map = self.value(&part)?.into_map().unwrap_or_default();
        map.insert(Key::Str("blocks"), self.laid(&blocks, "site", depth)?);
        Ok(map.into())
    }

    /// Blocks as the templates lay them out: the pieces in them as their markup.
    fn laid(
        &self,
        blocks: &[Block],
        kind: &'static str,
        depth: usize,
    ) -> Result<Value, RenderError> {
        let piece = |component, of| {
            self.piece(Piece {
                component,
                kind,
                depth,
                of,
            })
        };
        let map = |block: &str, rest: Vec<(&'static str, Value)>| {
            let rest = rest.into_iter().chain([("block", block.into())]);
            Value::from(
                rest.map(|(key, value)| (Key::Str(key), value))
                    .collect::<Map>(),
            )
        };
        let mut laid = Vec::with_capacity(blocks.len());
        for block in blocks {
            laid.push(match block {
                // Taken apart, so that nothing that a section gets is forgotten here.
                Block::Section(Section {
                    title,
                    anchor,
                    from,
                    blocks,
                }) => {
                    let rest = vec![
                        ("anchor", anchor.as_str().into()),
                        ("title", title.as_str().into()),
                        ("from", from.as_deref().into()),
                        ("blocks", self.laid(blocks, kind, depth)?),
                    ];
                    map("section", rest)
                }
                Block::Steps { steps } => {
                    let Some(first) = steps.first() else { continue };
                    let component = match kind {
                        "bench-checklist" => "line",
                        _ => "step",
                    };
                    let made = steps.iter();
                    let made = made.map(|step| piece(component, Of::Step(Cow::Borrowed(step))));
                    let rest = vec![
                        ("kind", kind.into()),
                        ("start", first.number.into()),
                        ("steps", made.collect::<Result<Vec<_>, _>>()?.into()),
                    ];
                    map("steps", rest)
                }
                other => piece("block", Of::Block(Cow::Borrowed(other)))?,
            });
        }
        Ok(laid.into())
    }

    /// A piece as it was set before, or set now.
    fn piece(&self, piece: Piece<'_>) -> Result<Value, RenderError> {
        self.pieces.get(piece, |piece| self.set(piece))
    }

    /// What is done in a step, wherever and under whatever number it stands.
    fn what(&self, step: &Step, depth: usize) -> Result<Value, RenderError> {
        let bare = Step {
            number: 0,
            anchor: String::new(),
            same_as: None,
            before: Vec::new(),
            ..step.clone()
        };
        self.piece(Piece {
            component: "what",
            kind: "",
            depth,
            of: Of::Step(Cow::Owned(bare)),
        })
    }

    /// Sets a piece.
    fn set(&self, piece: &Piece<'_>) -> Result<Value, RenderError> {
        let mut given = Context::new();
        match &piece.of {
            Of::Block(block) => {
                given.insert_value("block", self.value(block)?);
                given.insert_value("kind", piece.kind.into());
            }
            Of::Step(step) => {
                given.insert_value("step", self.value(step)?);
                if piece.component != "what" {
                    given.insert_value("what", self.what(step, piece.depth)?);
                }
            }
        }
        let mut around = Context::new();
        around.insert_value("words", self.words.clone());
        around.insert("shared", &self.shared);
        around.insert_value("up", up(piece.depth).into());
        let component = piece.component;
        self.tera
            .render_component_with_implicits(component, &given, &around, None, true)
            .map(|html| Value::safe_string(&html))
            .map_err(|error| match fault(&error, &self.look) {
                // Of what it is handed, the engine says no file.
                RenderError::Template { why } if !why.contains(".html") => RenderError::Template {
                    why: format!("`{component}`: {why}"),
                },
                error => error,
            })
    }

    fn value(&self, data: &impl Serialize) -> Result<Value, RenderError> {
        Value::try_from_serializable(data).map_err(|error| fault(&error, &self.look))
    }

    fn render(
        &self,
        template: &str,
        made: &[(&'static str, Value)],
        data: &impl Serialize,
    ) -> Result<String, RenderError> {
        let mut context =
            Context::from_serialize(data).map_err(|error| fault(&error, &self.look))?;
        for (name, value) in made {
            context.insert_value(*name, value.clone());
        }
        context.insert_value("words", self.words.clone());
        context.insert("shared", &self.shared);
        self.tera
            .render(template, &context)
            .map_err(|error| fault(&error, &self.look))
    }
}

/// From a page up to the output's root, past as many folders.
fn up(depth: usize) -> String {
    "../".repeat(depth)
}

/// The words whose keys begin with a prefix, by their keys without it: a script says nothing of its
/// own.
fn said(words: &Words, prefix: &str) -> BTreeMap<String, String> {
    let all = words.all().iter();
    all.filter_map(|(key, text)| Some((key.strip_prefix(prefix)?.to_owned(), text.clone())))
        .collect()
}

fn shared_files(look: &Look) -> [(String, String); 4] {
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
        let digest = blake3::hash(text.as_bytes()).to_hex();
        (format!("site/{name}-{}.{ending}", &digest[..8]), text)
    })
}

/// A JSON as the inside of a script element, or of a script. In JSON, `<`, `>` and `&` stand in
/// strings only, where each may be written by its number: so that none ends the element or opens a
/// comment (WHATWG HTML, "Restrictions for contents of script elements"). So are the two separators
/// that ended a string in scripts before ECMAScript 2019.
pub(crate) fn element(json: &str) -> String {
    let mut element = String::with_capacity(json.len());
    for letter in json.chars() {
        if matches!(letter, '<' | '>' | '&' | '\u{2028}' | '\u{2029}') {
            let _ = write!(element, "\\u{:04x}", u32::from(letter));
        } else {
            element.push(letter);
        }
    }
    element
}

/// The template engine's account of a fault, with what led to it.
fn fault(error: &tera::Error, look: &Look) -> RenderError {
    let mut why = error.to_string();
    let mut cause = std::error::Error::source(error);
    while let Some(error) = cause {
        let _ = write!(why, ": {error}");
        cause = error.source();
    }
    RenderError::Template {
        why: look.with_paths(&why),
    }
}

/// A sign's drawing, to stand in a page; nothing where there is none. It is ours, and no shop's
/// text, so that it may stand there as it is. What it stands for is said around it, in the page's
/// language.
fn drawing(number: &str) -> String {
    let file = format!("{number}.svg");
    let found = templates::SIGNS.iter().find(|(name, _)| *name == file);
    let text = found.map_or("", |(_, text)| text.trim());
    let Some((before, after)) = text.split_once("<title>") else {
        return text.to_owned();
    };
    let (_, after) = after.split_once("</title>").unwrap_or(("", after));
    format!("{before}{after}").replacen("role=\"img\"", "aria-hidden=\"true\"", 1)
}

/// Fasteners around a circle, each with its turn: the first at the top, then clockwise.
fn around(order: &[u32]) -> String {
    let mut svg = String::from(
        "<svg viewBox=\"0 0 100 100\" aria-hidden=\"true\" focusable=\"false\"><circle cx=\"50\" cy=\"50\" r=\"34\" class=\"ring\"/>",
    );
    let count = f64::from(u32::try_from(order.len()).unwrap_or(1).max(1));
    for (at, turn) in (0_u32..).zip(order) {
        let angle = std::f64::consts::TAU * f64::from(at) / count;
        let (x, y) = (50.0 + 34.0 * angle.sin(), 50.0 - 34.0 * angle.cos());
        let _ = write!(
            svg,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"13\"/><text x=\"{x:.1}\" y=\"{:.1}\">{turn}</text>",
            y + 6.0
        );
    }
    svg.push_str("</svg>");
    svg
}

/// A text as a sentence: with a full stop where it has no end of its own, so
/// that another one can follow.
fn sentence(text: &str) -> String {
    let stop = if text.ends_with(['.', '!', '?', '…', ':']) {
        ""
    } else {
        "."
    };
    format!("{text}{stop}")
}

/// The bytes of a path that a link percent-encodes: all but the unreserved ones of RFC 3986, 2.3,
/// and `/`.
const ENCODED: &AsciiSet = &NON_ALPHANUMERIC
    .remove(b'/')
    .remove(b'-')
    .remove(b'.')
    .remove(b'_')
    .remove(b'~');

/// A relative path as a link's address.
fn url(path: &str) -> String {
    utf8_percent_encode(path, ENCODED).to_string()
}

/// A text as the inside of a CSS string: every character that is not a letter
/// or digit is escaped by its number, so that none can end the string, the
/// rule or the style element.
fn css(text: &str) -> String {
    let mut css = String::with_capacity(text.len());
    for letter in text.chars() {
        if letter.is_alphanumeric() {
            css.push(letter);
        } else {
            let _ = write!(css, "\\{:X} ", u32::from(letter));
        }
    }
    css
}

#[cfg(test)]
mod tests {
    use super::super::sample;
    use super::*;
    use crate::page::{Run, Target};
    use std::collections::BTreeSet;

    fn html() -> Html {
        Html::new(&Look::default(), Words::english()).expect("the templates have no fault")
    }

    #[test]
    fn both_kinds_and_a_page_of_the_site_are_made() {
        let html = html();
        for leaf in [sample::shop_sheet(), sample::checklist()] {
            let page = html
                .leaf(&leaf, &Nav::default(), true)
                .expect("the leaf is sound");
            assert!(page.starts_with("<!doctype html>"), "{}", &page[..80]);
            assert!(page.trim_end().ends_with("</html>"));
        }
        html.page(sample::page(None), "")
            .expect("the page is sound");
    }

    #[test]
    fn no_text_of_a_users_becomes_markup() {
        let hostile = "<script>alert(1)</script>\"'&{{ leaf }}</style>";
        let html = html();
        // A page of the site has the two scripts of the search.
        let leaf = html.leaf(&sample::with_every_text(hostile), &Nav::default(), true);
        let pages = [(0, leaf), (2, html.page(sample::page(Some(hostile)), ""))];
        for (scripts, page) in pages {
            let page = page.expect("the leaf is sound");
            let came = page.matches("<script").count();
            assert_eq!(came, scripts, "a script element came through");
            assert_eq!(page.matches("</style>").count(), 1);
            assert!(page.contains("&lt;script&gt;alert(1)"));
            assert!(!page.contains("&amp;lt;"), "a text was escaped twice");
        }
    }

    #[test]
    fn every_step_stands_in_order_with_its_messages_before_it() {
        let html = html();
        for leaf in [sample::shop_sheet(), sample::checklist()] {
            let page = html
                .leaf(&leaf, &Nav::default(), false)
                .expect("the leaf is sound");
            let place = |text: &str| {
                page.rfind(text)
                    .unwrap_or_else(|| panic!("{text:?} is not on the page"))
            };
            let places: Vec<usize> = (1..=22)
                .map(|number| place(&format!("<span class=\"number\">{number}</span>")))
                .collect();
            assert!(places.is_sorted());
            let spring = place("The governor spring flies off.");
            assert!(places[4] < spring && spring < places[5]);
        }
    }

    #[test]
    fn links_lead_from_where_the_page_stands() {
        let page = html()
            .leaf(&sample::shop_sheet(), &Nav::default(), true)
            .expect("sound");
        for address in [
            "href=\"../tarn-t7/governor-linkage-shop-sheet.pdf\"",
            "href=\"../tarn-t7/float-bowl-shop-sheet.html\"",
            "href=\"#step-16\"",
            "href=\"https://example.org/governors?a=1&amp;b=2\"",
            "src=\"../figures/linkage-1a2b3c4d.svg\"",
        ] {
            assert!(page.contains(address), "{address}");
        }
    }

    /// What was set for another page is not found for one that stands elsewhere.
    #[test]
    fn links_lead_from_where_each_of_several_pages_stands() {
        let html = html();
        let mut leaf = sample::shop_sheet();
        for (path, up) in [("x", ""), ("a/x", "../"), ("es/a/x", "../../")] {
            path.clone_into(&mut leaf.head.path);
            let page = html.leaf(&leaf, &Nav::default(), false).expect("sound");
            for address in [
                "tarn-t7/float-bowl-shop-sheet.html",
                "figures/linkage-1a2b3c4d.svg",
            ] {
                assert!(
                    page.contains(&format!("=\"{up}{address}\"")),
                    "{path} {address}"
                );
            }
        }
    }

    #[test]
    fn a_pdf_is_linked_only_where_there_is_one() {
        let html = html();
        let page = html
            .leaf(&sample::shop_sheet(), &Nav::default(), false)
            .expect("sound");
        assert!(!page.contains(".pdf"));
        let page = html.page(sample::page(None), "").expect("sound");
        assert!(page.contains("governor-linkage-shop-sheet.pdf"));
        assert!(!page.contains("governor-linkage-bench-checklist.pdf"));
    }

    #[test]
    fn an_address_that_is_no_web_address_is_no_link() {
        let mut leaf = sample::bare(LeafKind::ShopSheet);
        leaf.blocks = vec![Block::Text {
            runs: vec![Run::Link {
                target: Target::Web {
                    address: "javascript:alert(1)".to_owned(),
                },
                runs: vec![Run::text("here")],
            }],
        }];
        let page = html().leaf(&leaf, &Nav::default(), false).expect("sound");
        assert!(page.contains("<p>here</p>") && !page.contains("javascript"));
    }

    #[test]
    fn nothing_empty_leaves_a_box() {
        let boxes = [
            "class=\"data-note",
            "class=\"entries",
            "class=\"notices",
            "class=\"contents",
            "<table",
            "<ol",
            "<section",
            "<time",
            "<svg",
            "<figure",
        ];
        let html = html();
        let mut full = sample::shop_sheet();
        full.head.address = Some("https://example.org/x".to_owned());
        let full = html.leaf(&full, &Nav::default(), false).expect("sound");
        for name in boxes {
            assert!(full.contains(name), "a full leaf has no {name}");
        }
        for kind in LeafKind::ALL {
            let bare = sample::bare(kind);
            let page = html.leaf(&bare, &Nav::default(), false).expect("sound");
            for name in boxes {
                assert!(!page.contains(name), "{kind:?} has {name}");
            }
        }
    }

    #[test]
    fn a_page_needs_nothing_but_the_output_folder() {
        let page = html()
            .leaf(&sample::checklist(), &Nav::default(), true)
            .expect("sound");
        let files = shared_files(&Look::default());
        for (path, text) in &files {
            // What shows a machine at a time, and the search, are for pages of the site.
            let count = usize::from(!path.contains("machines") && !path.contains("search"));
            let found = page.matches(&format!("=\"../{path}\"")).count();
            assert_eq!(found, count, "{path}");
            assert!(text.contains(MARK));
        }
        for outside in ["@import", "url(", "src=\"http", "href=\"http"] {
            assert!(!page.contains(outside), "{outside}");
            assert!(
                files.iter().all(|(_, text)| !text.contains(outside)),
                "{outside}"
            );
        }
    }

    #[test]
    fn only_a_checklist_has_a_script() {
        for kind in LeafKind::ALL {
            let page = html()
                .leaf(&sample::bare(kind), &Nav::default(), false)
                .expect("sound");
            let scripts = if kind == LeafKind::BenchChecklist {
                2
            } else {
                0
            };
            assert_eq!(page.matches("<script").count(), scripts, "{kind:?}");
        }
    }

    #[test]
    fn no_text_of_a_users_ends_what_the_script_reads() {
        let hostile = "</script><!--<script>alert(1)</script>&\"'";
        let mut leaf = sample::with_every_text(hostile);
        leaf.kind = LeafKind::BenchChecklist;
        hostile.clone_into(&mut leaf.head.path);
        let page = html().leaf(&leaf, &Nav::default(), false).expect("sound");
        assert_eq!(page.matches("<script").count(), 2);
        assert_eq!(page.matches("</script").count(), 2);
        assert!(!page.contains("<!--"));
        let (_, after) = page.split_once("id=\"live\">").expect("it is there");
        let (json, _) = after.split_once("</script>").expect("it ends");
        let read: serde_json::Value = serde_json::from_str(json).expect("it is JSON");
        assert_eq!(read["path"], hostile);
        assert_eq!(read["machine"], hostile);
    }

    /// A script says nothing of its own, and no word is there that nobody says.
    #[test]
    fn every_word_of_a_script_is_there_and_said() {
        let checklist = include_str!("../../templates/html/checklist.js");
        let search = concat!(
            include_str!("../../templates/html/search.js"),
            include_str!("../../templates/html/search.html")
        );
        for (prefix, text) in [("live-", checklist), ("search-", search)] {
            let in_markup = format!("words[\"{prefix}");
            let said: BTreeSet<&str> = ["say(\"", &in_markup]
                .into_iter()
                .flat_map(|before| text.split(before).skip(1))
                .filter_map(|rest| Some(rest.split_once('"')?.0))
                .collect();
            let there: BTreeSet<&str> = Words::english()
                .all()
                .keys()
                .filter_map(|key| key.strip_prefix(prefix))
                .collect();
            assert_eq!(said, there);
        }
    }

    #[test]
    fn the_search_finds_its_files_from_where_the_page_stands() {
        let mut page = sample::page(None);
        "es/index".clone_into(&mut page.path);
        let html = html();
        let page = html.page(page, "es/").expect("sound");
        let [_, _, _, (path, _)] = shared_files(&Look::default());
        assert!(page.contains(&format!("src=\"../{path}\"")));
        assert!(page.contains("data-root=\"../es/\""));
        let (_, after) = page.split_once("id=\"search-words\">").expect("there");
        let (json, _) = after.split_once("</script>").expect("it ends");
        let read: BTreeMap<String, String> = serde_json::from_str(json).expect("JSON");
        assert_eq!(read["found"], "{count} found");
    }

    /// A page works from a disk, and no text of a shop's becomes markup in a browser.
    #[test]
    fn no_script_asks_for_anything_or_writes_markup() {
        let scripts = shared_files(&Look::default());
        let scripts = scripts.iter().filter(|(path, _)| path.ends_with(".js"));
        let mut count = 0;
        for (path, script) in scripts {
            count += 1;
            for banned in [
                "fetch(",
                "XMLHttpRequest",
                "sendBeacon",
                "WebSocket",
                "EventSource",
                "import(",
                "http:",
                "https:",
                "WebAssembly",
                "innerHTML",
                "outerHTML",
                "insertAdjacentHTML",
                "document.write",
                "eval(",
            ] {
                assert!(!script.contains(banned), "{path} has {banned}");
            }
        }
        assert_eq!(count, 3);
    }

    /// Pieces that were set for one page are used again on the next: a page must come out as it does
    /// where nothing was set before it, in whatever order pages are made.
    #[test]
    fn a_page_is_the_same_whatever_was_set_before_it() {
        let mut leaves = Vec::new();
        for kind in LeafKind::ALL {
            for folder in ["", "a/", "es/a/"] {
                let mut leaf = sample::shop_sheet();
                leaf.kind = kind;
                leaf.head.path = format!("{folder}x");
                leaves.push(leaf);
            }
        }
        let alone: Vec<String> = leaves
            .iter()
            .map(|leaf| html().leaf(leaf, &Nav::default(), true).expect("sound"))
            .collect();
        let one_html = html();
        for (leaf, alone) in leaves
            .iter()
            .zip(&alone)
            .chain(leaves.iter().zip(&alone).rev())
        {
            let page = one_html.leaf(leaf, &Nav::default(), true).expect("sound");
            assert!(page == *alone, "{:?} {}", leaf.kind, leaf.head.path);
        }
    }

    #[test]
    fn a_url_holds_plain_letters_only() {
        assert_eq!(url("figures/a b-1.svg"), "figures/a%20b-1.svg");
        assert_eq!(url("ü\"<"), "%C3%BC%22%3C");
    }

    #[test]
    fn a_css_string_cannot_be_left() {
        assert_eq!(css("a\"}</style>"), "a\\22 \\7D \\3C \\2F style\\3E ");
        assert_eq!(css("Größe 2"), "Größe\\20 2");
    }
}
