use std::path::{Path, PathBuf};

use super::*;
use crate::quantity::{Kind, Spec, Unit, UnitOrder};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn spanish() -> &'static Words {
    Words::of("es").expect("Spanish")
}

/// A language for tests that differs from English in every table.
fn made_up() -> Words {
    let (_, english) = FILES[0];
    let (data, texts) = english.split_once("\n[texts]\n").expect("texts");
    let signs = data.split_once("\n[signs]\n").expect("signs").1;
    let data = r#"
        [numbers]
        decimal-mark = ","
        [plural]
        endings = [["a", "ar"], ["", "en"]]
        [lists]
        separator = " + "
        and = [{ before = ["u"], say = "und" }]
        [authors]
        step = ["steg", "stegen"]
        pronouns = ["den"]
        articles = ["ett"]
        not-ready-if = ["inte klar om:"]
        before-places = ["ur"]
        [counts]
        numbers = ["en", "tva"]
        both = ["båda"]
        all = ["alla"]
        some = ["andra"]
        ends = ["i"]
        [intervals]
        separators = [" eller "]
        hours = ["var {count} h"]
        days = ["var {count} dag"]
        weeks = ["var {count} vecka"]
        months = ["var {count} månad"]
        years = ["var {count} år"]
        day = ["varje dag"]
        week = ["varje vecka"]
        month = ["varje månad"]
        year = ["varje år"]
        in-month = ["i {month}"]
        month-names = ["januari"]
        first = ["först efter {interval}"]
        then = ["sedan {interval}"]
        once = ["en gång efter {interval}"]
        before-use = ["före varje användning"]
        during-use = ["under varje användning"]
        after-use = ["efter varje användning"]
        day-of-use = ["varje användningsdag"]
        when-needed = ["vid behov: {condition}"]
        [intervals.bare]
        hours = "{count} h"
        day = "1 dag"
        days = "{count} dagar"
        week = "1 vecka"
        weeks = "{count} veckor"
        month = "1 månad"
        months = "{count} månader"
        year = "1 år"
        years = "{count} år"
        [search]
        ignored = ["en", "ett"]
        endings = ["ar", "er"]
        synonyms = [["bensin", "bränsle"]]
        [units]
        torque = ["ft·lbf", "N·m"]
        [signs]
"#;
    let texts = texts
        .replace(
            "at-least = \"at least {value}\"",
            "at-least = \"{value} eller mer\"",
        )
        .replace(
            "range = \"{lower} to {upper}\"",
            "range = \"från {lower} till {upper}\"",
        )
        .replace("\nkit = \"Kit\"", "\nkit = \"Sats\"");
    Words::from_toml("xx", &format!("{data}{signs}\n[texts]\n{texts}")).expect("a language file")
}

#[test]
fn every_language_file_is_in_the_table() {
    let folder = std::fs::read_dir(root().join("templates/words")).expect("a folder");
    let mut files: Vec<String> = folder
        .map(|entry| {
            entry
                .expect("an entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    files.sort();
    let mut rows: Vec<String> = languages().map(|tag| format!("{tag}.toml")).collect();
    rows.sort();
    assert_eq!(files, rows);
}

#[test]
fn all_languages_have_the_same_keys_and_placeholders() {
    let english = Words::english();
    for (words, (tag, _)) in BUILT_IN.iter().zip(FILES) {
        let keys = |words: &Words| words.texts.keys().cloned().collect::<Vec<_>>();
        assert_eq!(keys(words), keys(english), "texts of {tag}");
        let signs = |words: &Words| words.data.signs.keys().cloned().collect::<Vec<_>>();
        assert_eq!(signs(words), signs(english), "signs of {tag}");
        for (key, text) in &words.texts {
            assert_eq!(
                differing_placeholder(text, english.get(key)),
                None,
                "`{key}` of {tag}"
            );
        }
    }
}

/// The paths and texts of all Rust, script and template files.
fn sources() -> Vec<(PathBuf, String)> {
    let files = ["src", "templates"]
        .into_iter()
        .flat_map(|folder| walkdir::WalkDir::new(root().join(folder)));
    files
        .map(|entry| entry.expect("an entry").into_path())
        .filter(|path| {
            let extension = path.extension().and_then(|extension| extension.to_str());
            matches!(extension, Some("rs" | "html" | "typ" | "js"))
        })
        .map(|path| {
            let text = std::fs::read_to_string(&path).expect("a text");
            (path, text)
        })
        .collect()
}

/// Nobody would notice an error in an unused text, and an unknown key would be printed itself.
#[test]
fn every_text_is_used_and_every_used_key_exists() {
    let (sources, texts) = (sources(), Words::english().all());
    for key in texts.keys() {
        let quoted = format!("\"{key}\"");
        // Tests in `render` check the words of the scripts.
        let is_script_word = ["live-", "page-state-", "search-", "view-"]
            .iter()
            .any(|start| key.starts_with(start));
        let is_used = is_script_word || sources.iter().any(|(_, text)| text.contains(&quoted));
        assert!(is_used, "`{key}` is not printed anywhere");
    }
    let before = [
        "words.get(\"",
        "words.format(\"",
        "words().get(\"",
        "words().format(\"",
        "words[\"",
        "words.at(\"",
        "table_section(\"",
    ];
    for ((path, text), before) in sources
        .iter()
        .flat_map(|source| before.iter().map(move |before| (source, before)))
    {
        for rest in text.split(before).skip(1) {
            let key = rest.split('"').next().unwrap_or_default();
            let path = path.display();
            assert!(texts.contains_key(key), "{path}: there is no text `{key}`");
        }
    }
}

/// A variant of the first language only has what differs.
#[test]
fn the_sources_that_are_written_exist_in_every_language() {
    let english = Words::english();
    let code = sources();
    for key in english.data.sources.keys() {
        let quoted = format!("\"{key}\"");
        let is_used = code.iter().any(|(_, text)| text.contains(&quoted));
        assert!(is_used, "`{key}` is not written anywhere");
    }
    let primary = |tag: &str| tag.split('-').next().map(str::to_owned);
    for words in Words::built_in() {
        let own = &words.data.sources;
        let is_variant = primary(words.language()) == primary(english.language());
        assert!(is_variant || own.keys().eq(english.data.sources.keys()));
        for (key, text) in own {
            let first = english.data.sources.get(key).expect(key);
            let places = |text| {
                let mut places = placeholders(text);
                places.sort_unstable();
                places
            };
            assert_eq!(
                places(text),
                places(first),
                "`{key}` of {}",
                words.language()
            );
        }
    }
}

#[test]
fn marks_of_a_procedure_stay_in_a_source() {
    let words = Words::english();
    let text = words.source(
        "start-procedure-file",
        &[("reverse", "x"), (".reverse", "")],
    );
    assert!(!text.contains("{.reverse}"), "{text}");
    let text = words.source("start-procedure-file", &[]);
    assert!(text.contains("## Put back {.reverse}\n"), "{text}");
    let title = words.source("removal-title", &[("part", "{part} {x}")]);
    assert_eq!(title, "{part} {x}: take off, put back");
}

/// Code that compares tags would need a change for each new language.
#[test]
fn no_source_branches_on_a_language_tag() {
    let mut tags: Vec<String> = languages().map(str::to_owned).collect();
    tags.extend(["en", "en-gb", "en-us"].map(str::to_owned));
    for (path, text) in sources() {
        let is_table = path.ends_with("src/words/mod.rs");
        let is_test = path.ends_with("tests.rs");
        // Test code can name languages.
        let code = text.split("#[cfg(test)]").next().unwrap_or_default();
        for (number, line) in code.lines().enumerate() {
            let line = line.trim_start();
            let is_comment = line.starts_with("//") || line.starts_with('*');
            if is_comment || is_test || is_table && line.contains("include_str!") {
                continue;
            }
            for tag in &tags {
                let is_quoted = [format!("\"{tag}\""), format!("'{tag}'")]
                    .iter()
                    .any(|quoted| line.contains(quoted.as_str()));
                let place = format!("{}:{}", path.display(), number + 1);
                assert!(!is_quoted, "{place} names the language `{tag}`: {line}");
            }
        }
    }
}

#[test]
fn new_language_needs_no_code() {
    let words = made_up();
    let value = |text: &str| {
        let spec = Spec::parse(text).expect("a value");
        words.value(&spec.parts()).replace('\u{a0}', " ")
    };
    assert_eq!(value("at least 1.5 bar"), "1,5 bar eller mer");
    assert_eq!(value("8.5 N·m to 10 N·m"), "från 8,5 N·m till 10 N·m");
    assert_eq!(value("80 in·lbf (71 to 88)"), "80 in·lbf (från 71 till 88)");
    assert_eq!(value("9.5 N·m +1/-0.5"), "9,5 N·m (+1/−0,5 N·m)");
    assert_eq!(value("at most 0.10 mm"), "at most 0,10 mm");
    assert_eq!(words.counted("mutter", 2), "mutteren");
    assert_eq!(words.counted("bricka", 2), "brickar");
    assert_eq!(words.counted("bricka", 1), "bricka");
    let items = ["a", "b", "uggla"].map(str::to_owned);
    assert_eq!(words.list(&items), "a + b und uggla");
    assert_eq!(words.list(&items[..2]), "a and b");
    assert_eq!(words.choice(&items), "a + b or uggla");
    assert!(words.ends_with_step("som i steg ") && !words.ends_with_step("as in step "));
    let english = Words::english();
    assert_eq!(
        words.translated_interval("every 200 h", english),
        "var 200 h"
    );
    assert_eq!(english.translated_interval("varje år", &words), "yearly");
    assert_eq!(
        words.units().units(Kind::Torque),
        [Unit::FOOT_POUND, Unit::NEWTON_METRE]
    );
    assert_eq!(words.get("kit"), "Sats");
    assert_eq!(words.sign("W017"), Some("Hot surface"));
}

#[test]
fn invalid_language_file_is_an_error() {
    let error = |text: &str| {
        Words::from_toml("xx", text)
            .expect_err("no language")
            .to_string()
    };
    assert!(error("").contains("missing field"));
    assert!(error("[numbers]\ndecimal-mark = \"..\"").contains("line 2"));
    let units = |line: &str| error(&format!("{}\n[units]\n{line}", FILES[0].1));
    assert!(units("speed = [\"rpm\"]").contains("`speed` is not a kind"));
    assert!(units("torque = [\"psi\"]").contains("expected units of torque"));
    assert_eq!(*Words::english().units(), UnitOrder::default());
}

#[test]
fn placeholders_in_filled_in_values_are_not_replaced() {
    let text = Words::english().format("step", &[("number", "{number}")]);
    assert_eq!(text, "step\u{a0}{number}");
}

#[test]
fn tag_resolves_to_the_best_language() {
    assert_eq!(Words::of("es-MX").map(Words::language), Some("es"));
    assert_eq!(Words::of("EN").map(Words::language), Some("en-GB"));
    assert_eq!(Words::of("en-US").map(Words::language), Some("en-US"));
    assert_eq!(Words::of("fr"), None);
    assert_eq!(Words::of("e"), None);
    let tags = ["en-GB", "en-US", "es", "pt-BR"];
    let best = |tag: &str| resolve(&tags, tag, |tag| tag).copied();
    assert_eq!(best("en-us"), Some("en-US"));
    assert_eq!(best("en-US-x-shop"), Some("en-US"));
    assert_eq!(best("en"), Some("en-GB"));
    assert_eq!(best("en-AU"), Some("en-GB"));
    assert_eq!(best("es-419"), Some("es"));
    assert_eq!(best("pt"), Some("pt-BR"));
    assert_eq!(best("p"), None);
}

#[test]
fn plurals_follow_the_language() {
    let english = Words::english();
    assert_eq!(english.counted("manifold nut", 1), "manifold nut");
    assert_eq!(english.counted("manifold nut", 2), "manifold nuts");
    assert_eq!(english.counted("throttle body", 2), "throttle bodies");
    assert_eq!(english.counted("lever key", 2), "lever keys");
    assert_eq!(english.counted("crush washer box", 2), "crush washer boxes");
    assert_eq!(english.counted("clutch", 2), "clutches");
    assert_eq!(english.counted("points", 2), "points");
    let name = "tuerca de admisión";
    assert_eq!(spanish().counted(name, 2), name);
}

#[test]
fn lists_use_the_conjunctions_of_the_language() {
    let items = ["a", "b", "isla"].map(str::to_owned);
    assert_eq!(Words::english().list(&items), "a, b and isla");
    assert_eq!(spanish().list(&items), "a, b e isla");
    assert_eq!(spanish().choice(&items), "a, b o isla");
    let items = ["a", "Hora"].map(str::to_owned);
    assert_eq!(spanish().choice(&items), "a u Hora");
}

/// In English, the result is the same as the value's own text.
#[test]
fn values_are_printed_in_the_language() {
    for (text, in_spanish) in [
        ("at least 15 bar", "al menos 15 bar"),
        ("at most 0.10 mm", "como máximo 0.10 mm"),
        ("8 N·m to 10 N·m", "8 N·m a 10 N·m"),
        ("80 in·lbf (71 to 88)", "80 in·lbf (71 a 88)"),
        ("9 N·m ± 1 N·m", "9 N·m ± 1 N·m"),
        ("9 N·m +1/-0.5", "9 N·m (+1/−0.5 N·m)"),
        ("20 N·m + 90°", "20 N·m + 90°"),
        ("1 1/2 in", "1 1/2 in"),
        ("50:1", "50:1"),
    ] {
        let spec = Spec::parse(text).expect("a value");
        let text = spanish().value(&spec.parts());
        assert_eq!(text.replace('\u{a0}', " "), in_spanish);
        assert_eq!(Words::english().value(&spec.parts()), spec.text());
    }
}

#[test]
fn word_for_step_is_recognized_at_the_end_of_a_text() {
    let english = Words::english();
    assert!(english.ends_with_step("as in step ") && english.ends_with_step("Step\u{a0}"));
    assert!(!english.ends_with_step("step") && !english.ends_with_step("in the doorstep "));
    assert!(spanish().ends_with_step("como en el paso "));
}

#[test]
fn own_words_replace_texts_and_report_errors() {
    let english = Words::english();
    let text = "[en]\nkit = \"Pull these\"\n[es]\ntools = \"Llaves\"";
    let own = english.with_own(text).expect("own words");
    assert_eq!((own.get("kit"), own.get("tools")), ("Pull these", "Tools"));
    let own = spanish().with_own(text).expect("own words");
    assert_eq!(own.get("tools"), "Llaves");
    let error = |text: &str| english.with_own(text).expect_err("an error").to_string();
    assert!(error("[en]\nkitt = \"x\"").contains("no text `kitt`"));
    assert!(error("[en]\nstep = \"Step {n}\"").contains("{number}"));
    assert!(error("[kit]\nen = \"x\"").contains("the language `kit`"));
    assert!(error("[kit\n").contains("line 1"));
}

#[test]
fn longer_tag_in_own_words_takes_precedence() {
    let (tag, text) = ("en-GB", FILES[0].1);
    let british = Words::from_toml(tag, text).expect("a language file");
    let own = "[en]\nkit = \"Kit\"\ntools = \"T\"\n[en-GB]\nkit = \"Pull these\"";
    let own = british.with_own(own).expect("own words");
    assert_eq!((own.get("kit"), own.get("tools")), ("Pull these", "T"));
}

#[test]
fn counts_are_read_with_the_words_of_the_language() {
    let counts = |words: &Words, text: &str, name: &str| -> Vec<(u32, bool)> {
        assert!(words.may_count(text), "{text}");
        let counts = words.counts_of(text, name).into_iter();
        counts
            .map(|count| (count.number, count.may_be_some))
            .collect()
    };
    let words = made_up();
    assert_eq!(counts(&words, "Ta båda lockar", "lock"), []);
    assert_eq!(counts(&words, "Ta båda locken", "lock"), [(2, false)]);
    assert_eq!(counts(&words, "Ta alla 3 locken", "lock"), [(3, false)]);
    assert_eq!(counts(&words, "Ta tva locken", "lock"), [(2, true)]);
    assert_eq!(
        counts(&words, "Ta alla tva andra locken", "lock"),
        [(2, true)]
    );
    assert_eq!(
        counts(spanish(), "Quite las dos tuercas", "tuerca de la tapa"),
        [(2, false)]
    );
    assert_eq!(
        counts(spanish(), "Quite las dos tapas", "tuerca de la tapa"),
        []
    );
    for none in [
        "",
        "Undo the nuts",
        "Ta av lock",
        "None of them",
        "Ones",
        "Twofold",
    ] {
        assert!(!Words::english().may_count(none), "{none}");
    }
}
