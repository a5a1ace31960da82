//! Mistyped links and actions are findings at their place, and correct text beside them is not.

use super::support::{files, tree};
use crate::tree::Memory;
use std::collections::BTreeMap;

/// The findings on a procedure with this section: rule, marked text and help.
fn findings_on(section: &str) -> Vec<(&'static str, String, String)> {
    let mut world: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    let head =
        "+++\ntitle = \"Look\"\nmachines = [\"hand-pump\"]\n+++\nGrit wears it.\n\n## Look\n\n";
    world.insert(
        "air/look.md".to_owned(),
        format!("{head}{section}\n").into_bytes(),
    );
    // A figure that nothing shows is a finding.
    if section.contains(".svg") {
        world.insert("figures/cover.svg".to_owned(), FIGURE.to_vec());
    }
    let sources = crate::read(&Memory::new(world));
    let checked = crate::check_all(&sources);
    let findings = checked.findings.iter().map(|finding| {
        let marked = finding.primary.as_ref().map(|mark| mark.span);
        let text = marked.map_or("", |span| sources.tree.text(span));
        let help = finding.help.clone().unwrap_or_default();
        (finding.rule.name, text.to_owned(), help)
    });
    findings.collect()
}

const FIGURE: &[u8] = br#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 8 8"/>"#;

/// A step with a mistyped action, the rule that finds it, and the text that the finding marks.
const MISTYPED: &[(&str, &str, &str)] = &[
    // Without the closing parenthesis.
    (
        "1. [Look](inspect:cover",
        "unread-link",
        "[Look](inspect:cover",
    ),
    (
        "1. [Look](inspect:cover.",
        "unread-link",
        "[Look](inspect:cover",
    ),
    (
        "1. [Look](inspect:cover]",
        "unread-link",
        "[Look](inspect:cover",
    ),
    (
        "1. Now [look](inspect:cover and wait.",
        "unread-link",
        "[look](inspect:cover",
    ),
    (
        "1. [Look](inspct:cover",
        "unread-link",
        "[Look](inspct:cover",
    ),
    ("1. [Look](cover and wait.", "unread-link", "[Look](cover"),
    ("1. [Look](`inspect:cover`)", "unknown-verb", "`inspect"),
    // With a space.
    (
        "1. [Look] (inspect:cover)",
        "unread-link",
        "[Look] (inspect:cover)",
    ),
    (
        "1. [Look]\n   (inspect:cover)",
        "unread-link",
        "[Look]\n   (inspect:cover)",
    ),
    (
        "1. [Look] (Inspect:cover)",
        "unread-link",
        "[Look] (Inspect:cover)",
    ),
    (
        "1. [Look] (inspct:cover)",
        "unread-link",
        "[Look] (inspct:cover)",
    ),
    (
        "1. [Look] (https://example.org)",
        "unread-link",
        "[Look] (https://example.org)",
    ),
    (
        "1. [Look](inspect: cover)",
        "space-in-address",
        "inspect: cover",
    ),
    (
        "1. [Look](inspect :cover)",
        "space-in-address",
        "inspect :cover",
    ),
    (
        "1. [Look](inspect cover)",
        "space-in-address",
        "inspect cover",
    ),
    (
        "1. Look. ![it](../figures/the cover.svg)",
        "space-in-address",
        "../figures/the cover.svg",
    ),
    // In the wrong brackets.
    (
        "1. (Look)[inspect:cover]",
        "unread-link",
        ")[inspect:cover]",
    ),
    ("1. (Look)[cover]", "unread-link", ")[cover]"),
    (
        "1. (Look)[inspect: cover]",
        "unread-link",
        ")[inspect: cover]",
    ),
    (
        "1. [Look][inspect:cover]",
        "unread-link",
        "][inspect:cover]",
    ),
    ("1. [Look][cover]", "unread-link", "][cover]"),
    ("1. [Look]{inspect:cover}", "unread-link", "inspect:cover"),
    (
        "1. [Look]{inspect:cover} at it.",
        "unread-link",
        "inspect:cover",
    ),
    ("1. [[inspect:cover]]", "unread-link", "inspect:cover"),
    ("1. Look at [[cover]].", "unread-link", "[[cover]]"),
    ("1. Look <inspect: cover>", "unread-link", "inspect: cover"),
    ("1. {Look}(inspect:cover)", "unread-link", "inspect:cover"),
    // Without brackets of its own.
    ("1. inspect:cover", "unread-link", "inspect:cover"),
    ("1. Look (inspect:cover).", "unread-link", "inspect:cover"),
    ("1. Look (Inspect:cover).", "unread-link", "Inspect:cover"),
    ("1. Look (inspct:cover).", "unread-link", "inspct:cover"),
    ("1. Look(inspect:cover)", "unread-link", "inspect:cover"),
    ("1. Look](inspect:cover)", "unread-link", "](inspect:cover)"),
    ("1. [Look(inspect:cover)", "unread-link", "inspect:cover"),
    ("1. Look, inspect:cover.", "unread-link", "inspect:cover"),
    (
        "1. \\[Look](inspect:cover)",
        "unread-link",
        "](inspect:cover)",
    ),
    (
        "1. Look.\n\n   - (inspect:cover)",
        "unread-link",
        "inspect:cover",
    ),
    (
        "1. Look.\n\nThen [look] (inspect:cover).",
        "unread-link",
        "[look] (inspect:cover)",
    ),
    (
        "1. Look.\n\n- then [look](inspect:cover",
        "unread-link",
        "[look](inspect:cover",
    ),
    // In another link, in code, in a figure, in a definition.
    (
        "1. [Look [at it](clean:cover)](inspect:cover)",
        "unread-link",
        "](inspect:cover)",
    ),
    (
        "1. Look, `[look](inspect:cover)`.",
        "unread-link",
        "`[look](inspect:cover)`",
    ),
    (
        "1. Look, `inspect:cover`.",
        "unread-link",
        "`inspect:cover`",
    ),
    (
        "1. Press `A and [look](inspect:cover), then `B.",
        "unread-link",
        "`A and [look](inspect:cover), then `",
    ),
    (
        "1. ![Look](inspect:cover)",
        "unread-link",
        "![Look](inspect:cover)",
    ),
    (
        "1. ![Look](Inspect:cover)",
        "unread-link",
        "![Look](Inspect:cover)",
    ),
    (
        "1. Look. ![the [cover](inspect:cover)](../figures/cover.svg)",
        "unread-link",
        "[cover](inspect:cover)",
    ),
    (
        "1. Look. ![inspect:cover](../figures/cover.svg)",
        "unread-link",
        "inspect:cover",
    ),
    (
        "1. Look.\n\n[Look again]: inspect:cover",
        "unread-link",
        "[Look again]: inspect:cover",
    ),
    // With an address that is no action.
    ("1. [Look](inspct:cover)", "unknown-verb", "inspct"),
    ("1. [Look](Inspect:cover)", "unknown-verb", "Inspect"),
    ("1. [Look](INSPECT:cover)", "unknown-verb", "INSPECT"),
    ("1. [Look](undo:cover)", "unknown-verb", "undo"),
    ("1. [Look](:cover)", "unknown-verb", ""),
    ("1. Look <inspct:cover>", "unknown-verb", "inspct"),
    ("1. [Look](cover)", "relative-link", "cover"),
    ("1. [Look](inspect/cover)", "relative-link", "inspect/cover"),
    ("1. [Look](inspect-cover)", "relative-link", "inspect-cover"),
    ("1. [Look](inspect;cover)", "relative-link", "inspect;cover"),
    ("1. [Look]()", "relative-link", "[Look]()"),
    ("1. [Look](cover.md)", "relative-link", "cover.md"),
    (
        "1. [Look](../air/cover.md#off)",
        "relative-link",
        "../air/cover.md#off",
    ),
    ("1. [Look](#off)", "relative-link", "#off"),
    (
        "1. [Look](../figures/cover.svg)",
        "relative-link",
        "../figures/cover.svg",
    ),
    (
        "1. [Look](www.example.org)",
        "relative-link",
        "www.example.org",
    ),
    ("1. [Look](inspect:)", "unknown-thing", ""),
    // In Markdown that is not read.
    (
        "1. [Look](inspect:cover \"closely\")",
        "unsupported-markdown",
        "[Look](inspect:cover \"closely\")",
    ),
    (
        "1. Look.\n   1. [Look](inspect:cover)\n   2. Look again.",
        "unsupported-markdown",
        "1. [Look](inspect:cover)",
    ),
    (
        "1. Look.\n\n   3) Look again.",
        "unsupported-markdown",
        "3) Look again.",
    ),
    ("1. Look at the `cover.", "unsupported-markdown", "`"),
    (
        "1. Press `A and pull `B.",
        "unsupported-markdown",
        "`A and pull `",
    ),
    (
        "1. Look.\n\n<!-- a --> [look](inspect:cover) <!-- b -->",
        "unsupported-markdown",
        "<!-- a --> [look](inspect:cover) <!-- b -->\n",
    ),
    (
        "1. ~~[Look](inspect:cover)~~ Look.",
        "unsupported-markdown",
        "~~[Look](inspect:cover)~~",
    ),
];

/// Correct steps.
const CORRECT: &[&str] = &[
    "1. [Look](inspect:cover).",
    "1. [](inspect:cover)",
    "1. [Look **closely**](inspect:cover), then [brush it](clean:cover).",
    "1. (After a rest, [look](inspect:cover).)",
    "1. Look (see)[ again](inspect:cover).",
    "1. [Look][it] again.\n\n[it]: inspect:cover",
    "1. [Look] again.\n\n[look]: inspect:cover",
    "1. <inspect:cover>",
    "1. [Look](<inspect:cover>)",
    "1. [The maker's page](https://example.org/a_(b)) shows it. [](inspect:cover)",
    "1. See <https://example.org/see:cover>.",
    "1. Write to [the shop](mailto:shop@example.org), or [call](tel:+15550100).",
    "1. Look at the cover [left-hand side] (not the body).",
    "1. Look at [M6] (new), [A][1] and (A)[1].",
    "1. Look (twice) [or more].",
    "1. Look at 10:15 and again at 16:30, end:10:15.",
    "1. Mix petrol and oil 50:1 (ratio 50:1).",
    "1. Look (ratio:oil and petrol).",
    "1. Note: the cover has a long leg. See: the label.",
    "1. Caution:Do not drop it.",
    "1. Look (note: the long leg is down).",
    "1. Turn it to (closed:open).",
    "1. Hold:10 s.",
    "1. Look (A:B), [A:B] and [a: b].",
    "1. Write inspect\\:cover in the book.",
    "1. Write \\[look\\](here) in the book.",
    "1. Press `A`, `B` and `[C]`.",
    "1. The plate says `OPEN: 5` and ``a`b``.",
    "1. Write \\`A in the book.",
    "1. The plate says `` `A` ``.",
    "1. Look. ![the cover (left)](../figures/cover.svg \"The cover: left\")",
    "1. Look. ![the cover](<../figures/cover.svg>)",
    "1. [![the cover](../figures/cover.svg)](inspect:cover)",
    "1. Look.\n   - [Look](inspect:cover).\n   - Look again.\n     - It is clean.",
    "1. Look.\n\n   1.5 mm of play is too much.",
    "1. Look.\n\n<!-- [look](inspect:cover) -->",
    "1. Look. <!-- once --> <!-- again -->",
    "1. Look. {#look}\n2. As in [step](see:step/look), *look* at __it__.",
    "1. Do the job at http://example.org/do:it or in the non-use:case.",
    "1. Look at f(x)[m].",
    "1. Look [at it]. (The cover: new.)",
    "1. Set a:b, b:c and abuse:them.",
];

#[test]
fn a_mistyped_link_is_one_finding_at_its_place() {
    let mut wrong = Vec::new();
    for (section, rule, marked) in MISTYPED {
        let findings = findings_on(section);
        let is_expected = match findings.as_slice() {
            [(found, text, help)] => {
                found == rule && (text == marked || text.ends_with(marked)) && !help.is_empty()
            }
            _ => false,
        };
        if !is_expected {
            wrong.push(format!("{section}\n    gives {findings:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The findings on the tree `hand-pump` with another step and more files: rule, marked text and message.
fn findings_with(step: &str, added: &[(&str, &[u8])]) -> Vec<(&'static str, String, String)> {
    let mut world: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    world
        .entry("air/cover.md".to_owned())
        .or_default()
        .extend(format!("2. {step}\n").into_bytes());
    world.extend(
        added
            .iter()
            .map(|(path, bytes)| ((*path).to_owned(), bytes.to_vec())),
    );
    let sources = crate::read(&Memory::new(world));
    let checked = crate::check_all(&sources);
    let findings = checked.findings.iter().map(|finding| {
        let marked = finding.primary.as_ref().map(|mark| mark.span);
        let text = marked.map_or("", |span| sources.tree.text(span));
        (finding.rule.name, text.to_owned(), finding.message.clone())
    });
    findings.collect()
}

#[test]
fn a_figure_that_cannot_be_printed_is_found_where_it_is_used() {
    let heic = b"\x00\x00\x00\x18ftypheic";
    let cases: &[(&str, &[u8], &str)] = &[
        ("figures/cover.svg", b"<svg><g></svg>", "broken-figure"),
        ("figures/cover.jpg", heic, "broken-figure"),
        ("figures/cover.png", b"\x89PNG\r\n\x1a\n\0", "broken-figure"),
    ];
    for (path, bytes, rule) in cases {
        let added: &[(&str, &[u8])] = &[(*path, *bytes)];
        let address = format!("../{path}");
        let step = format!("Look. ![it]({address}) ![again]({address})");
        let findings = findings_with(&step, added);
        let [(found, marked, _)] = findings.as_slice() else {
            panic!("{path}: {findings:?}");
        };
        assert_eq!((found, marked), (rule, &address));
        let findings = findings_with("Look.", added);
        assert!(
            matches!(findings.as_slice(), [(found, marked, _)] if found == rule && marked.is_empty()),
            "{path}: {findings:?}"
        );
    }
    let findings = findings_with(
        "Look. ![it](../figures/cover.heic)",
        &[("figures/cover.heic", heic)],
    );
    assert_eq!(findings.len(), 2, "{findings:?}");
    assert!(findings.iter().any(|(rule, marked, message)| {
        *rule == "missing-figure"
            && marked == "../figures/cover.heic"
            && message.contains("no format of a figure")
    }));
}

#[test]
fn files_that_are_not_read_are_named() {
    for path in [
        "air/valve.txt",
        "air/valve.markdown",
        "air/valve",
        "machines/tarn.yaml",
        "figures/cover.webp",
        "figures/cover.heic",
        "notes.docx",
    ] {
        let findings = findings_with("Look.", &[(path, b"")]);
        let [("ignored-file", _, message)] = findings.as_slice() else {
            panic!("{path}: {findings:?}");
        };
        assert!(message.contains(path), "{message}");
    }
    let photographs: &[(&str, &[u8])] = &[
        ("figures/a.heic", b""),
        ("figures/b.heic", b""),
        ("figures/c.heic", b""),
    ];
    assert_eq!(findings_with("Look.", photographs).len(), 1);
    for path in [
        "README.md",
        "README",
        "README.txt",
        "LICENSE-MIT",
        "air/README.md",
        "CHANGELOG.txt",
        "air/cover.md~",
        "air/cover.md.bak",
        "Thumbs.db",
        "Makefile",
    ] {
        assert_eq!(findings_with("Look.", &[(path, b"")]), [], "{path}");
    }
}

#[test]
fn correct_links_and_text_are_no_findings() {
    let mut wrong = Vec::new();
    for section in CORRECT {
        let findings = findings_on(section);
        if !findings.is_empty() {
            wrong.push(format!("{section}\n    gives {findings:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A procedure that begins a job and the job itself can have the same drawing. Both show it, and links lead to the first.
#[test]
fn a_figure_that_is_shown_again_has_one_target() {
    let mut world: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    world.insert("figures/cover.svg".to_owned(), FIGURE.to_vec());
    let image = "![the cover](../figures/cover.svg)";
    let procedure = |title: &str, more: &str| {
        format!(
            "+++\ntitle = \"{title}\"\nmachines = [\"hand-pump\"]\n{more}+++\nGrit wears it.\n\n## {title}\n\n\
             1. Look at it.\n\n   {image}\n\n2. Look again. {image}\n"
        )
    };
    world.insert("air/look.md".to_owned(), procedure("Look", "").into_bytes());
    let begins = procedure("Job", "begin = [\"look\"]\n");
    world.insert("air/job.md".to_owned(), begins.into_bytes());
    let sources = crate::read(&Memory::new(world));
    let folder = tempfile::tempdir().unwrap();
    let pages = crate::cli::publishing::publish_pages(&sources, folder.path(), None).unwrap();
    assert_eq!(pages.checked.iter().count(), 0);
    for (sheet, count) in [("look", 2), ("job", 4)] {
        let page = folder
            .path()
            .join(format!("hand-pump/{sheet}-shop-sheet.html"));
        let page = std::fs::read_to_string(page).unwrap();
        assert_eq!(page.matches("<figure").count(), count, "{sheet}");
        assert_eq!(page.matches("id=\"figure-1\"").count(), 1, "{sheet}");
    }
}
