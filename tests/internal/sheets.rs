//! Snapshots of the sheets of a small job: as data, as an HTML page and as the text of the PDF.

use super::support::{files, root, tree, typst};
use super::{Quiet, plain};
use crate::check_jobs;
use crate::output::OutputSettings;
use crate::page::{Block, Cell, Edition, JobId, OutputContext, PageId, Sheet, SheetKind};
use crate::publish::{Outlet, Pdfs, Selection, publish};
use crate::render::{Html, Look, Paths, Typst};
use crate::sheet::{self, Summary};
use crate::shop::Shop;
use crate::site::{Here, Link, Nav};
use crate::tree::{Disk, Memory};
use crate::words::Words;
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

/// The only job of the tree `hand-pump`.
fn job() -> JobId {
    JobId::new("hand-pump", "cover")
}

/// A sheet of the job, with the context of a run that also generates the pages it links to.
fn sheet(kind: SheetKind) -> (Sheet, OutputContext) {
    sheet_in(kind, Edition::first)
}

/// As [`sheet`], in another edition.
fn sheet_in(kind: SheetKind, edition: impl Fn(&Shop) -> Edition) -> (Sheet, OutputContext) {
    let sources = crate::read(&Disk::open(&tree("hand-pump")).unwrap());
    let checked = crate::check_all(&sources);
    let [rehearsed] = checked.jobs.as_slice() else {
        panic!("the tree has one job");
    };
    let edition = edition(&sources.shop);
    let sheets = SheetKind::OF_JOB.map(|kind| PageId::JobSheet(kind, job()));
    let linked = [PageId::Front, PageId::Machine(job().machine)];
    let pages: BTreeSet<PageId> = sheets.into_iter().chain(linked).collect();
    let output = OutputContext::new(&sources.tree, &edition, pages);
    let sheet = sheet::sheet_of_kind(kind, &rehearsed.job, &rehearsed.rehearsal, &output).unwrap();
    (sheet, output)
}

#[test]
fn sheets_as_data() {
    for kind in SheetKind::OF_JOB {
        let data = serde_json::to_string_pretty(&sheet(kind).0).unwrap();
        insta::assert_snapshot!(format!("data-{}", kind.name()), data);
    }
}

/// Removes the digests from the names of the shared files. They change with every change of the styles, which do not
/// concern the page.
fn without_digests(page: &str) -> String {
    let mut text = String::new();
    let mut rest = page;
    while let Some((before, after)) = rest.split_once("site/") {
        let (name, end) = after.split_once('-').unwrap_or((after, ""));
        text += &[before, "site/", name, "-…"].concat();
        rest = end.get(8..).unwrap_or_default();
    }
    text + rest
}

/// The navigation of a sheet in a full output.
fn nav(kind: SheetKind) -> Nav {
    let machine = Link::to_page("Tarn Rush hand pump", PageId::Machine(job().machine));
    Nav {
        home: Some(Link::to_page("Front page", PageId::Front)),
        here: (kind == SheetKind::ShopSheet).then(|| Here {
            title: machine.clone(),
            machine,
        }),
        ..Nav::default()
    }
}

#[test]
fn sheets_as_html_pages() {
    let html = Html::new(&Look::default(), None, Words::english()).unwrap();
    for kind in SheetKind::OF_JOB {
        let (sheet, output) = sheet(kind);
        let (paths, nav) = (Paths::new(&output, None), nav(kind));
        let addresses = Html::addresses_of_sheet(paths, &sheet, &nav, &|_| true);
        let page = html.sheet(&sheet, &nav, &addresses).unwrap();
        insta::assert_snapshot!(format!("page-{}", kind.name()), without_digests(&page));
    }
}

/// The words are made here from the English file, for a language that the code does not know.
#[test]
fn a_sheet_in_a_language_unknown_to_the_code() {
    let english = std::fs::read_to_string(root().join("templates/words/en-GB.toml")).unwrap();
    let replaced = [
        ("decimal-mark = \".\"", "decimal-mark = \",\""),
        (
            "\nrange = \"{lower} to {upper}\"",
            "\nrange = \"fra {lower} til {upper}\"",
        ),
        (
            "\nkind-shop-sheet = \"Shop sheet\"",
            "\nkind-shop-sheet = \"Arkark\"",
        ),
        (
            "\nstep = \"step\u{a0}{number}\"",
            "\nstep = \"trinn\u{a0}{number}\"",
        ),
    ];
    let text = replaced.iter().fold(english, |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replace(from, to)
    });
    let words = Words::from_toml("xx", &text).unwrap();
    let kind = SheetKind::ShopSheet;
    let (sheet, output) = sheet_in(kind, |_| Edition {
        language: "xx".to_owned(),
        words: words.clone(),
    });
    let html = Html::new(&Look::default(), None, &words).unwrap();
    let (paths, nav) = (Paths::new(&output, None), nav(kind));
    let addresses = Html::addresses_of_sheet(paths, &sheet, &nav, &|_| true);
    let page = html.sheet(&sheet, &nav, &addresses).unwrap();
    assert!(page.contains("<html lang=\"xx\">") && page.contains("Arkark"));
    let data = serde_json::to_string(&sheet).unwrap();
    assert!(data.contains("trinn\u{a0}"), "{data}");
    assert!(data.contains("4,72\u{a0}in (fra 4,65 til 4,80)"), "{data}");
}

#[test]
fn sheets_as_text_of_the_pdf() {
    let sources = crate::read(&Disk::open(&tree("hand-pump")).unwrap());
    let checked = check_jobs(&sources, None, |rehearsed| {
        Some(Summary::of(&rehearsed.job))
    });
    let folder = tempfile::tempdir().unwrap();
    let typst = Typst::find(Some(&typst()), None, &root()).unwrap();
    let outlet = Outlet {
        look: &Look::default(),
        pdfs: &Pdfs::With(typst),
        folder: folder.path(),
        settings: OutputSettings::TEMPORARY,
        world: None,
        progress: &Quiet,
    };
    publish(&sources, &checked, &Selection::default(), outlet).unwrap();
    for kind in SheetKind::OF_JOB {
        let path = format!("hand-pump/cover-{}.pdf", kind.name());
        let output = Command::new("pdftotext")
            .args(["-layout", "-enc", "UTF-8"])
            .arg(folder.path().join(path))
            .arg("-")
            .output()
            .expect("pdftotext is installed: see `cargo xtask test`");
        assert!(output.status.success());
        let text = String::from_utf8(output.stdout).unwrap();
        insta::assert_snapshot!(format!("pdf-{}", kind.name()), text);
    }
}

/// The paragraphs of each step on a sheet, with the step's text first.
fn paragraphs(blocks: &[Block]) -> Vec<Vec<String>> {
    let mut steps = Vec::new();
    for block in blocks {
        match block {
            Block::Section(section) => steps.extend(paragraphs(&section.blocks)),
            Block::Steps { steps: listed } => steps.extend(listed.iter().map(|step| {
                let content = &step.content;
                let runs = std::iter::once(&content.text).chain(&content.notes);
                runs.map(|runs| plain(runs, " ")).collect::<Vec<_>>()
            })),
            _ => {}
        }
    }
    steps
}

/// The texts of all cells of tables.
fn table_texts(blocks: &[Block]) -> Vec<String> {
    let texts = blocks.iter().flat_map(|block| match block {
        Block::Section(section) => table_texts(&section.blocks),
        Block::Table(table) => {
            let cells = table.rows.iter().flatten();
            let texts = cells.filter_map(|cell| match cell {
                Cell::Text { runs } => Some(plain(runs, " ")),
                Cell::Place { text, .. } => Some(text.clone()),
                _ => None,
            });
            texts.collect()
        }
        _ => Vec::new(),
    });
    texts.collect()
}

/// Asserts that the checklist of each job has every paragraph and point of every step of the shop sheet, and returns the
/// paragraphs.
fn assert_checklists_have_all_paragraphs(sources: &crate::Sources) -> Vec<String> {
    let checked = crate::check_all(sources);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    let mut all = Vec::new();
    for rehearsed in &checked.jobs {
        let [full, checklist] = [SheetKind::ShopSheet, SheetKind::BenchChecklist].map(|kind| {
            let (job, rehearsal) = (&rehearsed.job, &rehearsed.rehearsal);
            paragraphs(
                &sheet::sheet_of_kind(kind, job, rehearsal, &output)
                    .unwrap()
                    .blocks,
            )
        });
        // The shop sheet says in words who must sign, and the checklist has a space to sign in.
        let is_signed = |text: &String| text.ends_with("must sign before work continues");
        let texts = |steps: Vec<Vec<String>>| -> Vec<String> {
            let texts = steps.into_iter().flatten();
            texts.filter(|text| !is_signed(text)).collect()
        };
        let (full, mut checklist) = (texts(full), texts(checklist));
        // The shop sheet has the items of an inspection as a table.
        if rehearsed.job.procedure.inspections().next().is_some() {
            let (job, rehearsal) = (&rehearsed.job, &rehearsed.rehearsal);
            let kind = SheetKind::ShopSheet;
            let sheet = sheet::sheet_of_kind(kind, job, rehearsal, &output).unwrap();
            let tables = table_texts(&sheet.blocks);
            let items = checklist.len();
            checklist.retain(|text| {
                if full.contains(text) {
                    return true;
                }
                let text = text.strip_prefix("Not ready if: ").unwrap_or(text);
                !tables.iter().any(|cell| cell.contains(text))
            });
            assert!(checklist.len() + 4 < items, "{tables:?}");
        }
        assert_eq!(checklist, full, "{}", rehearsed.job.procedure.id);
        all.extend(checklist);
    }
    all
}

#[test]
fn a_checklist_has_every_paragraph_of_every_step() {
    let demo = crate::read(&Disk::open(&root().join("procedures")).unwrap());
    let texts = assert_checklists_have_all_paragraphs(&demo);
    assert!(texts.len() > 1000, "{}", texts.len());

    let mut world: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    let written = [
        "Scrap the pump if the bore is scored.",
        "Go: the rod moves freely.",
        "No-go: it binds.",
        "It binds at the top: as in Cover: clean.",
        "Then look again.",
    ];
    let step = "1. [](inspect:cover) ![the cover](../figures/cover.svg)\n\n   \
                Scrap the pump if the bore is scored.\n\n   - Go: the rod moves freely.\n   - No-go: it binds.\n     \
                - It binds at the top: as in [Cover: clean](see:procedure/cover).\n\n   Then look again.\n";
    let front =
        "+++\ntitle = \"Look\"\nmachines = [\"hand-pump\"]\n+++\nGrit wears it.\n\n## Look\n\n";
    let figure = br#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 8 8"/>"#;
    world.insert(
        "air/look.md".to_owned(),
        [front, step].concat().into_bytes(),
    );
    world.insert("figures/cover.svg".to_owned(), figure.to_vec());
    let texts = assert_checklists_have_all_paragraphs(&crate::read(&Memory::new(world)));
    for text in written {
        assert!(texts.iter().any(|found| found == text), "{text}: {texts:?}");
    }
}
