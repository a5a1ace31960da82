//! What is on the sheets of a small job, pinned: the sheet as data first, then
//! the page, then the text of the PDF.

use super::Quiet;
use super::support::{root, tree, typst};
use crate::check_jobs;
use crate::page::{Edition, JobId, OutputContext, PageId, Sheet, SheetKind};
use crate::publish::{Outlet, Pdfs, Selection, publish};
use crate::render::{Html, Look, Paths, Typst};
use crate::sheet::{self, Summary};
use crate::shop::Shop;
use crate::site::{Link, Nav};
use crate::tree::Disk;
use crate::words::Words;
use std::collections::BTreeSet;
use std::process::Command;

/// The one job of the tree.
fn job() -> JobId {
    JobId::new("hand-pump", "cover")
}

/// The sheet of a kind, and the run that makes it with the pages around it.
fn sheet(kind: SheetKind) -> (Sheet, OutputContext) {
    sheet_in(kind, Edition::first)
}

/// The same in an edition of the shop.
fn sheet_in(kind: SheetKind, edition: impl Fn(&Shop) -> Edition) -> (Sheet, OutputContext) {
    let sources = crate::read(&Disk::open(&tree("hand-pump")).unwrap());
    let checked = crate::check_all(&sources);
    let [one] = checked.jobs.as_slice() else {
        panic!("the tree has one job");
    };
    let edition = edition(&sources.shop);
    let made = SheetKind::OF_JOB.map(|kind| PageId::JobSheet(kind, job()));
    let around = [PageId::Front, PageId::Machine(job().machine)];
    let made: BTreeSet<PageId> = made.into_iter().chain(around).collect();
    let output = OutputContext::new(&sources.tree, &edition, made);
    let sheet = sheet::sheet_of_kind(kind, &one.job, &one.rehearsal, &output).unwrap();
    (sheet, output)
}

#[test]
fn a_sheet_as_data() {
    for kind in SheetKind::OF_JOB {
        let data = serde_json::to_string_pretty(&sheet(kind).0).unwrap();
        insta::assert_snapshot!(format!("data-{}", kind.name()), data);
    }
}

/// A page with the names of the files that all pages share: their digests change with every touch of
/// the style, and say nothing of the page.
fn undigested(page: &str) -> String {
    let mut text = String::new();
    let mut rest = page;
    while let Some((before, after)) = rest.split_once("site/") {
        let (name, end) = after.split_once('-').unwrap_or((after, ""));
        text += &[before, "site/", name, "-…"].concat();
        rest = end.get(8..).unwrap_or_default();
    }
    text + rest
}

/// Where a sheet stands in a whole output.
fn nav(kind: SheetKind) -> Nav {
    let crumbs = match kind {
        SheetKind::ShopSheet => vec![
            Link::to_page("Front page", PageId::Front),
            Link::to_page("Tarn H1 hand pump", PageId::Machine(job().machine)),
        ],
        _ => Vec::new(),
    };
    Nav {
        crumbs,
        ..Nav::default()
    }
}

#[test]
fn a_sheet_as_a_page() {
    let html = Html::new(&Look::default(), Words::english()).unwrap();
    for kind in SheetKind::OF_JOB {
        let (sheet, output) = sheet(kind);
        let (paths, nav) = (Paths::new(&output, None), nav(kind));
        let addresses = Html::addresses_of_sheet(paths, &sheet, &nav, &|_| true);
        let page = html.sheet(&sheet, &nav, &addresses).unwrap();
        insta::assert_snapshot!(format!("page-{}", kind.name()), undigested(&page));
    }
}

/// No code knows this language, whose file is made here from the English one.
#[test]
fn a_sheet_in_a_language_that_no_code_knows() {
    let english = std::fs::read_to_string(root().join("templates/words/en-GB.toml")).unwrap();
    let replaced = [
        ("decimal-mark = \".\"", "decimal-mark = \",\""),
        (
            "\nrange = \"{lower} to {upper}\"",
            "\nrange = \"fra {lower} til {upper}\"",
        ),
        (
            "\nkind-shop-sheet = \"Shop sheet\"",
            "\nkind-shop-sheet = \"Arkark\"",
        ),
        (
            "\nstep = \"step\u{a0}{number}\"",
            "\nstep = \"trinn\u{a0}{number}\"",
        ),
    ];
    let text = replaced.iter().fold(english, |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replace(from, to)
    });
    let words = Words::from_toml("xx", &text).unwrap();
    let kind = SheetKind::ShopSheet;
    let (sheet, output) = sheet_in(kind, |_| Edition {
        language: "xx".to_owned(),
        words: words.clone(),
    });
    let html = Html::new(&Look::default(), &words).unwrap();
    let (paths, nav) = (Paths::new(&output, None), nav(kind));
    let addresses = Html::addresses_of_sheet(paths, &sheet, &nav, &|_| true);
    let page = html.sheet(&sheet, &nav, &addresses).unwrap();
    assert!(page.contains("<html lang=\"xx\">") && page.contains("Arkark"));
    let data = serde_json::to_string(&sheet).unwrap();
    assert!(data.contains("trinn\u{a0}"), "{data}");
    assert!(data.contains("4,72\u{a0}in (fra 4,65 til 4,80)"), "{data}");
}

#[test]
fn a_sheet_as_a_pdfs_text() {
    let sources = crate::read(&Disk::open(&tree("hand-pump")).unwrap());
    let checked = check_jobs(&sources, None, |one| Some(Summary::of(&one.job)));
    let folder = tempfile::tempdir().unwrap();
    let typst = Typst::find(Some(&typst()), None, &root()).unwrap();
    let outlet = Outlet {
        look: &Look::default(),
        pdfs: &Pdfs::With(typst),
        folder: folder.path(),
        progress: &Quiet,
    };
    publish(&sources, &checked, &Selection::default(), outlet).unwrap();
    for kind in SheetKind::OF_JOB {
        let path = format!("hand-pump/cover-{}.pdf", kind.name());
        let output = Command::new("pdftotext")
            .args(["-layout", "-enc", "UTF-8"])
            .arg(folder.path().join(path))
            .arg("-")
            .output()
            .expect("pdftotext is there: `cargo xtask test` sees to it");
        assert!(output.status.success());
        let text = String::from_utf8(output.stdout).unwrap();
        insta::assert_snapshot!(format!("pdf-{}", kind.name()), text);
    }
}
