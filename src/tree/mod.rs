//! Files on disk become [`Tree`]: text with a place for every byte.
//!
//! Comes in: a [`World`], the one door to files. Goes out: the source files in
//! order of their paths, each known for what it is by where it stands, and the
//! figures. It reads no file's content beyond its encoding.

mod rules;
mod world;

use crate::finding::{FileId, Finding, Findings, Span, nearest};
use rayon::prelude::*;
pub use rules::RULES;
use std::io;
pub use world::{Disk, Memory, World};

/// What a source file is, by where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Kind {
    /// `shop.toml`
    Shop,
    /// `tools.toml`
    Tools,
    /// `supplies.toml`
    Supplies,
    /// `cautions.toml`
    Cautions,
    /// `glossary.toml`
    Glossary,
    /// `machines/<id>.toml`
    Machine {
        /// The machine's id.
        id: String,
    },
    /// `<system>/<id>.md`
    Procedure {
        /// The folder, the manual's chapter.
        system: String,
        /// The procedure's id.
        id: String,
    },
    /// `faults/<id>.md`
    Fault {
        /// The fault table's id.
        id: String,
    },
}

/// One source file.
#[derive(Clone, Debug)]
pub struct Source {
    /// Its name within this tree.
    pub id: FileId,
    /// Its path from the tree's root, `/` between its parts.
    pub path: String,
    /// What it is.
    pub kind: Kind,
    /// Its text, without a byte order mark.
    pub text: String,
}

impl Source {
    /// All of it.
    #[must_use]
    pub fn whole(&self) -> Span {
        self.span(0..self.text.len())
    }

    /// Some of its bytes.
    #[must_use]
    pub fn span(&self, range: std::ops::Range<usize>) -> Span {
        Span::new(self.id, range)
    }

    /// Line and column of a byte, both from 1, the column in characters.
    #[must_use]
    pub fn place(&self, offset: usize) -> (usize, usize) {
        let before = self.text.get(..offset).unwrap_or_default();
        let line = before.bytes().filter(|byte| *byte == b'\n').count() + 1;
        let start = before.rfind('\n').map_or(0, |at| at + 1);
        (line, before[start..].chars().count() + 1)
    }
}

/// A figure's bytes, read once, by its path in the tree.
#[derive(Clone, Debug)]
pub struct FigureFile {
    /// Its path from the tree's root.
    pub path: String,
    /// Its content.
    pub bytes: Vec<u8>,
}

/// All sources of a shop.
#[derive(Clone, Debug)]
pub struct Tree {
    /// What to call the tree's root before a path, such as `procedures`.
    pub name: String,
    /// The source files, by path.
    pub files: Vec<Source>,
    /// The figures, by path.
    pub figures: Vec<FigureFile>,
    /// What was wrong with reading them.
    pub findings: Findings,
}

impl Tree {
    /// The file that a span is in.
    #[must_use]
    pub fn file(&self, id: FileId) -> &Source {
        &self.files[id.0 as usize]
    }

    /// A span's text.
    #[must_use]
    pub fn text(&self, span: Span) -> &str {
        let text = &self.file(span.file).text;
        text.get(span.range()).unwrap_or_default()
    }

    /// A figure by its path from the root.
    #[must_use]
    pub fn figure(&self, path: &str) -> Option<&FigureFile> {
        let at = self
            .figures
            .binary_search_by(|figure| figure.path.as_str().cmp(path));
        at.ok().map(|at| &self.figures[at])
    }
}

/// Reads all of a tree. What can't be read is a finding; the rest is read all the same.
pub fn read(world: &dyn World) -> Tree {
    let mut findings = Findings::new();
    let mut figures = Vec::new();
    let listing = world.list();
    let mut files = Vec::with_capacity(listing.paths.len());
    for fault in listing.faults {
        findings.push(Finding::new(&rules::UNREADABLE_FILE, fault));
    }
    // Only the bytes are read side by side: a source's id is its place among those that could be.
    let read: Vec<Option<(String, Content)>> = listing
        .paths
        .into_par_iter()
        .map(|path| content(world, &path).map(|content| (path, content)))
        .collect();
    for (path, content) in read.into_iter().flatten() {
        match content {
            Content::Unread => findings.push(unread(&path)),
            Content::Unreadable(error) => {
                let message = format!("`{path}` can't be read: {error}");
                findings.push(Finding::new(&rules::UNREADABLE_FILE, message));
            }
            Content::Figure(bytes) => {
                if !is_drawing(&path, &bytes) {
                    let message = format!("figure `{path}` is not what its ending says");
                    findings.push(
                        Finding::new(&rules::BROKEN_FIGURE, message)
                            .help("export it again as SVG, PNG or JPEG"),
                    );
                }
                figures.push(FigureFile { path, bytes });
            }
            Content::Source(kind, text) => {
                let id = FileId(u32::try_from(files.len()).unwrap_or(u32::MAX));
                let (text, broken_at) = match text {
                    Ok(text) => (text, None),
                    Err(Mended { text, at }) => (text, Some(at)),
                };
                let source = Source {
                    id,
                    path,
                    kind,
                    text,
                };
                if let Some(at) = broken_at {
                    findings.push(not_utf8(&source, at));
                }
                files.push(source);
            }
        }
    }
    if !files
        .iter()
        .any(|file| matches!(file.kind, Kind::Procedure { .. }))
    {
        let name = world.name();
        findings.push(
            Finding::new(
                &rules::EMPTY_TREE,
                format!("`{name}` has no procedure in it"),
            )
            .help("a procedure is a Markdown file in a folder of the tree: `fuel/float-bowl.md`"),
        );
    }
    Tree {
        name: world.name(),
        files,
        figures,
        findings,
    }
}

/// More bytes than anyone writes, and few enough for a [`Span`]; one that is broken may take three
/// for each.
const LONGEST: usize = 1 << 30;

/// What came of a file of the listing.
enum Content {
    Source(Kind, Result<String, Mended>),
    Figure(Vec<u8>),
    Unreadable(io::Error),
    /// Looks like a source, but not where sources stand.
    Unread,
}

/// A text that was not UTF-8, its broken bytes replaced, and where the first of them was.
struct Mended {
    text: String,
    at: usize,
}

/// Reads a file; none where it is nothing of ours.
fn content(world: &dyn World, path: &str) -> Option<Content> {
    let place = place_of(path);
    match place {
        Place::Ignored => return None,
        Place::Unread => return Some(Content::Unread),
        Place::Source(_) | Place::Figure => {}
    }
    Some(match (world.read(path), place) {
        (Err(error), _) => Content::Unreadable(error),
        (Ok(bytes), Place::Source(_)) if bytes.len() > LONGEST => {
            Content::Unreadable(io::ErrorKind::FileTooLarge.into())
        }
        (Ok(bytes), Place::Source(kind)) => Content::Source(kind, decode(bytes)),
        (Ok(bytes), _) => Content::Figure(bytes),
    })
}

/// Whether a figure begins as its ending says it should.
fn is_drawing(path: &str, bytes: &[u8]) -> bool {
    let ending = path.rsplit('.').next().unwrap_or_default();
    match ending.to_ascii_lowercase().as_str() {
        "png" => bytes.starts_with(b"\x89PNG\r\n\x1a\n"),
        "jpg" | "jpeg" => bytes.starts_with(b"\xff\xd8\xff"),
        _ => std::str::from_utf8(bytes).is_ok_and(|text| text.contains("<svg")),
    }
}

fn decode(bytes: Vec<u8>) -> Result<String, Mended> {
    match String::from_utf8(bytes) {
        // Spans count from the first character, so the mark goes at once.
        Ok(text) => Ok(match text.strip_prefix('\u{feff}') {
            Some(rest) => rest.to_owned(),
            None => text,
        }),
        Err(error) => Err(Mended {
            at: error.utf8_error().valid_up_to(),
            text: String::from_utf8_lossy(error.as_bytes()).into_owned(),
        }),
    }
}

fn not_utf8(source: &Source, at: usize) -> Finding {
    let span = source.span(at..at + char::REPLACEMENT_CHARACTER.len_utf8());
    Finding::new(
        &rules::NOT_UTF8,
        format!("`{}` is not UTF-8 text", source.path),
    )
    .at(span, "the first byte that is not")
    .help("save the file as UTF-8 in the editor")
}

enum Place {
    Source(Kind),
    Figure,
    /// Nothing of ours: a read-me, an editor's own file.
    Ignored,
    /// Looks like a source, but not where sources stand.
    Unread,
}

const ROOT_FILES: [&str; 5] = [
    "shop.toml",
    "tools.toml",
    "supplies.toml",
    "cautions.toml",
    "glossary.toml",
];

fn place_of(path: &str) -> Place {
    let (stem, ending) = path.rsplit_once('.').unwrap_or((path, ""));
    let ending = ending.to_ascii_lowercase();
    if matches!(ending.as_str(), "svg" | "png" | "jpg" | "jpeg") {
        return Place::Figure;
    }
    if path.rsplit('/').next() == Some("README.md") {
        return Place::Ignored;
    }
    let parts: Vec<&str> = stem.split('/').collect();
    match (parts.as_slice(), ending.as_str()) {
        (["shop"], "toml") => Place::Source(Kind::Shop),
        (["tools"], "toml") => Place::Source(Kind::Tools),
        (["supplies"], "toml") => Place::Source(Kind::Supplies),
        (["cautions"], "toml") => Place::Source(Kind::Cautions),
        (["glossary"], "toml") => Place::Source(Kind::Glossary),
        (["machines", id], "toml") => Place::Source(Kind::Machine {
            id: (*id).to_owned(),
        }),
        (["faults", id], "md") => Place::Source(Kind::Fault {
            id: (*id).to_owned(),
        }),
        (["machines" | "figures" | "faults", ..], "md") => Place::Unread,
        ([system, id], "md") => Place::Source(Kind::Procedure {
            system: (*system).to_owned(),
            id: (*id).to_owned(),
        }),
        (_, "toml" | "md") => Place::Unread,
        _ => Place::Ignored,
    }
}

fn unread(path: &str) -> Finding {
    Finding::new(
        &rules::UNREAD_FILE,
        format!("`{path}` is not where a source file stands, so it is not read"),
    )
    .near(nearest(path, ROOT_FILES))
}
