//! What a clean check promises: publish succeeds. If the disk, the typesetter or a shop's own templates fail, it ends with
//! status 2 and leaves the old output as it was.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use rayon::prelude::*;
use std::fmt::Write as _;
use std::fs;
use std::os::unix::fs::PermissionsExt as _;
use std::path::{Path, PathBuf};
use support::{files, output_text, root, tree, typst, write};

/// Runs the program in a folder, with a typesetter.
fn run(folder: &Path, typst: &Path, arguments: &[&str]) -> (String, i32) {
    let mut command = benchleaf(folder);
    let command = command.args(arguments).env("BENCHLEAF_TYPST", typst);
    let (_, stderr, status) = output_text(&command.output().unwrap());
    (stderr, status)
}

/// Checks and publishes sources. Returns whether the check was clean.
///
/// # Panics
///
/// If the check is clean and publish does not succeed.
fn keeps_promise(name: &str, folder: &Path) -> bool {
    let (_, status) = run(folder, &typst(), &["check"]);
    if status != 0 {
        return false;
    }
    let (stderr, status) = run(folder, &typst(), &["publish"]);
    assert_eq!(status, 0, "{name}: {stderr}");
    true
}

/// A folder with a copy of a tree in `procedures`.
fn copy_of(tree: &Path) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    support::copy(tree, &folder.path().join("procedures"));
    folder
}

#[test]
fn trees_with_a_clean_check_are_published() {
    // The demonstration is published by `tests/demo.rs`.
    let mut trees = Vec::new();
    for folder in ["tests/trees", "tests/correct"] {
        let entries = fs::read_dir(root().join(folder)).unwrap();
        let entries = entries.map(|entry| entry.unwrap().path());
        trees.extend(entries.filter(|path| path.is_dir()));
    }
    assert!(trees.len() > 4);
    trees.par_iter().for_each(|tree| {
        let folder = copy_of(tree);
        let name = tree.display().to_string();
        assert!(keeps_promise(&name, folder.path()), "{name} has errors");
    });
}

/// The fields with text of the shop's own.
const FIELDS: [&str; 12] = [
    "avoid",
    "basis",
    "consequence",
    "data-note",
    "hazard",
    "name",
    "note",
    "number",
    "orientation",
    "over",
    "title",
    "under",
];

/// Adds a text to every field with text, and to every line of the procedures.
fn fill(sources: &Path, text: &str) {
    let escaped = text.replace('\\', "\\\\").replace('"', "\\\"");
    let field = |line: &str| {
        let (key, value) = line.split_once(" = \"")?;
        let value = value.strip_suffix('"')?;
        FIELDS
            .contains(&key)
            .then(|| format!("{key} = \"{value} {escaped}\""))
    };
    for (path, bytes) in files(sources) {
        let content = String::from_utf8(bytes).unwrap();
        let is_markdown = Path::new(&path)
            .extension()
            .is_some_and(|ending| ending == "md");
        let mut fences = 0;
        let lines = content.lines().map(|line| {
            fences += usize::from(line == "+++");
            let is_text = !line.is_empty() && !line.ends_with('}') && line != "+++";
            if is_markdown && fences >= 2 && is_text {
                format!("{line} {text}")
            } else {
                field(line).unwrap_or_else(|| line.to_owned())
            }
        });
        let lines: Vec<String> = lines.collect();
        write(&sources.join(path), lines.join("\n") + "\n");
    }
}

/// Texts, and whether the check accepts them.
const TEXTS: &[(&str, bool)] = &[
    // Long words and addresses.
    (
        "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx",
        true,
    ),
    (
        "https://sheets.example/aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa",
        true,
    ),
    // Scripts of the fonts, and marks.
    ("ქართული Հայերեն ພາສາລາວ ⠃⠗ Жя Ωμ \u{10300}", true),
    ("مرحبا שָׁלוֹם", true),
    (
        "e\u{301}\u{323}\u{34f} q\u{303}\u{332} \u{1ec7}\u{323}\u{302} ◌\u{308}",
        true,
    ),
    (
        "\u{628}\u{651}\u{64b}\u{670} `\u{628}\u{670}` **\u{628}\u{670}**",
        true,
    ),
    // Characters that print nothing, and unusual ones.
    (
        "a\u{200d}b\u{200c}c\u{ad}d\u{200b}e\u{2060}f\u{2061}g ☠\u{fe0f} x\u{fe00}",
        true,
    ),
    ("\u{a0}\u{2003}\u{202f} \u{fffd} \u{fffc} ﬁ", true),
    ("#let $x$ @ref ]] ' & ;", true),
    // Characters that no font has, as they are typed and as escapes.
    ("刷", false),
    ("\u{1f6e0}", false),
    ("\u{e000}", false),
    ("\u{3000}", false),
    ("𝒜", false),
    ("&#21047;", false),
    ("a\u{202e}b", false),
];

#[test]
fn awkward_texts_are_refused_by_the_check_or_published() {
    TEXTS.par_iter().for_each(|(text, is_accepted)| {
        let folder = copy_of(&tree("hand-pump"));
        fill(&folder.path().join("procedures"), text);
        let shown: String = text.escape_unicode().take(200).collect();
        assert_eq!(
            keeps_promise(&shown, folder.path()),
            *is_accepted,
            "{shown}"
        );
    });
}

/// An edit of the sources.
type Edit = Box<dyn Fn(&Path) + Sync>;

/// Replaces a text in a source.
fn replace(path: &'static str, from: &'static str, to: String) -> Edit {
    Box::new(move |sources| {
        let text = fs::read_to_string(sources.join(path)).unwrap();
        assert!(text.contains(from), "{path} has {from}");
        write(&sources.join(path), text.replace(from, &to));
    })
}

fn rename(from: &'static str, to: String) -> Edit {
    Box::new(move |sources| fs::rename(sources.join(from), sources.join(&to)).unwrap())
}

#[test]
fn awkward_names_titles_and_addresses_are_refused_by_the_check_or_published() {
    const COVER: &str = "air/cover.md";
    let title = |title: &str| replace(COVER, "## Clean\n", format!("{title}\n"));
    let why = |text: &str| replace(COVER, "Grit", format!("Grit {text}"));
    let address = |address: String| {
        let line = format!("address = \"https://sheets.example/{address}\"\nname =");
        replace(
            "shop.toml",
            "name = \"Elmbrook",
            format!("{line} \"Elmbrook"),
        )
    };
    let cases: Vec<(&str, Edit, bool)> = vec![
        ("titles with one anchor", title("## Clean!\n\n1. Look.\n\n## Clean?"), true),
        ("titles without letters", title("## !!!\n\n1. Look.\n\n## ???"), true),
        ("titles that are anchors", title("## Step 1\n\n1. Look.\n\n## Figure 1\n\n1. Look.\n\n## Tools"), true),
        ("titles of other letters", title("## İstanbul ß ǅ Ω"), true),
        ("a folder of other characters", rename("air", "a b%#?&'é".to_owned()), true),
        ("a long folder", rename("air", "a".repeat(250)), true),
        ("a folder without glyphs", rename("air", "刷".to_owned()), false),
        ("a long id", rename(COVER, format!("air/{}.md", "a".repeat(100))), true),
        ("a longer id", rename(COVER, format!("air/{}.md", "a".repeat(101))), false),
        ("an id that is a page", rename(COVER, "air/index.md".to_owned()), true),
        ("a long address", address("ab/".repeat(156)), true),
        ("a longer address", address("ab/".repeat(167)), false),
        ("an address of other characters", address("é%zz?a=b&c#d".to_owned()), true),
        ("a long link", why(&format!("[x](https://sheets.example/{})", "b/".repeat(500))), true),
        ("odd links", why("[x](https:) [y](http://) [z](tel:+1) <https://sheets.example/é>"), true),
        ("a reference", why("&#21047;"), false),
        ("code that looks like a comment", why("`<!-- 刷 -->`"), false),
        ("a comment", why("<!-- 刷 -->"), true),
        ("an escape", replace("tools.toml", "10 mm wrench", "10 mm wrench \\u5237".to_owned()), false),
        ("lines that look like a comment", replace("cautions.toml", "\"Wear gloves\"", "\"\"\"\n# 刷\"\"\"".to_owned()), false),
        ("half a drawing", figure(b"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 40 30'><path d='M0 0"), false),
        ("a whole drawing", figure(b"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 40 30'><path d='M0 0h9'/></svg>"), true),
        ("a drawing of itself", figure(&drawing_of_copies()), false),
        ("a figure with a long name", named_figure(format!("{}.svg", "f-".repeat(120))), true),
    ];
    cases.par_iter().for_each(|(name, edit, is_accepted)| {
        let folder = copy_of(&tree("hand-pump"));
        edit(&folder.path().join("procedures"));
        assert_eq!(keeps_promise(name, folder.path()), *is_accepted, "{name}");
    });
}

fn show(sources: &Path, name: &str, bytes: &[u8]) {
    write(&sources.join("figures").join(name), bytes);
    let path = sources.join("air/cover.md");
    let text = fs::read_to_string(&path).unwrap();
    write(
        &path,
        format!("{text}2. Look. ![the cover](../figures/{name})\n"),
    );
}

/// Shows a drawing in a step.
fn figure(bytes: &[u8]) -> Edit {
    let bytes = bytes.to_vec();
    Box::new(move |sources| show(sources, "cover.svg", &bytes))
}

fn named_figure(name: String) -> Edit {
    let drawing =
        b"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 40 30'><path d='M0 0h9'/></svg>";
    Box::new(move |sources| show(sources, &name, drawing))
}

/// A drawing of a few lines with ten million parts.
fn drawing_of_copies() -> Vec<u8> {
    let mut text = "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 40 30'><g id='a0'><path d='M0 0h9'/></g>".to_owned();
    for level in 1..8 {
        let copies = format!("<use href='#a{}'/>", level - 1).repeat(10);
        let _ = write!(text, "<g id='a{level}'>{copies}</g>");
    }
    (text + "</svg>").into_bytes()
}

/// A shop whose output is up to date, with a source changed since.
fn changed_shop() -> tempfile::TempDir {
    let folder = copy_of(&tree("hand-pump"));
    let (stderr, status) = run(folder.path(), &typst(), &["publish"]);
    assert_eq!(status, 0, "{stderr}");
    let path = folder.path().join("procedures/air/cover.md");
    let text = fs::read_to_string(&path).unwrap();
    write(
        &path,
        text.replace("Brush the grit out", "Blow the grit out"),
    );
    folder
}

/// Publishes, and asserts that it ends with status 2, that a text is in its message, and that every file of the old
/// output is as it was.
fn fails(folder: &Path, typst: &Path, expected: &str) {
    let output = folder.join("output");
    let pages = || {
        let files = files(&output).into_iter();
        let pages = files.filter(|(path, _)| !path.starts_with(".benchleaf/"));
        pages.collect::<Vec<_>>()
    };
    let before = pages();
    let (stderr, status) = run(folder, typst, &["publish"]);
    assert_eq!(status, 2, "{stderr}");
    assert!(stderr.contains(expected), "{stderr}");
    assert!(before == pages(), "the output has changed: {stderr}");
}

/// A typesetter that runs a shell script for each document, with the path of the real one in `$TYPST`.
fn fake_typst(folder: &Path, script: &str) -> PathBuf {
    let path = folder.join("fake-typst");
    let real = typst();
    let real = real.display();
    write(
        &path,
        format!(
            "#!/bin/sh\nTYPST='{real}'\n[ \"$1\" = --version ] && exec \"$TYPST\" --version\n{script}\n"
        ),
    );
    fs::set_permissions(&path, fs::Permissions::from_mode(0o755)).unwrap();
    path
}

#[test]
fn a_sheet_over_the_limits_of_the_typesetter_leaves_the_output() {
    let folder = changed_shop();
    // It fails for the manual only, as if it got no more memory.
    let script = "case \"$*\" in *manual.typ*) echo 'memory allocation of 9 bytes failed' >&2; kill -ABRT $$;; esac\nexec \"$TYPST\" \"$@\"";
    let typst = fake_typst(folder.path(), script);
    fails(
        folder.path(),
        &typst,
        "is too large for a PDF: typst needs more than",
    );
}

/// The whole manual gets no more memory, and its parts do.
#[test]
fn a_manual_over_the_limits_is_made_in_parts_that_are_kept() {
    let folder = copy_of(&tree("hand-pump"));
    let script = "case \"$*\" in *divided=false*manual.typ*) echo 'memory allocation of 9 bytes failed' >&2; kill -ABRT $$;; esac\n\
        exec \"$TYPST\" \"$@\"";
    let typst = fake_typst(folder.path(), script);
    let (stderr, status) = run(folder.path(), &typst, &["publish"]);
    assert_eq!(status, 0, "{stderr}");
    let output = folder.path().join("output");
    let manuals = || {
        let files = files(&output).into_iter();
        let manuals = files.filter(|(path, _)| path.starts_with("manual"));
        manuals.collect::<Vec<_>>()
    };
    let names: Vec<String> = manuals().into_iter().map(|(path, _)| path).collect();
    assert_eq!(names, ["manual-1.pdf", "manual-2.pdf"]);
    let before = manuals();
    // They are kept, even if no manual could be made.
    let (stderr, status) = run(folder.path(), &typst, &["publish", "--html-only"]);
    assert_eq!(status, 0, "{stderr}");
    let failing = fake_typst(folder.path(), "exit 1");
    let (stderr, status) = run(folder.path(), &failing, &["publish"]);
    assert_eq!(status, 0, "{stderr}");
    assert!(before == manuals());
}

#[test]
fn a_typesetter_that_fails_or_is_missing_leaves_the_output() {
    let folder = changed_shop();
    let typst = fake_typst(folder.path(), "echo 'error: no' >&2; exit 1");
    fails(folder.path(), &typst, "some PDFs can't be made");
    fails(
        folder.path(),
        Path::new("/nowhere"),
        "there is no such file",
    );
}

#[test]
fn templates_of_the_shop_that_fail_leave_the_output() {
    for (path, text, expected) in [
        ("html/sheet.html", "{% if %}", "sheet.html"),
        ("html/sheet.html", "{{ nothing.at.all }}", "sheet.html"),
        ("html/sheet.html", "<p>No notices</p>", "`</body></html>`"),
        (
            "html/page.html",
            "<p class=\"notices\">Not one</p>",
            "is not defined in any parent template",
        ),
        ("html/nothing.html", "", "matches no template"),
        ("typst/sheet.typ", "#panic(\"no\")", "panicked"),
        ("typst/sheet.typ", "No notices", "can't be made"),
        (
            "typst/precedence.typ",
            "#let precedence(body) = body",
            "must carry",
        ),
        (
            "words.toml",
            "[en]\ndeference = \"\"\n",
            "`deference` can't be replaced",
        ),
        ("words.toml", "[en]\nno-such-word = \"\"\n", "no-such-word"),
    ] {
        let folder = changed_shop();
        write(&folder.path().join("templates").join(path), text);
        fails(folder.path(), &typst(), expected);
    }
}

#[test]
fn a_disk_that_fails_leaves_the_output() {
    let folder = changed_shop();
    // A folder of somebody else in place of a page. Permissions would not stop root.
    let page = folder.path().join("output/hand-pump/cover-shop-sheet.html");
    fs::remove_file(&page).unwrap();
    write(&page.join("mine.txt"), "mine");
    fails(folder.path(), &typst(), "cover-shop-sheet.html");
}

/// A style sheet and templates of the shop that hide the notices leave the line at the end of the page.
#[test]
fn the_notice_of_precedence_is_on_pages_of_any_look() {
    let line = "instructions, local codes and licensed practice take precedence over this sheet";
    let folder = copy_of(&tree("hand-pump"));
    let templates = folder.path().join("templates");
    write(
        &templates.join("html/shop.css"),
        "p, aside, .notices { display: none !important }",
    );
    let own = fs::read_to_string(root().join("templates/typst/block.typ")).unwrap();
    let hiding = own.replace("notices(it.notices)", "hide(notices(it.notices))");
    assert_ne!(own, hiding);
    write(&templates.join("typst/block.typ"), hiding);
    let (stderr, status) = run(folder.path(), &typst(), &["publish"]);
    assert_eq!(status, 0, "{stderr}");
    let mut pages = 0;
    for (path, bytes) in files(&folder.path().join("output")) {
        let ending = Path::new(&path)
            .extension()
            .and_then(|ending| ending.to_str());
        match ending {
            Some("html") => {
                let page = String::from_utf8(bytes).unwrap();
                let last = page
                    .rsplit_once("<p style=\"all:initial!important;")
                    .unwrap()
                    .1;
                assert!(
                    last.contains(line) && last.trim_end().ends_with("</p>\n</body>\n</html>"),
                    "{path}: {last}"
                );
            }
            Some("pdf") => {
                let file = folder.path().join("output").join(&path);
                let mut command = std::process::Command::new("pdftotext");
                let output = command.arg(file).arg("-").output().unwrap();
                let text = String::from_utf8(output.stdout).unwrap();
                for page in text.trim_end_matches('\u{c}').split('\u{c}') {
                    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
                    assert!(page.contains(line), "{path}: {page}");
                }
            }
            _ => continue,
        }
        pages += 1;
    }
    assert!(pages > 20, "{pages} pages");
}
