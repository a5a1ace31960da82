use super::Html;
use super::filters::css;
use super::shared::shared_files;
use crate::output::MARK;
use crate::page::{Block, LinkTarget, OutputContext, Sheet, SheetKind, TextRun};
use crate::render::address::{Addresses, Paths};
use crate::render::{Look, sample};
use crate::site::{Nav, SitePage};
use crate::words::Words;
use std::collections::{BTreeMap, BTreeSet};

fn html() -> Html {
    Html::new(&Look::default(), Words::english()).expect("the templates have no fault")
}

/// The addresses of a sheet, each of which has a PDF or none.
fn addresses(sheet: &Sheet, pdf: bool) -> Addresses {
    let outputs = sample::outputs(&["en"]);
    let paths = Paths::new(&outputs[0], None);
    Html::addresses_of_sheet(paths, sheet, &Nav::default(), &|_| pdf)
}

fn sheet(html: &Html, sheet: &Sheet, pdf: bool) -> String {
    html.sheet(sheet, &Nav::default(), &addresses(sheet, pdf))
        .expect("the sheet is sound")
}

/// A page of the site in an edition, where only the shop sheet has a PDF.
fn site_page(html: &Html, page: &SitePage, output: &OutputContext) -> String {
    let paths = Paths::new(output, None);
    let addresses = Html::addresses_of_page(paths, page, &|path| path.ends_with("-shop-sheet"));
    html.page(page, &paths.prefix(), &addresses)
        .expect("the page is sound")
}

#[test]
fn both_kinds_and_a_page_of_the_site_are_made() {
    let html = html();
    for leaf in [sample::shop_sheet(), sample::checklist()] {
        let page = sheet(&html, &leaf, true);
        assert!(page.starts_with("<!doctype html>"), "{}", &page[..80]);
        assert!(page.trim_end().ends_with("</html>"));
    }
    site_page(&html, &sample::page(None), &sample::outputs(&["en"])[0]);
}

#[test]
fn no_text_of_a_users_becomes_markup() {
    let hostile = "<script>alert(1)</script>\"'&{{ leaf }}</style>";
    let html = html();
    // A page of the site has the two scripts of the search.
    let outputs = sample::outputs(&["en"]);
    let on_sheet = sheet(&html, &sample::with_every_text(hostile), true);
    let on_site = site_page(&html, &sample::page(Some(hostile)), &outputs[0]);
    for (scripts, page) in [(0, on_sheet), (2, on_site)] {
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
        let page = sheet(&html, &leaf, false);
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
    let page = sheet(&html(), &sample::shop_sheet(), true);
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
        let page = html.sheet(&sheet, &nav, &addresses).expect("sound");
        for address in [
            format!("{up}{prefix}tarn-t7/float-bowl-shop-sheet.html"),
            format!("{up}{}", sample::FIGURE_IN_OUTPUT),
        ] {
            assert!(page.contains(&format!("=\"{address}\"")), "{address}");
        }
    }
}

#[test]
fn a_pdf_is_linked_only_where_there_is_one() {
    let html = html();
    let page = sheet(&html, &sample::shop_sheet(), false);
    assert!(!page.contains(".pdf"));
    let page = site_page(&html, &sample::page(None), &sample::outputs(&["en"])[0]);
    assert!(page.contains("governor-linkage-shop-sheet.pdf"));
    assert!(!page.contains("governor-linkage-bench-checklist.pdf"));
}

#[test]
fn an_address_that_is_no_web_address_is_no_link() {
    let mut leaf = sample::bare(SheetKind::ShopSheet);
    leaf.blocks = vec![Block::Text {
        runs: vec![TextRun::link(
            LinkTarget::Web("javascript:alert(1)".to_owned()),
            vec![TextRun::text("here")],
        )],
    }];
    let page = sheet(&html(), &leaf, false);
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
    let outputs = sample::outputs(&["en"]);
    let full = sample::shop_sheet();
    let nav = Nav::default();
    let paths = Paths::new(&outputs[0], Some("https://example.org"));
    let addresses = Html::addresses_of_sheet(paths, &full, &nav, &|_| false);
    let full = html.sheet(&full, &nav, &addresses).expect("sound");
    for name in boxes {
        assert!(full.contains(name), "a full leaf has no {name}");
    }
    for kind in SheetKind::ALL {
        let bare = sample::bare(kind);
        let page = sheet(&html, &bare, false);
        for name in boxes {
            assert!(!page.contains(name), "{kind:?} has {name}");
        }
    }
}

#[test]
fn a_page_needs_nothing_but_the_output_folder() {
    let page = sheet(&html(), &sample::checklist(), true);
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
    for kind in SheetKind::ALL {
        let page = sheet(&html(), &sample::bare(kind), false);
        let scripts = if kind == SheetKind::BenchChecklist {
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
    leaf.kind = SheetKind::BenchChecklist;
    let addresses = Addresses {
        path: hostile.to_owned(),
        ..addresses(&leaf, false)
    };
    let page = html().sheet(&leaf, &Nav::default(), &addresses);
    let page = page.expect("sound");
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
    let checklist = include_str!("../../../templates/html/checklist.js");
    let search = concat!(
        include_str!("../../../templates/html/search.js"),
        include_str!("../../../templates/html/search.html")
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
    page.head.page = crate::page::PageId::Front;
    let page = site_page(&html(), &page, &sample::outputs(&["en", "es"])[1]);
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
    let scripts = scripts.iter().filter(|(path, _)| {
        std::path::Path::new(path)
            .extension()
            .is_some_and(|end| end == "js")
    });
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
        html.sheet(sheet, &nav, addresses).expect("sound")
    };
    let alone: Vec<String> = sheets.iter().map(|sheet| page(&html(), sheet)).collect();
    let one_html = html();
    let all = || sheets.iter().zip(&alone);
    for (sheet, alone) in all().chain(all().rev()) {
        assert!(page(&one_html, sheet) == *alone, "{}", sheet.0.page);
    }
}

#[test]
fn a_css_string_cannot_be_left() {
    assert_eq!(css("a\"}</style>"), "a\\22 \\7D \\3C \\2F style\\3E ");
    assert_eq!(css("Größe 2"), "Größe\\20 2");
}
