//! Sets sheets and manuals as PDFs with the typst program, one process a PDF.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Component, Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicU64, Ordering};

use serde::Serialize;
use tempfile::TempDir;

use super::typst::Typst;
use super::{Look, RenderError, qr, templates};
use crate::manual::Manual;
use crate::page::{Block, LinkTarget, Sheet, links};
use crate::words::Words;

/// Environment variables that would change what typst does.
const UNSET: [&str; 7] = [
    "SOURCE_DATE_EPOCH",
    "TYPST_FEATURES",
    "TYPST_FONT_PATHS",
    "TYPST_IGNORE_EMBEDDED_FONTS",
    "TYPST_PACKAGE_CACHE_PATH",
    "TYPST_PACKAGE_PATH",
    "TYPST_ROOT",
];

/// Every face that the templates use. The condensed cut keeps the wide
/// face's tall letters and gets a third more onto a line; the upright mono is
/// for what is engraved or typed.
fn fonts() -> [(&'static str, &'static [u8]); 6] {
    use dejavu::{sans_condensed, sans_mono};
    [
        ("condensed.ttf", sans_condensed::regular()),
        ("condensed-bold.ttf", sans_condensed::bold()),
        ("condensed-oblique.ttf", sans_condensed::oblique()),
        ("condensed-bold-oblique.ttf", sans_condensed::bold_oblique()),
        ("mono.ttf", sans_mono::regular()),
        ("mono-bold.ttf", sans_mono::bold()),
    ]
}

/// What a sheet's template reads.
#[derive(Serialize)]
struct SheetInput<'a> {
    leaf: &'a Sheet,
    words: &'a BTreeMap<String, String>,
    /// The logo's path in the work folder.
    logo: Option<String>,
    /// The address that the page is served at.
    address: Option<&'a str>,
    /// The address as a QR code, drawn.
    qr: Option<String>,
    /// What the labels of the sheet's steps begin with: the name of its job.
    job: Option<String>,
    /// The names of the places on the sheet that something on it links to.
    places: Vec<String>,
}

/// What the manual's template reads.
#[derive(Serialize)]
struct ManualInput<'a> {
    manual: &'a Manual,
    words: &'a BTreeMap<String, String>,
    /// The logo's path in the work folder.
    logo: Option<String>,
}

/// What typst is asked to compile.
struct TypstRequest<'a> {
    /// The main template.
    entry: &'static str,
    /// `all` where each reference names its page; `quiet` where one to its own page does not.
    pages: &'static str,
    /// The path of the PDF in the output, without an ending: names it in an error.
    path: &'a str,
    /// The day that the PDF is dated with, `YYYY-MM-DD`.
    revised: Option<&'a str>,
}

/// A PDF and typst's messages about it.
struct Compiled {
    pdf: Vec<u8>,
    /// Whether the page numbers converged.
    settled: bool,
    said: String,
}

/// The folder of the work folder with the shop's figures.
const FIGURES: &str = "tree";

/// Part of the message by which typst says that page numbers did not converge.
const UNSETTLED: &str = "did not converge";

/// Runs typst in a work folder that holds the templates, fonts and figures, once for each PDF.
/// Several threads may use it at the same time.
///
/// The folder is removed when the value is dropped.
#[derive(Debug)]
pub(crate) struct TypstRunner {
    typst: Typst,
    folder: TempDir,
    look: Look,
    /// How many PDFs were begun: names the input file of the next one.
    count: AtomicU64,
}

impl TypstRunner {
    /// Writes the work folder. `figures` are the figures of all sheets to come, each with its path in the
    /// shop's tree, which is its id.
    ///
    /// # Errors
    ///
    /// When the folder can't be made or written, or when a figure's path
    /// would lead out of it.
    pub(crate) fn new<'a>(
        typst: Typst,
        look: &Look,
        figures: impl Iterator<Item = (&'a str, &'a [u8])>,
    ) -> Result<TypstRunner, RenderError> {
        let folder = tempfile::Builder::new()
            .prefix("benchleaf-")
            .tempdir()
            .map_err(|why| RenderError::Io {
                path: std::env::temp_dir(),
                why,
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
        for (path, bytes) in figures {
            write(&root.join(FIGURES).join(inside(path)?), bytes)?;
        }
        if let Some((path, bytes)) = look.logo() {
            write(&root.join(inside(&path)?), bytes)?;
        }
        Ok(TypstRunner {
            typst,
            folder,
            look: look.clone(),
            count: AtomicU64::new(0),
        })
    }

    /// Sets one sheet, to be at a path of the output without an ending and to be served at an address,
    /// and returns the PDF.
    ///
    /// # Errors
    ///
    /// When typst can't be started, or finds fault with the sheet: a figure
    /// that is missing or broken, a letter that our fonts lack.
    pub(crate) fn set(
        &self,
        sheet: &Sheet,
        words: &Words,
        path: &str,
        address: Option<&str>,
    ) -> Result<Vec<u8>, RenderError> {
        let input = SheetInput {
            leaf: sheet,
            words: words.all(),
            logo: self.logo(),
            address,
            qr: address.and_then(qr::qr),
            job: sheet
                .page
                .job()
                .map(|job| LinkTarget::Job(job.clone()).to_string()),
            places: places_on(sheet),
        };
        let request = TypstRequest {
            entry: "main.typ",
            pages: "quiet",
            path,
            revised: sheet.head.revised.as_deref(),
        };
        Ok(self.compile(&request, &input)?.pdf)
    }

    fn logo(&self) -> Option<String> {
        self.look.logo().map(|(path, _)| path)
    }

    /// Sets a bound manual, to be at a path of the output without an ending, and returns the PDF.
    ///
    /// # Errors
    ///
    /// As for a sheet; and when its page numbers never settle.
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
        };
        let input = ManualInput {
            manual,
            words: words.all(),
            logo: self.logo(),
        };
        let mut made = self.compile(&request, &input)?;
        // A reference to its own page prints no page number. At the very foot of a page that can move
        // the reference to the next page, where it prints the number and moves back, without end.
        // So then every reference prints its number.
        if !made.settled {
            request.pages = "all";
            made = self.compile(&request, &input)?;
        }
        if made.settled {
            Ok(made.pdf)
        } else {
            Err(RenderError::Setting {
                leaf: path.to_owned(),
                said: made.said,
            })
        }
    }

    /// Runs typst on an input, which it reads as JSON.
    fn compile(
        &self,
        request: &TypstRequest<'_>,
        input: &impl Serialize,
    ) -> Result<Compiled, RenderError> {
        let json = serde_json::to_vec(input).map_err(|why| RenderError::Leaf {
            leaf: request.path.to_owned(),
            why,
        })?;
        let name = format!("leaf-{}.json", self.count.fetch_add(1, Ordering::Relaxed));
        let root = self.folder.path();
        let file = root.join(&name);
        write(&file, &json)?;
        let revised = request.revised.and_then(midnight);
        let mut command = Command::new(self.typst.path());
        for name in UNSET {
            command.env_remove(name);
        }
        let output = command
            .arg("compile")
            .arg("--root")
            .arg(root)
            .arg("--font-path")
            .arg(root.join("fonts"))
            .args(["--ignore-system-fonts", "--pdf-standard", "ua-1"])
            .args(["--creation-timestamp", &revised.unwrap_or(0).to_string()])
            .args(["--input", &format!("leaf=/{name}")])
            .args(["--input", &format!("pages={}", request.pages)])
            .args(["--format", "pdf"])
            .arg(root.join(request.entry))
            // To standard output: nothing to clean up when it fails.
            .arg("-")
            .stdin(Stdio::null())
            .output()
            .map_err(|why| RenderError::Io {
                path: self.typst.path().to_owned(),
                why,
            })?;
        // Left where it is when it can't be removed: it goes with the folder.
        let _ = fs::remove_file(&file);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        if output.status.success() {
            return Ok(Compiled {
                pdf: output.stdout,
                settled: !said.contains(UNSETTLED),
                said,
            });
        }
        let leaf = request.path.to_owned();
        let texts = undisplayed(&said);
        Err(if texts.is_empty() {
            RenderError::Setting {
                leaf,
                said: self.look.with_paths(&said),
            }
        } else {
            RenderError::Letters { leaf, texts }
        })
    }
}

/// The names of the steps on a sheet that something on it links to: typst takes no link that leads
/// nowhere.
fn places_on(sheet: &Sheet) -> Vec<String> {
    let Some(job) = sheet.page.job() else {
        return Vec::new();
    };
    let mut linked = BTreeSet::new();
    links(&sheet.blocks, |target| {
        if let LinkTarget::Step { job: of, step } = target
            && of == job
        {
            linked.insert(*step);
        }
    });
    let mut places = Vec::new();
    steps_in(&sheet.blocks, &mut |step| {
        if linked.contains(&step) {
            let job = job.clone();
            places.push(LinkTarget::Step { job, step }.to_string());
        }
    });
    places
}

/// Hands over the number of every step in some blocks.
fn steps_in(blocks: &[Block], number: &mut dyn FnMut(u32)) {
    for block in blocks {
        match block {
            Block::Section(section) => steps_in(&section.blocks, number),
            Block::Steps { steps } => steps.iter().for_each(|step| number(step.number)),
            _ => {}
        }
    }
}

/// The texts with letters that no font has, from typst's messages, which have one for
/// every place on the sheet. Each text is listed once.
fn undisplayed(said: &str) -> Vec<String> {
    let mut texts: Vec<String> = said
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

/// Writes a file, and its folder where there is none.
fn write(path: &Path, bytes: &[u8]) -> Result<(), RenderError> {
    let failed = |why| RenderError::Io {
        path: path.to_owned(),
        why,
    };
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(failed)?;
    }
    fs::write(path, bytes).map_err(failed)
}

/// A figure's path, checked to stay inside the folder that it is joined to.
fn inside(path: &str) -> Result<PathBuf, RenderError> {
    let parts: Vec<Component> = Path::new(path).components().collect();
    let stays = |part: &Component| matches!(part, Component::Normal(_));
    if parts.is_empty() || !parts.iter().all(stays) {
        return Err(RenderError::FigurePath {
            path: path.to_owned(),
        });
    }
    Ok(parts.iter().collect())
}

/// The Unix time at which a day `YYYY-MM-DD` begins; nothing for another text.
///
/// Days are counted in the proleptic Gregorian calendar, with a year that
/// begins in March, so that the leap day is a year's last.
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
    // 719 468 days from the first of March of the year 0 to the first of
    // January 1970.
    Some((before_year + before_month + day - 1 - 719_468) * 86_400)
}

#[cfg(test)]
mod tests;
