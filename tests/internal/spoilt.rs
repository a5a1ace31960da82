//! However a tree is spoilt, it is read, checked and made into sheets without a
//! panic, every finding points into its file, and the terminal can show it.

use super::support::{files, root, tree};
use crate::page::{Edition, OutputContext, SheetKind};
use crate::sheet;
use crate::tree::Memory;
use proptest::prelude::*;
use std::collections::BTreeSet;

/// One way to spoil a file: where, how much, and what goes there instead.
#[derive(Clone, Debug)]
struct Spoil {
    file: prop::sample::Index,
    at: prop::sample::Index,
    length: usize,
    with: String,
}

fn spoil() -> impl Strategy<Value = Spoil> {
    let pieces = [
        "",
        "\"",
        "[",
        "]",
        "(",
        ")",
        "{",
        "}",
        "#",
        "+++\n",
        "\n\n",
        "\r",
        "> ",
        "1. ",
        "![](x)",
        "[](do:make-safe)",
        "[](fit:cover)",
        "[](remove:carburettor)",
        "{.reverse}",
        "{only=\"",
        "±",
        "\u{feff}",
        "= ",
        "\u{0}",
        "é",
        "9 N·m",
    ];
    let with = prop_oneof![
        prop::sample::select(pieces.to_vec()).prop_map(str::to_owned),
        "\\PC{0,6}",
    ];
    (
        any::<prop::sample::Index>(),
        any::<prop::sample::Index>(),
        0_usize..40,
        with,
    )
        .prop_map(|(file, at, length, with)| Spoil {
            file,
            at,
            length,
            with,
        })
}

/// Reads, checks, judges, makes and shows everything of a tree.
fn go_through(files: Vec<(String, Vec<u8>)>) {
    let sources = crate::read(&Memory::new(files));
    let checked = crate::check_all(&sources);
    for finding in &checked.findings {
        for mark in finding.primary.iter().chain(&finding.others) {
            let text = &sources.tree.file(mark.span.file).text;
            let slice = text.get(mark.span.range());
            assert!(slice.is_some(), "{finding:?} points between characters");
        }
    }
    let _ = crate::report::terminal(&sources.tree, &checked.findings, true);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    for one in &checked.jobs {
        for kind in SheetKind::OF_JOB {
            let _ = sheet::sheet_of_kind(kind, &one.job, &one.rehearsal, &output);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 24,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn a_spoilt_tree_is_no_reason_to_panic(spoils in prop::collection::vec(spoil(), 1..4), is_demo: bool) {
        let folder = if is_demo { root().join("procedures") } else { tree("hand-pump") };
        let mut all: Vec<_> = files(&folder).into_iter().filter(|(path, _)| path != "README.md").collect();
        for spoil in spoils {
            let chosen = spoil.file.index(all.len());
            let (_, bytes) = &mut all[chosen];
            let at = spoil.at.index(bytes.len() + 1);
            let end = (at + spoil.length).min(bytes.len());
            bytes.splice(at..end, spoil.with.bytes());
        }
        go_through(all);
    }
}
