//! What is on the leaves of a small job, pinned: the leaf as data first, then
//! the page, then the text of the PDF.

#![allow(clippy::unwrap_used, reason = "a test that can't set up has failed")]

mod support;

use benchleaf::check_taking;
use benchleaf::page::{self, Edition, Leaf, LeafKind, Setting};
use benchleaf::publish::{Outlet, Pdfs, Progress, Selection, publish};
use benchleaf::render::{Html, Look, Typst};
use benchleaf::sheet::{self, Summary};
use benchleaf::site::{Link, Nav};
use benchleaf::tree::Disk;
use benchleaf::words::Words;
use std::collections::BTreeSet;
use std::process::Command;
use support::{root, tree, typst};

fn leaf(kind: LeafKind) -> Leaf {
    let sources = benchleaf::read(&Disk::open(&tree("hand-pump")).unwrap());
    let checked = benchleaf::check(&sources);
    let [one] = checked.jobs.as_slice() else {
        panic!("the tree has one job");
    };
    let edition = Edition::first(&sources.shop);
    let setting = Setting::new(&sources.tree, &edition, &[], BTreeSet::new());
    sheet::make(kind, &one.job, &one.rehearsal, &setting)
}

#[test]
fn a_leaf_as_data() {
    for kind in LeafKind::OF_JOB {
        let data = serde_json::to_string_pretty(&leaf(kind)).unwrap();
        insta::assert_snapshot!(format!("data-{}", kind.slug()), data);
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

/// Where a leaf stands in a whole output.
fn nav(kind: LeafKind) -> Nav {
    let link = |title: &str, path: &str| Link {
        title: title.to_owned(),
        path: path.to_owned(),
        anchor: None,
        pdf: false,
    };
    let crumbs = match kind {
        LeafKind::ShopSheet => vec![
            link("Front page", "index"),
            link("Tarn H1 hand pump", "hand-pump/index"),
        ],
        _ => Vec::new(),
    };
    Nav {
        crumbs,
        ..Nav::default()
    }
}

#[test]
fn a_leaf_as_a_page() {
    let html = Html::new(&Look::default(), Words::english()).unwrap();
    for kind in LeafKind::OF_JOB {
        let page = html.leaf(&leaf(kind), &nav(kind), true).unwrap();
        insta::assert_snapshot!(format!("page-{}", kind.slug()), undigested(&page));
    }
}

#[test]
fn a_leaf_as_a_pdfs_text() {
    struct Quiet;
    impl Progress for Quiet {
        fn expect(&self, _: usize) {}
        fn made(&self) {}
    }
    let sources = benchleaf::read(&Disk::open(&tree("hand-pump")).unwrap());
    let checked = check_taking(&sources, None, |one| Some(Summary::of(&one.job)));
    let folder = tempfile::tempdir().unwrap();
    let typst = Typst::find(Some(&typst()), None, &root()).unwrap();
    let outlet = Outlet {
        look: &Look::default(),
        pdfs: &Pdfs::With(typst),
        folder: folder.path(),
        progress: &Quiet,
    };
    publish(&sources, &checked, &Selection::default(), outlet).unwrap();
    for kind in LeafKind::OF_JOB {
        let path = format!("{}.pdf", page::path("hand-pump", "cover", kind));
        let output = Command::new("pdftotext")
            .args(["-layout", "-enc", "UTF-8"])
            .arg(folder.path().join(path))
            .arg("-")
            .output()
            .expect("pdftotext is there: `cargo xtask test` sees to it");
        assert!(output.status.success());
        let text = String::from_utf8(output.stdout).unwrap();
        insta::assert_snapshot!(format!("pdf-{}", kind.slug()), text);
    }
}
