//! Reads the files of a shop as a [`Tree`].
//!
//! In: a [`World`], which gives access to files. Out: the source files in order of
//! their paths, each with its kind, which its path decides, and the figures. This
//! stage reads no content beyond its encoding.

mod rules;
mod world;

use crate::finding::{FileId, Finding, Findings, Span, nearest};
use rayon::prelude::*;
pub use rules::RULES;
use std::io;
pub use world::{Disk, Memory, World};

/// What a source file holds. Its path decides that.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SourceKind {
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
    /// Its id in this tree.
    pub id: FileId,
    /// Its path from the tree's root, with `/`.
    pub path: String,
    /// What it holds.
    pub kind: SourceKind,
    /// Its text, without a byte order mark.
    pub text: String,
}

impl Source {
    /// The span of the whole text.
    #[must_use]
    pub fn whole(&self) -> Span {
        self.span(0..self.text.len())
    }

    /// The span of a range of its bytes.
    #[must_use]
    pub fn span(&self, range: std::ops::Range<usize>) -> Span {
        Span::new(self.id, range)
    }

    /// The line and the column of a byte offset, both from 1. Columns count characters.
    #[must_use]
    pub fn place(&self, offset: usize) -> (usize, usize) {
        let before = self.text.get(..offset).unwrap_or_default();
        let line = before.bytes().filter(|byte| *byte == b'\n').count() + 1;
        let start = before.rfind('\n').map_or(0, |at| at + 1);
        (line, before[start..].chars().count() + 1)
    }
}

/// A figure's file.
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
    /// The name of the root, which precedes paths: `procedures`.
    pub name: String,
    /// The source files, by path.
    pub files: Vec<Source>,
    /// The figures, by path.
    pub figures: Vec<FigureFile>,
    /// Faults in reading the files.
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

/// Reads a tree. A file that can't be read is a finding.
pub fn read(world: &dyn World) -> Tree {
    let mut findings = Findings::new();
    let mut figures = Vec::new();
    let listing = world.list();
    let mut files = Vec::with_capacity(listing.paths.len());
    for fault in listing.faults {
        findings.push(Finding::new(&rules::UNREADABLE_FILE, fault));
    }
    // Only reading is parallel: a source's id is its index among the files that could be read.
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
                if !is_figure(&path, &bytes) {
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
                    Err(Replaced { text, at }) => (text, Some(at)),
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
        .any(|file| matches!(file.kind, SourceKind::Procedure { .. }))
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

/// The longest source that is read, in bytes. With each byte replaced by a replacement character,
/// which has three, its length still fits into a [`Span`].
const MAX_LENGTH: usize = 1 << 30;

/// A file that was read.
enum Content {
    Source(SourceKind, Result<String, Replaced>),
    Figure(Vec<u8>),
    Unreadable(io::Error),
    /// It looks like a source, but no source has such a path.
    Unread,
}

/// Text that was not UTF-8, with its invalid bytes replaced, and the offset of the first of them.
struct Replaced {
    text: String,
    at: usize,
}

/// Reads a file. None when it is neither a source nor a figure.
fn content(world: &dyn World, path: &str) -> Option<Content> {
    let kind = path_kind(path);
    match kind {
        PathKind::Ignored => return None,
        PathKind::Unread => return Some(Content::Unread),
        PathKind::Source(_) | PathKind::Figure => {}
    }
    Some(match (world.read(path), kind) {
        (Err(error), _) => Content::Unreadable(error),
        (Ok(bytes), PathKind::Source(_)) if bytes.len() > MAX_LENGTH => {
            Content::Unreadable(io::ErrorKind::FileTooLarge.into())
        }
        (Ok(bytes), PathKind::Source(kind)) => Content::Source(kind, decode(bytes)),
        (Ok(bytes), _) => Content::Figure(bytes),
    })
}

/// Whether a figure's content is what its extension says.
fn is_figure(path: &str, bytes: &[u8]) -> bool {
    let extension = path.rsplit('.').next().unwrap_or_default();
    match extension.to_ascii_lowercase().as_str() {
        "png" => bytes.starts_with(b"\x89PNG\r\n\x1a\n"),
        "jpg" | "jpeg" => bytes.starts_with(b"\xff\xd8\xff"),
        _ => std::str::from_utf8(bytes).is_ok_and(|text| text.contains("<svg")),
    }
}

fn decode(bytes: Vec<u8>) -> Result<String, Replaced> {
    match String::from_utf8(bytes) {
        // Spans count from the first character, so a byte order mark is removed now.
        Ok(text) => Ok(match text.strip_prefix('\u{feff}') {
            Some(rest) => rest.to_owned(),
            None => text,
        }),
        Err(error) => Err(Replaced {
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
    .primary(span, "the first byte that is not")
    .help("save the file as UTF-8 in the editor")
}

/// What a path stands for.
enum PathKind {
    Source(SourceKind),
    Figure,
    /// Another file: a README, an editor's own file.
    Ignored,
    /// It looks like a source, but no source has such a path.
    Unread,
}

const ROOT_FILES: [&str; 5] = [
    "shop.toml",
    "tools.toml",
    "supplies.toml",
    "cautions.toml",
    "glossary.toml",
];

fn path_kind(path: &str) -> PathKind {
    let (stem, ending) = path.rsplit_once('.').unwrap_or((path, ""));
    let ending = ending.to_ascii_lowercase();
    if matches!(ending.as_str(), "svg" | "png" | "jpg" | "jpeg") {
        return PathKind::Figure;
    }
    if path.rsplit('/').next() == Some("README.md") {
        return PathKind::Ignored;
    }
    let parts: Vec<&str> = stem.split('/').collect();
    match (parts.as_slice(), ending.as_str()) {
        (["shop"], "toml") => PathKind::Source(SourceKind::Shop),
        (["tools"], "toml") => PathKind::Source(SourceKind::Tools),
        (["supplies"], "toml") => PathKind::Source(SourceKind::Supplies),
        (["cautions"], "toml") => PathKind::Source(SourceKind::Cautions),
        (["glossary"], "toml") => PathKind::Source(SourceKind::Glossary),
        (["machines", id], "toml") => PathKind::Source(SourceKind::Machine {
            id: (*id).to_owned(),
        }),
        (["faults", id], "md") => PathKind::Source(SourceKind::Fault {
            id: (*id).to_owned(),
        }),
        (["machines" | "figures" | "faults", ..], "md") => PathKind::Unread,
        ([system, id], "md") => PathKind::Source(SourceKind::Procedure {
            system: (*system).to_owned(),
            id: (*id).to_owned(),
        }),
        (_, "toml" | "md") => PathKind::Unread,
        _ => PathKind::Ignored,
    }
}

fn unread(path: &str) -> Finding {
    Finding::new(
        &rules::UNREAD_FILE,
        format!("`{path}` is not where a source file stands, so it is not read"),
    )
    .suggest(nearest(path, ROOT_FILES))
}
