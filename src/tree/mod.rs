//! Reads the files of a shop as a [`Tree`].
//!
//! In: a [`World`], which gives access to files. Out: the source files, sorted by
//! path, and the figures. The path of a source decides its kind. This stage checks
//! the encoding of text and the format of figures, and never parses a source.

mod glyph;
mod invisible;
mod paths;
mod picture;
mod rules;
mod world;

use crate::finding::{FileId, Finding, Findings, Span, nearest};
#[cfg(test)]
pub(crate) use glyph::has_glyph;
pub(crate) use glyph::without_glyph;
use invisible::invisible_in_path;
pub(crate) use invisible::{invisible, invisible_character};
use rayon::prelude::*;
pub(crate) use rules::{OVER_LIMIT, RULES};
use std::collections::BTreeMap;
use std::io;
use std::ops::Range;
use std::sync::OnceLock;
pub use world::{Disk, FileState, Listing, Memory, World};

/// The kind of a source file. Its path decides it.
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
        /// The name of the folder, which is a chapter of the manual.
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

/// A source file.
#[derive(Clone, Debug)]
pub struct Source {
    /// The index in [`Tree::files`].
    pub id: FileId,
    /// The path from the tree's root, with `/` as separator.
    pub path: String,
    /// Decided by the path.
    pub kind: SourceKind,
    /// The text, without a byte order mark.
    pub text: String,
    /// The offsets of the starts of its lines, made when they are first needed.
    line_starts: OnceLock<Vec<usize>>,
}

impl Source {
    /// The span of the whole text.
    #[must_use]
    pub fn whole(&self) -> Span {
        self.span(0..self.text.len())
    }

    /// The span of a range of bytes.
    #[must_use]
    pub fn span(&self, range: std::ops::Range<usize>) -> Span {
        Span::new(self.id, range)
    }

    /// The line and the column of a byte offset, both from 1. Columns count characters.
    #[must_use]
    pub fn place(&self, offset: usize) -> (usize, usize) {
        let line = self.line(offset);
        let before = self.text.get(self.line_start(line)..offset);
        (line, before.unwrap_or_default().chars().count() + 1)
    }

    /// The number of the line of a byte offset, from 1.
    pub(crate) fn line(&self, offset: usize) -> usize {
        self.line_starts().partition_point(|start| *start <= offset)
    }

    /// The offset of the start of a line. That of the end of the text if there is no such line.
    pub(crate) fn line_start(&self, line: usize) -> usize {
        let start = self.line_starts().get(line.wrapping_sub(1));
        start.copied().unwrap_or(self.text.len())
    }

    fn line_starts(&self) -> &[usize] {
        self.line_starts.get_or_init(|| {
            let ends = memchr::memchr_iter(b'\n', self.text.as_bytes());
            std::iter::once(0).chain(ends.map(|end| end + 1)).collect()
        })
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

impl FigureFile {
    /// The least width in print, in tenths of a millimetre, at which the labels in the drawing can be read. `None` if it
    /// has none, or is not a drawing.
    pub(crate) fn least_width(&self) -> Option<u32> {
        let width = picture::least_width(&self.path, &self.bytes)? * 10.0;
        let width = width.ceil().clamp(0.0, 9_999.0);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "it is clamped"
        )]
        Some(width as u32)
    }

    /// A finding if the content can't be printed. It is reported where a figure is used, or else without a place.
    pub(crate) fn fault(&self) -> Option<Finding> {
        let fault = picture::fault(&self.path, &self.bytes)?;
        let message = format!("figure `{}` {}", self.path, fault.message);
        Some(Finding::new(fault.rule, message).help(fault.help))
    }
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
    /// The paths of all files that were to be read, and their states.
    states: Vec<(String, Option<FileState>)>,
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

    /// Whether the files are still in the states that they were read in, and no others have come.
    #[must_use]
    pub fn is_current(&self, world: &dyn World) -> bool {
        let mut paths = world.list().paths;
        paths.retain(|path| is_read(path));
        paths.len() == self.states.len()
            && paths
                .par_iter()
                .zip(&self.states)
                .all(|(path, (before, state))| path == before && world.state(path) == *state)
    }

    /// A figure by its path from the root.
    #[must_use]
    pub fn figure(&self, path: &str) -> Option<&FigureFile> {
        let index = self
            .figures
            .binary_search_by(|figure| figure.path.as_str().cmp(path));
        index.ok().map(|index| &self.figures[index])
    }
}

/// Reads a tree. A file that can't be read is a finding.
pub fn read(world: &dyn World) -> Tree {
    let mut findings = Findings::new();
    let mut figures = Vec::new();
    let listing = world.list();
    let mut files = Vec::with_capacity(listing.paths.len());
    report_other_files(&listing.paths, &mut findings);
    for error in listing.faults {
        findings.push(Finding::new(&rules::UNREADABLE_FILE, error).help(UNREADABLE_HELP));
    }
    // Only reading is parallel. The rest is in order, because a source's id is its index among the
    // files that could be read.
    let contents: Vec<Option<(String, ReadFile)>> = listing
        .paths
        .into_par_iter()
        .map(|path| read_file(world, &path).map(|file| (path, file)))
        .collect();
    let mut states = Vec::new();
    for (path, ReadFile { content, state }) in contents.into_iter().flatten() {
        if is_read(&path) {
            states.push((path.clone(), state));
        }
        match content {
            Content::Unread => findings.push(unread(&path)),
            Content::Unreadable(error) => {
                let message = format!("`{path}` can't be read: {error}");
                findings.push(Finding::new(&rules::UNREADABLE_FILE, message).help(UNREADABLE_HELP));
            }
            Content::TooLarge(limit) => {
                let message = format!("`{path}` is larger than {} MiB", limit >> 20);
                findings.push(Finding::new(&rules::OVER_LIMIT, message).help(TOO_LARGE_HELP));
            }
            Content::LongLine(line) => {
                let message = format!("line {line} of `{path}` is longer than {MAX_LINE} bytes");
                findings.push(Finding::new(&rules::OVER_LIMIT, message).help(LONG_LINE_HELP));
            }
            Content::Figure(bytes) => figures.push(FigureFile { path, bytes }),
            Content::Source(kind, text) => {
                if let Some((_, letter)) = invisible(&path) {
                    findings.push(invisible_in_path(letter, &path));
                }
                let id = FileId(u32::try_from(files.len()).unwrap_or(u32::MAX));
                let (text, invalid_at) = match text {
                    Ok(text) => (text, None),
                    Err(InvalidUtf8 { text, offset }) => (text, Some(offset)),
                };
                let source = Source {
                    id,
                    path,
                    kind,
                    text,
                    line_starts: OnceLock::new(),
                };
                if let Some(offset) = invalid_at {
                    findings.push(not_utf8(&source, offset));
                }
                if let Some(word) = long_word(&source.text) {
                    let message = format!("a word has more than {MAX_WORD} letters");
                    let finding = Finding::new(&rules::OVER_LIMIT, message);
                    let finding = finding.primary(source.span(word), "");
                    findings.push(finding.help("write spaces between words"));
                }
                if let Some((at, letter)) = invisible(&source.text) {
                    let span = source.span(at..at + letter.len_utf8());
                    findings.push(invisible_character(letter, span));
                }
                files.push(source);
            }
        }
    }
    let sources = files.iter().map(|file| file.path.as_str());
    let all = sources.chain(figures.iter().map(|figure| figure.path.as_str()));
    for finding in paths::look_alikes(all) {
        findings.push(finding);
    }
    // Those that could not be read have been reported.
    let is_procedure = |path: &str| {
        matches!(
            path_kind(path),
            PathKind::Source(SourceKind::Procedure { .. })
        )
    };
    if !states.iter().any(|(path, _)| is_procedure(path)) {
        let name = world.name();
        findings.push(
            Finding::new(
                &rules::NO_PROCEDURES,
                format!("`{name}` contains no procedures"),
            )
            .help("a procedure is a Markdown file in a subfolder: `fuel/float-bowl.md`"),
        );
    }
    Tree {
        name: world.name(),
        files,
        figures,
        findings,
        states,
    }
}

/// The help for a file that is too large.
const TOO_LARGE_HELP: &str =
    "split a source into several, make a figure smaller, or move the file out of the sources";

/// The help for a line that is too long.
const LONG_LINE_HELP: &str = "break it into several lines; the file is not read";

/// The help for a file that can't be read.
const UNREADABLE_HELP: &str =
    "make it readable for this user, or move it out of the sources if it is none of them";

/// The largest accepted source, in bytes. The sources of the demonstration shop have at most 30 kB.
const MAX_SOURCE: u64 = 8 << 20;

/// The longest accepted line of a source, in bytes. A line holds a paragraph at most.
const MAX_LINE: usize = 16 << 10;

/// The most letters and digits of a word. The typesetter takes a time that grows with the square of a word's length to
/// break a line in it.
const MAX_WORD: usize = 200;

/// The largest accepted figure, in bytes.
const MAX_FIGURE: u64 = 64 << 20;

/// The content of a file, or why there is none.
enum Content {
    Source(SourceKind, Result<String, InvalidUtf8>),
    Figure(Vec<u8>),
    Unreadable(io::Error),
    /// The file has more bytes than this limit.
    TooLarge(u64),
    /// This line of a source is too long. Lines count from 1.
    LongLine(usize),
    /// The file looks like a source, but its path is not that of a source.
    Unread,
}

/// Text that is not UTF-8.
struct InvalidUtf8 {
    /// The text with its invalid bytes replaced by U+FFFD.
    text: String,
    /// The offset of the first invalid byte.
    offset: usize,
}

/// The content of a file, and the state in which the file has it.
struct ReadFile {
    content: Content,
    state: Option<FileState>,
}

/// How often a file that changes while it is read is read again.
const MOST_READS: usize = 5;

/// Reads a file. None if the file is ignored.
fn read_file(world: &dyn World, path: &str) -> Option<ReadFile> {
    let mut state = world.state(path);
    for _ in 0..MOST_READS {
        let content = content(world, path, state)?;
        let after = world.state(path);
        if after == state {
            return Some(ReadFile { content, state });
        }
        state = after;
    }
    let content = Content::Unreadable(io::Error::other("it changes while it is read"));
    Some(ReadFile { content, state })
}

/// Whether a file with this path is read.
fn is_read(path: &str) -> bool {
    matches!(path_kind(path), PathKind::Source(_) | PathKind::Figure)
}

fn content(world: &dyn World, path: &str, state: Option<FileState>) -> Option<Content> {
    let kind = path_kind(path);
    match kind {
        PathKind::Ignored => return None,
        PathKind::Unread => return Some(Content::Unread),
        PathKind::Source(_) | PathKind::Figure => {}
    }
    let limit = match kind {
        PathKind::Source(_) => MAX_SOURCE,
        _ => MAX_FIGURE,
    };
    if state.is_some_and(|state| state.size > limit) {
        return Some(Content::TooLarge(limit));
    }
    Some(match (world.read(path), kind) {
        (Err(error), _) => Content::Unreadable(error),
        (Ok(bytes), _) if bytes.len() as u64 > limit => Content::TooLarge(limit),
        (Ok(bytes), PathKind::Source(kind)) => match long_line(&bytes) {
            Some(line) => Content::LongLine(line),
            None => Content::Source(kind, decode(bytes)),
        },
        (Ok(bytes), _) => Content::Figure(bytes),
    })
}

/// The number of the first line that is too long.
fn long_line(bytes: &[u8]) -> Option<usize> {
    let mut start = 0;
    let ends = memchr::memchr_iter(b'\n', bytes).chain([bytes.len()]);
    for (index, end) in ends.enumerate() {
        if end - start > MAX_LINE {
            return Some(index + 1);
        }
        start = end + 1;
    }
    None
}

/// The place of the first word that is too long.
fn long_word(text: &str) -> Option<Range<usize>> {
    let mut start = 0;
    // A word that is too long fills the whole window. Otherwise it begins after the last byte that is in no word.
    while let Some(window) = text.as_bytes().get(start..=start + MAX_WORD) {
        match window
            .iter()
            .rposition(|byte| !byte.is_ascii_alphanumeric())
        {
            Some(at) => start += at + 1,
            None => return Some(start..start + MAX_WORD + 1),
        }
    }
    None
}

fn decode(bytes: Vec<u8>) -> Result<String, InvalidUtf8> {
    match String::from_utf8(bytes) {
        // Offsets of spans are relative to the text after the byte order mark.
        Ok(text) => Ok(match text.strip_prefix('\u{feff}') {
            Some(rest) => rest.to_owned(),
            None => text,
        }),
        Err(error) => Err(InvalidUtf8 {
            offset: error.utf8_error().valid_up_to(),
            text: String::from_utf8_lossy(error.as_bytes()).into_owned(),
        }),
    }
}

fn not_utf8(source: &Source, offset: usize) -> Finding {
    let span = source.span(offset..offset + char::REPLACEMENT_CHARACTER.len_utf8());
    Finding::new(
        &rules::NOT_UTF8,
        format!("`{}` is not UTF-8 text", source.path),
    )
    .primary(span, "the first invalid byte")
    .help("save the file as UTF-8 in the editor")
}

/// The kind of file that a path is for.
enum PathKind {
    Source(SourceKind),
    Figure,
    /// Any other file, such as a README.
    Ignored,
    /// The file looks like a source, but its path is not that of a source.
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
    let (stem, extension) = path.rsplit_once('.').unwrap_or((path, ""));
    let extension = extension.to_ascii_lowercase();
    if matches!(extension.as_str(), "svg" | "png" | "jpg" | "jpeg") {
        return PathKind::Figure;
    }
    if path.rsplit('/').next() == Some("README.md") {
        return PathKind::Ignored;
    }
    let parts: Vec<&str> = stem.split('/').collect();
    match (parts.as_slice(), extension.as_str()) {
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

/// The names and extensions of files that belong to editors, version control or the operating system, or describe the
/// folder. `tree` ignores them without a finding.
const NOT_SOURCES: [&str; 9] = [
    "bak",
    "orig",
    "swp",
    "tmp",
    "Thumbs.db",
    "desktop.ini",
    "Makefile",
    "CODEOWNERS",
    "lock",
];

/// Reports files that are neither sources nor figures, such as `cover.txt` or `cover.heic`, one finding for each
/// extension in a folder.
fn report_other_files(paths: &[String], findings: &mut Findings) {
    let mut others: BTreeMap<(&str, &str), Vec<&str>> = BTreeMap::new();
    for path in paths {
        let (folder, name) = path.rsplit_once('/').unwrap_or(("", path));
        let (stem, extension) = name.rsplit_once('.').unwrap_or((name, ""));
        // Files in capital letters describe the folder: README, LICENSE-MIT, CHANGELOG.txt.
        let is_known = NOT_SOURCES
            .iter()
            .any(|known| [name, extension].contains(known))
            || name.ends_with('~')
            || !stem.chars().any(char::is_lowercase);
        if matches!(path_kind(path), PathKind::Ignored) && !is_known {
            others.entry((folder, extension)).or_default().push(path);
        }
    }
    for ((_, extension), paths) in others {
        let message = match paths.as_slice() {
            [path] => format!("`{path}` is not read: no source or figure has that file extension"),
            [path, ..] => format!(
                "`{path}` and {} more with that file extension are not read",
                paths.len() - 1
            ),
            [] => continue,
        };
        let help = match extension.to_ascii_lowercase().as_str() {
            "txt" | "markdown" | "mdown" | "mkd" | "mdx" | "" => {
                "name it `.md` if it is a procedure, or move it out of the sources"
            }
            "heic" | "heif" | "avif" | "webp" | "gif" | "bmp" | "tif" | "tiff" | "pdf" | "eps" => {
                "export it as SVG, PNG or JPEG, or move it out of the sources"
            }
            _ => "move it out of the sources",
        };
        findings.push(Finding::new(&rules::IGNORED_FILE, message).help(help));
    }
}

fn unread(path: &str) -> Finding {
    Finding::new(
        &rules::IGNORED_FILE,
        format!("`{path}` is ignored: no source file is expected there"),
    )
    .suggest(
        nearest(path, ROOT_FILES),
        "a procedure is `SYSTEM/ID.md`, a fault table `faults/ID.md`, a machine `machines/ID.toml`; move any other file \
         out of the sources",
    )
}

#[cfg(test)]
mod tests {
    use super::{MAX_WORD, long_word};

    #[test]
    fn first_word_that_is_too_long_is_found_wherever_it_is() {
        let (long, word) = ("x".repeat(MAX_WORD + 1), "x".repeat(MAX_WORD));
        for before in 0..2 * MAX_WORD {
            let place = before + 1..before + 2 + MAX_WORD;
            let before = "a b-c. ".repeat(60)[..before].to_owned() + " ";
            assert_eq!(long_word(&format!("{before}{long}")), Some(place.clone()));
            assert_eq!(long_word(&format!("{before}{long} {long}")), Some(place));
            let sound = format!("{before}{word} {word}\u{e9}{word}\n{word}");
            assert_eq!(long_word(&sound), None);
        }
    }
}
