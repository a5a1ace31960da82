//! A shop's own look, words and languages, laid over ours.

#![allow(clippy::unwrap_used, reason = "a test that can't set up has failed")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use std::fs;
use std::path::Path;
use support::{copy, files, root, told, tree, typst, write};

/// A shop with the tree `hand-pump`, and a folder for its templates beside it.
fn shop() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    copy(&tree("hand-pump"), &folder.path().join("procedures"));
    folder
}

/// Publishes and returns what was said and found.
fn publish(folder: &Path, more: &[&str]) -> (String, String) {
    let output = benchleaf(folder)
        .arg("publish")
        .args(more)
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    let (said, found, _) = told(&output);
    (said, found)
}

fn page(folder: &Path, path: &str) -> String {
    fs::read_to_string(folder.join("output").join(path)).unwrap()
}

#[test]
fn a_template_a_colour_a_logo_and_a_word_are_replaced_without_the_rest() {
    let folder = shop();
    let own = folder.path().join("templates");
    write(
        &own.join("html/shop.css"),
        ".leaf-kind { background: #7a2048; }",
    );
    write(
        &own.join("typst/shop.typ"),
        "#let accent = rgb(\"#7a2048\")\n#let logo-height = 9mm\n",
    );
    write(&own.join("words.toml"), "[en]\nkit = \"Pull these\"\n");
    write(
        &own.join("logo.svg"),
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 9 9\"><path d=\"M0 0h9v9z\"/></svg>",
    );
    write(
        &own.join("html/wrong_here.html"),
        "{% component wrong_here(label) -%}<p>Tell Ada.</p>{%- endcomponent %}",
    );
    let (_, found) = publish(folder.path(), &[]);
    assert_eq!(found, "");
    let sheet = page(folder.path(), "hand-pump/cover-shop-sheet.html");
    let style = fs::read_dir(folder.path().join("output/site"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .find(|path| path.extension().is_some_and(|end| end == "css"));
    assert!(
        fs::read_to_string(style.unwrap())
            .unwrap()
            .contains("#7a2048")
    );
    for said in ["Pull these", "figures/logo-", "Tell Ada."] {
        assert!(sheet.contains(said), "`{said}` is not on the page");
    }
    assert!(sheet.contains("does not replace the equipment maker"));
    let pdf = |folder: &Path| fs::read(folder.join("output/hand-pump/cover-kit-list.pdf")).unwrap();
    let with = pdf(folder.path());
    // Taken away again, the PDF is made anew: what decides its bytes is its design, too.
    fs::remove_dir_all(own).unwrap();
    let (_, found) = publish(folder.path(), &[]);
    assert_eq!(found, "");
    assert!(with != pdf(folder.path()));
}

#[test]
fn a_fault_in_a_shops_own_file_names_the_file_and_the_line() {
    for (file, text, said) in [
        (
            "html/head.html",
            "{% component head(head, @words, @up) -%}\n{{ nix }",
            "templates/html/head.html:2:",
        ),
        (
            "typst/shop.typ",
            "#let accent = black\n#let logo-height = (\n",
            "templates/typst/shop.typ:2:",
        ),
        (
            "words.toml",
            "[en]\nkit = \"x\"\nkitt = \"x\"\n",
            "templates/words.toml`: there is no word `kitt`",
        ),
        ("html/heda.html", "", "did you mean `head.html`?"),
        (
            "html/notices.html",
            "{% component notices(notices, @words) -%}{%- endcomponent %}",
            "every leaf has to carry",
        ),
        (
            "html/block.html",
            "{% component block(block, kind, @words) -%}{%- endcomponent %}",
            "every leaf has to carry",
        ),
        // What a page has no more of.
        (
            "html/site.html",
            "{% extends \"page.html\" %}{% block main %}{% for part in page.parts %}x{% endfor %}{% endblock %}",
            "templates/html/site.html:1:",
        ),
        // A shop's own piece that asks for what there is not.
        (
            "html/block.html",
            "{% component block(block, kind, level: integer, @words) -%}{%- endcomponent %}",
            "`block`: Argument `level`",
        ),
        (
            "typst/block.typ",
            "#let block-of(it, at, level: 2) = {}\n",
            "every leaf has to carry",
        ),
        ("logo.png", "no picture", "is not the picture its name says"),
    ] {
        let folder = shop();
        write(&folder.path().join("templates").join(file), text);
        let (_, found) = publish(folder.path(), &[]);
        assert!(found.contains(said), "{file}: {found}");
    }
}

#[test]
fn a_shop_with_two_languages_has_every_leaf_in_both() {
    let folder = shop();
    let file = folder.path().join("procedures/shop.toml");
    let text = fs::read_to_string(&file).unwrap();
    write(
        &file,
        format!(
            "language = [\"en\", \"es\"]\naddress = \"https://leaves.example\"\n{}",
            text.replace("language =", "# language =")
        ),
    );
    let (_, found) = publish(folder.path(), &[]);
    assert_eq!(found, "");
    let output = folder.path().join("output");
    let pages: Vec<(String, String)> = files(&output)
        .into_iter()
        .filter(|(path, _)| Path::new(path).extension().is_some_and(|end| end == "html"))
        .map(|(path, bytes)| (path, String::from_utf8(bytes).unwrap()))
        .collect();
    let (spanish, english): (Vec<_>, Vec<_>) = pages
        .into_iter()
        .partition(|(path, _)| path.starts_with("es/"));
    assert_eq!(spanish.len(), english.len());
    let other = |path: &str| format!("es/{path}");
    for (path, text) in &english {
        assert!(
            spanish.iter().any(|(there, _)| *there == other(path)),
            "{path}"
        );
        assert!(
            text.contains("hreflang=\"es\""),
            "{path} leads to the Spanish"
        );
    }
    // Whole sentences of ours: none is left in English on a Spanish page.
    let words = |language: &str| {
        let path = root().join(format!("templates/words/{language}.toml"));
        let data: toml::Table = fs::read_to_string(path).unwrap().parse().unwrap();
        data["texts"].as_table().unwrap().clone()
    };
    let (english, translated) = (words("en"), words("es"));
    for (path, text) in &spanish {
        assert!(text.contains("lang=\"es\""), "{path}");
        for (key, said) in &english {
            let said = said.as_str().unwrap();
            let is_telling =
                said.contains(' ') && !said.contains('{') && translated[key].as_str() != Some(said);
            assert!(
                !(is_telling && text.contains(&format!(">{said}<"))),
                "{path} says `{said}`"
            );
        }
    }
    let sheet = page(folder.path(), "es/hand-pump/cover-shop-sheet.html");
    assert!(sheet.contains("Hoja de taller"), "{sheet}");
    assert!(sheet.contains("https://leaves.example/es/hand-pump/cover-shop-sheet.html"));
}

#[test]
fn a_language_there_are_no_words_for_is_found() {
    let folder = shop();
    let file = folder.path().join("procedures/shop.toml");
    let text = fs::read_to_string(&file).unwrap();
    write(
        &file,
        text.replace("language =", "# language =").replacen(
            "name",
            "language = [\"en\", \"fr\"]\nname",
            1,
        ),
    );
    let (_, found) = publish(folder.path(), &["--html-only"]);
    assert!(found.contains("no words in the language `fr`"), "{found}");
}
