//! Checked jobs become files: leaves, rendered in each medium, put in place.
//!
//! Comes in: sources that were checked. Goes out: the output folder. It joins
//! `leaf`, `render` and `output`; what a page says or how it looks is theirs.

use crate::finding::{Finding, Findings};
use crate::leaf::{self, Block, LeafKind, Setting};
use crate::output::{Delivered, Key, Made, Output, OutputError};
use crate::render::{Html, Press, RenderError, Typst, TypstError};
use crate::rules::printing;
use crate::tree::Tree;
use crate::{Checked, Rehearsed, Sources};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::path::Path;

/// Which leaves are made.
#[derive(Clone, Debug, Default)]
pub struct Selection {
    /// Only of these procedures; of all where it is empty.
    pub procedures: Vec<String>,
    /// Only of these machines; of all where it is empty.
    pub machines: Vec<String>,
    /// Only of these kinds; of all where it is empty.
    pub kinds: Vec<LeafKind>,
}

impl Selection {
    /// Whether it takes everything, so that what is no longer made can go.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.procedures.is_empty() && self.machines.is_empty() && self.kinds.is_empty()
    }

    /// Whether a job is in it.
    #[must_use]
    pub fn takes(&self, job: &crate::job::Job<'_>) -> bool {
        let among = |ids: &[String], id: &String| ids.is_empty() || ids.contains(id);
        among(&self.procedures, &job.procedure.id) && among(&self.machines, &job.machine.id)
    }

    fn kinds(&self) -> Vec<LeafKind> {
        let all = LeafKind::ALL.into_iter();
        all.filter(|kind| self.kinds.is_empty() || self.kinds.contains(kind))
            .collect()
    }
}

/// What PDFs are made with.
#[derive(Debug)]
pub enum Pdfs {
    /// This program.
    With(Typst),
    /// Nothing, for this reason: a finding.
    Without(TypstError),
    /// They are not asked for.
    NotAsked,
}

/// What was made.
#[derive(Debug)]
pub struct Published {
    /// Jobs whose leaves were made.
    pub jobs: usize,
    /// Leaves, each in one or two media.
    pub leaves: usize,
    /// What became of their files.
    pub delivered: Delivered,
    /// The pages of each leaf, from the output's root, HTML before PDF.
    pub paths: Vec<String>,
    /// What went wrong in making them.
    pub findings: Findings,
}

/// Why nothing could be made.
#[derive(Debug)]
pub enum PublishError {
    /// The output can't be written.
    Output(OutputError),
    /// A page can't be rendered.
    Render(RenderError),
}

impl fmt::Display for PublishError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PublishError::Output(error) => error.fmt(f),
            PublishError::Render(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for PublishError {}

impl From<OutputError> for PublishError {
    fn from(error: OutputError) -> PublishError {
        PublishError::Output(error)
    }
}

impl From<RenderError> for PublishError {
    fn from(error: RenderError) -> PublishError {
        PublishError::Render(error)
    }
}

/// Told of progress: how many pages are made, of how many.
pub trait Progress: Sync {
    /// That many pages will be made.
    fn expect(&self, pages: usize);
    /// One more is made.
    fn made(&self);
}

/// A leaf and where it goes.
struct Page {
    leaf: leaf::Leaf,
    path: String,
}

/// Makes the selected leaves of checked jobs and puts them in the output folder.
///
/// # Errors
///
/// When a page can't be rendered at all or the output can't be written; then
/// nothing in the output has changed.
pub fn publish(
    sources: &Sources,
    checked: &Checked<'_>,
    selection: &Selection,
    pdfs: Pdfs,
    output: &Path,
    progress: &dyn Progress,
) -> Result<Published, PublishError> {
    let mut output = Output::open(output)?;
    let mut findings = Findings::new();
    let jobs: Vec<&Rehearsed<'_>> = checked
        .jobs
        .iter()
        .filter(|one| selection.takes(&one.job))
        .collect();
    let pages = make_leaves(sources, &jobs, selection);
    progress.expect(pages.len());

    let mut files = BTreeMap::new();
    let figures = figures(&pages, &sources.tree);
    let pdf_files = make_pdfs(pdfs, &pages, &figures, &output, progress, &mut findings)?;
    let html = Html::new()?;
    let made: Vec<(String, String)> = pages
        .par_iter()
        .map(|page| {
            let has_pdf = pdf_files.contains_key(&format!("{}.pdf", page.path));
            let text = html.leaf(&page.leaf, has_pdf)?;
            Ok((format!("{}.html", page.path), text))
        })
        .collect::<Result<_, RenderError>>()?;
    let mut paths = Vec::new();
    for (path, text) in made {
        let pdf = format!("{}pdf", path.trim_end_matches("html"));
        paths.push(path.clone());
        if pdf_files.contains_key(&pdf) {
            paths.push(pdf);
        }
        files.insert(path, new(text.into_bytes()));
    }
    for (path, bytes) in &figures {
        files.insert(path.clone(), new(bytes.to_vec()));
    }
    if selection.is_whole() {
        let jobs: Vec<_> = jobs.iter().map(|one| &one.job).collect();
        let has_pdf = |path: &str| pdf_files.contains_key(&format!("{path}.pdf"));
        let index = leaf::index(&sources.shop, &jobs, has_pdf);
        let page = html.index(&index)?;
        files.insert("index.html".to_owned(), new(page.into_bytes()));
    }
    files.extend(pdf_files);
    Ok(Published {
        jobs: jobs.len(),
        leaves: pages.len(),
        delivered: output.deliver(files, selection.is_whole())?,
        paths,
        findings,
    })
}

fn new(bytes: Vec<u8>) -> Made {
    Made::New { bytes, key: None }
}

fn make_leaves(sources: &Sources, jobs: &[&Rehearsed<'_>], selection: &Selection) -> Vec<Page> {
    let kinds = selection.kinds();
    let wanted: Vec<(&Rehearsed<'_>, LeafKind)> = jobs
        .iter()
        .flat_map(|job| kinds.iter().map(move |kind| (*job, *kind)))
        .collect();
    let path =
        |job: &Rehearsed<'_>, kind| leaf::path(&job.job.machine.id, &job.job.procedure.id, kind);
    let made: BTreeSet<String> = wanted.iter().map(|(job, kind)| path(job, *kind)).collect();
    let setting = Setting::new(&sources.tree, made);
    wanted
        .par_iter()
        .map(|(job, kind)| Page {
            leaf: leaf::make(*kind, &job.job, &job.rehearsal, &setting),
            path: path(job, *kind),
        })
        .collect()
}

/// The figures that are on any page, by their paths in the output.
fn figures<'t>(pages: &[Page], tree: &'t Tree) -> BTreeMap<String, &'t [u8]> {
    let setting = Setting::new(tree, BTreeSet::new());
    let used: BTreeSet<String> = pages
        .iter()
        .flat_map(|page| figures_of(&page.leaf.blocks))
        .collect();
    tree.figures
        .iter()
        .filter_map(|figure| {
            let path = setting.figure(&figure.path)?;
            used.contains(path)
                .then(|| (path.to_owned(), figure.bytes.as_slice()))
        })
        .collect()
}

fn figures_of(blocks: &[Block]) -> Vec<String> {
    let mut paths = Vec::new();
    for block in blocks {
        match block {
            Block::Section(section) => paths.extend(figures_of(&section.blocks)),
            Block::Figure(figure) => paths.push(figure.path.clone()),
            Block::Steps { steps } => {
                let figures = steps.iter().flat_map(|step| &step.figures);
                paths.extend(figures.map(|figure| figure.path.clone()));
            }
            _ => {}
        }
    }
    paths
}

/// The PDF of each page, made or kept, by its path; what can't be made is a finding.
fn make_pdfs(
    pdfs: Pdfs,
    pages: &[Page],
    figures: &BTreeMap<String, &[u8]>,
    output: &Output,
    progress: &dyn Progress,
    findings: &mut Findings,
) -> Result<BTreeMap<String, Made>, PublishError> {
    let (typst, tool) = match pdfs {
        // A PDF of an earlier run that still says what the page says may stay.
        Pdfs::NotAsked => (None, None),
        Pdfs::Without(error) => {
            let finding = Finding::new(
                &printing::NO_TYPESETTER,
                format!("no PDFs are made: {error}"),
            );
            findings.push(finding.help(error.help()));
            (None, None)
        }
        Pdfs::With(typst) => {
            let tool = format!("typst {}", typst.version());
            (Some(typst), Some(tool))
        }
    };
    let design: Vec<&str> = Press::design().collect();
    let press = match typst {
        Some(typst) => {
            let figures = figures.iter().map(|(path, bytes)| (path.as_str(), *bytes));
            Some(Press::new(typst, figures)?)
        }
        None => None,
    };
    let made: Vec<(String, Result<Option<Made>, RenderError>)> = pages
        .par_iter()
        .map(|page| {
            let path = format!("{}.pdf", page.path);
            let content = content_key(page, &design);
            let made = if output.is_current(&path, &content, tool.as_deref()) {
                Ok(Some(Made::Kept))
            } else if let (Some(press), Some(tool)) = (&press, &tool) {
                let key = Key {
                    content,
                    tool: tool.clone(),
                };
                press.set(&page.leaf).map(|bytes| {
                    Some(Made::New {
                        bytes,
                        key: Some(key),
                    })
                })
            } else {
                Ok(None)
            };
            progress.made();
            (path, made)
        })
        .collect();
    let mut files = BTreeMap::new();
    for (path, made) in made {
        match made {
            Ok(Some(made)) => {
                files.insert(path, made);
            }
            Ok(None) => {}
            Err(error) => {
                let message = format!("`{path}` can't be set: {error}");
                findings.push(Finding::new(&printing::TYPESETTING_FAILED, message));
            }
        }
    }
    Ok(files)
}

/// A digest of all that decides a page's PDF but the typesetter itself.
///
/// A figure's path carries its content, so the leaf speaks for its figures.
fn content_key(page: &Page, design: &[&str]) -> String {
    let mut hasher = blake3::Hasher::new();
    for text in design {
        hasher.update(&(text.len() as u64).to_le_bytes());
        hasher.update(text.as_bytes());
    }
    // A leaf is plain data with text keys, which always serialises.
    hasher.update(&serde_json::to_vec(&page.leaf).unwrap_or_default());
    hasher.finalize().to_hex().to_string()
}
