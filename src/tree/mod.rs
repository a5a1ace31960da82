//! Reads the files of a shop as a [`Tree`].
//!
//! In: a [`World`], which gives access to files. Out: the source files, sorted by
//! path, and the figures. The path of a source decides its kind. This stage checks
//! the encoding of text and the format of figures, and never parses a source.

mod file;
mod glyph;
mod invisible;
mod kind;
mod overlay;
mod paths;
mod picture;
mod rules;
mod world;

use crate::cache::Fingerprint;
use crate::finding::{FileId, Finding, Findings, Span, nearest};
use file::{
    BYTE_ORDER_MARK, Content, InvalidUtf8, MAX_LINE, MAX_WORD, ReadFile, is_within_limits,
    long_word, read_file,
};
#[cfg(test)]
pub(crate) use glyph::has_glyph;
pub(crate) use glyph::without_glyph;
use invisible::invisible_in_path;
pub(crate) use invisible::{invisible, invisible_character};
pub use kind::SourceKind;
use kind::{PathKind, ROOT_FILES, is_read, path_kind};
pub(crate) use overlay::Overlay;
pub(crate) use picture::{
    Area, Colour, Drawing, MostPixels, PathText, Place, Segment, Shape, Stroke, shown,
};
use rayon::prelude::*;
pub(crate) use rules::{OVER_LIMIT, RULES};
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};
pub use world::{Disk, FileState, Listing, Memory, World};

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
    /// Its shapes, read when they are first needed.
    drawing: OnceLock<Option<Arc<Drawing>>>,
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

    /// Its shapes, and where its elements are. `None` if it is damaged.
    pub(crate) fn drawing(&self) -> Option<&Arc<Drawing>> {
        let read = || picture::drawing(&self.path, &self.bytes);
        self.drawing.get_or_init(read).as_ref()
    }

    /// A mark that changes with what is shown of it.
    pub(crate) fn content(&self) -> Fingerprint {
        picture::content(&self.path, &self.bytes)
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
        self.is_current_but(world, |_| false)
    }

    /// Like [`is_current`](Tree::is_current), without the states of some files.
    pub(crate) fn is_current_but(
        &self,
        world: &dyn World,
        is_exempt: impl Fn(&str) -> bool + Sync,
    ) -> bool {
        let mut paths = world.list().paths;
        paths.retain(|path| is_read(path));
        paths.len() == self.states.len()
            && paths
                .par_iter()
                .zip(&self.states)
                .all(|(path, (before, state))| {
                    path == before && (is_exempt(path) || world.state(path) == *state)
                })
    }

    /// Whether a file with this path is read if it is in the tree.
    pub(crate) fn reads(path: &str) -> bool {
        is_read(path)
    }

    /// A source by its path from the root.
    pub(crate) fn source(&self, path: &str) -> Option<&Source> {
        let index = self
            .files
            .binary_search_by(|file| file.path.as_str().cmp(path));
        index.ok().map(|index| &self.files[index])
    }

    /// Replaces the text of a source, as an editor does that has not saved it yet. Returns whether it was replaced: a text
    /// over a limit is not read, so then the whole tree has to be read again.
    pub(crate) fn replace_text(&mut self, id: FileId, text: String) -> bool {
        if !is_within_limits(&text) {
            return false;
        }
        let Some(source) = self.files.get_mut(id.0 as usize) else {
            return false;
        };
        source.text = match text.strip_prefix(BYTE_ORDER_MARK) {
            Some(rest) => rest.to_owned(),
            None => text,
        };
        source.line_starts = OnceLock::new();
        self.findings.set_levels(|finding| {
            let is_here = finding
                .primary
                .as_ref()
                .is_some_and(|mark| mark.span.file == id);
            (!is_here).then_some(finding.level)
        });
        report_text(&self.files[id.0 as usize], &mut self.findings);
        true
    }

    /// The tree with one more source, which comes after all others, so that their ids stay. `None` if no source can have
    /// that path.
    pub(crate) fn with_source(&self, path: &str, text: String) -> Option<Tree> {
        let PathKind::Source(kind) = path_kind(path) else {
            return None;
        };
        let mut tree = self.clone();
        tree.files.push(Source {
            id: FileId(u32::try_from(self.files.len()).unwrap_or(u32::MAX)),
            path: path.to_owned(),
            kind,
            text,
            line_starts: OnceLock::new(),
        });
        Some(tree)
    }

    /// Replaces the text of the last source, such as the one that [`Tree::with_source`] added.
    pub(crate) fn set_last_text(&mut self, text: String) {
        if let Some(last) = self.files.last_mut() {
            last.text = text;
            last.line_starts = OnceLock::new();
        }
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
            Content::Figure(bytes) => figures.push(FigureFile {
                path,
                bytes,
                drawing: OnceLock::new(),
            }),
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
                report_text(&source, &mut findings);
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

/// Reports a word that is too long, and a character that can't be seen.
fn report_text(source: &Source, findings: &mut Findings) {
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
}

/// The help for a file that is too large.
const TOO_LARGE_HELP: &str =
    "split a source into several, make a figure smaller, or move the file out of the sources";

/// The help for a line that is too long.
const LONG_LINE_HELP: &str = "break it into several lines; the file is not read";

/// The help for a file that can't be read.
const UNREADABLE_HELP: &str =
    "make it readable for this user, or move it out of the sources if it is none of them";

fn not_utf8(source: &Source, offset: usize) -> Finding {
    let span = source.span(offset..offset + char::REPLACEMENT_CHARACTER.len_utf8());
    Finding::new(
        &rules::NOT_UTF8,
        format!("`{}` is not UTF-8 text", source.path),
    )
    .primary(span, "the first invalid byte")
    .help("save the file as UTF-8 in the editor")
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
