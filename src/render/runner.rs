//! Compiles sheets and manuals to PDF with the typst program. Each PDF is a process of its own, with a limit on its memory
//! and its time.

mod figures;
mod folder;
mod limits;
mod running;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicU64, Ordering};

use figures::PrintFigures;
use folder::{checked_path, write};
use limits::{Budget, Limits, is_too_large};
use process_control::{ChildExt as _, Control as _, Output};
use running::Running;
pub(crate) use running::end_processes;
use serde::Serialize;

use super::typst::Typst;
use super::{Look, RenderError, qr, templates};
use crate::manual::Manual;
use crate::output::TemporaryFolder;
use crate::page::{Block, Cell, LinkTarget, Sheet, visit_links};
use crate::words::Words;

/// Environment variables that would change typst's output. They are removed.
const UNSET: [&str; 7] = [
    "SOURCE_DATE_EPOCH",
    "TYPST_FEATURES",
    "TYPST_FONT_PATHS",
    "TYPST_IGNORE_EMBEDDED_FONTS",
    "TYPST_PACKAGE_CACHE_PATH",
    "TYPST_PACKAGE_PATH",
    "TYPST_ROOT",
];

/// The fonts that the templates use. Noto Sans has figures of one width. `DejaVu` Sans has the letters and signs that it
/// lacks. The monospaced font is for engraved or typed text.
fn fonts() -> [(&'static str, &'static [u8]); 8] {
    use dejavu::{sans, sans_mono};
    [
        ("text.ttf", ttf_noto_sans::REGULAR),
        ("text-bold.ttf", ttf_noto_sans::BOLD),
        ("text-italic.ttf", ttf_noto_sans::ITALIC),
        ("text-bold-italic.ttf", ttf_noto_sans::BOLD_ITALIC),
        ("fallback.ttf", sans::regular()),
        ("fallback-bold.ttf", sans::bold()),
        ("mono.ttf", sans_mono::regular()),
        ("mono-bold.ttf", sans_mono::bold()),
    ]
}

/// The JSON input of the sheet template.
#[derive(Serialize)]
struct SheetInput<'a> {
    sheet: &'a Sheet,
    words: BTreeMap<&'a str, &'a str>,
    /// The logo's path in the work folder.
    logo: Option<String>,
    /// The URL of the sheet's page.
    address: Option<&'a str>,
    /// The URL as a QR code in SVG.
    qr: Option<String>,
    /// The prefix of the labels of the sheet's steps: the name of its job.
    job: Option<String>,
    /// The labels of the steps that the sheet itself links to.
    places: Vec<String>,
    /// The language of the shop's text, if it is another than the sheet's.
    author: Option<&'a str>,
}

/// The JSON input of the manual template.
#[derive(Serialize)]
struct ManualInput<'a> {
    manual: &'a Manual,
    words: BTreeMap<&'a str, &'a str>,
    /// The logo's path in the work folder.
    logo: Option<String>,
    /// The language of the shop's text, if it is another than the manual's.
    author: Option<&'a str>,
}

/// How many threads typst may start. Each reserves 64 MiB of the address space that [`Limits`] bounds, and there would be
/// one for each core of the computer. A run compiles several sheets at once anyway.
const JOBS: &str = "4";

/// The texts between each quote of a template and the next one: what is quoted, and what is around it.
fn quoted(template: &str) -> impl Iterator<Item = String> {
    template.split('"').map(str::to_owned)
}

/// A compilation by typst.
struct TypstRequest<'a> {
    /// The main template.
    entry: &'static str,
    /// `all` to print the page number with every reference; `quiet` to omit it if the target is on the same
    /// page.
    pages: &'static str,
    /// The path of the PDF in the output, without extension, for error messages.
    path: &'a str,
    /// The date of the PDF, `YYYY-MM-DD`.
    revised: Option<&'a str>,
    /// The language of the PDF, a tag.
    language: &'a str,
    /// The size of the pixels of its figures, in bytes.
    pixels: u64,
    /// Whether it is a part of a divided manual.
    divided: bool,
}

/// A PDF and typst's messages about it.
struct Compiled {
    pdf: Vec<u8>,
    /// Whether typst's layout iterations converged, so that page numbers are right.
    converged: bool,
    messages: String,
}

/// Part of typst's warning that the layout did not converge.
const NOT_CONVERGED: &str = "did not converge";

/// Runs typst in a work folder with the templates, fonts and figures. Several threads can use a runner
/// at the same time.
///
/// Dropping the runner removes the folder.
#[derive(Debug)]
pub(crate) struct TypstRunner<'t> {
    typst: Typst,
    folder: TemporaryFolder,
    look: Look,
    figures: PrintFigures<'t>,
    budget: Budget,
    /// What is in quotes in a template, among it the keys of all words that are used.
    keys: BTreeSet<String>,
    /// The number of compilations so far. It makes the names of input files unique.
    count: AtomicU64,
}

impl<'t> TypstRunner<'t> {
    /// Writes the work folder. `figures` are the figures of all later sheets, with their paths in the
    /// shop's tree, which are their ids.
    ///
    /// # Errors
    ///
    /// If the folder can't be written, or if a figure's path sheets it.
    pub(crate) fn new(
        typst: Typst,
        look: &Look,
        figures: impl Iterator<Item = (&'t str, &'t [u8])>,
    ) -> Result<TypstRunner<'t>, RenderError> {
        let folder = TemporaryFolder::new("print").map_err(|error| RenderError::Io {
            path: std::env::temp_dir(),
            error,
        })?;
        let root = folder.path();
        for (name, text) in look.typst() {
            write(&root.join(name), text.as_bytes())?;
        }
        for (name, text) in templates::SIGNS {
            write(&root.join("signs").join(name), text.as_bytes())?;
        }
        for (name, bytes) in fonts() {
            write(&root.join("fonts").join(name), bytes)?;
        }
        let figures = PrintFigures::new(root, figures)?;
        if let Some((path, bytes)) = look.logo() {
            write(&root.join(checked_path(&path)?), bytes)?;
        }
        Ok(TypstRunner {
            typst,
            folder,
            look: look.clone(),
            figures,
            budget: Budget::new(),
            keys: look
                .typst()
                .iter()
                .flat_map(|(_, text)| quoted(text))
                .collect(),
            count: AtomicU64::new(0),
        })
    }

    /// Compiles a sheet and returns the PDF. `path` is its path in the output without extension; `address`
    /// is the URL of its page.
    ///
    /// # Errors
    ///
    /// If typst can't be started, or rejects the sheet: for example, a figure is missing or broken, or our
    /// fonts lack a character.
    pub(crate) fn set(
        &self,
        sheet: &Sheet,
        words: &Words,
        path: &str,
        address: Option<&str>,
    ) -> Result<Vec<u8>, RenderError> {
        let input = SheetInput {
            sheet,
            words: self.words(words),
            logo: self.logo(),
            address,
            qr: address.and_then(|address| qr::qr(address, &sheet.head.mark)),
            job: sheet
                .page
                .job()
                .map(|job| LinkTarget::Job(job.clone()).to_string()),
            places: linked_steps(sheet),
            author: words.author(),
        };
        let request = TypstRequest {
            entry: "main.typ",
            pages: "quiet",
            path,
            revised: sheet.head.revised.as_deref(),
            language: &sheet.head.language,
            pixels: self
                .figures
                .write_used([sheet.blocks.as_slice()].into_iter())?,
            divided: false,
        };
        Ok(self.compile(&request, &input)?.pdf)
    }

    /// The words that a template has the key of. Typst hashes what a function is called with, so all words of the pages
    /// would slow down each call.
    fn words<'w>(&self, words: &'w Words) -> BTreeMap<&'w str, &'w str> {
        let all = words.all().iter();
        let named = all.filter(|(key, _)| self.keys.contains(*key));
        named
            .map(|(key, text)| (key.as_str(), text.as_str()))
            .collect()
    }

    fn logo(&self) -> Option<String> {
        self.look.logo().map(|(path, _)| path)
    }

    /// Compiles a manual and returns the PDF. `path` is its path in the output without extension.
    ///
    /// # Errors
    ///
    /// As for [`TypstRunner::set`], and if the layout does not converge.
    pub(crate) fn set_manual(
        &self,
        manual: &Manual,
        words: &Words,
        path: &str,
    ) -> Result<Vec<u8>, RenderError> {
        let mut request = TypstRequest {
            entry: "manual.typ",
            pages: "quiet",
            path,
            revised: manual.head.revised.as_deref(),
            language: &manual.head.language,
            pixels: self.figures.write_used(manual.blocks())?,
            divided: !manual.outside.is_empty(),
        };
        let input = ManualInput {
            manual,
            words: self.words(words),
            logo: self.logo(),
            author: words.author(),
        };
        let mut compiled = self.compile(&request, &input)?;
        // A reference to a target on the same page has no page number. At the end of a page this can
        // alternate forever: with the number, the reference moves to the other page, and without it,
        // back. So the second attempt prints every page number.
        if !compiled.converged {
            request.pages = "all";
            compiled = self.compile(&request, &input)?;
        }
        if compiled.converged {
            Ok(compiled.pdf)
        } else {
            Err(RenderError::Setting {
                sheet: path.to_owned(),
                messages: compiled.messages,
            })
        }
    }

    /// Runs typst on an input that it reads as JSON.
    fn compile(
        &self,
        request: &TypstRequest<'_>,
        input: &impl Serialize,
    ) -> Result<Compiled, RenderError> {
        let json = serde_json::to_vec(input).map_err(|error| RenderError::Sheet {
            sheet: request.path.to_owned(),
            error,
        })?;
        if is_too_large(json.len(), request.pixels) {
            return Err(RenderError::OverLimit {
                sheet: request.path.to_owned(),
                limit: format!("{} MiB of memory", limits::MAX_MEMORY >> 20),
            });
        }
        let name = format!("sheet-{}.json", self.count.fetch_add(1, Ordering::Relaxed));
        let root = self.folder.path();
        let file = root.join(&name);
        write(&file, &json)?;
        let revised = request.revised.and_then(midnight);
        let mut command = Command::new(self.typst.path());
        for name in UNSET {
            command.env_remove(name);
        }
        command
            .arg("compile")
            .arg("--root")
            .arg(root)
            .arg("--font-path")
            .arg(root.join("fonts"))
            .args(["--ignore-system-fonts", "--pdf-standard", "ua-1"])
            .args(["--jobs", JOBS])
            .args(["--creation-timestamp", &revised.unwrap_or(0).to_string()])
            .args(["--input", &format!("sheet=/{name}")])
            .args(["--input", &format!("language={}", request.language)])
            .args(["--input", &format!("pages={}", request.pages)])
            .args(["--input", &format!("divided={}", request.divided)])
            .args(["--input", &format!("own={}", self.look.has_own_prints())])
            .args(["--format", "pdf"])
            .arg(root.join(request.entry))
            // Writes to standard output, so that no file is left after an error.
            .arg("-")
            .stdin(Stdio::null());
        let limits = Limits::of(json.len(), request.pixels);
        drop(json);
        let output = self.run(&mut command, limits);
        // If this fails, the file is removed with the folder.
        let _ = fs::remove_file(&file);
        let over_limit = |limit: String| RenderError::OverLimit {
            sheet: request.path.to_owned(),
            limit,
        };
        let output = output.map_err(|error| RenderError::Io {
            path: self.typst.path().to_owned(),
            error,
        })?;
        let Some(output) = output else {
            return Err(over_limit(format!("{} s", limits.time.as_secs())));
        };
        let messages = String::from_utf8_lossy(&output.stderr).into_owned();
        if !output.status.success() && is_out_of_memory(&output, &messages) {
            let mebibytes = limits.memory >> 20;
            return Err(over_limit(format!("{mebibytes} MiB of memory")));
        }
        if output.status.success() {
            return Ok(Compiled {
                pdf: output.stdout,
                converged: !messages.contains(NOT_CONVERGED),
                messages,
            });
        }
        let sheet = request.path.to_owned();
        let texts = texts_without_glyph(&messages);
        Err(if texts.is_empty() {
            RenderError::Setting {
                sheet,
                messages: self.look.with_paths(&messages),
            }
        } else {
            RenderError::Letters { sheet, texts }
        })
    }

    /// Runs typst within limits. None if it did not end in time; it is then ended.
    fn run(&self, command: &mut Command, limits: Limits) -> io::Result<Option<Output>> {
        let _share = self.budget.share(limits.memory);
        let command = command.stdout(Stdio::piped()).stderr(Stdio::piped());
        let (child, _running) = Running::start(command)?;
        let control = child
            .controlled_with_output()
            .time_limit(limits.time)
            .terminate_for_timeout();
        #[cfg(any(
            windows,
            all(target_os = "linux", any(target_env = "gnu", target_env = "musl"))
        ))]
        let control = control.memory_limit(usize::try_from(limits.memory).unwrap_or(usize::MAX));
        control.wait()
    }
}

/// Whether a process ended because it got no more memory. Typst ends itself by a signal then. The system may end it as
/// well, if the computer has less memory than the limit.
fn is_out_of_memory(output: &Output, messages: &str) -> bool {
    #[cfg(unix)]
    let is_by_signal = output.status.signal().is_some();
    #[cfg(not(unix))]
    let is_by_signal = output.status.code().is_none();
    is_by_signal || messages.contains("memory allocation of")
}

/// The labels of the steps on a sheet that the sheet itself links to. Only these links can be made, since
/// a link without a target is an error in typst.
fn linked_steps(sheet: &Sheet) -> Vec<String> {
    let Some(job) = sheet.page.job() else {
        return Vec::new();
    };
    let mut linked = BTreeSet::new();
    visit_links(&sheet.blocks, |target| {
        if let LinkTarget::Step { job: target, step } = target
            && target == job
        {
            linked.insert(*step);
        }
    });
    let mut labels = Vec::new();
    for_each_step(&sheet.blocks, &mut |step| {
        if linked.contains(&step) {
            let job = job.clone();
            labels.push(LinkTarget::Step { job, step }.to_string());
        }
    });
    labels
}

/// Calls a function with the number of every step in blocks.
fn for_each_step(blocks: &[Block], call: &mut dyn FnMut(u32)) {
    for block in blocks {
        match block {
            Block::Section(section) => for_each_step(&section.blocks, call),
            Block::Steps { steps } => steps.iter().for_each(|step| call(step.number)),
            Block::Table(table) => {
                for cell in table.rows.iter().flatten() {
                    if let Cell::Place {
                        place: LinkTarget::Step { step, .. },
                        ..
                    } = cell
                    {
                        call(*step);
                    }
                }
            }
            _ => {}
        }
    }
}

/// The texts with characters that no font has, without duplicates. Typst prints a message for each
/// occurrence.
fn texts_without_glyph(messages: &str) -> Vec<String> {
    let mut texts: Vec<String> = messages
        .lines()
        .filter_map(|line| {
            let (_, rest) = line.split_once("the text `\"")?;
            let (text, _) = rest.split_once("\"` could not be displayed")?;
            Some(text.to_owned())
        })
        .collect();
    texts.sort();
    texts.dedup();
    texts
}

/// The Unix time at which a day `YYYY-MM-DD` begins in UTC. None if the text is not such a date.
///
/// Counts days in the proleptic Gregorian calendar. Years begin in March here, so that a leap day is the
/// last day of its year.
fn midnight(day: &str) -> Option<i64> {
    let mut numbers = day.splitn(3, '-').map(str::parse::<i64>);
    let mut next = || numbers.next()?.ok();
    let (year, month, day) = (next()?, next()?, next()?);
    if !(1..=9999).contains(&year) || !(1..=12).contains(&month) || !(1..=31).contains(&day) {
        return None;
    }
    let (year, month) = if month > 2 {
        (year, month - 3)
    } else {
        (year - 1, month + 9)
    };
    let before_month = (153 * month + 2) / 5;
    let before_year = 365 * year + year / 4 - year / 100 + year / 400;
    // There are 719 468 days from 1 March of the year 0 to 1 January 1970.
    Some((before_year + before_month + day - 1 - 719_468) * 86_400)
}

#[cfg(test)]
mod tests;
