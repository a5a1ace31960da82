//! The bound manual of the demonstration shop. Other programs (`mutool`, `pdftotext`, `pdfinfo`, `qpdf`) read its PDF.
//! Its bookmarks and every page number printed in it are compared with the page that really has the target's text.

use super::support::{read_with, root, typst};
use super::{Quiet, plain};
use crate::manual::{Chapter, IndexEntry, IndexLine, Manual, ManualPiece};
use crate::output::OutputSettings;
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

/// Text without white space, hyphens and word joiners, because line breaks and leaders change them.
fn squeezed(text: &str) -> String {
    let dropped =
        |letter: &char| letter.is_whitespace() || matches!(letter, '-' | '\u{ad}' | '\u{2060}');
    text.chars().filter(|letter| !dropped(letter)).collect()
}

/// The path of a manual in the output, without an extension.
fn path(scope: &Scope) -> String {
    let sources = crate::read(&Memory::new([("shop.toml", "name = \"A shop\"")]));
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    Paths::new(&output, None).path(&scope.page())
}

/// Binds a manual of the demonstration shop, and returns the path of its PDF.
fn bind_demo(scope: &Scope, folder: &Path) -> PathBuf {
    let sources = crate::read(&Disk::open(&root().join("procedures")).unwrap());
    let checked = crate::check_all(&sources);
    let outlet = Outlet {
        look: &Look::default(),
        pdfs: &Pdfs::With(Typst::find(Some(&typst()), None, &root()).unwrap()),
        folder,
        settings: OutputSettings::TEMPORARY,
        world: None,
        progress: &Quiet,
    };
    bind(&sources, &checked, scope, outlet).unwrap();
    let pdf = folder.join(path(scope) + ".pdf");
    assert!(pdf.is_file());
    pdf
}

fn whole_shop() -> &'static Path {
    static BOUND: OnceLock<(tempfile::TempDir, PathBuf)> = OnceLock::new();
    let (_, pdf) = BOUND.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let pdf = bind_demo(&Scope::default(), folder.path());
        (folder, pdf)
    });
    pdf
}

/// The manual of a scope as data.
fn data(scope: &Scope) -> Manual {
    let sources = crate::read(&Disk::open(&root().join("procedures")).unwrap());
    let checked = crate::check_all(&sources);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    manual_of(&sources, &checked, scope, &output).unwrap()
}

/// The text of a page, as other programs read it.
struct Page {
    /// The running head, squeezed.
    head: String,
    /// The text between head and foot, squeezed.
    body: String,
    /// The large bold text, squeezed: headings.
    large: String,
}

fn pages(pdf: &Path) -> Vec<Page> {
    // The thumb tabs are outside.
    let cropped = |top: &str, height: &str| -> Vec<String> {
        let area = [
            "-raw", "-enc", "UTF-8", "-x", "25", "-y", top, "-W", "545", "-H", height,
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
    let structured = read_with("mutool", &["draw", "-q", "-F", "stext"], pdf);
    let large: Vec<String> = structured.split("<page ").skip(1).map(large_text).collect();
    assert!(heads.len() == bodies.len() && bodies.len() == large.len());
    let texts = heads.into_iter().zip(bodies).zip(large);
    texts
        .map(|((head, body), large)| Page { head, body, large })
        .collect()
}

/// The bold text in the sizes of headings on a page of `mutool`'s structured text.
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

/// A manual as data, with the pages of its PDF.
struct Read<'m> {
    manual: &'m Manual,
    pages: Vec<Page>,
    /// The pages of the contents, from 1.
    contents: Vec<usize>,
    /// The pages of each chapter, from 1.
    chapters: Vec<Vec<usize>>,
    /// The page, from 1, that has the text of each link target and each heading.
    places: BTreeMap<String, usize>,
}

/// A key for a heading: the indices of its chapter and its piece. Headings that nothing links to have one, too.
fn heading(chapter: usize, piece: usize) -> String {
    format!("heading {chapter} {piece}")
}

/// A text of the manual that is a heading or a link target.
struct Target {
    /// The names of what it is.
    keys: Vec<String>,
    /// Headings are searched for in large text only.
    is_heading: bool,
    text: String,
}

impl Target {
    fn new(key: &impl ToString, is_heading: bool, text: &str) -> Target {
        Target {
            keys: vec![key.to_string()],
            is_heading,
            text: squeezed(text),
        }
    }
}

/// A position in the text of pages. Targets are searched for in their order, each after the one before, because the
/// same text can be printed for another machine on the same page.
#[derive(Default)]
struct Cursor {
    /// From 1.
    page: usize,
    /// The positions in the page's text and in its large text.
    body: usize,
    large: usize,
}

impl Cursor {
    /// Finds a target after this position, and returns its page.
    fn find(&mut self, pages: &[Page], target: &Target) -> Option<usize> {
        for number in self.page..=pages.len() {
            if number > self.page {
                *self = Cursor {
                    page: number,
                    ..Cursor::default()
                };
            }
            let page = &pages[number - 1];
            let (text, from) = if target.is_heading {
                (&page.large, &mut self.large)
            } else {
                (&page.body, &mut self.body)
            };
            if let Some(at) = text[*from..].find(&target.text) {
                *from += at + target.text.len();
                return Some(number);
            }
        }
        None
    }
}

/// The link targets and headings of a chapter, in their order.
fn targets_of(chapter_index: usize, chapter: &Chapter) -> Vec<Target> {
    let mut targets = Vec::new();
    for (piece_index, piece) in chapter.pieces.iter().enumerate() {
        match piece {
            ManualPiece::Heading { title, places, .. } => {
                let mut target = Target::new(&heading(chapter_index, piece_index), true, title);
                let names = places.iter().map(LinkTarget::to_string);
                target.keys.extend(names);
                targets.push(target);
            }
            ManualPiece::Blocks {
                about: Some(about),
                blocks,
                ..
            } => targets_in_blocks(about, blocks, &mut targets),
            ManualPiece::Message { place, message, .. } => {
                targets.push(Target::new(place, false, &message.hazard));
            }
            ManualPiece::Elsewhere {
                place,
                steps,
                title,
                ..
            } => {
                let text = format!("{steps}{title}");
                targets.push(Target::new(&place, false, &text));
            }
            _ => {}
        }
    }
    targets
}

fn targets_in_blocks(about: &LinkTarget, blocks: &[Block], targets: &mut Vec<Target>) {
    for block in blocks {
        match block {
            Block::Section(section) => {
                let place = about.clone().section(section.id.clone());
                targets.push(Target::new(&place, true, &section.title));
                targets.extend(targets_in_rows(about, section));
                targets_in_blocks(about, &section.blocks, targets);
            }
            Block::Steps { steps } => targets.extend(steps.iter().map(|step| {
                // What it depends on is above the text.
                let only_if = step.content.only_if.as_ref();
                let text = match only_if {
                    Some(only_if) => only_if.text.clone(),
                    None => first_text(&step.content.text),
                };
                let text = format!("{}{text}", step.number);
                let LinkTarget::Job(job) = about else {
                    panic!("steps outside of a job");
                };
                let place = LinkTarget::Step {
                    job: job.clone(),
                    step: step.number,
                };
                Target::new(&place, false, &text)
            })),
            _ => {}
        }
    }
}

/// Whether a page number is printed for a run of text.
fn names_page(run: &TextRun) -> bool {
    match run {
        TextRun::Link { target, .. } => !matches!(target, LinkTarget::Web(_)),
        TextRun::PageNumber { .. } => true,
        _ => false,
    }
}

/// The text up to the first reference. A page number may follow it.
fn first_text(runs: &[TextRun]) -> String {
    let mut text = String::new();
    for run in runs {
        match run {
            TextRun::Link { runs, .. } if names_page(run) => {
                text.push_str(&plain(runs, " "));
                break;
            }
            _ => text.push_str(&plain(std::slice::from_ref(run), " ")),
        }
    }
    text
}

fn targets_in_rows(about: &LinkTarget, section: &SheetSection) -> Vec<Target> {
    let mut tables = section.blocks.iter().filter_map(|block| match block {
        Block::Table(table) => Some(&table.rows),
        _ => None,
    });
    // Only the rows of the first table are linked to.
    let rows = (1..).zip(tables.next().into_iter().flatten());
    let rows = rows.map(|(number, row)| {
        let mut text = String::new();
        let mut item = None;
        for cell in row {
            match cell {
                // The item of an inspection. What to look for is in the other columns.
                Cell::Place {
                    text: name, place, ..
                } => {
                    text.push_str(name);
                    item = Some(place.to_string());
                    break;
                }
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
            // The second unit follows the first.
            if matches!(cell, Cell::Value { .. }) {
                break;
            }
        }
        let place = about.clone().row(section.id.clone(), number);
        let mut target = Target::new(&place, false, &text);
        target.keys.extend(item);
        target
    });
    rows.collect()
}

/// The running head names every chapter on a page. It may name the one that ended at the end of the page before.
fn check_running_head(manual: &Manual, first_pages: &[usize], page: usize, head: &str) {
    let begun = || (0..first_pages.len()).filter(|chapter| first_pages[*chapter] == page);
    let before = first_pages.iter().rposition(|first| *first < page);
    let expected = |chapters: &[usize]| {
        let text = |of: fn(&Chapter) -> &str| -> Vec<&str> {
            let mut texts: Vec<&str> = Vec::new();
            for chapter in chapters {
                let text = of(&manual.chapters[*chapter]);
                if !texts.contains(&text) {
                    texts.push(text);
                }
            }
            texts
        };
        let outer = match text(|chapter| &chapter.outer).as_slice() {
            [first, _, .., last] => format!("{first}…{last}"),
            names => names.join("·"),
        };
        let inner = text(|chapter| &chapter.inner);
        let more = if inner.len() > 1 { "…" } else { "" };
        let inner = format!("{}{more}", inner[0]);
        [format!("{outer}{inner}"), format!("{inner}{outer}")].map(|head| squeezed(&head))
    };
    let with_before: Vec<usize> = before.into_iter().chain(begun()).collect();
    let mut accepted = expected(&with_before).to_vec();
    if begun().next().is_some() {
        accepted.extend(expected(&begun().collect::<Vec<_>>()));
    }
    assert!(
        accepted.iter().any(|text| text == head),
        "page {page}: {head}, not {accepted:?}"
    );
}

impl<'m> Read<'m> {
    fn new(manual: &'m Manual, pdf: &Path) -> Read<'m> {
        let pages = pages(pdf);
        let contents = pages.iter().skip(2);
        let contents = contents.take_while(|page| page.head.contains("Contents"));
        let contents: Vec<usize> = (3..).take(contents.count()).collect();
        let mut cursor = Cursor {
            page: contents.last().expect("there are contents") + 1,
            ..Cursor::default()
        };
        let mut places = BTreeMap::new();
        let mut first_pages = vec![2];
        for (chapter_index, chapter) in manual.chapters.iter().enumerate().skip(1) {
            let mut first_page = None;
            for target in targets_of(chapter_index, chapter) {
                let at = cursor.page;
                let Some(page) = cursor.find(&pages, &target) else {
                    panic!(
                        "`{}` of {:?} is not after page {at}",
                        target.text, target.keys
                    );
                };
                first_page.get_or_insert(page);
                for key in target.keys {
                    let before = places.insert(key.clone(), page);
                    assert!(before.is_none(), "{key} is a duplicate");
                }
            }
            first_pages.push(first_page.expect("a chapter has a heading"));
        }
        // A chapter ends on the page on which the next one begins, at the latest.
        let last_page = pages.len();
        let last_pages = first_pages.iter().skip(2).chain([&last_page]);
        let chapters = first_pages.iter().skip(1).zip(last_pages);
        let chapters = chapters.map(|(first, last)| (*first..=*last).collect());
        let chapters: Vec<Vec<usize>> = std::iter::once(vec![2]).chain(chapters).collect();
        for number in cursor.page..=pages.len() {
            check_running_head(manual, &first_pages, number, &pages[number - 1].head);
        }
        let known = places.keys().filter(|name| !name.starts_with("heading "));
        let known: BTreeSet<String> = known.cloned().collect();
        let expected: BTreeSet<String> =
            manual.places().iter().map(LinkTarget::to_string).collect();
        assert_eq!(known, expected, "every link target was searched for");
        Read {
            manual,
            pages,
            contents,
            chapters,
            places,
        }
    }

    /// The pages of a chapter that have a text.
    fn pages_with(&self, chapter: usize, text: &str) -> Vec<usize> {
        let pages = self.chapters[chapter].iter();
        let pages = pages.filter(|page| self.pages[**page - 1].body.contains(text));
        pages.copied().collect()
    }

    /// Checks each reference with a page number in a text, such as "step 4 (page 31)", and returns how many there are. A
    /// reference to its own page has no number.
    fn check_references(&self, chapter: usize, runs: &[TextRun]) -> usize {
        let mut read = 0;
        for (index, run) in runs.iter().enumerate() {
            match run {
                TextRun::Link {
                    target,
                    runs: own,
                    name,
                } if names_page(run) => {
                    let page = self.places[&target.to_string()];
                    let text = plain(own, " ");
                    let (numbered, unnumbered) = if let Some(name) = name {
                        (
                            format!("{text} ({name}, page {page})"),
                            format!("{text} ({name})"),
                        )
                    } else {
                        let after: Vec<TextRun> =
                            runs[index + 1..].iter().take(1).cloned().collect();
                        (
                            format!("{text} (page {page})"),
                            format!("{text}{}", plain(&after, " ")),
                        )
                    };
                    let (numbered, unnumbered) = (squeezed(&numbered), squeezed(&unnumbered));
                    let numbered_on = self.pages_with(chapter, &numbered);
                    let unnumbered_on = self.pages_with(chapter, &unnumbered);
                    assert!(
                        !numbered_on.is_empty() || unnumbered_on.contains(&page),
                        "`{numbered}` is not on pages {:?}, nor `{unnumbered}` on page {page}",
                        self.chapters[chapter],
                    );
                    assert!(
                        !numbered_on.contains(&page),
                        "{numbered} names its own page"
                    );
                    read += 1;
                }
                TextRun::Strong { runs }
                | TextRun::Emphasis { runs }
                | TextRun::Foreign { runs, .. }
                | TextRun::Link { runs, .. } => {
                    read += self.check_references(chapter, runs);
                }
                TextRun::Callout { .. }
                | TextRun::PageNumber { .. }
                | TextRun::Break
                | TextRun::Text { .. }
                | TextRun::Code { .. } => {}
            }
        }
        read
    }

    /// Checks the references of a row. A cell that contains only page numbers is searched for together with the text of
    /// the cells before it.
    fn check_references_of_row(&self, chapter: usize, row: &[Cell]) -> usize {
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
                    let printed = squeezed(&format!("{before}{}", pages.join(",")));
                    assert!(!self.pages_with(chapter, &printed).is_empty(), "{printed}");
                    read += pages.len();
                }
                Cell::Text { runs } => {
                    read += self.check_references(chapter, runs);
                    before.push_str(&plain(runs, " "));
                }
                _ => {}
            }
        }
        read
    }

    fn check_references_of_blocks(&self, chapter: usize, blocks: &[Block]) -> usize {
        let mut read = 0;
        for block in blocks {
            read += match block {
                Block::Section(section) => {
                    self.check_references_of_blocks(chapter, &section.blocks)
                }
                Block::Text { runs } | Block::Note { runs } => self.check_references(chapter, runs),
                Block::Bullets { items } => items
                    .iter()
                    .map(|item| self.check_references(chapter, item))
                    .sum(),
                Block::Table(table) => {
                    let rows = table
                        .rows
                        .iter()
                        .map(|row| self.check_references_of_row(chapter, row));
                    rows.sum()
                }
                Block::Steps { steps } => {
                    let texts = steps.iter().flat_map(|step| {
                        let content = &step.content;
                        let notes = content.above.iter().chain(&content.notes);
                        notes.chain([&content.text])
                    });
                    texts.map(|text| self.check_references(chapter, text)).sum()
                }
                _ => 0,
            };
        }
        read
    }

    /// The page numbers of an index line, as printed.
    fn index_pages(&self, line: &IndexLine) -> String {
        let pages: BTreeSet<usize> = line
            .to
            .iter()
            .map(|target| self.places[&target.to_string()])
            .collect();
        let main = line.main.iter();
        let main: BTreeSet<usize> = main
            .map(|target| self.places[&target.to_string()])
            .collect();
        let mut ranges: Vec<(usize, usize)> = Vec::new();
        for page in pages {
            match ranges.last_mut() {
                // The page of a main entry is printed on its own.
                Some((_, last))
                    if *last + 1 == page && !main.contains(last) && !main.contains(&page) =>
                {
                    *last = page;
                }
                _ => ranges.push((page, page)),
            }
        }
        let texts = ranges.iter().map(|(first, last)| match last - first {
            0 => first.to_string(),
            1 => format!("{first}, {last}"),
            _ => format!("{first}–{last}"),
        });
        texts.collect::<Vec<_>>().join(", ")
    }

    /// Checks that a text has the entries of an index with their pages, and returns how many lines there are. `between` is
    /// printed between the name of an entry and its only line.
    fn check_entries(&self, entries: &[IndexEntry], text: &str, between: &str) -> usize {
        for entry in entries {
            let mut from = 0;
            for (place, line) in entry.lines.iter().enumerate() {
                let mut printed = String::new();
                if place == 0 {
                    printed.push_str(&entry.name);
                }
                if let Some(of) = &line.of {
                    let comma = if entry.lines.len() == 1 { between } else { "" };
                    printed = format!("{printed}{comma}{of}");
                }
                printed.push_str(line.number.as_deref().unwrap_or_default());
                printed.push_str(&self.index_pages(line));
                let printed = squeezed(&printed);
                let position = text[from..].find(&printed);
                assert!(position.is_some(), "`{printed}` is not in the index");
                from += position.unwrap_or_default();
            }
        }
        entries.iter().map(|entry| entry.lines.len()).sum()
    }

    /// Checks every reference of the manual, and counts them by kind.
    fn check_all_references(&self) -> BTreeMap<&'static str, usize> {
        let mut read: BTreeMap<&'static str, usize> = BTreeMap::new();
        for (chapter_index, chapter) in self.manual.chapters.iter().enumerate() {
            let chapter_text: String = self.chapters[chapter_index]
                .iter()
                .map(|page| self.pages[*page - 1].body.as_str())
                .collect();
            for piece in &chapter.pieces {
                let (kind, count) = match piece {
                    ManualPiece::Blocks { blocks, .. } => (
                        "in text",
                        self.check_references_of_blocks(chapter_index, blocks),
                    ),
                    ManualPiece::Needs { needs } => {
                        let needs = needs
                            .iter()
                            .map(|need| self.check_references(chapter_index, &need.runs));
                        ("in needs", needs.sum())
                    }
                    ManualPiece::CautionUses { messages } => {
                        for message in messages {
                            let page = self.places[&message.to.to_string()];
                            let hazard = message.hazard.trim_end_matches('.');
                            let printed = squeezed(&format!("{hazard} (page {page})"));
                            assert!(
                                chapter_text.contains(&printed),
                                "{printed} in {:?}",
                                self.chapters[chapter_index]
                            );
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
                        let printed = squeezed(&format!("{steps}{title}, {there}page {page}"));
                        assert!(
                            chapter_text.contains(&printed),
                            "{printed} in {:?}",
                            self.chapters[chapter_index]
                        );
                        ("elsewhere", 1)
                    }
                    ManualPiece::Index { entries } => {
                        ("index", self.check_entries(entries, &chapter_text, ", "))
                    }
                    _ => continue,
                };
                *read.entry(kind).or_default() += count;
            }
        }
        read
    }

    /// The headings in order: level, whether the contents list it, title, and the page that has it.
    fn headings(&self) -> Vec<(u8, bool, String, usize)> {
        let mut headings = Vec::new();
        for (chapter_index, chapter) in self.manual.chapters.iter().enumerate() {
            for (piece_index, piece) in chapter.pieces.iter().enumerate() {
                match piece {
                    ManualPiece::Heading {
                        level,
                        listed,
                        title,
                        ..
                    } => {
                        let page = self.places[&heading(chapter_index, piece_index)];
                        headings.push((*level, *listed, title.clone(), page));
                    }
                    ManualPiece::Blocks {
                        level,
                        marked: true,
                        about: Some(about),
                        blocks,
                    } => headings.extend(blocks.iter().filter_map(|block| match block {
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
        headings
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
fn the_pdf_is_valid_tagged_and_has_metadata() {
    let pdf = whole_shop();
    let checked = Command::new("qpdf")
        .arg("--check")
        .arg(pdf)
        .output()
        .unwrap();
    assert!(checked.status.success(), "{checked:?}");
    let info = read_with("pdfinfo", &[], pdf);
    let value_of = |name: &str| {
        let line = info.lines().find(|line| line.starts_with(name)).unwrap();
        line.split_once(':').unwrap().1.trim().to_owned()
    };
    assert_eq!(
        value_of("Title"),
        "Elmbrook Tool Library, workshop · Shop manual"
    );
    assert_eq!(value_of("Tagged"), "yes");
    assert_eq!(value_of("PDF version"), "1.7");
    // The newest revision in the tree, not today.
    assert!(value_of("CreationDate").contains("Nov 28"), "{info}");
    let meta = read_with("pdfinfo", &["-meta"], pdf);
    for text in ["<pdfuaid:part>1</pdfuaid:part>", "<rdf:li>en-GB</rdf:li>"] {
        assert!(meta.contains(text), "{text}");
    }
}

#[test]
fn bookmarks_match_the_headings() {
    let manual = data(&Scope::default());
    let read = Read::new(&manual, whole_shop());
    let lists = [(1, "Contents".to_owned(), 3), (2, "Figures".to_owned(), 4)];
    let mut expected: Vec<(u8, String, usize)> = lists.to_vec();
    let headings = read.headings();
    expected.extend(
        headings
            .into_iter()
            .map(|(level, _, title, page)| (level, title, page)),
    );
    let bookmarks = bookmarks(whole_shop());
    assert_eq!(bookmarks, expected);
    let count_of = |level: u8| {
        bookmarks
            .iter()
            .filter(|bookmark| bookmark.0 == level)
            .count()
    };
    let counts = [count_of(1), count_of(2), count_of(3), count_of(4)];
    assert!(
        counts[0] == 9 && counts[1] > 20 && counts[2] > 50 && counts[3] > 50,
        "{counts:?}"
    );
}

#[test]
fn every_page_number_is_that_of_its_target() {
    let manual = data(&Scope::default());
    let read = Read::new(&manual, whole_shop());
    let counts = read.check_all_references();
    // The test has found references of each kind.
    for (kind, least) in [
        ("in text", 120),
        ("in needs", 35),
        ("messages", 300),
        ("elsewhere", 100),
        ("index", 150),
    ] {
        assert!(counts[kind] >= least, "{kind}: {}", counts[kind]);
    }
    // The contents consist of the listed headings, in order, with their page numbers.
    let listed = read
        .headings()
        .into_iter()
        .filter(|(_, listed, ..)| *listed);
    let expected: Vec<String> = listed
        .map(|(_, _, title, page)| format!("{title}{page}"))
        .collect();
    let contents = read.contents.iter().map(|page| &read.pages[*page - 1].body);
    let contents = contents.map(String::as_str).collect::<String>();
    let (contents, figures) = contents.split_once("Figures").expect("there are figures");
    let without_dots = |text: &str| squeezed(text).replace('.', "");
    assert_eq!(
        without_dots(contents).trim_start_matches("Contents"),
        without_dots(&expected.concat())
    );
    assert!(read.check_entries(&manual.figures, figures, "") >= 5);
    assert!(read.contents.len() <= 2, "{:?}", read.contents);
}

/// The limits are our own: a book that is carried to the bench.
#[test]
fn the_manual_is_short_and_its_parts_have_tabs() {
    let manual = data(&Scope::default());
    let read = Read::new(&manual, whole_shop());
    // Three pages for two jobs: 87 for the 58 jobs that once had 90.
    let sources = crate::read(&Disk::open(&root().join("procedures")).unwrap());
    let jobs = crate::check_all(&sources).jobs.len();
    // The illustrated lists of parts, whose length is that of their figures, are not counted.
    let is_of_list = |body: &str| body.contains(&squeezed("Renewed in"));
    let pages = read.pages.iter().filter(|page| !is_of_list(&page.body));
    let pages = pages.count();
    assert!(pages * 2 <= jobs * 3, "{pages} pages for {jobs} jobs");
    // The tabs are at the outer edge: at the right of odd pages.
    let tab = |page: usize| {
        let (page, left) = (page.to_string(), if page % 2 == 1 { "573" } else { "0" });
        let area = [
            "-enc", "UTF-8", "-f", &page, "-l", &page, "-x", left, "-y", "0", "-W", "22", "-H",
            "842",
        ];
        let output = Command::new("pdftotext")
            .args(area)
            .arg(whole_shop())
            .arg("-")
            .output();
        squeezed(&String::from_utf8(output.unwrap().stdout).unwrap())
    };
    for (chapter, own) in manual.chapters.iter().zip(&read.chapters).skip(1) {
        assert_eq!(tab(own[0]), squeezed(&chapter.part), "page {}", own[0]);
    }
    assert_eq!(tab(2), "");
}

#[test]
fn every_step_of_every_job_is_in_the_manual_once_per_machine() {
    let manual = data(&Scope::default());
    let read = Read::new(&manual, whole_shop());
    let sources = crate::read(&Disk::open(&root().join("procedures")).unwrap());
    let checked = crate::check_all(&sources);
    let mut steps = 0;
    for rehearsed in &checked.jobs {
        let (job, machine) = (&rehearsed.job, &rehearsed.job.machine.id);
        for step in job.steps() {
            let is_own = job.procedure.id == step.origin.id;
            let anchor = format!("job:{machine}/{}/step-{}", job.procedure.id, step.number);
            // A step of another procedure is printed here only if it differs in this job.
            assert!(!is_own || read.places.contains_key(&anchor), "{anchor}");
            steps += usize::from(is_own);
            let origin = format!("job:{machine}/{}", step.origin.id);
            assert!(read.places.contains_key(&origin), "{origin}");
        }
    }
    assert!(steps > 900, "{steps} steps");
}

#[test]
fn a_manual_of_a_selection_has_no_references_out_of_it() {
    let folder = tempfile::tempdir().unwrap();
    let one_machine = Scope {
        machines: vec!["tarn-yarrow".to_owned()],
        systems: Vec::new(),
        ..Scope::default()
    };
    let fuel = Scope {
        machines: vec!["tarn-yarrow".to_owned(), "tarn-sedge".to_owned()],
        systems: vec!["fuel".to_owned()],
        ..Scope::default()
    };
    for (scope, absent, present) in [
        (
            &one_machine,
            ["Tarn Sedge water transfer pump", "Pump shaft seal"],
            ["Tarn Yarrow tiller", "Governor linkage"],
        ),
        (
            &fuel,
            ["Tarn Comfrey generator", "Governor linkage: free and reset"],
            // The manual has the procedure that makes the machine safe for work on the fuel system.
            ["Float bowl and main jet", "Make safe"],
        ),
    ] {
        let pdf = bind_demo(scope, folder.path());
        let manual = data(scope);
        let read = Read::new(&manual, &pdf);
        let counts = read.check_all_references();
        assert!(
            counts["elsewhere"] > 5 && counts["index"] > 10,
            "{counts:?}"
        );
        let text: String = read.pages.iter().map(|page| page.large.as_str()).collect();
        let heads: String = read.pages.iter().map(|page| page.head.as_str()).collect();
        for title in absent.map(squeezed) {
            assert!(!text.contains(&title) && !heads.contains(&title), "{title}");
        }
        for title in present.map(squeezed) {
            assert!(text.contains(&title), "{title}");
        }
    }
}
