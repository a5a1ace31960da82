use super::Html;
use super::filters::css;
use super::shared::{SharedFile, shared_files};
use crate::output::MARK;
use crate::page::{Block, LinkTarget, OutputContext, Sheet, SheetKind, TextRun};
use crate::render::address::{Addresses, Paths};
use crate::render::{Look, sample};
use crate::site::{Nav, SitePage};
use crate::words::Words;
use std::collections::{BTreeMap, BTreeSet};

fn html() -> Html {
    Html::new(&Look::default(), None, Words::english()).expect("valid templates")
}

/// The addresses of a sheet, with PDFs for all pages or for none.
fn addresses(sheet: &Sheet, has_pdfs: bool) -> Addresses {
    let outputs = sample::outputs(&["en"]);
    let paths = Paths::new(&outputs[0], None);
    Html::addresses_of_sheet(paths, sheet, &Nav::default(), &|_| has_pdfs)
}

fn sheet(html: &Html, sheet: &Sheet, has_pdfs: bool) -> String {
    html.sheet(sheet, &Nav::default(), &addresses(sheet, has_pdfs))
        .expect("a rendered sheet")
}

/// Renders a page of the site. Only the shop sheet has a PDF.
fn site_page(html: &Html, page: &SitePage, output: &OutputContext) -> String {
    let paths = Paths::new(output, None);
    let addresses = Html::addresses_of_page(paths, page, &|path| path.ends_with("-shop-sheet"));
    html.page(page, &addresses).expect("a rendered page")
}

#[test]
fn sheets_and_site_pages_render_as_whole_documents() {
    let html = html();
    for full in [sample::shop_sheet(), sample::checklist()] {
        let page = sheet(&html, &full, true);
        assert!(page.starts_with("<!doctype html>"), "{}", &page[..80]);
        assert!(page.trim_end().ends_with("</html>"));
    }
    site_page(&html, &sample::page(None), &sample::outputs(&["en"])[0]);
}

#[test]
fn user_text_is_escaped() {
    let hostile = "<script>alert(1)</script>\"'&{{ sheet }}</style>";
    let html = html();
    // Every page has a script element for the colours, and one for the search.
    let outputs = sample::outputs(&["en"]);
    let on_sheet = sheet(&html, &sample::with_every_text(hostile), true);
    let on_site = site_page(&html, &sample::page(Some(hostile)), &outputs[0]);
    for page in [on_sheet, on_site] {
        let count = page.matches("<script").count();
        assert_eq!(count, 2, "user text became a script element");
        assert_eq!(page.matches("</style>").count(), 1);
        assert!(page.contains("&lt;script&gt;alert(1)"));
        assert!(!page.contains("&amp;lt;"), "a text was escaped twice");
    }
}

#[test]
fn steps_are_in_order_and_messages_come_before_their_step() {
    let html = html();
    for full in [sample::shop_sheet(), sample::checklist()] {
        let page = sheet(&html, &full, false);
        let offset = |text: &str| {
            page.rfind(text)
                .unwrap_or_else(|| panic!("{text:?} is not on the page"))
        };
        let offsets: Vec<usize> = (1..=22)
            .map(|number| offset(&format!("<b>{number}</b>")))
            .collect();
        assert!(offsets.is_sorted());
        let spring = offset("The governor spring flies off.");
        assert!(offsets[4] < spring && spring < offsets[5]);
    }
}

#[test]
fn links_are_relative_to_the_page() {
    let page = sheet(&html(), &sample::shop_sheet(), true);
    for address in [
        "href=\"../tarn-yarrow/governor-linkage-shop-sheet.pdf\"",
        "href=\"float-bowl-shop-sheet.html\"",
        "href=\"#step-16\"",
        "href=\"https://example.org/governors?a=1&amp;b=2\"",
        "src=\"../figures/linkage-1a2b3c4d.svg\"",
    ] {
        assert!(page.contains(address), "{address}");
    }
}

/// The cache must not give a piece of one page to a page in another folder.
#[test]
fn cached_pieces_have_links_relative_to_each_page() {
    let html = html();
    let outputs = sample::outputs(&["en", "es"]);
    for (output, kind, prefix, up) in [
        (&outputs[0], SheetKind::WhereUsed, "", ""),
        (&outputs[0], SheetKind::ShopSheet, "", "../"),
        (&outputs[1], SheetKind::ShopSheet, "es/", "../../"),
    ] {
        let mut sheet = sample::shop_sheet();
        sheet.page = sample::page_id(kind);
        let nav = Nav::default();
        let paths = Paths::new(output, None);
        let addresses = Html::addresses_of_sheet(paths, &sheet, &nav, &|_| false);
        let page = html
            .sheet(&sheet, &nav, &addresses)
            .expect("a rendered sheet");
        let is_in_folder = kind == SheetKind::ShopSheet;
        let folder = if is_in_folder {
            String::new()
        } else {
            format!("{up}{prefix}tarn-yarrow/")
        };
        for address in [
            format!("{folder}float-bowl-shop-sheet.html"),
            format!("{up}{}", sample::FIGURE_IN_OUTPUT),
        ] {
            assert!(page.contains(&format!("=\"{address}\"")), "{address}");
        }
    }
}

#[test]
fn pdf_is_linked_only_if_it_exists() {
    let html = html();
    let page = sheet(&html, &sample::shop_sheet(), false);
    assert!(!page.contains(".pdf"));
    let page = site_page(&html, &sample::page(None), &sample::outputs(&["en"])[0]);
    assert!(page.contains("governor-linkage-shop-sheet.pdf"));
    assert!(!page.contains("governor-linkage-bench-checklist.pdf"));
}

#[test]
fn link_with_a_script_address_is_plain_text() {
    let mut bare = sample::bare(SheetKind::ShopSheet);
    bare.blocks = vec![Block::Text {
        runs: vec![TextRun::link(
            LinkTarget::Web("javascript:alert(1)".to_owned()),
            vec![TextRun::text("here")],
        )],
    }];
    let page = sheet(&html(), &bare, false);
    assert!(page.contains("<p>here</p>") && !page.contains("javascript"));
}

#[test]
fn empty_parts_have_no_markup() {
    let markup = [
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
    let outputs = sample::outputs(&["en"]);
    let full = sample::shop_sheet();
    let nav = Nav::default();
    let paths = Paths::new(&outputs[0], Some("https://example.org"));
    let addresses = Html::addresses_of_sheet(paths, &full, &nav, &|_| false);
    let full = html
        .sheet(&full, &nav, &addresses)
        .expect("a rendered sheet");
    for name in markup {
        assert!(full.contains(name), "a full sheet has no {name}");
    }
    for kind in SheetKind::ALL {
        let bare = sample::bare(kind);
        let page = sheet(&html, &bare, false);
        for name in markup {
            assert!(!page.contains(name), "{kind:?} has {name}");
        }
    }
}

/// What would load a file from another place.
const EXTERNAL: [&str; 4] = ["@import", "url(", "src=\"http", "href=\"http"];

#[test]
fn page_loads_files_of_the_output_folder_only() {
    let page = sheet(&html(), &sample::checklist(), true);
    let files = shared_files(&Look::default(), None, Words::english());
    for SharedFile { name, path, text } in &files {
        // This sheet was made alone, so it has no open jobs, and it has no figure with numbers. The drawings of icons are in the style sheet itself.
        let text = text.replace(
            "url(\"data:image/svg+xml,%3Csvg xmlns='http://www.w3.org/2000/svg'",
            "",
        );
        let count = usize::from(!["open_jobs", "figures"].contains(name));
        let references = page.matches(&format!("=\"../{path}\"")).count();
        assert_eq!(references, count, "{path}");
        assert!(text.contains(MARK));
        for external in EXTERNAL {
            assert!(!text.contains(external), "{external} in {path}");
        }
    }
    for external in EXTERNAL {
        assert!(!page.contains(external), "{external}");
    }
}

#[test]
fn only_sheets_that_are_filled_in_have_scripts_of_their_own() {
    for kind in SheetKind::ALL {
        let page = sheet(&html(), &sample::bare(kind), false);
        let scripts = match kind {
            SheetKind::BenchChecklist | SheetKind::KitList | SheetKind::FaultTable => 5,
            _ => 2,
        };
        assert_eq!(page.matches("<script").count(), scripts, "{kind:?}");
    }
}

#[test]
fn user_text_can_not_end_the_script_element() {
    let hostile = "</script><!--<script>alert(1)</script>&\"'";
    let mut sheet = sample::with_every_text(hostile);
    sheet.kind = SheetKind::BenchChecklist;
    let addresses = Addresses {
        path: hostile.to_owned(),
        ..addresses(&sheet, false)
    };
    let page = html().sheet(&sheet, &Nav::default(), &addresses);
    let page = page.expect("a rendered sheet");
    assert_eq!(page.matches("<script").count(), 5);
    assert_eq!(page.matches("</script").count(), 5);
    assert!(!page.contains("<!--"));
    let (_, after) = page.split_once("id=\"live\">").expect("the element");
    let (json, _) = after.split_once("</script>").expect("the end tag");
    let input: serde_json::Value = serde_json::from_str(json).expect("JSON");
    assert_eq!(input["path"], hostile);
    assert_eq!(input["machine"], hostile);
}

/// The texts in quotes that follow any of these.
fn quoted<'t>(text: &'t str, befores: &[&str]) -> BTreeSet<&'t str> {
    let rests = befores.iter().flat_map(|before| text.split(before).skip(1));
    rests
        .filter_map(|rest| Some(rest.split_once('"')?.0))
        .collect()
}

#[test]
fn scripts_use_exactly_the_words_with_their_prefix() {
    let shared = shared_files(&Look::default(), None, Words::english());
    let script = |name: &str| {
        let file = shared.iter().find(|file| file.name == name);
        let text = file.map_or("", |file| &file.text);
        // Without the words themselves, which would count as used.
        let words = text.split_once("_WORDS = {").map(|(_, words)| words);
        let rest = words.and_then(|words| Some(words.split_once("};\n")?.1));
        rest.unwrap_or(text).to_owned()
    };
    let checklist = script("checklist");
    let page = script("page");
    let figures = script("figures");
    let search = script("search") + include_str!("../../../templates/html/search.html");
    for (prefix, text) in [
        ("live-", checklist),
        ("page-state-", page),
        ("view-", figures),
        ("search-", search),
    ] {
        let in_markup = format!("words[\"{prefix}");
        let before = [
            "say(\"",
            "sayCount(\"",
            "Refusal(\"",
            "PAGE_WORDS[\"",
            &in_markup,
        ];
        let used = quoted(&text, &before);
        let defined: BTreeSet<&str> = Words::english()
            .all()
            .keys()
            .filter_map(|key| key.strip_prefix(prefix))
            .collect();
        let unknown: Vec<_> = used.difference(&defined).collect();
        assert!(unknown.is_empty(), "unknown: {unknown:?}");
        let unused = defined.into_iter().filter(|key| {
            let is_quoted = text.contains(&format!("\"{key}\""));
            let is_property = text.contains(&format!("_WORDS.{key}"));
            !used.contains(key) && !is_quoted && !is_property
        });
        assert_eq!(unused.collect::<Vec<_>>(), Vec::<&str>::new());
    }
}

#[test]
fn search_script_and_index_are_relative_to_the_page() {
    let mut page = sample::page(None);
    page.head.page = crate::page::PageId::Front;
    let page = site_page(&html(), &page, &sample::outputs(&["en", "es"])[1]);
    let files = shared_files(&Look::default(), None, Words::english());
    let search = files.iter().find(|file| file.name == "search");
    let search = search.expect("the search script");
    let path = &search.path;
    assert!(page.contains(&format!("src=\"../{path}\"")));
    assert!(page.contains("data-root=\"../es/\""));
    let (_, json) = search
        .text
        .split_once("SEARCH_WORDS = ")
        .expect("the words");
    let (json, _) = json.split_once(";\n").expect("the end of the words");
    let words: BTreeMap<String, String> = serde_json::from_str(json).expect("JSON");
    assert_eq!(words["found"], "{count} found");
}

/// Pages must work when opened from a disk, and a shop's text must not become markup.
#[test]
fn scripts_make_no_requests_and_write_no_markup() {
    let scripts = shared_files(&Look::default(), None, Words::english());
    let scripts = scripts.iter().filter(|file| {
        std::path::Path::new(&file.path)
            .extension()
            .is_some_and(|end| end == "js")
    });
    let mut count = 0;
    for SharedFile {
        path, text: script, ..
    } in scripts
    {
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
    assert_eq!(count, 6);
}

/// The cache must not change a page, in whatever order the pages are rendered.
#[test]
fn page_is_the_same_with_and_without_cached_pieces() {
    let outputs = sample::outputs(&["en", "es"]);
    let nav = Nav::default();
    let mut sheets = Vec::new();
    for kind in SheetKind::ALL {
        for (output, page) in [
            (&outputs[0], SheetKind::WhereUsed),
            (&outputs[0], SheetKind::ShopSheet),
            (&outputs[1], SheetKind::BenchChecklist),
        ] {
            let mut sheet = sample::shop_sheet();
            sheet.kind = kind;
            sheet.page = sample::page_id(page);
            let paths = Paths::new(output, None);
            let addresses = Html::addresses_of_sheet(paths, &sheet, &nav, &|_| true);
            sheets.push((sheet, addresses));
        }
    }
    let page = |html: &Html, (sheet, addresses): &(Sheet, Addresses)| {
        html.sheet(sheet, &nav, addresses)
            .expect("a rendered sheet")
    };
    let uncached: Vec<String> = sheets.iter().map(|sheet| page(&html(), sheet)).collect();
    let shared_html = html();
    let expected = || sheets.iter().zip(&uncached);
    for (sheet, uncached) in expected().chain(expected().rev()) {
        assert!(page(&shared_html, sheet) == *uncached, "{}", sheet.0.page);
    }
}

#[test]
fn css_string_can_not_be_ended_by_text() {
    assert_eq!(css("a\"}</style>"), "a\\22 \\7D \\3C \\2F style\\3E ");
    assert_eq!(css("Größe 2: a-b."), "Größe 2: a-b.");
}
