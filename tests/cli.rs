//! The program as a process: standard output, standard error, exit status and files, for correct and faulty trees.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use std::fs;
use std::os::unix::fs::PermissionsExt as _;
use std::path::Path;
use support::{assert_same_pages, files, output_text, shop, tree, typst, write};

fn run(folder: &Path, arguments: &[&str]) -> (String, String, i32) {
    let output = benchleaf(folder)
        .args(arguments)
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    output_text(&output)
}

/// Replaces one file of the tree, runs `check`, and returns standard error.
fn check_with(path: &str, content: impl AsRef<[u8]>) -> String {
    let folder = shop();
    write(&folder.path().join("procedures").join(path), content);
    let (stdout, stderr, status) = run(folder.path(), &["check"]);
    assert_eq!((stdout.as_str(), status), ("", 1), "{stderr}");
    stderr
}

#[test]
fn check_reports_a_clean_tree() {
    let folder = shop();
    let (stdout, stderr, status) = run(folder.path(), &["check"]);
    assert_eq!(stdout, "clean: 1 procedure on 1 machine, 1 job rehearsed\n");
    assert_eq!((stderr.as_str(), status), ("", 0));
}

#[test]
fn publish_makes_each_sheet_as_html_and_pdf_and_a_front_page() {
    let folder = shop();
    let (stdout, stderr, status) = run(folder.path(), &["publish"]);
    assert_eq!((stderr.as_str(), status), ("", 0));
    assert_eq!(
        stdout,
        "6 sheets of 1 job in output: 41 files written, 0 unchanged, 0 removed\nopen output/index.html\n"
    );
    let output = folder.path().join("output");
    for sheet in ["shop-sheet", "bench-checklist"] {
        let pdf = fs::read(output.join(format!("hand-pump/cover-{sheet}.pdf"))).unwrap();
        assert!(pdf.starts_with(b"%PDF-"));
        // The mark identifies our files if the record is lost. Each template contains it.
        let mark = "made by benchleaf";
        assert!(
            pdf.windows(mark.len())
                .any(|window| window == mark.as_bytes())
        );
        let html =
            fs::read_to_string(output.join(format!("hand-pump/cover-{sheet}.html"))).unwrap();
        assert!(html.contains("Cover: clean"), "{html}");
        assert!(html.contains(mark), "{html}");
    }
    let system = fs::read_to_string(output.join("system/air.html")).unwrap();
    assert!(
        system.contains("../hand-pump/cover-shop-sheet.html"),
        "{system}"
    );
    let machine = fs::read_to_string(output.join("hand-pump/index.html")).unwrap();
    assert!(
        machine.contains("href=\"cover-shop-sheet.pdf\""),
        "{machine}"
    );
}

#[test]
fn a_second_run_writes_nothing_and_two_runs_give_the_same_bytes() {
    let folder = shop();
    run(folder.path(), &["publish"]);
    let output = folder.path().join("output");
    let first = files(&output);
    let times = |folder: &Path| -> Vec<_> {
        files(folder)
            .iter()
            .map(|(path, _)| fs::metadata(folder.join(path)).unwrap().modified().unwrap())
            .collect()
    };
    let before = times(&output);
    let (stdout, _, _) = run(folder.path(), &["publish"]);
    assert!(
        stdout.contains("0 files written, 41 unchanged, 0 removed"),
        "{stdout}"
    );
    assert_eq!(times(&output), before);
    run(folder.path(), &["publish", "--output", "elsewhere"]);
    assert_same_pages(&folder.path().join("elsewhere"), &first);
}

#[test]
fn a_change_writes_only_affected_files_and_removes_obsolete_ones() {
    let folder = shop();
    run(folder.path(), &["publish"]);
    let sources = folder.path().join("procedures");
    let procedure = fs::read_to_string(sources.join("air/cover.md")).unwrap();
    write(
        &sources.join("air/lid.md"),
        procedure.replace("Cover: clean", "Lid: clean"),
    );
    let (stdout, _, _) = run(folder.path(), &["publish"]);
    assert!(
        stdout.contains("21 files written, 26 unchanged, 0 removed"),
        "{stdout}"
    );
    fs::remove_file(sources.join("air/lid.md")).unwrap();
    let (stdout, _, _) = run(folder.path(), &["publish"]);
    assert!(
        stdout.contains("15 files written, 26 unchanged, 6 removed"),
        "{stdout}"
    );
    assert!(
        !folder
            .path()
            .join("output/hand-pump/lid-shop-sheet.html")
            .exists()
    );
}

#[test]
fn print_makes_the_selected_sheets_and_lists_their_paths() {
    let folder = shop();
    let arguments = [
        "print",
        "--procedure",
        "cover",
        "--machine",
        "hand-pump",
        "--sheet",
        "bench-checklist",
    ];
    let (stdout, stderr, status) = run(folder.path(), &arguments);
    assert_eq!((stderr.as_str(), status), ("", 0));
    assert_eq!(
        stdout,
        "1 sheet of 1 job in output: 7 files written, 0 unchanged, 0 removed\n\
         output/hand-pump/cover-bench-checklist.html\n\
         output/hand-pump/cover-bench-checklist.pdf\n"
    );
    let (_, stderr, status) = run(folder.path(), &["print", "--procedure", "cver"]);
    assert_eq!(
        stderr,
        "error: there is no procedure `cver`\n |\n = help: did you mean `cover`?\n"
    );
    assert_eq!(status, 2);
}

#[test]
fn print_makes_a_job_despite_an_error_in_another_job() {
    let folder = shop();
    let sources = folder.path().join("procedures");
    write(
        &sources.join("air/other.md"),
        "+++\ntitle = \"Other\"\nmachines = [\"hand-pump\"]\n+++\n## A\n1. [](remove:cover)\n",
    );
    let (_, stderr, status) = run(folder.path(), &["print", "--procedure", "cover"]);
    assert!(stderr.contains("part-left-off"), "{stderr}");
    assert_eq!(status, 0);
    let (_, stderr, status) = run(folder.path(), &["print", "--procedure", "other"]);
    assert!(
        stderr.ends_with("nothing was made: fix the errors above\n"),
        "{stderr}"
    );
    assert_eq!(status, 1);
}

/// Petrol for a tank and the wrench for a nut are used even if no step names them.
#[test]
fn where_used_includes_implied_tools_and_supplies() {
    for (item, place) in [
        ("petrol", "leak-check on tarn-yarrow"),
        ("torque-driver", "on tarn-yarrow"),
    ] {
        let (stdout, stderr, status) = run(&support::root(), &["where-used", item]);
        assert_eq!((stderr.as_str(), status), ("", 0));
        assert!(stdout.contains(place), "{item}: {stdout}");
    }
}

#[test]
fn due_lists_what_is_due_on_a_day() {
    let folder = shop();
    let procedures = folder.path().join("procedures");
    let due = |arguments: &[&str]| run(folder.path(), &[&["due"], arguments].concat());
    let (_, stderr, status) = due(&["--on", "2026-03-01"]);
    assert_eq!(status, 2);
    assert!(stderr.contains("no log"), "{stderr}");
    let cover = procedures.join("air/cover.md");
    let text = fs::read_to_string(&cover).unwrap();
    let interval = "interval = \"first after 5 h, then every 50 h or every month\"\nminutes";
    write(&cover, text.replace("minutes", interval));
    let log = "[unit.pump-1]\nmachine = \"hand-pump\"\nserial-number = \"P-07\"\n\
        [unit.pump-1.day.2026-01-31]\nhours = 40.5\ndone = [\"cover\"]\n\
        [unit.pump-1.day.2026-02-20]\nhours = 87\n[unit.pump-2]\nmachine = \"hand-pump\"\n";
    write(&procedures.join("log.toml"), log);
    let (stdout, stderr, status) = due(&["--on", "2026-02-27"]);
    assert_eq!((stderr.as_str(), status), ("", 0));
    insta::assert_snapshot!("due", stdout);
    // The last day of February is a month after 31 January.
    for (day, state, left) in [
        ("2026-02-25", "due", 3),
        ("2026-02-28", "due", 0),
        ("2026-03-01", "overdue", -1),
    ] {
        let (stdout, _, status) = due(&["--on", day, "--unit", "pump-1", "--json"]);
        let answer: serde_json::Value = serde_json::from_str(&stdout).unwrap();
        let job = &answer["units"][0]["jobs"][0];
        assert_eq!(
            (&job["state"], &job["days-left"]),
            (&state.into(), &left.into())
        );
        assert_eq!((&job["due-on"], status), (&"2026-02-28".into(), 0));
    }
    let (stdout, stderr, status) = due(&[]);
    assert_eq!((stdout.as_str(), status), ("", 2));
    assert!(stderr.contains("--on 2026-03-01"), "{stderr}");
    let (_, stderr, status) = due(&["--on", "2026-03-01", "--unit", "pump-3"]);
    assert_eq!(status, 2);
    assert!(stderr.contains("pump-3"), "{stderr}");
    write(&procedures.join("log.toml"), log.replace("= 87", "= 8.7"));
    let (_, stderr, status) = due(&["--on", "2026-03-01"]);
    assert_eq!(status, 1);
    assert!(stderr.contains("log-out-of-order"), "{stderr}");
}

#[test]
fn a_chart_says_what_is_due_on_a_day() {
    let folder = shop();
    let procedures = folder.path().join("procedures");
    let cover = procedures.join("air/cover.md");
    let text = fs::read_to_string(&cover).unwrap();
    write(
        &cover,
        text.replace("minutes", "interval = \"every 50 h\"\nminutes"),
    );
    let log = "[unit.pump-1]\nmachine = \"hand-pump\"\nnew = 2026-01-01\n\
        [unit.pump-1.day.2026-02-20]\nhours = 51\n";
    write(&procedures.join("log.toml"), log);
    let chart = || {
        let path = folder.path().join("output/hand-pump/interval-chart.html");
        fs::read_to_string(path).unwrap()
    };
    // The heading names all states.
    let is_overdue = |chart: &str| chart.replace("due and overdue", "").contains("overdue");
    let publish = |arguments: &[&str]| {
        let all = [&["publish", "--html-only"], arguments].concat();
        let (stdout, stderr, status) = run(folder.path(), &all);
        assert_eq!(status, 0, "{stderr}");
        stdout
    };
    publish(&[]);
    assert!(!is_overdue(&chart()));
    publish(&["--on", "2026-03-01"]);
    assert!(is_overdue(&chart()) && chart().contains("51 h read on 2026-02-20"));
    // Another reading is another chart, and another list of files for offline use, and no other page.
    write(&procedures.join("log.toml"), log.replace("51", "12"));
    let stdout = publish(&["--on", "2026-03-01"]);
    assert!(stdout.contains(": 2 files written"), "{stdout}");
    assert!(!is_overdue(&chart()));
}

#[test]
fn guards_lists_what_a_machine_guards_and_what_nothing_guards() {
    let root = support::root();
    let (stdout, stderr, status) = run(&root, &["guards", "tarn-yarrow"]);
    assert_eq!((stderr.as_str(), status), ("", 0));
    for line in [
        "energy `recoil-spring`",
        "  opened by: remove:strainer-cup, remove:fuel-hose, remove:float-bowl",
        "  opened only after: close:fuel-tap or drain:fuel",
        "  ended by: run:engine",
        "  confirmed in: make-safe",
    ] {
        assert!(
            stdout.lines().any(|shown| shown == line),
            "{line}: {stdout}"
        );
    }
    let (stdout, _, status) = run(&root, &["guards", "tarn-yarrow", "--json"]);
    let answer: serde_json::Value = serde_json::from_str(&stdout).unwrap();
    assert_eq!((&answer["machine"], status), (&"tarn-yarrow".into(), 0));
    assert_eq!(answer["fluids"][0]["filled-through"], "fuel-cap");
    let (stdout, stderr, status) = run(&root, &["guards", "tarn-yarow"]);
    assert_eq!((stdout.as_str(), status), ("", 2));
    assert!(stderr.contains("did you mean `tarn-yarrow`?"), "{stderr}");
}

#[test]
fn the_output_cannot_be_the_folder_of_the_sources() {
    let folder = shop();
    let before = files(&folder.path().join("procedures"));
    let (stdout, stderr, status) = run(folder.path(), &["publish", "--output", "procedures"]);
    assert_eq!((stdout.as_str(), status), ("", 2));
    assert!(stderr.contains("is the sources folder"), "{stderr}");
    assert_eq!(files(&folder.path().join("procedures")).len(), before.len());
}

#[test]
fn an_error_leaves_the_output_as_it_was() {
    let folder = shop();
    run(folder.path(), &["publish"]);
    let before = files(&folder.path().join("output"));
    write(
        &folder.path().join("procedures/tools.toml"),
        "[tool.wrench-10",
    );
    let (stdout, stderr, status) = run(folder.path(), &["publish"]);
    assert_eq!((stdout.as_str(), status), ("", 1));
    assert!(stderr.contains("broken-toml"), "{stderr}");
    assert_same_pages(&folder.path().join("output"), &before);
}

#[test]
fn foreign_files_in_the_output_are_not_touched() {
    let folder = shop();
    let output = folder.path().join("output");
    write(&output.join("notes.txt"), "mine");
    write(&output.join("hand-pump/photo.jpg"), "mine");
    let (_, _, status) = run(folder.path(), &["publish"]);
    assert_eq!(status, 0);
    assert_eq!(
        fs::read_to_string(output.join("notes.txt")).unwrap(),
        "mine"
    );
    assert_eq!(
        fs::read_to_string(output.join("hand-pump/photo.jpg")).unwrap(),
        "mine"
    );

    let folder = shop();
    let index = folder.path().join("output/index.html");
    write(&index, "mine");
    let (_, stderr, status) = run(folder.path(), &["publish"]);
    assert!(
        stderr.starts_with("error: `output/index.html` is in the way: benchleaf did not write it"),
        "{stderr}"
    );
    assert_eq!(status, 2);
    assert_eq!(fs::read_to_string(index).unwrap(), "mine");
}

#[test]
fn a_missing_folder_is_reported() {
    let folder = tempfile::tempdir().unwrap();
    for command in ["check", "print", "publish"] {
        let (_, stderr, status) = run(folder.path(), &[command, "no-shop"]);
        assert!(
            stderr.starts_with("error: can't open the folder `no-shop`: "),
            "{stderr}"
        );
        assert_eq!(status, 2, "{command}");
    }
}

#[test]
fn a_tree_without_procedures_is_an_error() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("procedures")).unwrap();
    let (_, stderr, status) = run(folder.path(), &["publish"]);
    assert!(
        stderr.contains("error: `procedures` contains no procedures"),
        "{stderr}"
    );
    assert!(stderr.contains("nothing was made"), "{stderr}");
    assert_eq!(status, 1);
}

#[test]
fn invalid_utf8_is_reported_at_its_first_byte() {
    let stderr = check_with(
        "tools.toml",
        b"[tool.wrench-10]\nname = \"10 mm \xb1 wrench\"\n",
    );
    insta::assert_snapshot!(stderr, @r#"
    error: `tools.toml` is not UTF-8 text
     --> procedures/tools.toml:2:15
      |
    2 | name = "10 mm � wrench"
      |               ^ the first invalid byte
      |
      = help: save the file as UTF-8 in the editor
      = rule: not-utf8

    1 error
    "#);
}

#[test]
fn broken_toml_does_not_hide_findings_in_other_files() {
    let folder = shop();
    let sources = folder.path().join("procedures");
    write(
        &sources.join("tools.toml"),
        "[tool.wrench-10]\nname = 10 mm\n",
    );
    write(
        &sources.join("supplies.toml"),
        "[supply.grease]\nnam = \"grease\"\n",
    );
    let (_, stderr, status) = run(folder.path(), &["check"]);
    assert!(
        stderr.contains("broken-toml") && stderr.contains("procedures/tools.toml:2:"),
        "{stderr}"
    );
    assert!(stderr.contains("did you mean `name`?"), "{stderr}");
    assert_eq!(status, 1);
}

#[test]
fn an_unknown_machine_gets_a_suggestion() {
    let text = fs::read_to_string(tree("hand-pump").join("air/cover.md")).unwrap();
    let stderr = check_with(
        "air/cover.md",
        text.replace("\"hand-pump\"", "\"hand-pmp\""),
    );
    insta::assert_snapshot!(stderr, @r#"
    error: there is no machine `hand-pmp`
     --> procedures/air/cover.md:3:14
      |
    3 | machines = ["hand-pmp"]
      |              ^^^^^^^^
      |
      = rule: unknown-thing
    help: did you mean `hand-pump`?
      |
    3 | machines = ["hand-pump"]
      |                    +

    1 error
    "#);
}

#[test]
fn a_circle_of_procedures_is_reported_as_a_chain() {
    let folder = shop();
    let air = folder.path().join("procedures/air");
    for (id, next) in [("one", "two"), ("two", "three"), ("three", "one")] {
        let text = format!(
            "+++\ntitle = \"{id}\"\nmachines = [\"hand-pump\"]\nbegin = [\"{next}\"]\n+++\n## A\n1. [](clean:cover)\n"
        );
        write(&air.join(format!("{id}.md")), text);
    }
    let (_, stderr, status) = run(folder.path(), &["check"]);
    assert!(
        stderr.contains("in a cycle: `one` → `two` → `three` → `one`"),
        "{stderr}"
    );
    assert!(
        stderr.ends_with("1 error\n"),
        "a circle must give one finding: {stderr}"
    );
    assert_eq!(status, 1);
}

#[test]
fn missing_figures_and_figures_outside_the_tree_are_reported() {
    let text = fs::read_to_string(tree("hand-pump").join("air/cover.md")).unwrap();
    let stderr = check_with(
        "air/cover.md",
        format!("{text}2. Look. ![a rod](../figures/rod.svg)\n"),
    );
    assert!(
        stderr.contains("error: there is no figure `figures/rod.svg`"),
        "{stderr}"
    );
    let stderr = check_with(
        "air/cover.md",
        format!("{text}2. Look. ![a rod](../../rod.svg)\n"),
    );
    assert!(
        stderr.contains("error: figure `../../rod.svg` is outside the sources folder"),
        "{stderr}"
    );
}

#[test]
fn symbolic_links_out_of_the_tree_are_not_followed() {
    let folder = shop();
    write(&folder.path().join("secret.md"), "+++\n+++\n");
    std::os::unix::fs::symlink(
        "../../secret.md",
        folder.path().join("procedures/air/link.md"),
    )
    .unwrap();
    let (_, stderr, status) = run(folder.path(), &["check"]);
    assert!(
        stderr.contains("error: `air/link.md` is a link that leads outside the sources folder"),
        "{stderr}"
    );
    assert!(stderr.contains("unreadable-file"), "{stderr}");
    assert_eq!(status, 1);
}

#[test]
fn without_typst_nothing_is_made_and_the_message_says_how_to_install_it() {
    let folder = shop();
    let publish = |arguments: &[&str]| {
        let mut command = benchleaf(folder.path());
        let command = command.arg("publish").args(arguments);
        output_text(&command.env("PATH", "/nowhere").output().unwrap())
    };
    let (stdout, stderr, status) = publish(&[]);
    assert_eq!((stdout.as_str(), status), ("", 2), "{stderr}");
    for expected in [
        "nothing was written: typst was found neither in `.tools/bin` nor on the search path",
        "cargo install typst-cli --locked --version 0.15.1",
        "`--html-only` makes the pages without PDFs",
    ] {
        assert!(stderr.contains(expected), "{stderr}");
    }
    assert!(!folder.path().join("output").exists());
    let (_, stderr, status) = publish(&["--html-only"]);
    assert_eq!((stderr.as_str(), status), ("", 0));
    let index = fs::read_to_string(folder.path().join("output/index.html")).unwrap();
    assert!(
        !index.contains(".pdf"),
        "the page links to a PDF that was not made"
    );
}

#[test]
fn without_typst_the_output_stays_and_without_pdfs_an_outdated_one_is_removed() {
    let folder = shop();
    run(folder.path(), &["publish"]);
    let pdf = folder.path().join("output/hand-pump/cover-shop-sheet.pdf");
    let publish = |arguments: &[&str]| {
        let mut command = benchleaf(folder.path());
        let command = command.arg("publish").args(arguments);
        output_text(&command.env("PATH", "/nowhere").output().unwrap()).2
    };
    assert_eq!(publish(&["--html-only"]), 0);
    assert!(pdf.exists());
    let path = folder.path().join("procedures/air/cover.md");
    let text = fs::read_to_string(&path).unwrap();
    write(
        &path,
        text.replace("Brush the grit out", "Blow the grit out"),
    );
    assert_eq!(publish(&[]), 2);
    assert!(pdf.exists());
    assert_eq!(publish(&["--html-only"]), 0);
    assert!(!pdf.exists());
}

#[test]
fn another_version_of_typst_is_refused() {
    let folder = shop();
    let old = folder.path().join("typst");
    write(&old, "#!/bin/sh\necho 'typst 0.11.0 (abcdef)'\n");
    fs::set_permissions(&old, fs::Permissions::from_mode(0o755)).unwrap();
    let output = benchleaf(folder.path())
        .args(["publish", "--typst", "./typst"])
        .output()
        .unwrap();
    let (_, stderr, status) = output_text(&output);
    assert!(
        stderr.contains("0.11.0") && stderr.contains("0.15"),
        "{stderr}"
    );
    assert_eq!(status, 2);
    assert!(!folder.path().join("output").exists());
}

#[test]
fn an_output_that_cannot_be_written_is_reported() {
    let folder = shop();
    // A file in place of the folder. Permissions would not stop root.
    write(&folder.path().join("output"), "mine");
    let (stdout, stderr, status) = run(folder.path(), &["publish"]);
    assert_eq!(stdout, "");
    assert!(
        stderr.contains("can't make `output/.benchleaf`"),
        "{stderr}"
    );
    assert_eq!(status, 2);
    assert_eq!(
        fs::read_to_string(folder.path().join("output")).unwrap(),
        "mine"
    );
}

#[test]
fn bad_arguments_exit_with_status_2() {
    let folder = shop();
    for arguments in [
        &["bake"][..],
        &["check", "--deny", "all"],
        &["publish", "--output"],
        &[],
    ] {
        let (_, stderr, status) = run(folder.path(), arguments);
        assert_eq!(status, 2, "{arguments:?}");
        assert!(!stderr.is_empty());
    }
}

#[test]
fn denied_findings_count_as_errors() {
    let folder = shop();
    let machine = folder.path().join("procedures/machines/hand-pump.toml");
    let text = fs::read_to_string(&machine).unwrap();
    write(&machine, text.replace("basis = \"invented\"\n", ""));
    let (stdout, stderr, status) = run(folder.path(), &["check"]);
    assert!(
        stderr.contains("advice: a value of `hand-pump` has no basis"),
        "{stderr}"
    );
    assert!(stdout.starts_with("no errors: "), "{stdout}");
    assert_eq!(status, 0);
    let (_, stderr, status) = run(folder.path(), &["check", "--deny", "warning"]);
    assert_eq!(status, 0, "{stderr}");
    let (_, stderr, status) = run(folder.path(), &["check", "--deny", "advice"]);
    assert!(stderr.ends_with("2 errors\n"), "{stderr}");
    assert_eq!(status, 1);
}

#[test]
fn shop_toml_can_set_the_levels_of_rules() {
    let folder = shop();
    let machine = folder.path().join("procedures/machines/hand-pump.toml");
    let text = fs::read_to_string(&machine).unwrap();
    write(&machine, text.replace("basis = \"invented\"\n", ""));
    let shop_file = folder.path().join("procedures/shop.toml");
    let shop_text = fs::read_to_string(&shop_file).unwrap();
    write(
        &shop_file,
        format!("{shop_text}\n[levels]\nunverified-value = \"error\"\n"),
    );
    assert_eq!(run(folder.path(), &["check"]).2, 1);
    write(
        &shop_file,
        format!("{shop_text}\n[levels]\nunverified-value = \"off\"\n"),
    );
    assert_eq!(run(folder.path(), &["check"]).1, "");
}

#[test]
fn findings_have_colours_only_on_request() {
    let folder = shop();
    write(
        &folder.path().join("procedures/tools.toml"),
        "[tool.wrench-10",
    );
    let check = |colour: &[(&str, &str)]| {
        let mut command = benchleaf(folder.path());
        command.arg("check").envs(colour.iter().copied());
        output_text(&command.output().unwrap()).1
    };
    assert!(!check(&[]).contains('\u{1b}'));
    assert!(check(&[("CLICOLOR_FORCE", "1")]).contains('\u{1b}'));
    assert!(!check(&[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]).contains('\u{1b}'));
}

#[test]
fn escape_sequences_in_sources_are_not_printed() {
    let stderr = check_with(
        "air/cover.md",
        "+++\ntitle = \"Cover\"\nmachines = [\"\\u001b[31mred\"]\n+++\n## A\n1. x\u{1b}[31m [](remove:cover)\n",
    );
    assert!(!stderr.contains('\u{1b}'), "{stderr:?}");
}

#[test]
fn crlf_and_a_byte_order_mark_change_neither_positions_nor_pages() {
    let folder = shop();
    run(folder.path(), &["publish"]);
    let before = files(&folder.path().join("output"));
    let sources = folder.path().join("procedures");
    for (path, bytes) in files(&sources) {
        let text = String::from_utf8(bytes).unwrap().replace('\n', "\r\n");
        write(&sources.join(path), format!("\u{feff}{text}"));
    }
    let (stdout, stderr, status) = run(folder.path(), &["publish"]);
    assert_eq!((stderr.as_str(), status), ("", 0));
    assert!(stdout.contains("0 files written, 41 unchanged"), "{stdout}");
    assert_same_pages(&folder.path().join("output"), &before);
    let tools = fs::read_to_string(sources.join("tools.toml")).unwrap();
    write(&sources.join("tools.toml"), tools.replace("size", "sise"));
    let (_, stderr, _) = run(folder.path(), &["check"]);
    assert!(stderr.contains("procedures/tools.toml:3:1\n"), "{stderr}");
}

#[test]
fn convert_and_mix_need_no_tree() {
    let folder = tempfile::tempdir().unwrap();
    let stdout_of = |arguments: &[&str]| {
        let (stdout, stderr, status) = run(folder.path(), arguments);
        assert_eq!((stderr.as_str(), status), ("", 0));
        stdout.replace('\u{a0}', " ")
    };
    assert_eq!(
        stdout_of(&["convert", "9 Nm +/- 1 Nm", "in-lb"]),
        "9 N·m ± 1 N·m\n= 80 in·lbf (71 to 88)   (nominal 79.656\u{202f}712 in·lbf before rounding)\n"
    );
    assert_eq!(
        stdout_of(&["convert", "212 °F", "degC"]),
        "212 °F\n= 100.0 °C\n"
    );
    let answer: serde_json::Value =
        serde_json::from_str(&stdout_of(&["convert", "9 Nm +/- 1 Nm", "in-lb", "--json"])).unwrap();
    assert_eq!(answer["converted"][0]["unit"], "in·lbf");
    assert_eq!(answer["converted"][0]["nominal"], "79.656712");
    assert_eq!(
        stdout_of(&["mix", "50:1", "5 L"]),
        "100 mL of oil for 5 L of petrol\n"
    );
    assert_eq!(
        stdout_of(&["mix", "50:1", "--fill", "0.62 L", "--fill", "5.1 L"]),
        "0.607 L of petrol and 12.2 mL of oil fill 0.62 L\n\
         5.00 L of petrol and 100 mL of oil fill 5.1 L\n"
    );
    let fill = stdout_of(&["mix", "50:1", "--fill", "0.62 L", "--json"]);
    let fill: serde_json::Value = serde_json::from_str(&fill).unwrap();
    assert_eq!(fill["fills"][0]["petrol_millilitres"], "607");
    assert_eq!(fill["fills"][0]["oil_millilitres"], "12.2");
}

#[test]
fn an_invalid_value_is_reported_with_the_expected_form() {
    let folder = tempfile::tempdir().unwrap();
    for (arguments, expected) in [
        (
            &["convert", "9,5 Nm", "in-lb"][..],
            "`9,5 Nm`: expected a decimal point",
        ),
        (
            &["convert", "9 Nm", "bar"],
            "is a torque, and `bar` is a unit of pressure",
        ),
        (&["convert", "9 Nmx"], "expected a unit"),
        (
            &["mix", "5 L", "50:1"],
            "expected a ratio of petrol to oil such as `50:1`",
        ),
        (
            &["mix", "40:1 to 50:1", "5 L"],
            "expected one ratio of petrol to oil, found `40:1 to 50:1`",
        ),
        (
            &["mix", "50:1 ± 5:1", "--fill", "5 L"],
            "expected one ratio of petrol to oil, found `50:1 ± 5:1`",
        ),
        (
            &["mix", "0.02:1", "5 L"],
            "expected more petrol than oil, found `0.02:1`",
        ),
        (&["mix", "50:1"], "required"),
        (
            &[
                "torque",
                "9.3 N·m ± 0.2 N·m",
                "--tool",
                "5 N·m to 25 N·m",
                "--tolerance",
                "1 %",
                "--graduation",
                "0.5 N·m",
            ],
            "no mark of the tool is safe for `9.3 N·m ± 0.2 N·m`",
        ),
        (
            &[
                "torque",
                "M6",
                "--class",
                "8.8",
                "--tool",
                "5 N·m to 25 N·m",
            ],
            "a tool needs a torque to set",
        ),
        (
            &["mix", "50:1", "5 kg"],
            "expected a volume, found the mass",
        ),
    ] {
        let (stdout, stderr, status) = run(folder.path(), arguments);
        assert!(
            stderr.replace('\u{a0}', " ").contains(expected),
            "{arguments:?}: {stderr}"
        );
        assert_eq!((stdout.as_str(), status), ("", 2));
    }
}

#[test]
fn torque_and_speed_show_their_arithmetic() {
    let folder = tempfile::tempdir().unwrap();
    let stdout_of = |arguments: &[&str]| {
        let (stdout, stderr, status) = run(folder.path(), arguments);
        assert_eq!((stderr.as_str(), status), ("", 0), "{arguments:?}");
        stdout.replace('\u{a0}', " ")
    };
    // FAA AC 43.13-1B by way of a training text: 300 in·lbf, 10 in wrench, 4 in extension.
    let extension = stdout_of(&[
        "torque",
        "300 in-lb",
        "--wrench",
        "10 in",
        "--extension",
        "4 in",
    ]);
    assert!(
        extension.contains("set the wrench to 214 in·lbf"),
        "{extension}"
    );
    let through = |what: &str, more: &[&str]| {
        let crowfoot = ["torque", what, "--wrench", "250 mm", "--extension", "50 mm"];
        stdout_of(&[&crowfoot, more].concat())
    };
    let set = through("8 N·m to 10 N·m", &[]);
    assert!(
        set.ends_with(
            "set the wrench to 7.50 N·m: 9 N·m × 250 mm / (250 mm + 50 mm × cos 0°)\n\
             set it within 6.67 N·m to 8.33 N·m\n"
        ),
        "{set}"
    );
    let set = through("at least 8 N·m", &[]);
    assert!(set.ends_with("set it within at least 6.667 N·m\n"), "{set}");
    let tool = [
        "--tool",
        "3 N·m to 15 N·m",
        "--tolerance",
        "2 %",
        "--graduation",
        "0.1 N·m",
    ];
    let set = through("9 N·m ± 1 N·m", &tool);
    assert!(
        set.ends_with("set the tool to 7.5 N·m (safe: 6.9 N·m to 8.1 N·m)\n"),
        "{set}"
    );
    let set = through("9 N·m ± 1 N·m", &[&tool[..], &["--json"]].concat());
    let set: serde_json::Value = serde_json::from_str(&set).unwrap();
    assert_eq!(set["set"], "7.5 N·m");
    assert_eq!(set["set_least"], "6.9 N·m");
    assert_eq!(set["set_most"], "8.1 N·m");
    insta::assert_snapshot!(
        "torque-of-a-thread",
        stdout_of(&["torque", "M6", "--class", "8.8"])
    );
    insta::assert_snapshot!(
        "torque-of-a-thread-json",
        stdout_of(&["torque", "3/8-16", "--class", "grade 5", "--json"])
    );
    // Facts of the trade: common practice, no source.
    let against = |speed: &str| stdout_of(&["speed", speed, "--limits", "3150 rpm ± 150 rpm"]);
    assert!(against("3250 rpm").contains("is within"));
    assert!(against("3280 rpm").contains("is within"));
    assert!(against("3500 rpm").contains("is over 3150 rpm ± 150 rpm by 200 rpm"));
    // NEETS module 5: two poles give 60 Hz at 3600 rpm.
    assert_eq!(
        stdout_of(&["speed", "60 Hz", "--poles", "2"]),
        "2 poles give 60 Hz at 3600 rpm\n"
    );
    let set = |of: &[&str]| {
        let droop = ["speed", "50 Hz", "--poles", "2", "--droop", "5 %"];
        stdout_of(&[&droop, of].concat())
    };
    let full_load = "with a droop of 5 % of the full-load speed, set 3150 rpm without load\n";
    assert!(set(&[]).ends_with(full_load));
    assert!(set(&["--droop-of", "full-load"]).ends_with(full_load));
    let no_load = "with a droop of 5 % of the no-load speed, set 3158 rpm without load\n";
    assert!(set(&["--droop-of", "no-load"]).ends_with(no_load));
    let shown = stdout_of(&[
        "speed", "3000 rpm", "--sparks", "1", "--set", "0.5", "--json",
    ]);
    assert!(shown.contains("\"shown\": \"6000 rpm\""), "{shown}");
}

#[test]
fn torque_shows_what_is_recommended_and_where_the_tapped_hole_strips() {
    let folder = tempfile::tempdir().unwrap();
    let joint = |material: &str, engagement: &str, more: &[&str]| {
        let mut arguments = vec!["torque", "M6", "--class", "8.8", "--into", material];
        arguments.extend(["--engagement", engagement]);
        arguments.extend(more);
        let (stdout, stderr, status) = run(folder.path(), &arguments);
        assert_eq!((stderr.as_str(), status), ("", 0), "{arguments:?}");
        stdout.replace('\u{a0}', " ")
    };
    let text = joint("aluminium", "9 mm", &[]);
    for line in [
        "M6, class 8.8, dry: about 6.35 N·m is recommended\n",
        "\nthe aluminium strips at about 8.47 N·m\n",
        "\ndo not exceed 8.47 N·m unless the maker's value does\n",
    ] {
        assert!(text.contains(line), "{line}{text}");
    }
    let json: serde_json::Value =
        serde_json::from_str(&joint("aluminium", "9 mm", &["--json"])).unwrap();
    assert_eq!(json["recommended"], "6.35 N·m");
    assert_eq!(json["strips_at"], "8.47 N·m");
    // The bolt is weaker: its own torque, and where the steel would strip.
    let text = joint("steel", "9 mm", &[]);
    assert!(text.contains("about 10.5 N·m is recommended"), "{text}");
    assert!(
        text.contains("the steel strips at about 18.9 N·m"),
        "{text}"
    );
    for material in benchleaf::trade::Material::ALL {
        joint(material.name(), "9 mm", &[]);
    }

    for (arguments, expected) in [
        (
            &["torque", "1/8-27 NPT", "--class", "8.8"][..],
            "no torque is calculated for the pipe thread `1/8-27 NPT`",
        ),
        (&["torque", "G1/4"], "for the pipe thread `G1/4`"),
        (
            &["torque", "1/8-28 NPT"],
            "the sizes are 1/16-27 NPT, 1/8-27 NPT",
        ),
        (&["torque", "M6"], "2.04 N·m to 23.4 N·m is plausible"),
        (
            &[
                "torque",
                "M6",
                "--class",
                "8.8",
                "--into",
                "wood",
                "--engagement",
                "9 mm",
            ],
            "a tapped material (steel, cast iron, aluminium, plastic), found `wood`",
        ),
    ] {
        let (stdout, stderr, status) = run(folder.path(), arguments);
        let stderr = stderr.replace('\u{a0}', " ");
        assert!(stderr.contains(expected), "{arguments:?}: {stderr}");
        assert_eq!((stdout.as_str(), status), ("", 2));
    }
}

#[test]
fn calibrations_are_checked_only_with_a_given_day() {
    let folder = shop();
    let tools = folder.path().join("procedures/tools.toml");
    let text = fs::read_to_string(&tools).unwrap();
    write(
        &tools,
        format!("{text}\n[tool.gauge]\nname = \"gauge\"\ncalibrated = 2026-02-09\n"),
    );
    assert_eq!(run(folder.path(), &["check"]).1, "");
    assert_eq!(run(folder.path(), &["check", "--on", "2027-02-09"]).1, "");
    let (_, stderr, status) = run(folder.path(), &["check", "--on", "2027-02-10"]);
    assert!(
        stderr.contains("the calibration of `gauge` expired on 2027-02-09"),
        "{stderr}"
    );
    assert_eq!(status, 0);
    let (_, stderr, status) = run(folder.path(), &["check", "--on", "tomorrow"]);
    assert!(
        stderr.contains("expected a day such as `2026-11-25`"),
        "{stderr}"
    );
    assert_eq!(status, 2);
}

#[test]
fn a_step_with_a_crowfoot_has_the_corrected_setting() {
    let folder = shop();
    let sources = folder.path().join("procedures");
    let tools = fs::read_to_string(sources.join("tools.toml")).unwrap();
    write(
        &sources.join("tools.toml"),
        format!(
            "{tools}\n[tool.torque-small]\nname = \"small torque wrench\"\nrange = \"3 N·m to 15 N·m\"\ntolerance = \"2 %\"\nlength = \"250 mm\"\n\n[tool.crowfoot]\nname = \"crowfoot\"\nextends = \"50 mm\"\n"
        ),
    );
    write(
        &sources.join("air/nuts.md"),
        "+++\ntitle = \"Nuts\"\nmachines = [\"hand-pump\"]\n+++\n## Check\n1. With the [crowfoot](use:crowfoot), [tighten both](tighten:cover-nut).\n",
    );
    let (_, stderr, status) = run(
        folder.path(),
        &["print", "--procedure", "nuts", "--html-only"],
    );
    assert_eq!((stderr.as_str(), status), ("", 0));
    for sheet in ["shop-sheet", "bench-checklist"] {
        let page = fs::read_to_string(
            folder
                .path()
                .join(format!("output/hand-pump/nuts-{sheet}.html")),
        )
        .unwrap();
        let page = page.replace('\u{a0}', " ");
        assert!(page.contains("small torque wrench"), "{page}");
        let setting = "set to 7.5 N·m with the crowfoot fitted (safe 6.9 N·m to 8.1 N·m)";
        assert!(page.contains(setting), "{page}");
    }
    let tools = fs::read_to_string(sources.join("tools.toml")).unwrap();
    // The sheet would print the uncorrected torque.
    write(
        &sources.join("tools.toml"),
        tools.replace("length = \"250 mm\"\n", ""),
    );
    let (_, stderr, status) = run(folder.path(), &["check"]);
    let message = "no torque tool in the crib can be set to the torque of `cover-nut` of `hand-pump` \
                   with `crowfoot` on it";
    assert!(stderr.contains(message), "{stderr}");
    assert_eq!(status, 0);
}

#[test]
fn rehearse_shows_the_state_after_each_step() {
    let folder = shop();
    let (stdout, stderr, status) = run(
        folder.path(),
        &["rehearse", "cover", "--machine", "hand-pump"],
    );
    assert_eq!((stderr.as_str(), status), ("", 0));
    insta::assert_snapshot!("rehearse-cover", stdout);
    let (stdout, _, _) = run(
        folder.path(),
        &["rehearse", "cover", "-m", "hand-pump", "--json"],
    );
    let answer: serde_json::Value = serde_json::from_str(&stdout).unwrap();
    assert_eq!(answer["steps"][1]["state"]["cover"], "off");
    assert_eq!(
        answer["steps"][11]["state"],
        serde_json::json!({ "stroke": "measured" })
    );
    let (_, stderr, status) = run(folder.path(), &["rehearse", "covr", "-m", "hand-pump"]);
    assert!(stderr.contains("did you mean `cover`?"), "{stderr}");
    assert_eq!(status, 2);
}

#[test]
fn explain_shows_the_page_of_a_rule() {
    let folder = tempfile::tempdir().unwrap();
    let (stdout, stderr, status) = run(folder.path(), &["explain", "part-left-off"]);
    assert_eq!((stderr.as_str(), status), ("", 0));
    insta::assert_snapshot!("explain-part-left-off", stdout);
    let (list, _, _) = run(folder.path(), &["explain"]);
    // A heading for each family, and its rules, errors first.
    let families: Vec<&str> = list
        .lines()
        .filter(|line| !line.starts_with(' ') && !line.is_empty())
        .collect();
    assert_eq!(families.len(), 6, "{families:?}");
    for family in list.split("\n\n").filter(|text| text.starts_with("  ")) {
        let words = family
            .lines()
            .filter_map(|line| line.split_whitespace().next());
        let ranks: Vec<usize> = words
            .map(|level| {
                ["error", "warning", "advice"]
                    .iter()
                    .position(|known| *known == level)
                    .unwrap()
            })
            .collect();
        assert!(ranks.is_sorted(), "{family}");
    }
    let listed = list
        .lines()
        .filter_map(|line| line.strip_prefix("  ")?.split_whitespace().nth(1));
    let mut listed: Vec<&str> = listed.collect();
    listed.sort_unstable();
    let rules = benchleaf::rules();
    let names: Vec<&str> = rules.iter().map(|rule| rule.name).collect();
    assert_eq!(listed, names);
    let (_, stderr, status) = run(folder.path(), &["explain", "part-left-of"]);
    assert!(stderr.contains("did you mean `part-left-off`?"), "{stderr}");
    assert_eq!(status, 2);
}

#[test]
fn schema_prints_one_kind_or_writes_all_and_overwrites_no_other_file() {
    let folder = tempfile::tempdir().unwrap();
    let schema = |arguments: &[&str]| run(folder.path(), &[&["schema"], arguments].concat());
    let (kinds, stderr, status) = schema(&[]);
    assert_eq!((stderr.as_str(), status), ("", 0));
    insta::assert_snapshot!("schema", kinds);
    let (glossary, stderr, status) = schema(&["glossary"]);
    assert_eq!((stderr.as_str(), status), ("", 0));
    insta::assert_snapshot!("schema-glossary", glossary);
    let (_, stderr, status) = schema(&["machines"]);
    assert!(stderr.contains("did you mean `machine`?"), "{stderr}");
    assert_eq!(status, 2);
    for _ in 0..2 {
        let (paths, stderr, status) = schema(&["--output", "new/schemas"]);
        assert_eq!((stderr.as_str(), status), ("", 0));
        assert_eq!(paths.lines().count(), kinds.lines().count());
    }
    let path = folder.path().join("new/schemas/glossary.schema.json");
    assert_eq!(fs::read_to_string(&path).unwrap(), glossary);
    // A file that is not ours, one of another kind, a folder and a link stay as they are, and nothing else is written.
    let first = folder.path().join("new/schemas/shop.schema.json");
    let refuse = |what: &str| {
        fs::remove_file(&first).unwrap_or_default();
        let (_, stderr, status) = schema(&["--output", "new/schemas"]);
        assert!(stderr.contains("is not overwritten"), "{what}: {stderr}");
        assert_eq!((status, first.exists()), (2, false), "{what}");
    };
    for content in ["", "{}\n", &glossary.replace("glossary", "term")] {
        write(&path, content);
        refuse(content);
        assert_eq!(fs::read_to_string(&path).unwrap(), content);
    }
    fs::remove_file(&path).unwrap();
    fs::create_dir(&path).unwrap();
    refuse("a folder");
    fs::remove_dir(&path).unwrap();
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("nowhere", &path).unwrap();
        refuse("a link");
        assert!(!folder.path().join("new/schemas/nowhere").exists());
    }
    let (_, stderr, status) = schema(&["tools", "--output", "new/schemas/tools.schema.json"]);
    assert!(stderr.contains("can't be written"), "{stderr}");
    assert_eq!(status, 2);
}

#[test]
fn a_kit_adds_up_pieces_amounts_and_prices_of_all_procedures() {
    let folder = shop();
    let sources = folder.path().join("procedures");
    let add = |path: &str, more: &str| {
        let path = sources.join(path);
        let text = fs::read_to_string(&path).unwrap();
        write(&path, format!("{text}{more}"));
    };
    add(
        "machines/hand-pump.toml",
        "\n[fluid.oil]\nsupply = \"oil\"\ncapacity = \"0.25 L\"\n\n[part.seal]\nname = \"seal\"\ncount = 2\nsingle-use = true\nprice = \"1.15\"\n",
    );
    add(
        "supplies.toml",
        "\n[supply.oil]\nname = \"pump oil\"\nprice = \"8\"\neach = \"1 L\"\n",
    );
    let shop_text = fs::read_to_string(sources.join("shop.toml")).unwrap();
    write(
        &sources.join("shop.toml"),
        shop_text.replacen('\n', "\ncurrency = \"£\"\n", 1),
    );
    for (id, begin) in [("first", ""), ("second", "begin = [\"first\"]\n")] {
        write(
            &sources.join(format!("air/{id}.md")),
            format!(
                "+++\ntitle = \"{id}\"\nmachines = [\"hand-pump\"]\nminutes = 20\n{begin}+++\n## Do\n1. [](renew:seal)\n2. [](drain:oil)\n3. [](fill:oil)\n"
            ),
        );
    }
    let (_, stderr, status) = run(
        folder.path(),
        &[
            "print",
            "--procedure",
            "second",
            "--sheet",
            "kit-list",
            "--html-only",
        ],
    );
    assert_eq!((stderr.as_str(), status), ("", 0));
    let page =
        fs::read_to_string(folder.path().join("output/hand-pump/second-kit-list.html")).unwrap();
    let text = page.replace('\u{a0}', " ");
    for wanted in ["0.50 L", "£4.60", "£4.00", "£8.60", "40 min"] {
        assert!(text.contains(wanted), "{wanted} is not in {text}");
    }
}

#[test]
fn help_of_each_command() {
    let folder = tempfile::tempdir().unwrap();
    let help = |arguments: &[&str]| {
        let (stdout, stderr, status) = run(folder.path(), arguments);
        assert_eq!((stderr.as_str(), status), ("", 0));
        stdout
    };
    insta::assert_snapshot!("help", help(&["--help"]));
    insta::assert_snapshot!("help-start", help(&["start", "--help"]));
    insta::assert_snapshot!("help-outline", help(&["outline", "--help"]));
    let procedure = ["outline", "procedure", "--help"];
    insta::assert_snapshot!("help-outline-procedure", help(&procedure));
    insta::assert_snapshot!("help-check", help(&["check", "--help"]));
    insta::assert_snapshot!("help-print", help(&["print", "--help"]));
    insta::assert_snapshot!("help-publish", help(&["publish", "--help"]));
    insta::assert_snapshot!("help-preview", help(&["preview", "--help"]));
    insta::assert_snapshot!("help-editor", help(&["editor", "--help"]));
    insta::assert_snapshot!("help-kit", help(&["kit", "--help"]));
    insta::assert_snapshot!("help-where-used", help(&["where-used", "--help"]));
    insta::assert_snapshot!("help-due", help(&["due", "--help"]));
    insta::assert_snapshot!("help-guards", help(&["guards", "--help"]));
    insta::assert_snapshot!("help-bind", help(&["bind", "--help"]));
    insta::assert_snapshot!("help-convert", help(&["convert", "--help"]));
    insta::assert_snapshot!("help-rehearse", help(&["rehearse", "--help"]));
    insta::assert_snapshot!("help-explain", help(&["explain", "--help"]));
    insta::assert_snapshot!("help-schema", help(&["schema", "--help"]));
    insta::assert_snapshot!("help-mix", help(&["mix", "--help"]));
    insta::assert_snapshot!("help-calculate", help(&["calculate", "--help"]));
    let calculation = ["calculate", "ring-gap", "--help"];
    insta::assert_snapshot!("help-calculate-ring-gap", help(&calculation));
    insta::assert_snapshot!("help-torque", help(&["torque", "--help"]));
    insta::assert_snapshot!("help-speed", help(&["speed", "--help"]));
    insta::assert_snapshot!("help-completions", help(&["completions", "--help"]));
    insta::assert_snapshot!("help-man", help(&["man", "--help"]));
}

/// The commands that the help lists.
fn commands(folder: &Path) -> Vec<String> {
    let (help, _, _) = run(folder, &["--help"]);
    let (_, rest) = help.split_once("Commands:\n").unwrap();
    let (list, _) = rest.split_once("\n\n").unwrap();
    let names = list
        .lines()
        .filter_map(|line| line.strip_prefix("  ")?.split(' ').next());
    let names: Vec<String> = names
        .filter(|name| !name.is_empty())
        .map(str::to_owned)
        .collect();
    assert!(names.len() > 12, "{names:?}");
    names
}

/// Asks Bash itself, and looks for the names in the scripts of the other shells.
#[test]
fn completions_know_every_command() {
    let folder = tempfile::tempdir().unwrap();
    let commands = commands(folder.path());
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let (script, stderr, status) = run(folder.path(), &["completions", shell]);
        assert_eq!((stderr.as_str(), status), ("", 0));
        for command in &commands {
            assert!(
                script.contains(command),
                "{shell} does not know `{command}`"
            );
        }
        write(&folder.path().join(shell), &script);
    }
    let complete = |words: &[&str]| -> Vec<String> {
        let script = "source ./bash
            COMP_WORDS=(\"$@\") COMP_CWORD=$(($# - 1))
            _benchleaf benchleaf \"${!#}\" \"${@:$#-1:1}\"
            printf '%s\\n' \"${COMPREPLY[@]}\"";
        let output = std::process::Command::new("bash")
            .args(["-c", script, "bash"])
            .args(words)
            .current_dir(folder.path())
            .output()
            .unwrap();
        let (stdout, stderr, _) = output_text(&output);
        assert_eq!(stderr, "");
        stdout.lines().map(str::to_owned).collect()
    };
    let all = complete(&["benchleaf", ""]);
    for command in &commands {
        assert!(
            all.contains(command),
            "Bash does not complete `{command}`: {all:?}"
        );
    }
    assert_eq!(complete(&["benchleaf", "publ"]), ["publish"]);
    assert_eq!(
        complete(&["benchleaf", "publish", "--html"]),
        ["--html-only"]
    );
    assert_eq!(
        complete(&["benchleaf", "check", "--deny", "w"]),
        ["warning"]
    );
    let (_, stderr, status) = run(folder.path(), &["completions", "csh"]);
    assert_eq!(status, 2);
    assert!(
        stderr.contains("bash") && stderr.contains("fish"),
        "{stderr}"
    );
}

/// `groff` reads the pages and has nothing to say about them.
#[test]
fn man_writes_a_page_for_each_command() {
    let folder = tempfile::tempdir().unwrap();
    let (stdout, stderr, status) = run(folder.path(), &["man", "share/man1"]);
    let commands = commands(folder.path());
    assert_eq!(
        stdout,
        format!("{} pages in share/man1\n", commands.len() + 1)
    );
    assert_eq!((stderr.as_str(), status), ("", 0));
    let read = |page: &Path| {
        let output = std::process::Command::new("groff")
            .args(["-man", "-Tutf8", "-k", "-ww", "-P-cbou"])
            .arg(page)
            .output()
            .unwrap();
        let (text, stderr, _) = output_text(&output);
        assert_eq!(stderr, "", "{}", page.display());
        text
    };
    let man = folder.path().join("share/man1");
    for command in &commands {
        let text = read(&man.join(format!("benchleaf-{command}.1")));
        for heading in ["\nNAME\n", "\nSYNOPSIS\n", "\nEXAMPLES\n"] {
            assert!(text.contains(heading), "{command}: {text}");
        }
        // The examples keep their columns.
        let (help, _, _) = run(folder.path(), &[command, "--help"]);
        let (_, examples) = help.split_once("Examples:\n").unwrap();
        for line in examples.lines() {
            assert!(text.contains(line.trim_end()), "{command}: {line}\n{text}");
        }
    }
    let whole = read(&man.join("benchleaf.1"));
    assert!(whole.contains("\nEXIT STATUS\n"), "{whole}");
    for command in &commands {
        assert!(
            whole.contains(&format!("benchleaf-{command}(1)")),
            "{command}"
        );
    }
    let (stdout, _, _) = run(folder.path(), &["man"]);
    assert_eq!(stdout, fs::read_to_string(man.join("benchleaf.1")).unwrap());
    // Another run may replace its own pages, and nothing else.
    write(&man.join("benchleaf-check.1"), "mine\n");
    let (_, stderr, status) = run(folder.path(), &["man", "share/man1"]);
    assert_eq!(status, 2);
    assert!(stderr.contains("is not a page of benchleaf"), "{stderr}");
    assert_eq!(
        fs::read_to_string(man.join("benchleaf-check.1")).unwrap(),
        "mine\n"
    );
    let (_, stderr, status) = run(folder.path(), &["man", "share/man1/benchleaf.1"]);
    assert_eq!(status, 2);
    assert!(stderr.contains("can't write"), "{stderr}");
}

/// Writes a program that answers as typst does, and leaves a file where it ran.
fn stand_in(path: &Path, answer: &str) {
    write(
        path,
        format!("#!/bin/sh\nPATH=/bin:/usr/bin\ntouch \"$0.ran\"\n{answer}\n"),
    );
    fs::set_permissions(path, fs::Permissions::from_mode(0o755)).unwrap();
}

#[test]
fn version_names_the_typesetter() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bin/typst");
    let version = |search: &Path, arguments: &[&str]| {
        let output = benchleaf(folder.path())
            .args(arguments)
            .env("PATH", search)
            .output()
            .unwrap();
        let (stdout, stderr, status) = output_text(&output);
        assert_eq!((stderr.as_str(), status), ("", 0));
        stdout
    };
    let own = format!("benchleaf {}\n", env!("CARGO_PKG_VERSION"));
    let bin = path.parent().unwrap();
    let none = version(bin, &["--version"]);
    assert!(
        none.starts_with(&own) && none.contains("typst: not found"),
        "{none}"
    );
    stand_in(&path, "echo 'typst 0.15.1 (a1b2c3d4)'");
    let found = version(bin, &["--version"]);
    assert_eq!(
        found,
        format!("{own}typst 0.15.1 at `{}`\n", path.display())
    );
    assert_eq!(version(bin, &["-V"]), own);
    stand_in(&path, "echo 'typst 0.11.0'");
    let old = version(bin, &["--version"]);
    assert!(old.contains("version 0.11.0, 0.15.1 is needed"), "{old}");
    // Nothing of the current folder is started.
    let local = folder.path().join(".tools/bin/typst");
    stand_in(&local, "echo 'typst 0.15.1'");
    let not_started = version(bin, &["--version"]);
    assert!(
        not_started.contains("`.tools/bin/typst`, not started"),
        "{not_started}"
    );
    assert!(!local.with_extension("ran").exists());
    fs::remove_dir_all(folder.path().join(".tools")).unwrap();
    fs::remove_file(path.with_extension("ran")).unwrap();
    let not_started = version(Path::new("bin"), &["--version"]);
    assert!(
        not_started.contains("`bin/typst`, not started"),
        "{not_started}"
    );
    assert!(!path.with_extension("ran").exists());
}

#[test]
fn quiet_leaves_out_the_summary_and_keeps_findings_and_results() {
    let folder = shop();
    for arguments in [
        &["check", "--quiet"] as &[&str],
        &["-q", "check"],
        &["publish", "--html-only", "-q"],
        &["--quiet", "man", "pages"],
    ] {
        let said = run(folder.path(), arguments);
        assert_eq!(said, (String::new(), String::new(), 0), "{arguments:?}");
    }
    assert!(folder.path().join("output/index.html").exists());
    // What a command is asked for is not a summary.
    let (paths, _, _) = run(
        folder.path(),
        &["print", "--quiet", "--html-only", "--machine", "hand-pump"],
    );
    assert!(
        paths.lines().all(|line| line.starts_with("output/")),
        "{paths}"
    );
    let (torque, _, _) = run(
        folder.path(),
        &["torque", "M6", "--class", "8.8", "--quiet"],
    );
    assert!(torque.contains("N·m"), "{torque}");
    write(
        &folder.path().join("procedures/shop.toml"),
        "nmae = \"x\"\n",
    );
    let (stdout, stderr, status) = run(folder.path(), &["check", "--quiet"]);
    assert_eq!((stdout.as_str(), status), ("", 1));
    assert!(stderr.contains("did you mean `name`?"), "{stderr}");
}

#[test]
fn colour_is_as_asked_for() {
    let folder = shop();
    write(
        &folder.path().join("procedures/shop.toml"),
        "nmae = \"x\"\n",
    );
    let has_colour = |arguments: &[&str], variable: Option<(&str, &str)>| {
        let output = benchleaf(folder.path())
            .args(arguments)
            .envs(variable)
            .output()
            .unwrap();
        let (stdout, stderr, _) = output_text(&output);
        (stdout + &stderr).contains('\u{1b}')
    };
    // The streams are pipes.
    assert!(!has_colour(&["check"], None));
    assert!(has_colour(&["check", "--color", "always"], None));
    assert!(has_colour(
        &["--color=always", "check"],
        Some(("NO_COLOR", "1"))
    ));
    assert!(has_colour(&["check"], Some(("CLICOLOR_FORCE", "1"))));
    assert!(!has_colour(
        &["check", "--color", "never"],
        Some(("CLICOLOR_FORCE", "1"))
    ));
    // Also in the help, and in messages about the arguments.
    assert!(has_colour(&["--color", "always", "--help"], None));
    assert!(has_colour(&["check", "--colour", "--color=always"], None));
    assert!(!has_colour(&["--help"], None));
}

/// A running preview. `stdout` is its output up to the line with its address.
struct RunningPreview {
    child: std::process::Child,
    address: String,
    stdout: String,
}

impl RunningPreview {
    fn start(folder: &Path, arguments: &[&str]) -> RunningPreview {
        use std::io::BufRead as _;
        let temporary = folder.join("temporary");
        fs::create_dir_all(&temporary).unwrap();
        let mut child = benchleaf(folder)
            .arg("preview")
            .args(arguments)
            .env("TMPDIR", &temporary)
            .stdout(std::process::Stdio::piped())
            .stderr(std::process::Stdio::piped())
            .spawn()
            .unwrap();
        let mut stdout = String::new();
        let mut lines = std::io::BufReader::new(child.stdout.take().unwrap());
        while !stdout.contains("open http://") {
            assert_ne!(lines.read_line(&mut stdout).unwrap(), 0, "{stdout}");
        }
        let (_, rest) = stdout.split_once("open http://").unwrap();
        let address = rest.split('/').next().unwrap().to_owned();
        RunningPreview {
            child,
            address,
            stdout,
        }
    }

    fn get(&self, path: &str) -> String {
        use std::io::{Read as _, Write as _};
        let mut stream = std::net::TcpStream::connect(&self.address).unwrap();
        let request = format!("GET {path} HTTP/1.1\r\nHost: {}\r\n\r\n", self.address);
        stream.write_all(request.as_bytes()).unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer
    }

    /// Sends a signal, and returns standard error and the exit status.
    fn end(self, signal: &str) -> (String, i32) {
        let kill = format!("kill {signal} {}", self.child.id());
        let mut shell = std::process::Command::new("sh");
        assert!(shell.args(["-c", &kill]).status().unwrap().success());
        let output = self.child.wait_with_output().unwrap();
        let (_, stderr, status) = output_text(&output);
        (stderr, status)
    }
}

#[test]
fn preview_serves_until_a_signal_and_removes_its_files() {
    for signal in ["-INT", "-TERM"] {
        let folder = shop();
        let running = RunningPreview::start(folder.path(), &["--port", "0"]);
        assert!(
            running.address.starts_with("127.0.0.1:"),
            "{}",
            running.stdout
        );
        assert!(running.get("/").contains("hand-pump/index.html"));
        let temporary = folder.path().join("temporary");
        assert_eq!(fs::read_dir(&temporary).unwrap().count(), 1);
        let (stderr, status) = running.end(signal);
        assert_eq!((stderr.as_str(), status), ("", 0));
        assert_eq!(fs::read_dir(&temporary).unwrap().count(), 0);
        assert!(!folder.path().join("output").exists());
    }
}

#[test]
fn preview_counts_denied_findings_as_errors_and_prints_them() {
    let folder = shop();
    write(&folder.path().join("procedures/tool.toml"), "");
    let running = RunningPreview::start(folder.path(), &["--port", "0"]);
    assert!(running.get("/").starts_with("HTTP/1.1 200 OK"));
    let (stderr, _) = running.end("-INT");
    assert!(stderr.contains("advice: `tool.toml`"), "{stderr}");
    let running = RunningPreview::start(folder.path(), &["--port", "0", "--deny", "advice"]);
    assert!(running.get("/").starts_with("HTTP/1.1 503 "));
    let (stderr, status) = running.end("-INT");
    assert!(stderr.contains("error: `tool.toml`"), "{stderr}");
    assert!(stderr.contains("nothing was updated"), "{stderr}");
    assert_eq!(status, 0);
}

#[test]
fn preview_warns_if_others_can_read_the_pages() {
    let folder = shop();
    let running = RunningPreview::start(folder.path(), &["--port", "0", "--host", "0.0.0.0"]);
    assert!(
        running.address.starts_with("127.0.0.1:"),
        "{}",
        running.stdout
    );
    assert!(running.get("/").starts_with("HTTP/1.1 200 OK"));
    let (stderr, _) = running.end("-INT");
    assert_eq!(
        stderr,
        "warning: everyone on the network can read these pages\n"
    );
}

#[test]
fn preview_reports_why_it_cannot_start() {
    let folder = shop();
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let (stdout, stderr, status) = run(folder.path(), &["preview", "--port", &port]);
    assert_eq!((stdout.as_str(), status), ("", 2));
    assert!(
        stderr.contains(&format!("error: port {port} of 127.0.0.1 is taken"))
            && stderr.contains("`--port 0` for any free port"),
        "{stderr}"
    );
    let (_, stderr, status) = run(folder.path(), &["preview", "nowhere", "--port", "0"]);
    assert!(
        stderr.contains("can't open the folder `nowhere`"),
        "{stderr}"
    );
    assert_eq!(status, 2);
    // An address reserved for documentation (RFC 5737), which no machine has.
    let (_, stderr, status) = run(
        folder.path(),
        &["preview", "--host", "192.0.2.1", "--port", "0"],
    );
    assert!(stderr.contains("can't serve at 192.0.2.1:0"), "{stderr}");
    assert_eq!(status, 2);
    let (_, _, status) = run(folder.path(), &["preview", "--host", "example.org"]);
    assert_eq!(status, 2);
}

/// A shop's `shop.toml` says what a gallon is, and whether volumes are printed in both systems. Without one, an option
/// does.
#[test]
fn the_gallon_is_that_of_the_shop_or_of_the_option() {
    let folder = tempfile::tempdir().unwrap();
    let answer = |arguments: &[&str]| {
        let (stdout, stderr, status) = run(folder.path(), arguments);
        (stdout.replace('\u{a0}', " "), stderr, status)
    };
    let (_, stderr, status) = answer(&["mix", "50:1", "1 gal"]);
    assert!(stderr.contains("or here with `--gallons`"), "{stderr}");
    assert_eq!(status, 2);
    let (stdout, ..) = answer(&["mix", "50:1", "1 gal", "--gallons", "imperial"]);
    assert_eq!(
        stdout,
        "91 mL of oil (3.2 imp fl oz) for 1 imp gal of petrol\n"
    );
    let (stdout, ..) = answer(&["convert", "1 gal", "L", "--gallons", "us"]);
    assert!(stdout.starts_with("1 US gal\n= 3.79 L"), "{stdout}");

    std::fs::create_dir(folder.path().join("procedures")).unwrap();
    let shop = "name = \"Elmbrook\"\ngallons = [\"imperial\", \"us\"]\n";
    std::fs::write(folder.path().join("procedures/shop.toml"), shop).unwrap();
    let (stdout, ..) = answer(&["mix", "50:1", "1 gal"]);
    assert_eq!(
        stdout,
        "91 mL of oil (3.1 US fl oz, 3.2 imp fl oz) for 1 imp gal of petrol\n"
    );
}

/// Programs get bounds that are rounded inwards, and the exact ones as fractions.
#[test]
fn converted_bounds_for_programs_are_inside_the_exact_ones() {
    let folder = tempfile::tempdir().unwrap();
    let (stdout, ..) = run(
        folder.path(),
        &["convert", "8 to 10 N·m", "in-lb", "--json"],
    );
    let answer: serde_json::Value = serde_json::from_str(&stdout).unwrap();
    let converted = &answer["converted"][0];
    assert_eq!(
        (&converted["lower"], &converted["upper"]),
        (&"71".into(), &"88".into())
    );
    // 1 in·lbf is 0.0254 × 0.45359237 × 9.80665 N·m.
    let exact = converted["exact"]["lower"].as_str().unwrap();
    assert_eq!(exact, "80000000000000000/1129848290276167");
    let (stdout, ..) = run(folder.path(), &["convert", "20 N·m + 90°", "ft-lb"]);
    assert!(
        stdout
            .replace('\u{a0}', " ")
            .contains("= 14.8 ft·lbf + 90°"),
        "{stdout}"
    );
}
