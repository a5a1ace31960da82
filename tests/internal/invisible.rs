//! Characters that can't be seen and change what is read are refused wherever they can be written.

use super::case::Case;

/// The rules and the places of the findings about a character: of our own rule, and of the TOML parser.
fn found(case: &Case) -> Vec<(String, String)> {
    let findings = case.findings().into_iter();
    findings
        .filter(|(rule, _, _)| rule == "invisible-character" || rule == "broken-toml")
        .map(|(rule, place, _)| (rule, place))
        .collect()
}

const CONTROLS: &str = "\0\u{1}\u{8}\u{b}\u{c}\u{e}\u{1f}\u{7f}\u{80}\u{85}\u{9f}\u{61c}\u{200e}\u{200f}\u{2028}\u{2029}\
                        \u{202a}\u{202b}\u{202c}\u{202d}\u{202e}\u{2066}\u{2067}\u{2068}\u{2069}\u{feff}\u{fff9}\u{e0041}";

/// A machine with a part, and a procedure that takes it off, with a text at the place of `@`.
fn with(machine: &str, step: &str) -> Case {
    let mut case = Case::on(machine);
    let text = format!(
        "+++\ntitle = \"lid\"\nmachines = [\"case\"]\n+++\n## Do\n\n1. Look at it{step}.\n"
    );
    case.world
        .insert("case/lid.md".to_owned(), text.into_bytes());
    case
}

#[test]
fn a_typed_one_is_found_in_every_kind_of_source() {
    for letter in CONTROLS.chars() {
        let text = format!("2 {letter}× M6");
        let machine = with(&format!("[part.lid]\nname = \"{text}\"\n"), "");
        let step = with("", &format!(": {text}"));
        for (case, file) in [(machine, "case"), (step, "lid")] {
            let expected = ("invisible-character".to_owned(), format!("{file} {letter}"));
            assert_eq!(found(&case), [expected], "{letter:?} in {file}");
        }
    }
}

#[test]
fn one_in_the_name_of_a_file_or_folder_is_found() {
    for path in [
        "ca\u{202e}se/lid.md",
        "case/li\u{200f}d.md",
        "machines/ca\u{2066}se.toml",
    ] {
        let mut case = with("", "");
        case.world.insert(path.to_owned(), Vec::new());
        assert_eq!(found(&case).len(), 1, "{path:?}");
    }
}

#[test]
fn an_escape_in_toml_is_found_in_keys_and_values_of_every_form() {
    for escape in [
        "\\u202e",
        "\\U0000202E",
        "\\u0000",
        "\\b",
        "\\f",
        "\\u2066",
        "\\u200f",
    ] {
        for machine in [
            "[part.lid]\nname = \"2 @× M6\"\n",
            "[part.lid]\nname = \"\"\"\n2 @× M6\"\"\"\n",
            "[part.lid]\nname = \"lid\"\nnotes = [\"a\", [\"2 @× M6\"]]\n",
            "[part]\nlid = { name = \"lid\", more = { note = \"2 @\" } }\n",
            "[part.\"li@d\"]\nname = \"lid\"\n",
            "[[part.lid]]\nname = \"2 @\"\n",
        ] {
            let case = with(&machine.replace('@', escape), "");
            assert_eq!(found(&case).len(), 1, "{escape} in {machine}");
        }
    }
    let mut case = with("", "");
    let text = "+++\ntitle = \"2 \\u202e× M6\"\nmachines = [\"case\"]\n+++\n## Do\n\n1. Look.\n";
    case.world.insert("case/lid.md".to_owned(), text.into());
    assert_eq!(found(&case).len(), 1);
}

#[test]
fn a_character_reference_in_markdown_is_found() {
    for reference in ["&#x202e;", "&#8238;", "&rlm;", "&#x2066;", "&#1;"] {
        for step in [
            ": 2 @× M6",
            ": **2 @× M6**",
            " [2 @](use:wrench-10)",
            "\n\n   A note: 2 @× M6",
            "\n\n   - 2 @× M6",
        ] {
            let case = with("", &step.replace('@', reference));
            assert_eq!(found(&case).len(), 1, "{reference} in {step}");
        }
    }
}

#[test]
fn what_belongs_to_normal_writing_is_allowed() {
    let allowed = "a\u{ad}b\u{200b}c\u{200c}d\u{200d}e\u{2060}f\u{a0}g\u{202f}h – “i”\ték";
    assert_eq!(found(&with("", &format!(": {allowed}"))), []);
    let literal = "[part.lid]\nname = 'a \\u202e b'\nnote = \"tab \\t, quote \\\", Ω \\u03a9\"\n";
    assert_eq!(found(&with(literal, ": `&#x202e;` and \\&#x202e;")), []);
}
