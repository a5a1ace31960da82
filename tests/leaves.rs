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

/// A page without one of its elements, where it has it.
fn without(page: &str, element: &str) -> String {
    let cut = page
        .split_once(&format!("<{element}>"))
        .and_then(|(before, rest)| {
            let (_, after) = rest.split_once(&format!("</{element}>"))?;
            Some(format!("{before}{after}"))
        });
    cut.unwrap_or_else(|| page.to_owned())
}

#[test]
fn a_leaf_as_a_page() {
    let html = Html::new(&Look::default()).unwrap();
    for kind in LeafKind::OF_JOB {
        let page = html.leaf(&leaf(kind), Words::english(), true).unwrap();
        // The style sheet and the script are the same on every page: one is looked at, the other
        // tried in a browser.
        let page = without(&without(&page, "style"), "script");
        insta::assert_snapshot!(format!("page-{}", kind.slug()), page);
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
