//! What is on the leaves of a small job, pinned: the leaf as data first, then
//! the page, then the text of the PDF.

#![allow(clippy::unwrap_used, reason = "a test that can't set up has failed")]

mod support;

use benchleaf::leaf::{self, Edition, Leaf, LeafKind, Setting};
use benchleaf::publish::{Pdfs, Progress, Selection};
use benchleaf::render::{Html, Look, Typst};
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
    leaf::make(kind, &one.job, &one.rehearsal, &setting)
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
        text.push_str(&format!("{before}site/{name}-…"));
        rest = end.get(8..).unwrap_or_default();
    }
    text + rest
}

#[test]
fn a_leaf_as_a_page() {
    let html = Html::new(&Look::default(), Words::english()).unwrap();
    for kind in LeafKind::OF_JOB {
        let page = html.leaf(&leaf(kind), true).unwrap();
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
    let checked = benchleaf::check(&sources);
    let folder = tempfile::tempdir().unwrap();
    let typst = Typst::find(Some(&typst()), None, &root()).unwrap();
    let all = Selection::default();
    let pdfs = Pdfs::With(typst);
    benchleaf::publish::publish(
        &sources,
        &checked,
        &all,
        &Look::default(),
        pdfs,
        folder.path(),
        &Quiet,
    )
    .unwrap();
    for kind in LeafKind::OF_JOB {
        let path = format!("{}.pdf", leaf::path("hand-pump", "cover", kind));
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
