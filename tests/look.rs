//! A shop's own templates, words and languages, which replace the built-in ones.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use support::{copy, files, output_text, root, shop, typst, write};

/// Publishes, and returns standard output and standard error.
fn publish(folder: &Path, more: &[&str]) -> (String, String) {
    let output = benchleaf(folder)
        .arg("publish")
        .args(more)
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    let (stdout, stderr, _) = output_text(&output);
    (stdout, stderr)
}

fn page(folder: &Path, path: &str) -> String {
    fs::read_to_string(folder.join("output").join(path)).unwrap()
}

#[test]
fn templates_colours_logo_and_words_can_be_replaced_one_by_one() {
    let folder = shop();
    let own = folder.path().join("templates");
    write(
        &own.join("html/shop.css"),
        ".sheet-kind { background: #7a2048; }",
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
    let (_, stderr) = publish(folder.path(), &[]);
    assert_eq!(stderr, "");
    let sheet = page(folder.path(), "hand-pump/cover-shop-sheet.html");
    let styles: Vec<String> = fs::read_dir(folder.path().join("output/site"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "css"))
        .map(|path| path.file_name().unwrap().to_str().unwrap().to_owned())
        .filter(|name| sheet.contains(name.as_str()))
        .collect();
    assert_eq!(styles.len(), 1, "the style sheets of the page: {styles:?}");
    assert!(page(folder.path(), &format!("site/{}", styles[0])).contains("#7a2048"));
    for expected in ["Pull these", "figures/logo-", "Tell Ada."] {
        assert!(sheet.contains(expected), "`{expected}` is not on the page");
    }
    assert!(sheet.contains("does not replace the equipment maker"));
    let pdf = |folder: &Path| fs::read(folder.join("output/hand-pump/cover-kit-list.pdf")).unwrap();
    let with = pdf(folder.path());
    // Without the templates, the PDF is made again, because templates are among its inputs.
    fs::remove_dir_all(own).unwrap();
    let (_, stderr) = publish(folder.path(), &[]);
    assert_eq!(stderr, "");
    assert!(with != pdf(folder.path()));
}

#[test]
fn an_error_in_a_shops_template_names_the_file_and_line() {
    for (file, text, expected) in [
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
            "templates/words.toml`: there is no text `kitt`",
        ),
        ("html/heda.html", "", "did you mean `head.html`?"),
        (
            "html/notices.html",
            "{% component notices(notices, @words) -%}{%- endcomponent %}",
            "every sheet must carry",
        ),
        (
            "html/block.html",
            "{% component block(block, kind, @words) -%}{%- endcomponent %}",
            "every sheet must carry",
        ),
        // A page has no `parts`.
        (
            "html/site.html",
            "{% extends \"page.html\" %}{% block main %}{% for part in page.parts %}x{% endfor %}{% endblock %}",
            "templates/html/site.html:1:",
        ),
        // The component has an argument that the caller does not pass.
        (
            "html/block.html",
            "{% component block(block, kind, level: integer, @words) -%}{%- endcomponent %}",
            "`block`: Argument `level`",
        ),
        (
            "typst/block.typ",
            "#let items-of(blocks, at, level: 2, key: \"\") = ()\n",
            "every sheet must carry",
        ),
        (
            "logo.png",
            "no picture",
            "does not match its file extension",
        ),
    ] {
        let folder = shop();
        write(&folder.path().join("templates").join(file), text);
        let (_, stderr) = publish(folder.path(), &[]);
        assert!(stderr.contains(expected), "{file}: {stderr}");
    }
}

#[test]
fn a_shop_with_two_languages_has_every_page_in_both() {
    let folder = shop();
    let file = folder.path().join("procedures/shop.toml");
    let text = fs::read_to_string(&file).unwrap();
    write(
        &file,
        format!(
            "language = [\"en-GB\", \"es\"]\naddress = \"https://sheets.example\"\n{}",
            text.replace("language =", "# language =")
        ),
    );
    let (_, stderr) = publish(folder.path(), &[]);
    assert_eq!(stderr, "");
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
    let spanish_path = |path: &str| format!("es/{path}");
    for (path, text) in &english {
        assert!(
            spanish
                .iter()
                .any(|(other_path, _)| *other_path == spanish_path(path)),
            "{path}"
        );
        assert!(
            text.contains("hreflang=\"es\""),
            "{path} has no link to the Spanish page"
        );
    }
    let sheet = page(folder.path(), "es/hand-pump/cover-shop-sheet.html");
    assert!(sheet.contains("Hoja de taller"), "{sheet}");
    assert!(sheet.contains("https://sheets.example/es/hand-pump/cover-shop-sheet.html"));
}

/// The texts of a page, each with the language of the element that contains it.
fn texts(page: &str) -> Vec<(String, String)> {
    // Elements without an end tag.
    const VOID: [&str; 9] = [
        "!doctype", "br", "circle", "col", "img", "input", "link", "meta", "path",
    ];
    let mut texts = Vec::new();
    let mut open: Vec<(String, String)> = Vec::new();
    for piece in page.split('<').skip(1) {
        let (tag, text) = piece.split_once('>').unwrap_or((piece, ""));
        let name = tag.split([' ', '\n', '/']).next().unwrap_or_default();
        if let Some(ended) = tag.strip_prefix('/') {
            while open.pop().is_some_and(|(name, _)| name != ended) {}
        } else if !VOID.contains(&name) && !tag.ends_with('/') {
            let language = tag.split_once(" lang=\"").map(|(_, rest)| rest);
            let language = language.and_then(|rest| rest.split('"').next());
            let outer = open.last().map_or("", |(_, language)| language);
            let language = language.unwrap_or(outer).to_owned();
            open.push((name.to_owned(), language));
        }
        // Code is in no language.
        let is_text = |name: &str| !["code", "script", "style", "title"].contains(&name);
        if let Some((name, language)) = open.last()
            && is_text(name)
        {
            texts.push((language.clone(), text.to_owned()));
        }
    }
    texts
}

/// The words of at least two letters in a text, in lower case.
fn words_in(text: &str) -> impl Iterator<Item = String> + '_ {
    let words = text.split(|letter: char| !letter.is_alphabetic());
    words
        .filter(|word| word.chars().count() > 1)
        .map(str::to_lowercase)
}

/// Elements marked as Spanish contain only words of the Spanish file, and units. Elements marked as English contain no
/// text of the Spanish file.
#[test]
fn on_spanish_pages_the_shops_text_is_marked_as_english() {
    let folder = tempfile::tempdir().unwrap();
    copy(
        &root().join("procedures"),
        &folder.path().join("procedures"),
    );
    let file = folder.path().join("procedures/shop.toml");
    let text = fs::read_to_string(&file).unwrap();
    let both = "language = [\"en-GB\", \"es\"]";
    write(&file, text.replace("language = \"en-GB\"", both));
    publish(folder.path(), &["--html-only"]);
    let spanish = fs::read_to_string(root().join("templates/words/es.toml")).unwrap();
    let spanish: toml::Table = spanish.parse().unwrap();
    let spanish: BTreeSet<String> = ["texts", "signs", "intervals"]
        .into_iter()
        .flat_map(|table| {
            let texts = spanish[table].as_table().unwrap().values();
            let texts: Vec<String> = texts.map(ToString::to_string).collect();
            let texts = texts.join(" ");
            // Placeholders are not text of the page.
            let pieces = texts.split('{').map(|piece| {
                let text = piece.split_once('}').map_or(piece, |(_, text)| text);
                words_in(text).collect::<Vec<_>>()
            });
            pieces.flatten().collect::<Vec<_>>()
        })
        .collect();
    let units = [
        "bar", "fl", "ft", "kω", "ml", "mω", "hz", "in", "lbf", "min", "mm", "oz", "psi", "rpm",
        "us",
    ];
    let mut marked = 0;
    for (path, bytes) in files(&folder.path().join("output/es")) {
        let page = String::from_utf8(bytes).unwrap();
        assert!(
            !page.contains(['\u{e000}', '\u{e001}']),
            "{path} has language marks"
        );
        if Path::new(&path)
            .extension()
            .is_none_or(|extension| extension != "html")
        {
            continue;
        }
        for (language, text) in texts(&page) {
            if language == "es" {
                let mut words = words_in(&text);
                let unknown =
                    words.find(|word| !spanish.contains(word) && !units.contains(&word.as_str()));
                assert_eq!(
                    unknown, None,
                    "{path} has this text marked as Spanish: {text}"
                );
            } else if words_in(&text).next().is_some() && !is_digest(&text) {
                // A single word on a rule's page, such as a level, can be a word of both languages.
                let is_of_rule = path.starts_with("rules/") && words_in(&text).count() == 1;
                let is_spanish = !is_of_rule && words_in(&text).all(|word| spanish.contains(&word));
                assert!(
                    !is_spanish,
                    "{path} has this text marked as {language}: {text}"
                );
                marked += 1;
            }
        }
    }
    assert!(marked > 1000, "{marked} texts are marked as English");
}

/// Whether a text is the mark of a sheet, whose letters can be a word of any language: `c88de018`.
fn is_digest(text: &str) -> bool {
    text.len() == 8 && text.bytes().all(|byte| byte.is_ascii_hexdigit())
}

#[test]
fn a_language_without_words_is_reported() {
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
    let (_, stderr) = publish(folder.path(), &["--html-only"]);
    assert!(
        stderr.contains("the language `fr` is not supported"),
        "{stderr}"
    );
}
