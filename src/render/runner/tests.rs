//! Compiles PDFs with the typst of this working copy and reads their text with `pdftotext`.

use super::super::sample;
use super::*;
use crate::page::{Block, PageId, SheetKind};
use crate::render::{Paths, TypstError};
use std::path::Path;

/// The typst of this working copy. The tests fail without it: a skipped test would prove nothing.
fn typst() -> Typst {
    let variable = std::env::var_os("BENCHLEAF_TYPST");
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"));
    Typst::find(None, variable.as_deref(), folder)
        .unwrap_or_else(|error| panic!("{error}; {}", TypstError::HELP))
}

fn runner() -> TypstRunner<'static> {
    let figures = [(sample::FIGURE, sample::DRAWING.as_bytes())];
    TypstRunner::new(typst(), &Look::default(), figures.into_iter())
        .expect("the work folder can be written")
}

fn set(sheet: &Sheet) -> Vec<u8> {
    set_with(&runner(), sheet).unwrap_or_else(|error| panic!("{error}"))
}

fn set_with(runner: &TypstRunner<'_>, sheet: &Sheet) -> Result<Vec<u8>, RenderError> {
    let outputs = sample::outputs(&["en"]);
    let path = Paths::new(&outputs[0], None).path(&sheet.page);
    runner.set(sheet, Words::english(), &path, None)
}

/// The text of a PDF in content order. Without `-raw`, poppler would guess at columns.
fn text_of(pdf: &[u8]) -> String {
    let folder = tempfile::TempDir::new().expect("a temporary folder");
    let file = folder.path().join("sheet.pdf");
    fs::write(&file, pdf).expect("written");
    let output = Command::new("pdftotext")
        .args(["-raw", "-enc", "UTF-8"])
        .arg(&file)
        .arg("-")
        .output()
        .expect("pdftotext is installed (poppler-utils)");
    assert!(output.status.success());
    String::from_utf8(output.stdout).expect("pdftotext writes UTF-8")
}

/// Replaces each run of white space by a single space.
fn flat(text: &str) -> String {
    text.replace('\u{a0}', " ")
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

/// A manual of two chapters, the second with references to both.
fn manual() -> Manual {
    use crate::manual::{Chapter, ManualHead, ManualPiece};
    use crate::page::TextRun;
    let head = sample::bare(SheetKind::ShopSheet).head;
    let heading = |level, title: &str| ManualPiece::Heading {
        level,
        listed: true,
        title: title.to_owned(),
        places: vec![LinkTarget::Term(title.to_lowercase())],
    };
    let refer = |term: &str| {
        let target = LinkTarget::Term(term.to_owned());
        [
            TextRun::link(target, vec![TextRun::text(term)]),
            TextRun::Break,
        ]
    };
    let blocks = |blocks| ManualPiece::Blocks {
        level: 3,
        marked: false,
        about: None,
        blocks,
    };
    let chapter = |part: &str, pieces| Chapter {
        part: part.to_owned(),
        has_columns: false,
        outer: "Fuel".to_owned(),
        inner: "Procedures".to_owned(),
        pieces,
    };
    let notices = Block::Notices {
        notices: vec!["The maker's instructions rule.".to_owned()],
    };
    Manual {
        head: ManualHead {
            title: "Shop manual".to_owned(),
            systems: Vec::new(),
            machines: vec!["Tarn Yarrow tiller".to_owned()],
            shop: head.shop,
            language: head.language,
            paper: head.paper,
            data_note: head.data_note,
            revised: head.revised,
            mark: head.mark,
            entries: Vec::new(),
        },
        page: PageId::whole_manual(),
        chapters: vec![
            chapter("", vec![heading(1, "Far"), blocks(vec![notices])]),
            chapter(
                "Fuel",
                vec![
                    heading(1, "Near"),
                    blocks(vec![Block::Text {
                        runs: [refer("far"), refer("near")].concat(),
                    }]),
                ],
            ),
        ],
        figures: Vec::new(),
        outside: BTreeMap::new(),
    }
}

#[test]
fn reference_to_the_same_page_has_no_page_number_unless_pages_is_all() {
    let manual = manual();
    let (runner, words) = (runner(), Words::english());
    let quiet = runner.set_manual(&manual, words, "manual").expect("sound");
    let quiet = flat(&text_of(&quiet));
    assert!(
        quiet.contains("far (page 2) near") && !quiet.contains("near (page"),
        "{quiet}"
    );
    let request = TypstRequest {
        entry: "manual.typ",
        pages: "all",
        path: "manual",
        revised: None,
        language: &manual.head.language,
        pixels: 0,
        divided: false,
    };
    let input = ManualInput {
        manual: &manual,
        words: runner.words(words),
        logo: None,
        author: None,
    };
    let all = runner.compile(&request, &input).expect("sound");
    assert!(all.converged);
    let all = flat(&text_of(&all.pdf));
    assert!(all.contains("far (page 2) near (page 4)"), "{all}");
}

/// A reference to a target in another part has the name of the part in place of a page.
#[test]
fn parts_of_a_divided_manual_refer_to_each_other() {
    let mut manual = manual();
    let far = manual.chapters.remove(0);
    let near = manual.chapters.remove(0);
    let mut first = far.clone();
    first
        .pieces
        .retain(|piece| !matches!(piece, crate::manual::ManualPiece::Heading { .. }));
    let mut other = far;
    other.pieces.truncate(1);
    manual.chapters = vec![first, near, other];
    let parts = manual.in_parts(&[1..2, 2..3], Words::english());
    let texts = parts.iter().map(|part| {
        let pdf = runner().set_manual(part, Words::english(), "manual");
        flat(&text_of(&pdf.expect("sound")))
    });
    let texts: Vec<String> = texts.collect();
    assert!(
        texts[0].contains("Shop manual, part 1 of 2"),
        "{}",
        texts[0]
    );
    assert!(texts[0].contains("far (part 2) near"), "{}", texts[0]);
    assert!(
        texts[1].contains("Shop manual, part 2 of 2"),
        "{}",
        texts[1]
    );
    for text in texts {
        assert!(text.contains("The maker's instructions rule."), "{text}");
    }
}

/// The template moves a label to the other page each time it queries the label's position, so the layout
/// never converges.
#[test]
fn layout_that_does_not_converge_is_an_error() {
    let runner = runner();
    let never = "#set document(title: [Never])\n\
        #context { let at = query(<leap>); \
        if at.len() > 0 and at.first().location().page() == 1 { pagebreak() } }\n\
        Here #metadata(none)<leap>";
    fs::write(runner.folder.path().join("manual.typ"), never).expect("written");
    let result = runner
        .set_manual(&manual(), Words::english(), "manual")
        .map(|_| ());
    let message = result.expect_err("it does not converge").to_string();
    assert!(message.contains(NOT_CONVERGED), "{message}");
}

/// A runner whose typst is a shell script.
#[cfg(unix)]
fn runner_of(script: &str) -> (tempfile::TempDir, TypstRunner<'static>) {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::TempDir::new().expect("a temporary folder");
    let path = folder.path().join("typst");
    let script = format!(
        "#!/bin/sh\nif [ \"$1\" = --version ]; then echo 'typst 0.15.1'; exit; fi\n{script}\n"
    );
    fs::write(&path, script).expect("written");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o755)).expect("set");
    let typst = Typst::find(Some(&path), None, folder.path()).expect("it gives its version");
    let runner = TypstRunner::new(typst, &Look::default(), std::iter::empty());
    (folder, runner.expect("the work folder can be written"))
}

#[cfg(all(unix, target_os = "linux"))]
#[test]
fn process_that_takes_too_much_memory_is_ended_and_named() {
    // It makes a text of 128 MiB by doubling a shorter one.
    let (_folder, runner) = runner_of(
        "exec awk 'BEGIN { text = \"x\"; while (length(text) < 100000000) text = text text }'",
    );
    for (memory, is_enough) in [(100 << 20, false), (2 << 30, true)] {
        let mut command = Command::new(runner.typst.path());
        let limits = Limits {
            memory,
            time: std::time::Duration::from_mins(1),
        };
        let output = runner.run(&mut command, limits).expect("it starts");
        let output = output.expect("it ends by itself");
        assert_eq!(output.status.success(), is_enough, "{memory}: {output:?}");
    }
}

#[cfg(unix)]
#[test]
fn process_that_takes_too_long_is_ended() {
    let (_folder, runner) = runner_of("exec sleep 600");
    let mut command = Command::new(runner.typst.path());
    let limits = Limits {
        memory: 1 << 30,
        time: std::time::Duration::from_millis(200),
    };
    let output = runner.run(&mut command, limits).expect("it starts");
    assert!(output.is_none());
}

#[cfg(unix)]
#[test]
fn sheet_over_a_limit_is_named_with_the_limit() {
    let (_folder, runner) =
        runner_of("echo 'memory allocation of 9 bytes failed' >&2; kill -ABRT $$");
    let sheet = sample::bare(SheetKind::ShopSheet);
    let message = set_with(&runner, &sheet).expect_err("it fails").to_string();
    let limit = message
        .split_once("is too large for a PDF: typst needs more than ")
        .and_then(|(_, rest)| rest.strip_suffix(" MiB of memory")?.parse::<u64>().ok());
    // 768 MiB, and 8 KiB for each byte of a small sheet.
    let is_right = limit.is_some_and(|limit| (769..1280).contains(&limit));
    assert!(is_right, "{message}");
}

/// The typst of this working copy, with less memory than it needs.
#[cfg(target_os = "linux")]
#[test]
fn typst_without_memory_is_over_a_limit() {
    let runner = runner();
    let mut command = Command::new(runner.typst.path());
    fs::write(
        runner.folder.path().join("main.typ"),
        "#let grow(text) = grow(text + text)\n#grow(\"benchleaf\")",
    )
    .expect("written");
    command
        .arg("compile")
        .arg(runner.folder.path().join("main.typ"))
        .arg("-");
    command.arg("--format").arg("pdf");
    let limits = Limits {
        memory: 400 << 20,
        time: std::time::Duration::from_mins(1),
    };
    let output = runner.run(&mut command, limits).expect("it starts");
    let output = output.expect("it ends by itself");
    let messages = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(is_out_of_memory(&output, &messages), "{messages}");
}

#[test]
fn runner_gives_the_same_pdf_on_several_threads() {
    let runner = runner();
    let sheet = sample::bare(SheetKind::ShopSheet);
    let pdfs: Vec<Vec<u8>> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..4)
            .map(|_| scope.spawn(|| set_with(&runner, &sheet).expect("sound")))
            .collect();
        threads
            .into_iter()
            .map(|thread| thread.join().expect("no panic"))
            .collect()
    });
    assert!(pdfs.windows(2).all(|pair| pair[0] == pair[1]));
}

#[test]
fn both_kinds_of_sheet_compile() {
    for sheet in [sample::shop_sheet(), sample::checklist()] {
        assert!(set(&sheet).starts_with(b"%PDF-"));
    }
}

/// Printed pages can get separated, so each one must identify its sheet.
#[test]
fn every_page_identifies_its_sheet() {
    for sheet in [sample::shop_sheet(), sample::checklist()] {
        let text = text_of(&set(&sheet));
        let pages: Vec<&str> = text.trim_end_matches('\u{c}').split('\u{c}').collect();
        for (index, page) in pages.iter().enumerate() {
            let page = flat(page);
            for expected in [
                "Invented data for demonstration; not for use on any machine",
                "Tarn Yarrow tiller · Governor linkage: free and reset",
                "Revision 2, 2026-10-02 · mark 7f3a9c21",
                &format!("Page {} of {}", index + 1, pages.len()),
            ] {
                assert!(
                    page.contains(expected),
                    "{expected} is not on page {}",
                    index + 1
                );
            }
        }
    }
}

#[test]
fn checklist_of_22_steps_fits_on_a_page() {
    let text = text_of(&set(&sample::checklist()));
    let pages: Vec<&str> = text.split_terminator('\u{c}').collect();
    assert_eq!(pages.len(), 1, "{}", pages[pages.len() - 1]);
}

#[test]
fn text_of_steps_values_and_messages_is_in_order() {
    for sheet in [sample::shop_sheet(), sample::checklist()] {
        let expected = [
            "3 Close the fuel tap.",
            "see step 16. inner hole outer hole",
            "CAUTION The governor spring flies off. It can hit an eye.",
            "NOTICE The governor lever bends easily.",
            "6 Unhook the governor spring.",
            "13 Start both manifold nuts by hand",
            "5 N·m ± 1 N·m [(44 ± 8) lbf·in] · 10 mm hex",
            "9 N·m ± 1 N·m [(80 ± 8) lbf·in] · 10 mm hex · dry · crosswise",
            "17 Tighten the lever nut.",
            "5 N·m to 6 N·m unverified",
            "STOP Second mechanic must sign before work continues",
            "WARNING The tines turn as soon as the engine runs in gear.",
            "21 Run the engine to working heat.",
            "limits 3100 rpm ± 100 rpm",
            "Over: Turn the speed screw out",
        ];
        let text = flat(&text_of(&set(&sheet)));
        let mut start = 0;
        for part in expected {
            let offset = text[start..].find(part);
            assert!(
                offset.is_some(),
                "{part:?} is missing or too early in {text}"
            );
            start += offset.unwrap_or_default();
        }
    }
}

#[test]
fn long_and_empty_sheets_compile() {
    for kind in SheetKind::ALL {
        set(&sample::long(kind));
        set(&sample::bare(kind));
    }
}

/// The end of an unbreakable row that is higher than a page would be below the edge of the paper.
#[test]
fn a_row_higher_than_a_page_is_set_in_full() {
    use crate::page::{Cell, Column, Table};
    let column = |title: &str, share| Column {
        title: title.to_owned(),
        share,
    };
    let words: Vec<String> = (0..900).map(|number| format!("w{number}")).collect();
    for cell in [Cell::text(words.join(" ")), Cell::name(words.join(" "))] {
        let mut sheet = sample::bare(SheetKind::MachineData);
        sheet.blocks.push(Block::Table(Table {
            caption: "Parts".to_owned(),
            columns: vec![column("Part", 2), column("Remarks", 1)],
            rows: vec![vec![Cell::name("short"), cell]],
        }));
        let text = flat(&text_of(&set(&sheet)));
        let set: std::collections::BTreeSet<&str> = text.split(' ').collect();
        let lost = words.iter().filter(|word| !set.contains(word.as_str()));
        assert_eq!(lost.collect::<Vec<_>>(), [""; 0]);
    }
}

/// The lines of a PDF whose sheet has one table with these columns, each a title, a share and a cell.
fn lines_of_table(columns: Vec<(&str, u8, crate::page::Cell)>) -> Vec<String> {
    use crate::page::{Column, Table};
    let mut sheet = sample::bare(SheetKind::MachineData);
    let heads = columns.iter().map(|(title, share, _)| Column {
        title: (*title).to_owned(),
        share: *share,
    });
    sheet.blocks.push(Block::Table(Table {
        caption: "Torques".to_owned(),
        columns: heads.collect(),
        rows: vec![columns.into_iter().map(|(_, _, cell)| cell).collect()],
    }));
    let text = text_of(&set(&sheet)).replace('\u{a0}', " ");
    let lines = text.lines().map(|line| line.trim().to_owned());
    lines.filter(|line| !line.is_empty()).collect()
}

/// A value that could not break would cover the next column.
#[test]
fn a_value_breaks_between_its_parts_only_where_the_table_has_no_space_for_it() {
    use crate::page::{Cell, Value};
    let value = || Cell::Value {
        value: Value {
            first: "15.82 N·m (14.24 to 17.39)".to_owned(),
            second: Some("140 in·lbf ± 14 in·lbf".to_owned()),
            unverified: false,
            bare: None,
        },
    };
    let lines = lines_of_table(vec![
        ("Torque", 1, value()),
        ("Tool", 19, Cell::text("wrench")),
    ]);
    for whole in ["15.82 N·m (14.24 to 17.39)", "[140 in·lbf ± 14 in·lbf]"] {
        assert!(
            lines.iter().any(|line| line.contains(whole)),
            "{whole}: {lines:#?}"
        );
    }
    let titles = ["First", "Second", "Third", "Fourth", "Fifth"];
    let lines = lines_of_table(titles.map(|title| (title, 1, value())).into());
    for piece in ["15.82 N·m", "(14.24 to 17.39)"] {
        let count = lines.concat().matches(piece).count();
        assert_eq!(count, titles.len(), "{piece}: {lines:#?}");
    }
}

/// A name must be read as it is written elsewhere, so a narrow column becomes wider for it.
#[test]
fn no_word_of_a_table_is_hyphenated() {
    use crate::page::Cell;
    let names = "carburettor insulator left-hand electromagnetically";
    let lines = lines_of_table(vec![
        ("Part", 1, Cell::name(names)),
        ("Spanner", 1, Cell::text("hex 20.8\u{a0}mm")),
        (
            "Remarks",
            18,
            Cell::text("from the workshop's stock of parts ".repeat(9)),
        ),
    ]);
    let flat: Vec<String> = lines
        .iter()
        .map(|line| line.replace('\u{2060}', ""))
        .collect();
    for word in names.split(' ').chain(["hex 20.8 mm"]) {
        assert!(
            flat.iter().any(|line| line.contains(word)),
            "{word}: {flat:#?}"
        );
    }
    // What no column can hold breaks at its hyphens, and otherwise anywhere.
    for long in ["TARN-YARROW-".repeat(12), "X".repeat(150)] {
        let lines = lines_of_table(vec![
            ("Part", 1, Cell::name(long.as_str())),
            ("Remarks", 9, Cell::text("none")),
        ]);
        assert!(!lines.iter().any(|line| line.contains(&long)), "{lines:#?}");
        let set: String = lines.concat();
        assert_eq!(set.matches("none").count(), 1);
        let letters = |text: &str| {
            text.chars()
                .filter(|letter| *letter == 'R' || *letter == 'X')
                .count()
        };
        assert!(letters(&set) >= letters(&long), "{lines:#?}");
    }
}

#[test]
fn typst_markup_in_text_is_set_verbatim() {
    let hostile = "#panic() [*_$x$_*] `raw` \\u{41} <a> @b // = - + / \"q\" 'q' -- ~ ...";
    let text = text_of(&set(&sample::with_every_text(hostile)));
    assert!(flat(&text).contains(hostile), "{text}");
}

#[test]
fn same_sheet_gives_the_same_bytes_from_any_runner() {
    let sheet = sample::shop_sheet();
    let runner = runner();
    let first = set_with(&runner, &sheet).expect("sound");
    assert!(
        first == set_with(&runner, &sheet).expect("sound"),
        "the same runner gave different bytes"
    );
    assert!(first == set(&sheet), "another runner gave different bytes");
}

#[test]
fn error_for_missing_figure_names_sheet_and_file() {
    let runner = TypstRunner::new(typst(), &Look::default(), std::iter::empty())
        .expect("the work folder can be written");
    let error = set_with(&runner, &sample::shop_sheet()).expect_err("no figure");
    let message = error.to_string();
    assert!(
        message.contains("tarn-yarrow/governor-linkage-shop-sheet"),
        "{message}"
    );
    assert!(message.contains("governor/linkage.svg"), "{message}");
}

#[test]
fn error_names_characters_without_glyph_once() {
    let mut sheet = sample::shop_sheet();
    sheet.head.machine = Some("Tarn 耕".to_owned());
    "Tarn 耕".clone_into(&mut sheet.head.title);
    let error = set_with(&runner(), &sheet).expect_err("the fonts have no such letter");
    assert_eq!(
        error.to_string(),
        "the sheet `tarn-yarrow/governor-linkage-shop-sheet` has letters that the PDF's fonts \
         lack: `耕`"
    );
}

#[test]
fn control_characters_and_empty_texts_compile() {
    set(&sample::with_every_text("a\u{7}b\tc\nd\u{7f}"));
    let mut sheet = sample::with_every_text("");
    // PDF/UA requires a title, and a sheet always has one.
    "Governor".clone_into(&mut sheet.head.title);
    set(&sheet);
}

#[test]
fn link_without_target_is_plain_text() {
    let mut sheet = sample::shop_sheet();
    // Removes step 16, which step 5 links to.
    sheet
        .blocks
        .retain(|block| !matches!(block, Block::Section(section) if section.title == "Put back"));
    set(&sheet);
}

#[test]
fn figure_path_outside_the_work_folder_is_an_error() {
    for path in ["../x.svg", "/x.svg", "figures/../../x.svg", ""] {
        let figures = [(path, b"".as_slice())];
        let error = TypstRunner::new(typst(), &Look::default(), figures.into_iter())
            .expect_err("the path leaves the folder");
        assert!(matches!(error, RenderError::FigurePath { .. }), "{path}");
    }
}

#[test]
fn date_is_converted_to_unix_time_of_its_midnight() {
    assert_eq!(midnight("1970-01-01"), Some(0));
    assert_eq!(midnight("2000-02-29"), Some(951_782_400));
    assert_eq!(midnight("2026-10-02"), Some(1_790_899_200));
    for text in [
        "",
        "2026",
        "2026-13-01",
        "2026-00-10",
        "yesterday",
        "2026-10-02T00:00",
    ] {
        assert_eq!(midnight(text), None, "{text}");
    }
}

/// The check accepts these characters, so the typesetter may refuse none, in any style, alone or after a letter.
#[test]
fn every_accepted_character_can_be_set() {
    use crate::page::TextRun;
    use crate::tree::{has_glyph, invisible, without_glyph};
    let accepted = (0x20..0x2_0000).filter_map(char::from_u32);
    let accepted =
        accepted.filter(|letter| has_glyph(*letter) && invisible(&letter.to_string()).is_none());
    let accepted: Vec<char> = accepted.collect();
    let with_letter = |letter: char| {
        let text = format!("a{letter}");
        if without_glyph(&text).is_empty() {
            text
        } else {
            String::new()
        }
    };
    assert!(accepted.len() > 5_000, "{}", accepted.len());
    let texts = accepted.chunks(40).map(|letters| {
        let letters = letters.iter();
        letters
            .map(|letter| format!("{letter} {} ", with_letter(*letter)))
            .collect::<Vec<_>>()
            .concat()
    });
    let mut sheet = sample::bare(SheetKind::ShopSheet);
    let blocks = texts.map(|text| Block::Text {
        runs: vec![
            TextRun::text(text.clone()),
            TextRun::Strong {
                runs: vec![TextRun::text(text.clone())],
            },
            TextRun::Emphasis {
                runs: vec![TextRun::text(text.clone())],
            },
            TextRun::Code { text },
        ],
    });
    sheet.blocks.extend(blocks);
    set(&sheet);
}
