//! Trees with random damage: they are read, checked and rendered without a panic, every span of a finding is
//! valid in its file, and the findings can be shown in a terminal.

use super::support::{files, root, tree};
use crate::page::{Edition, OutputContext, SheetKind};
use crate::sheet;
use crate::tree::Memory;
use proptest::prelude::*;
use std::collections::BTreeSet;

/// Replaces a range of a file with other text.
#[derive(Clone, Debug)]
struct Damage {
    file: prop::sample::Index,
    at: prop::sample::Index,
    length: usize,
    with: String,
}

fn damage() -> impl Strategy<Value = Damage> {
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
        .prop_map(|(file, at, length, with)| Damage {
            file,
            at,
            length,
            with,
        })
}

/// Reads and checks a tree, shows its findings and makes its sheets.
fn process(files: Vec<(String, Vec<u8>)>) {
    let sources = crate::read(&Memory::new(files));
    let checked = crate::check_all(&sources);
    for finding in &checked.findings {
        for mark in finding.primary.iter().chain(&finding.others) {
            let text = &sources.tree.file(mark.span.file).text;
            let slice = text.get(mark.span.range());
            assert!(
                slice.is_some(),
                "{finding:?} has a span that is not on character boundaries"
            );
        }
    }
    let _ = crate::report::terminal(&sources.tree, &checked.findings, true);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    for rehearsed in &checked.jobs {
        for kind in SheetKind::OF_JOB {
            let _ = sheet::sheet_of_kind(kind, &rehearsed.job, &rehearsed.rehearsal, &output);
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
    fn damaged_trees_do_not_panic(damages in prop::collection::vec(damage(), 1..4), is_demo: bool) {
        let folder = if is_demo { root().join("procedures") } else { tree("hand-pump") };
        let mut tree_files: Vec<_> = files(&folder).into_iter().filter(|(path, _)| path != "README.md").collect();
        for damage in damages {
            let chosen = damage.file.index(tree_files.len());
            let (_, bytes) = &mut tree_files[chosen];
            let at = damage.at.index(bytes.len() + 1);
            let end = (at + damage.length).min(bytes.len());
            bytes.splice(at..end, damage.with.bytes());
        }
        process(tree_files);
    }
}
