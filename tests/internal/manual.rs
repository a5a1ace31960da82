//! The bound manual of the demonstration shop, read back from its PDF by other
//! programs: its structure, its bookmarks, and every page number in it,
//! compared with where the text that it leads to really stands.

use super::Quiet;
use super::support::{root, typst};
use crate::manual::{Chapter, IndexLine, Manual, ManualPiece};
use crate::page::{Block, Cell, Edition, LinkTarget, OutputContext, SheetSection, TextRun};
use crate::publish::manual::{Scope, bind, manual_of};
use crate::publish::{Outlet, Pdfs};
use crate::render::Paths;
use crate::render::{Look, Typst};
use crate::tree::{Disk, Memory};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

fn run(program: &str, arguments: &[&str], file: &Path) -> String {
    let output = Command::new(program)
        .args(arguments)
        .arg(file)
        .output()
        .unwrap_or_else(|why| panic!("`cargo xtask test` sees to {program}: {why}"));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// Text without white space, hyphens and word joiners, which line ends and leaders change.
fn squeezed(text: &str) -> String {
    let dropped =
        |letter: &char| letter.is_whitespace() || matches!(letter, '-' | '\u{ad}' | '\u{2060}');
    text.chars().filter(|letter| !dropped(letter)).collect()
}

/// Where a manual is in the output, without an ending.
fn path(scope: &Scope) -> String {
    let sources = crate::read(&Memory::new([("shop.toml", "name = \"A shop\"")]));
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    Paths::new(&output, None).path(&scope.page())
}

/// Makes a manual of the demonstration shop.
fn bound(scope: &Scope, folder: &Path) -> PathBuf {
    let sources = crate::read(&Disk::open(&root().join("procedures")).unwrap());
    let checked = crate::check_all(&sources);
    let outlet = Outlet {
        look: &Look::default(),
        pdfs: &Pdfs::With(Typst::find(Some(&typst()), None, &root()).unwrap()),
        folder,
        progress: &Quiet,
    };
    let bound = bind(&sources, &checked, scope, outlet).unwrap();
    assert!(bound.findings.is_empty());
    let pdf = folder.join(path(scope) + ".pdf");
    assert!(pdf.is_file());
    pdf
}

fn whole_shop() -> &'static Path {
    static MADE: OnceLock<(tempfile::TempDir, PathBuf)> = OnceLock::new();
    let (_, pdf) = MADE.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let pdf = bound(&Scope::default(), folder.path());
        (folder, pdf)
    });
    pdf
}

/// What the manual of a scope has to say.
fn data(scope: &Scope) -> Manual {
    let sources = crate::read(&Disk::open(&root().join("procedures")).unwrap());
    let checked = crate::check_all(&sources);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    manual_of(&sources, &checked, scope, &output).unwrap()
}

/// A page as other programs read it.
struct Page {
    /// The running head, squeezed.
    head: String,
    /// The text between head and foot, squeezed.
    body: String,
    /// What is set bold and large on it, squeezed: headings, and the numbers of steps.
    large: String,
}

fn pages(pdf: &Path) -> Vec<Page> {
    let cropped = |top: &str, height: &str| -> Vec<String> {
        let area = [
            "-raw", "-enc", "UTF-8", "-x", "0", "-y", top, "-W", "620", "-H", height,
        ];
        let output = Command::new("pdftotext")
            .args(area)
            .arg(pdf)
            .arg("-")
            .output()
            .unwrap();
        let text = String::from_utf8(output.stdout).unwrap();
        text.split_terminator('\u{c}').map(squeezed).collect()
    };
    let (heads, bodies) = (cropped("0", "48"), cropped("48", "750"));
    let structured = run("mutool", &["draw", "-q", "-F", "stext"], pdf);
    let large: Vec<String> = structured.split("<page ").skip(1).map(large_text).collect();
    assert!(heads.len() == bodies.len() && bodies.len() == large.len());
    let all = heads.into_iter().zip(bodies).zip(large);
    all.map(|((head, body), large)| Page { head, body, large })
        .collect()
}

/// The bold text of headings' sizes on a page, as `mutool` gives its structure.
fn large_text(page: &str) -> String {
    let mut text = String::new();
    for font in page.split("<font ").skip(1) {
        let attribute = |name: &str, of: &str| {
            let (_, rest) = of.split_once(&format!(" {name}=\""))?;
            Some(rest.split_once('"')?.0.to_owned())
        };
        let font = format!(" {font}");
        let size: f64 = attribute("size", &font).unwrap().parse().unwrap();
        if size < 11.4 || !attribute("name", &font).unwrap().contains("Bold") {
            continue;
        }
        for letter in font.split("<char ").skip(1) {
            let letter = attribute("c", &format!(" {letter}")).unwrap();
            text.push_str(
                &letter
                    .replace("&amp;", "&")
                    .replace("&apos;", "'")
                    .replace("&quot;", "\""),
            );
        }
    }
    squeezed(&text)
}

fn plain(runs: &[TextRun]) -> String {
    let texts = runs.iter().map(|run| match run {
        TextRun::Text { text } | TextRun::Code { text } => text.clone(),
        TextRun::PageNumber { .. } => String::new(),
        TextRun::Strong { runs } | TextRun::Emphasis { runs } => plain(runs),
        TextRun::Link { runs, name, .. } => {
            let name = name.as_ref().map(|name| format!(" ({name})"));
            plain(runs) + &name.unwrap_or_default()
        }
        TextRun::Break => " ".to_owned(),
    });
    texts.collect()
}

/// A manual beside the pages that were read of it.
struct Read<'m> {
    manual: &'m Manual,
    pages: Vec<Page>,
    /// The pages of each chapter, from 1.
    chapters: Vec<Vec<usize>>,
    /// Where the text of each place and each heading really is.
    places: BTreeMap<String, usize>,
}

/// A heading's own name, whether anything leads to it or not: by its chapter and its piece.
fn heading(chapter: usize, piece: usize) -> String {
    format!("heading {chapter} {piece}")
}

/// The text of each place of a chapter, to be looked for; a heading is looked for among large letters
/// only.
fn marked(at: usize, chapter: &Chapter) -> Vec<(String, bool, String)> {
    let mut found = Vec::new();
    for (piece_at, piece) in chapter.pieces.iter().enumerate() {
        match piece {
            ManualPiece::Heading { title, places, .. } => {
                let title = squeezed(title);
                let names = places.iter().map(LinkTarget::to_string);
                let names = names.chain([heading(at, piece_at)]);
                found.extend(names.map(|name| (name, true, title.clone())));
            }
            ManualPiece::Blocks {
                about: Some(about),
                blocks,
                ..
            } => marked_blocks(about, blocks, &mut found),
            ManualPiece::Message { place, message, .. } => {
                found.push((place.to_string(), false, squeezed(&message.hazard)));
            }
            ManualPiece::Elsewhere {
                place,
                steps,
                title,
                ..
            } => {
                let text = squeezed(&format!("{steps}{title}"));
                found.push((place.to_string(), false, text));
            }
            _ => {}
        }
    }
    found
}

fn marked_blocks(about: &LinkTarget, blocks: &[Block], found: &mut Vec<(String, bool, String)>) {
    for block in blocks {
        match block {
            Block::Section(section) => {
                let place = about.clone().section(section.id.clone());
                found.push((place.to_string(), true, squeezed(&section.title)));
                found.extend(marked_rows(about, section));
                marked_blocks(about, &section.blocks, found);
            }
            Block::Steps { steps } => found.extend(steps.iter().map(|step| {
                let text = format!("{}{}", step.number, first_text(&step.content.text));
                let LinkTarget::Job(job) = about else {
                    panic!("steps are of a job");
                };
                let place = LinkTarget::Step {
                    job: job.clone(),
                    step: step.number,
                };
                (place.to_string(), false, squeezed(&text))
            })),
            _ => {}
        }
    }
}

/// Whether the page of a place is printed for a run.
fn names_page(run: &TextRun) -> bool {
    match run {
        TextRun::Link { target, .. } => !matches!(target, LinkTarget::Web(_)),
        TextRun::PageNumber { .. } => true,
        _ => false,
    }
}

/// The text up to the first reference: behind that a page may be named or not.
fn first_text(runs: &[TextRun]) -> String {
    let mut text = String::new();
    for run in runs {
        match run {
            TextRun::Link { runs, .. } if names_page(run) => {
                text.push_str(&plain(runs));
                break;
            }
            _ => text.push_str(&plain(std::slice::from_ref(run))),
        }
    }
    text
}

fn marked_rows(about: &LinkTarget, section: &SheetSection) -> Vec<(String, bool, String)> {
    let tables = section.blocks.iter().filter_map(|block| match block {
        Block::Table(table) => Some(&table.rows),
        _ => None,
    });
    let rows = (1..).zip(tables.flatten()).map(|(number, row)| {
        let mut text = String::new();
        for cell in row {
            match cell {
                Cell::Name { text: name, .. } => text.push_str(name),
                Cell::Value { value } => text.push_str(&value.first),
                Cell::Text { runs } => {
                    text.push_str(&first_text(runs));
                    if runs.iter().any(names_page) {
                        break;
                    }
                }
                _ => break,
            }
            // The second unit stands behind the first.
            if matches!(cell, Cell::Value { .. }) {
                break;
            }
        }
        let place = about.clone().row(section.id.clone(), number);
        (place.to_string(), false, squeezed(&text))
    });
    rows.collect()
}

impl<'m> Read<'m> {
    fn new(manual: &'m Manual, pdf: &Path) -> Read<'m> {
        let pages = pages(pdf);
        // A chapter's pages carry its running head, on the right or on the left.
        let mut chapters: Vec<Vec<usize>> = vec![vec![2]];
        let is_of = |chapter: &Chapter, page: &Page| {
            let (outer, inner) = (squeezed(&chapter.outer), squeezed(&chapter.inner));
            page.head == format!("{outer}{inner}") || page.head == format!("{inner}{outer}")
        };
        let mut at = 3;
        let second = &manual.chapters[1];
        while !is_of(second, &pages[at - 1]) {
            assert!(pages[at - 1].head.contains("Contents"), "page {at}");
            at += 1;
        }
        for chapter in &manual.chapters[1..] {
            let mut own = Vec::new();
            while at <= pages.len() && is_of(chapter, &pages[at - 1]) {
                own.push(at);
                at += 1;
            }
            assert!(
                !own.is_empty(),
                "{} · {} has no page",
                chapter.outer,
                chapter.inner
            );
            chapters.push(own);
        }
        assert_eq!(at, pages.len() + 1, "every page is of a chapter");
        let mut places = BTreeMap::new();
        for (at, (chapter, own)) in manual.chapters.iter().zip(&chapters).enumerate() {
            for (anchor, is_heading, text) in marked(at, chapter) {
                let stands = |page: &&usize| {
                    let page = &pages[**page - 1];
                    let among = if is_heading { &page.large } else { &page.body };
                    among.contains(&text)
                };
                let Some(page) = own.iter().find(stands) else {
                    panic!("`{text}` of {anchor} is not on pages {own:?}");
                };
                assert!(
                    places.insert(anchor.clone(), *page).is_none(),
                    "{anchor} is there twice"
                );
            }
        }
        let known = places.keys().filter(|name| !name.starts_with("heading "));
        let known: BTreeSet<String> = known.cloned().collect();
        let all: BTreeSet<String> = manual.places().iter().map(LinkTarget::to_string).collect();
        assert_eq!(known, all, "every place was looked for");
        Read {
            manual,
            pages,
            chapters,
            places,
        }
    }

    /// Whether a text stands on one of a chapter's pages; on which, where it does.
    fn page_with(&self, chapter: usize, text: &str) -> Option<usize> {
        let mut pages = self.chapters[chapter].iter();
        let page = pages.find(|page| self.pages[**page - 1].body.contains(text));
        page.copied()
    }

    /// Reads back every reference by page in a text: "step 4 (page 31)". On its own page a
    /// reference is silent.
    fn references(&self, chapter: usize, runs: &[TextRun]) -> usize {
        let mut read = 0;
        for (at, run) in runs.iter().enumerate() {
            match run {
                TextRun::Link {
                    target,
                    runs: own,
                    name,
                } if names_page(run) => {
                    let page = self.places[&target.to_string()];
                    let text = plain(own);
                    let (said, silent) = if let Some(name) = name {
                        (
                            format!("{text} ({name}, page {page})"),
                            format!("{text} ({name})"),
                        )
                    } else {
                        let after: Vec<TextRun> = runs[at + 1..].iter().take(1).cloned().collect();
                        (
                            format!("{text} (page {page})"),
                            format!("{text}{}", plain(&after)),
                        )
                    };
                    let (said, silent) = (squeezed(&said), squeezed(&silent));
                    let is_said = self.page_with(chapter, &said);
                    let is_silent = self.page_with(chapter, &silent);
                    assert!(
                        is_said.is_some() || is_silent == Some(page),
                        "`{said}` is not said in {:?}, nor `{silent}` on page {page}",
                        self.chapters[chapter],
                    );
                    assert!(is_said != Some(page), "{said} names its own page");
                    read += 1;
                }
                TextRun::Strong { runs }
                | TextRun::Emphasis { runs }
                | TextRun::Link { runs, .. } => {
                    read += self.references(chapter, runs);
                }
                TextRun::PageNumber { .. }
                | TextRun::Break
                | TextRun::Text { .. }
                | TextRun::Code { .. } => {}
            }
        }
        read
    }

    /// Reads back the references of a row. A cell of nothing but pages is read with what stands
    /// before it.
    fn references_of_row(&self, chapter: usize, row: &[Cell]) -> usize {
        let (mut read, mut before) = (0, String::new());
        for cell in row {
            match cell {
                Cell::Name { text, .. } => before.push_str(text),
                Cell::Text { runs } if matches!(runs.first(), Some(TextRun::PageNumber { .. })) => {
                    let pages = runs.iter().filter_map(|run| match run {
                        TextRun::PageNumber { target } => {
                            Some(self.places[&target.to_string()].to_string())
                        }
                        _ => None,
                    });
                    let pages: Vec<String> = pages.collect();
                    let said = squeezed(&format!("{before}{}", pages.join(",")));
                    assert!(self.page_with(chapter, &said).is_some(), "{said}");
                    read += pages.len();
                }
                Cell::Text { runs } => {
                    read += self.references(chapter, runs);
                    before.push_str(&plain(runs));
                }
                _ => {}
            }
        }
        read
    }

    fn references_of_blocks(&self, chapter: usize, blocks: &[Block]) -> usize {
        let mut read = 0;
        for block in blocks {
            read += match block {
                Block::Section(section) => self.references_of_blocks(chapter, &section.blocks),
                Block::Text { runs } => self.references(chapter, runs),
                Block::Bullets { items } => items
                    .iter()
                    .map(|item| self.references(chapter, item))
                    .sum(),
                Block::Table(table) => {
                    let rows = table
                        .rows
                        .iter()
                        .map(|row| self.references_of_row(chapter, row));
                    rows.sum()
                }
                Block::Steps { steps } => {
                    let texts = steps
                        .iter()
                        .flat_map(|step| step.content.notes.iter().chain([&step.content.text]));
                    texts.map(|text| self.references(chapter, text)).sum()
                }
                _ => 0,
            };
        }
        read
    }

    /// The pages of an index line, as they are printed.
    fn index_pages(&self, line: &IndexLine) -> String {
        let pages: BTreeSet<usize> = line
            .to
            .iter()
            .map(|target| self.places[&target.to_string()])
            .collect();
        let mut stretches: Vec<(usize, usize)> = Vec::new();
        for page in pages {
            match stretches.last_mut() {
                Some((_, last)) if *last + 1 == page => *last = page,
                _ => stretches.push((page, page)),
            }
        }
        let texts = stretches.iter().map(|(first, last)| match last - first {
            0 => first.to_string(),
            1 => format!("{first}, {last}"),
            _ => format!("{first}–{last}"),
        });
        texts.collect::<Vec<_>>().join(", ")
    }

    /// Reads back every reference of the manual, and says how many of each kind there were.
    fn all_references(&self) -> BTreeMap<&'static str, usize> {
        let mut read: BTreeMap<&'static str, usize> = BTreeMap::new();
        for (at, chapter) in self.manual.chapters.iter().enumerate() {
            let whole: String = self.chapters[at]
                .iter()
                .map(|page| self.pages[*page - 1].body.as_str())
                .collect();
            for piece in &chapter.pieces {
                let (kind, count) = match piece {
                    ManualPiece::Blocks { blocks, .. } => {
                        ("in text", self.references_of_blocks(at, blocks))
                    }
                    ManualPiece::Needs { needs } => {
                        let needs = needs.iter().map(|need| self.references(at, &need.runs));
                        ("in needs", needs.sum())
                    }
                    ManualPiece::CautionUses { messages } => {
                        for one in messages {
                            let page = self.places[&one.to.to_string()];
                            let hazard = one.hazard.trim_end_matches('.');
                            let said = squeezed(&format!("{hazard} (page {page})"));
                            assert!(whole.contains(&said), "{said} in {:?}", self.chapters[at]);
                        }
                        ("messages", messages.len())
                    }
                    ManualPiece::Elsewhere {
                        steps,
                        title,
                        to,
                        there,
                        ..
                    } => {
                        let there = there.as_ref().map(|there| format!("{there}, "));
                        let there = there.unwrap_or_default();
                        let page = self.places[&to.to_string()];
                        let said = squeezed(&format!("{steps}{title}, {there}page {page}"));
                        assert!(whole.contains(&said), "{said} in {:?}", self.chapters[at]);
                        ("elsewhere", 1)
                    }
                    ManualPiece::Index { entries } => {
                        for entry in entries {
                            let mut from = 0;
                            for (place, line) in entry.lines.iter().enumerate() {
                                let mut said = String::new();
                                if place == 0 {
                                    said.push_str(&entry.name);
                                }
                                if let Some(of) = &line.of {
                                    let comma = if entry.lines.len() == 1 { ", " } else { "" };
                                    said = format!("{said}{comma}{of}");
                                }
                                said.push_str(line.number.as_deref().unwrap_or_default());
                                said.push_str(&self.index_pages(line));
                                let said = squeezed(&said);
                                let found = whole[from..].find(&said);
                                assert!(found.is_some(), "`{said}` is not in the index");
                                from += found.unwrap_or_default();
                            }
                        }
                        let lines = entries.iter().map(|entry| entry.lines.len());
                        ("index", lines.sum())
                    }
                    _ => continue,
                };
                *read.entry(kind).or_default() += count;
            }
        }
        read
    }

    /// Every heading in order: level, whether the contents list it, title, and its real page.
    fn headings(&self) -> Vec<(u8, bool, String, usize)> {
        let mut all = Vec::new();
        for (at, chapter) in self.manual.chapters.iter().enumerate() {
            for (piece_at, piece) in chapter.pieces.iter().enumerate() {
                match piece {
                    ManualPiece::Heading {
                        level,
                        listed,
                        title,
                        ..
                    } => {
                        let page = self.places[&heading(at, piece_at)];
                        all.push((*level, *listed, title.clone(), page));
                    }
                    ManualPiece::Blocks {
                        level,
                        marked: true,
                        about: Some(about),
                        blocks,
                    } => all.extend(blocks.iter().filter_map(|block| match block {
                        Block::Section(section) => {
                            let place = about.clone().section(section.id.clone());
                            let page = self.places[&place.to_string()];
                            Some((*level, false, section.title.clone(), page))
                        }
                        _ => None,
                    })),
                    _ => {}
                }
            }
        }
        all
    }
}

/// Bookmarks as `mutool` reads them: level, title, page.
fn bookmarks(pdf: &Path) -> Vec<(u8, String, usize)> {
    let output = Command::new("mutool")
        .arg("show")
        .arg(pdf)
        .arg("outline")
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let lines = text.lines().map(|line| {
        let level = line.chars().filter(|letter| *letter == '\t').count() - 1;
        let (_, rest) = line.split_once('"').unwrap();
        let (title, rest) = rest.rsplit_once("\"\t#page=").unwrap();
        let page = rest.split('&').next().unwrap().parse().unwrap();
        (u8::try_from(level).unwrap(), title.to_owned(), page)
    });
    lines.collect()
}

#[test]
fn the_pdf_is_sound_tagged_and_says_what_it_is() {
    let pdf = whole_shop();
    let checked = Command::new("qpdf")
        .arg("--check")
        .arg(pdf)
        .output()
        .unwrap();
    assert!(checked.status.success(), "{checked:?}");
    let info = run("pdfinfo", &[], pdf);
    let says = |name: &str| {
        let line = info.lines().find(|line| line.starts_with(name)).unwrap();
        line.split_once(':').unwrap().1.trim().to_owned()
    };
    assert_eq!(
        says("Title"),
        "Elmbrook Tool Library, workshop · Shop manual"
    );
    assert_eq!(says("Tagged"), "yes");
    assert_eq!(says("PDF version"), "1.7");
    // The newest revision in the tree, not today.
    assert!(says("CreationDate").contains("Nov  9"), "{info}");
    let meta = run("pdfinfo", &["-meta"], pdf);
    for said in ["<pdfuaid:part>1</pdfuaid:part>", "<rdf:li>en-GB</rdf:li>"] {
        assert!(meta.contains(said), "{said}");
    }
}

#[test]
fn bookmarks_lead_to_their_headings() {
    let manual = data(&Scope::default());
    let read = Read::new(&manual, whole_shop());
    let mut expected: Vec<(u8, String, usize)> = vec![(1, "Contents".to_owned(), 3)];
    let headings = read.headings();
    expected.extend(
        headings
            .into_iter()
            .map(|(level, _, title, page)| (level, title, page)),
    );
    let bookmarks = bookmarks(whole_shop());
    assert_eq!(bookmarks, expected);
    let deep = |level: u8| bookmarks.iter().filter(|one| one.0 == level).count();
    let counts = [deep(1), deep(2), deep(3), deep(4)];
    assert!(
        counts[0] == 8 && counts[1] > 20 && counts[2] > 50 && counts[3] > 50,
        "{counts:?}"
    );
}

#[test]
fn every_page_number_leads_to_where_the_text_really_is() {
    let manual = data(&Scope::default());
    let read = Read::new(&manual, whole_shop());
    let counts = read.all_references();
    // That something was looked at.
    for (kind, least) in [
        ("in text", 120),
        ("in needs", 35),
        ("messages", 300),
        ("elsewhere", 100),
        ("index", 150),
    ] {
        assert!(counts[kind] >= least, "{kind}: {}", counts[kind]);
    }
    // The contents say each heading and its page, in order, and nothing else.
    let listed = read
        .headings()
        .into_iter()
        .filter(|(_, listed, ..)| *listed);
    let expected: Vec<String> = listed
        .map(|(_, _, title, page)| format!("{title}{page}"))
        .collect();
    let contents = read
        .pages
        .iter()
        .skip(2)
        .take_while(|page| page.head.contains("Contents"));
    let contents: String = contents.map(|page| page.body.as_str()).collect();
    let undotted = |text: &str| squeezed(text).replace('.', "");
    assert_eq!(
        undotted(&contents).trim_start_matches("Contents"),
        undotted(&expected.concat())
    );
}

#[test]
fn every_step_of_every_job_stands_in_the_manual_once_a_machine() {
    let manual = data(&Scope::default());
    let read = Read::new(&manual, whole_shop());
    let sources = crate::read(&Disk::open(&root().join("procedures")).unwrap());
    let checked = crate::check_all(&sources);
    let mut steps = 0;
    for one in &checked.jobs {
        let (job, machine) = (&one.job, &one.job.machine.id);
        for step in job.steps() {
            let own = job.procedure.id == step.origin.id;
            let anchor = format!("job:{machine}/{}/step-{}", job.procedure.id, step.number);
            // Others' steps stand here only where this job has them in another way.
            assert!(!own || read.places.contains_key(&anchor), "{anchor}");
            steps += usize::from(own);
            let origin = format!("job:{machine}/{}", step.origin.id);
            assert!(read.places.contains_key(&origin), "{origin}");
        }
    }
    assert!(steps > 900, "{steps} steps");
}

#[test]
fn a_selection_leaves_out_the_rest_and_leads_nowhere_else() {
    let folder = tempfile::tempdir().unwrap();
    let one_machine = Scope {
        machines: vec!["tarn-t7".to_owned()],
        systems: Vec::new(),
    };
    let fuel = Scope {
        machines: vec!["tarn-t7".to_owned(), "tarn-p50".to_owned()],
        systems: vec!["fuel".to_owned()],
    };
    for (scope, absent, present) in [
        (
            &one_machine,
            ["Tarn P50 water transfer pump", "Pump shaft seal"],
            ["Tarn T7 tiller", "Governor linkage"],
        ),
        (
            &fuel,
            ["Tarn G30 generator", "Governor linkage: free and reset"],
            // Made safe first: a manual of the fuel system says how.
            ["Float bowl and main jet", "Make safe"],
        ),
    ] {
        let pdf = bound(scope, folder.path());
        let manual = data(scope);
        let read = Read::new(&manual, &pdf);
        let counts = read.all_references();
        assert!(
            counts["elsewhere"] > 5 && counts["index"] > 10,
            "{counts:?}"
        );
        let text: String = read.pages.iter().map(|page| page.large.as_str()).collect();
        let heads: String = read.pages.iter().map(|page| page.head.as_str()).collect();
        for said in absent.map(squeezed) {
            assert!(!text.contains(&said) && !heads.contains(&said), "{said}");
        }
        for said in present.map(squeezed) {
            assert!(text.contains(&said), "{said}");
        }
    }
}
