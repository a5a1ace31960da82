//! `benchleaf start` and `benchleaf outline` as processes: what they write, what they refuse, and the tutorial.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "../support/program.rs"]
mod program;
#[path = "../support/mod.rs"]
mod support;
mod tutorial;

use program::benchleaf;
use std::fs;
use std::io::Write as _;
use std::os::unix::fs::{PermissionsExt as _, symlink};
use std::path::Path;
use std::process::{Command, Stdio};
use support::{copy, files, output_text, root, shop, write};

fn run(folder: &Path, arguments: &[&str]) -> (String, String, i32) {
    output_text(&benchleaf(folder).args(arguments).output().unwrap())
}

/// Runs a command that has to succeed without messages.
fn succeed(folder: &Path, arguments: &[&str]) -> String {
    let (stdout, stderr, status) = run(folder, arguments);
    assert_eq!(
        (stderr.as_str(), status),
        ("", 0),
        "{arguments:?}: {stdout}"
    );
    stdout
}

/// Runs a command that has to be refused, and to change no file.
fn refused(folder: &Path, arguments: &[&str]) -> String {
    let before = files(folder);
    let (stdout, stderr, status) = run(folder, arguments);
    assert_eq!(
        (stdout.as_str(), status),
        ("", 2),
        "{arguments:?}: {stderr}"
    );
    assert_eq!(files(folder), before, "{arguments:?}");
    stderr
}

#[test]
fn a_new_shop_checks_clean_and_makes_its_sheets() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    for (language, job) in [("en-GB", "hand-pump/cover"), ("es", "bomba-de-mano/tapa")] {
        let stdout = succeed(
            at,
            &[
                "start",
                language,
                "--language",
                language,
                "--paper",
                "Letter",
            ],
        );
        let next = format!("benchleaf check {language}");
        assert!(stdout.contains(&next), "{stdout}");
        let checked = succeed(at, &["check", language, "--deny", "advice"]);
        assert_eq!(
            checked,
            "clean: 1 procedure on 1 machine, 1 job rehearsed\n"
        );
        let output = format!("out-{language}");
        succeed(
            at,
            &["publish", language, "--html-only", "--output", &output],
        );
        let sheet = at.join(output).join(format!("{job}-bench-checklist.html"));
        let sheet = fs::read_to_string(sheet).unwrap();
        assert!(sheet.contains(&format!("lang=\"{language}\"")));
    }
}

#[test]
fn what_the_options_say_is_in_the_shop() {
    let folder = tempfile::tempdir().unwrap();
    let name = "Elmbrook \"Tool\" Library";
    let mut arguments = vec!["start", "shop", "--name", name];
    arguments.extend(["--language", "en-US", "--paper", "A4"]);
    arguments.extend(["--units", "inch", "--gallons", "both"]);
    succeed(folder.path(), &arguments);
    let shop = fs::read_to_string(folder.path().join("shop/shop.toml")).unwrap();
    for line in [
        "name = 'Elmbrook \"Tool\" Library'",
        "language = \"en-US\"",
        "paper = \"A4\"",
        "gallons = [\"us\", \"imperial\"]",
        "torque = [\"ft·lbf\", \"in·lbf\"]",
    ] {
        assert!(shop.contains(&format!("\n{line}\n")), "{line}: {shop}");
    }
    let (_, stderr, status) = run(folder.path(), &["start", "other", "--units", "cubits"]);
    assert!(status == 2 && stderr.contains("metric-inch"), "{stderr}");
}

/// At a terminal, which `script` of Debian's `bsdutils` provides.
#[test]
fn a_terminal_is_asked_what_no_option_says() {
    let folder = tempfile::tempdir().unwrap();
    let program = benchleaf(folder.path());
    let program = program.get_program().to_str().unwrap();
    let mut child = Command::new("script")
        .args([
            "-qec",
            &format!("'{program}' start shop --paper A4"),
            "/dev/null",
        ])
        .current_dir(folder.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    stdin
        .write_all(b"es\nTaller de Elmbrook\nmetric\n\n")
        .unwrap();
    let (stdout, _, status) = output_text(&child.wait_with_output().unwrap());
    drop(stdin);
    assert_eq!(status, 0, "{stdout}");
    assert!(
        stdout.contains("Name of the shop [Mi taller]: "),
        "{stdout}"
    );
    assert!(!stdout.contains("Paper"), "{stdout}");
    let shop = fs::read_to_string(folder.path().join("shop/shop.toml")).unwrap();
    assert!(shop.contains("name = \"Taller de Elmbrook\""), "{shop}");
}

#[test]
fn start_overwrites_nothing_and_says_what_is_in_the_way() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    succeed(at, &["start", "shop"]);
    let stderr = refused(at, &["start", "shop"]);
    assert!(stderr.contains("`shop` has sources already"), "{stderr}");
    write(&at.join("a-file"), "text");
    for (name, why) in [
        ("a-file", "can't be created"),
        ("missing/shop", "create the folder above it first"),
        ("a-file/shop", "can't be created"),
    ] {
        let stderr = refused(at, &["start", name]);
        assert!(stderr.contains(why), "{name:?}: {stderr}");
    }
    assert_eq!(run(at, &["start", ""]).2, 2);
    // A folder without sources may have other files.
    write(&at.join("notes/readme.txt"), "text");
    succeed(at, &["start", "notes"]);
    let kept = fs::read_to_string(at.join("notes/readme.txt"));
    assert_eq!(kept.unwrap(), "text");
    // A link in the place of a file is not followed.
    fs::create_dir(at.join("linked")).unwrap();
    symlink(at.join("elsewhere"), at.join("linked/tools.toml")).unwrap();
    let (_, stderr, status) = run(at, &["start", "linked"]);
    assert!(
        status == 2 && stderr.contains("such as `tools.toml`"),
        "{stderr}"
    );
    assert!(!at.join("elsewhere").exists() && !at.join("linked/shop.toml").exists());
}

#[test]
fn names_that_a_shell_or_a_terminal_would_misread_are_quoted() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let stdout = succeed(at, &["start", "Ana's shop"]);
    assert!(
        stdout.contains(r"benchleaf check 'Ana'\''s shop'"),
        "{stdout}"
    );
    let stdout = succeed(at, &["start", "--", "-x"]);
    assert!(stdout.contains("benchleaf check './-x'"), "{stdout}");
    let stdout = succeed(at, &["start", "red\u{1b}[31m"]);
    assert!(!stdout.contains('\u{1b}'), "{stdout:?}");
    let (stdout, stderr, status) = run(at, &["start", "bidi", "--name", "x\u{202e}y"]);
    assert_eq!((stdout.as_str(), status), ("", 1));
    assert!(stderr.contains("invisible-character"), "{stderr}");
    assert!(!at.join("bidi").exists());
}

#[test]
fn a_folder_that_cannot_be_written_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    // Nobody can create a folder there, not even root.
    let (_, stderr, status) = run(at, &["start", "/proc/shop"]);
    assert!(
        status == 2 && stderr.contains("can't be created"),
        "{stderr}"
    );
    succeed(at, &["start", "shop"]);
    let air = at.join("shop/air");
    fs::set_permissions(&air, fs::Permissions::from_mode(0o555)).unwrap();
    // Root may write anywhere.
    if fs::write(air.join("probe"), "").is_err() {
        let stderr = refused(at, &["outline", "procedure", "air/new", "shop"]);
        assert!(stderr.contains("can't be created"), "{stderr}");
    }
    fs::set_permissions(&air, fs::Permissions::from_mode(0o755)).unwrap();
}

/// Asserts that a check finds gaps, and nothing else.
fn assert_only_gaps(folder: &Path) {
    let (stdout, stderr, status) = run(folder, &["check", "shop"]);
    assert_eq!(status, 0, "{stderr}");
    assert!(stdout.starts_with("no errors: "), "{stdout}");
    let found = stderr.matches("= rule: ").count();
    assert!(found > 3, "{stderr}");
    let gaps = stderr.matches("= rule: gap-not-filled").count();
    assert_eq!(gaps, found, "{stderr}");
}

#[test]
fn outlined_files_have_no_findings_but_gaps() {
    for language in ["en-GB", "es"] {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path();
        succeed(at, &["start", "shop", "--language", language]);
        for (arguments, is_of_machine) in [
            (["machine", "leaf-blower"], false),
            (["procedure", "air/element"], true),
            (["fault", "will-not-start"], true),
        ] {
            let mut all = vec!["outline", arguments[0], arguments[1], "shop"];
            if is_of_machine {
                all.extend(["--machine", "leaf-blower"]);
            }
            let stdout = succeed(at, &all);
            assert!(stdout.contains("missing: "), "{stdout}");
            assert!(stdout.contains("it checks clean but for"), "{stdout}");
        }
        assert_only_gaps(at);
        // Every field that is commented out can be used as it stands.
        let machine = at.join("shop/machines/leaf-blower.toml");
        let text = fs::read_to_string(&machine).unwrap();
        let uncommented = text.lines().map(|line| match line.strip_prefix('#') {
            Some(field) if !field.starts_with(' ') => format!("{field}\n"),
            _ => format!("{line}\n"),
        });
        let uncommented: String = uncommented.collect();
        assert!(uncommented.matches("\n[").count() > 5, "{uncommented}");
        fs::write(&machine, uncommented).unwrap();
        assert_only_gaps(at);
    }
}

#[test]
fn outline_refuses_what_is_there_and_what_can_be_no_id() {
    let folder = shop();
    let at = folder.path();
    let no_id = "lower-case words and digits";
    for (arguments, why) in [
        ("machine hand-pump", "hand-pump.toml` exists"),
        ("machine ../x", no_id),
        ("machine Hand_Pump", no_id),
        ("machine con", "device"),
        ("machine x none-such", "can't open the folder `none-such`"),
        ("procedure", "the id of the procedure is not given"),
        (
            "procedure procedures",
            "the id of the procedure is not given",
        ),
        (
            "procedure cover",
            "a procedure `cover` already: air/cover.md",
        ),
        ("procedure ../../x", no_id),
        ("procedure machines/x", "no procedure can be written there"),
        (
            "procedure air/x --machine hand-pimp",
            "did you mean `hand-pump`?",
        ),
        ("fault x --machine none-such", "there are: hand-pump"),
        ("procedure --remove cuver", "did you mean `cover`?"),
        (
            "procedure --remove stroke",
            "`stroke` is a reading of `hand-pump`",
        ),
        ("procedure --remove xxxxxxxx", "has no part `xxxxxxxx`"),
        (
            "procedure cover --remove cover",
            "a procedure `cover` already",
        ),
        (
            "procedure faults/x --remove cover",
            "no procedure can be written there",
        ),
    ] {
        let all: Vec<&str> = ["outline"]
            .into_iter()
            .chain(arguments.split(' '))
            .collect();
        let stderr = refused(at, &all);
        assert!(stderr.contains(why), "{arguments:?}: {stderr}");
    }
    let stderr = refused(at, &["outline", "machine", ""]);
    assert!(stderr.contains(no_id), "{stderr}");
    let empty = tempfile::tempdir().unwrap();
    fs::create_dir(empty.path().join("procedures")).unwrap();
    let stderr = refused(empty.path(), &["outline", "fault", "x"]);
    assert!(stderr.contains("the shop has no machine yet"), "{stderr}");
}

#[test]
fn a_removal_is_written_and_checked() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    copy(&root().join("procedures"), &at.join("procedures"));
    let removal = ["--remove", "float-bowl", "--machine", "tarn-sedge"];
    let outline = [&["outline", "procedure"][..], &removal].concat();
    let stdout = succeed(at, &outline);
    for text in [
        "created `procedures/fuel/tarn-sedge-float-bowl.md`",
        "`float-bowl` also comes off in `float-bowl`",
        "\nit checks clean\n",
    ] {
        assert!(stdout.contains(text), "{text}: {stdout}");
    }
    let checked = succeed(at, &["check", "--deny", "advice"]);
    assert!(checked.starts_with("clean: 21 procedures"), "{checked}");
    let stderr = refused(at, &outline);
    let taken = "there is a procedure `tarn-sedge-float-bowl` already";
    assert!(stderr.contains(taken), "{stderr}");
    // The title says which of the two it is.
    succeed(
        at,
        &[&["outline", "procedure", "fuel/bowl"][..], &removal].concat(),
    );
    succeed(at, &["check", "--deny", "advice"]);
    let stderr = refused(at, &["outline", "procedure", "--remove", "float-bowl"]);
    assert!(stderr.contains("one of: tarn-"), "{stderr}");
}

/// Errors in what a removal is written from are shown, and nothing is written. Others do not matter.
#[test]
fn errors_in_the_sources_of_a_removal_are_shown() {
    let folder = shop();
    let at = folder.path();
    write(&at.join("procedures/faults/stiff.md"), "no front matter");
    let outline = ["outline", "procedure", "air/off", "--remove", "cover"];
    succeed(at, &outline);
    let written = at.join("procedures/air/off.md");
    fs::remove_file(&written).unwrap();
    let machine = at.join("procedures/machines/hand-pump.toml");
    let text = fs::read_to_string(&machine).unwrap();
    write(&machine, text.replace("[\"cover-nut\"]", "[\"cover-nat\"]"));
    let (stdout, stderr, status) = run(at, &outline);
    assert_eq!((stdout.as_str(), status), ("", 1), "{stderr}");
    assert!(stderr.contains("did you mean `cover-nut`?"), "{stderr}");
    assert!(stderr.contains("nothing was written"), "{stderr}");
    let circle = text.replace(
        "behind = [\"cover\"]",
        "held-by = [\"cover-nut\"]\noff-first = [\"cover-nut\"]",
    );
    assert_ne!(circle, text);
    write(&machine, circle);
    let (stdout, stderr, status) = run(at, &outline);
    assert_eq!((stdout.as_str(), status), ("", 1), "{stderr}");
    assert!(stderr.contains("nothing was written"), "{stderr}");
    write(&machine, "[part");
    let (stdout, _, status) = run(at, &outline);
    assert_eq!(stdout, "");
    assert_ne!(status, 0);
    assert!(!written.exists());
}
