//! Checked jobs become files: leaves, rendered in each medium, put in place.
//!
//! Comes in: sources that were checked. Goes out: the output folder. It joins
//! `leaf`, `render` and `output`; what a page says or how it looks is theirs.

use crate::finding::{Finding, Findings};
use crate::job::Job;
use crate::leaf::{self, Block, Edition, Leaf, LeafKind, Setting};
use crate::output::{Delivered, Key, Made, Output, OutputError};
use crate::render::{Html, Look, Press, RenderError, Typst, TypstError};
use crate::rules::printing;
use crate::shop::Machine;
use crate::tree::Tree;
use crate::words::WordsError;
use crate::{Checked, Rehearsed, Sources};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::path::{Path, PathBuf};

/// Which leaves are made.
#[derive(Clone, Debug, Default)]
pub struct Selection {
    /// Only of these procedures; of all where it is empty.
    pub procedures: Vec<String>,
    /// Only of these machines; of all where it is empty.
    pub machines: Vec<String>,
    /// Only of these kinds; of all where it is empty.
    pub kinds: Vec<LeafKind>,
    /// One kit list for all the jobs together, and nothing else.
    pub kit_together: bool,
}

impl Selection {
    /// Whether it takes everything, so that what is no longer made can go.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.procedures.is_empty()
            && self.machines.is_empty()
            && self.kinds.is_empty()
            && !self.kit_together
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
    /// The shop's own words, in this file, can't be taken over.
    Words(PathBuf, WordsError),
}

impl fmt::Display for PublishError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PublishError::Output(error) => error.fmt(f),
            PublishError::Render(error) => error.fmt(f),
            PublishError::Words(path, why) => write!(f, "`{}`: {why}", path.display()),
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

/// A leaf and the edition it belongs to.
struct Page<'e> {
    leaf: Leaf,
    edition: &'e Edition,
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
    look: &Look,
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
    let editions = Edition::of_shop(&sources.shop, look.words())
        .map_err(|why| PublishError::Words(look.words_path(), why))?;
    let logo = look.logo();
    let mut plan = plan(sources, &jobs, selection);
    if !selection.kit_together {
        plan.extend(plan_fault_tables(checked, selection));
    }
    let all_jobs: Vec<&Job<'_>> = jobs.iter().map(|one| &one.job).collect();
    let made: BTreeSet<String> = plan.iter().map(|one| one.path.clone()).collect();
    let mut pages = Vec::new();
    let mut settings = Vec::new();
    for edition in &editions {
        let mut setting = Setting::new(&sources.tree, edition, &editions, made.clone());
        setting.logo = logo.as_ref().map(|(path, _)| path.clone());
        pages.extend(make_leaves(sources, &all_jobs, &plan, edition, &setting));
        settings.push(setting);
    }
    progress.expect(pages.len());

    let mut files = BTreeMap::new();
    let mut figures = figures(&pages, &sources.tree, &settings);
    figures.extend(logo);
    let pdf_files = make_pdfs(
        pdfs,
        look,
        &pages,
        &figures,
        &output,
        progress,
        &mut findings,
    )?;
    let html: Vec<Html> = editions
        .iter()
        .map(|edition| Html::new(look, &edition.words))
        .collect::<Result<_, RenderError>>()?;
    let html_of = |edition: &Edition| {
        let at = editions.iter().position(|one| one.prefix == edition.prefix);
        &html[at.unwrap_or_default()]
    };
    let made: Vec<(String, String)> = pages
        .par_iter()
        .map(|page| {
            let path = &page.leaf.head.path;
            let has_pdf = pdf_files.contains_key(&format!("{path}.pdf"));
            let text = html_of(page.edition).leaf(&page.leaf, has_pdf)?;
            Ok((format!("{path}.html"), text))
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
    for (path, text) in html.iter().flat_map(Html::shared) {
        files.insert(path, new(text.into_bytes()));
    }
    if selection.is_whole() {
        let has_pdf = |path: &str| pdf_files.contains_key(&format!("{path}.pdf"));
        for (edition, setting) in editions.iter().zip(&settings) {
            let of_edition = pages
                .iter()
                .filter(|page| page.edition.prefix == edition.prefix);
            let leaves: Vec<&Leaf> = of_edition.map(|page| &page.leaf).collect();
            let index = leaf::index(&sources.shop, &all_jobs, &leaves, setting, has_pdf);
            let page = html_of(edition).index(&index)?;
            files.insert(format!("{}.html", index.path), new(page.into_bytes()));
        }
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

/// What a leaf is about.
#[derive(Clone, Copy)]
enum Subject<'p, 'a> {
    Job(&'p Rehearsed<'a>),
    Machine(&'a Machine),
    Shop,
    Kit,
}

/// A leaf that will be made.
struct Planned<'p, 'a> {
    kind: LeafKind,
    subject: Subject<'p, 'a>,
    /// Its path in the first edition.
    path: String,
}

/// Every leaf that is asked for, in one edition.
fn plan<'p, 'a>(
    sources: &'a Sources,
    jobs: &[&'p Rehearsed<'a>],
    selection: &Selection,
) -> Vec<Planned<'p, 'a>> {
    let kinds = selection.kinds();
    if selection.kit_together {
        let all: Vec<&Job<'_>> = jobs.iter().map(|one| &one.job).collect();
        let kit = Planned {
            kind: LeafKind::KitList,
            subject: Subject::Kit,
            path: leaf::kit_path(&all),
        };
        return vec![kit];
    }
    let of_job = kinds.iter().filter(|kind| LeafKind::OF_JOB.contains(kind));
    let of_jobs = jobs.iter().flat_map(|one| {
        of_job.clone().map(|kind| Planned {
            kind: *kind,
            subject: Subject::Job(one),
            path: leaf::path(&one.job.machine.id, &one.job.procedure.id, *kind),
        })
    });
    let mut plan: Vec<Planned<'_, '_>> = of_jobs.collect();
    let takes = |kind| kinds.contains(&kind);
    // What is drawn from all procedures of a machine is made when all of them are asked for.
    if !selection.procedures.is_empty() {
        return plan;
    }
    for machine in sources.shop.machines.values() {
        if !jobs.iter().any(|one| one.job.machine.id == machine.id) {
            continue;
        }
        let of_machine = LeafKind::OF_MACHINE.into_iter().filter(|kind| takes(*kind));
        plan.extend(of_machine.map(|kind| Planned {
            kind,
            subject: Subject::Machine(machine),
            path: leaf::machine_path(&machine.id, kind),
        }));
    }
    if selection.machines.is_empty() && takes(LeafKind::WhereUsed) {
        plan.push(Planned {
            kind: LeafKind::WhereUsed,
            subject: Subject::Shop,
            path: LeafKind::WhereUsed.slug().to_owned(),
        });
    }
    plan
}

/// A fault table is a job that is read: its leaf is made like any other of a job.
fn plan_fault_tables<'p, 'a>(
    checked: &'p Checked<'a>,
    selection: &Selection,
) -> Vec<Planned<'p, 'a>> {
    let kind = LeafKind::FaultTable;
    if !selection.kinds().contains(&kind) {
        return Vec::new();
    }
    let selected = checked
        .faults
        .iter()
        .filter(|one| selection.takes(&one.job));
    let planned = selected.map(|one| Planned {
        kind,
        subject: Subject::Job(one),
        path: leaf::path(&one.job.machine.id, &one.job.procedure.id, kind),
    });
    planned.collect()
}

fn make_leaves<'e>(
    sources: &Sources,
    jobs: &[&Job<'_>],
    plan: &[Planned<'_, '_>],
    edition: &'e Edition,
    setting: &Setting,
) -> Vec<Page<'e>> {
    let make = |planned: &Planned<'_, '_>| match planned.subject {
        Subject::Job(one) => Some(leaf::make(planned.kind, &one.job, &one.rehearsal, setting)),
        Subject::Machine(machine) => {
            let own = jobs.iter().filter(|job| job.machine.id == machine.id);
            let own: Vec<&Job<'_>> = own.copied().collect();
            leaf::of_machine(planned.kind, &sources.shop, machine, &own, setting)
        }
        Subject::Kit => leaf::kit_of(&sources.shop, jobs, setting),
        Subject::Shop => leaf::where_used(&sources.shop, jobs, setting),
    };
    plan.par_iter()
        .filter_map(|planned| {
            Some(Page {
                leaf: make(planned)?,
                edition,
            })
        })
        .collect()
}

/// The figures that are on any page, by their paths in the output.
fn figures<'t>(
    pages: &[Page<'_>],
    tree: &'t Tree,
    settings: &[Setting],
) -> BTreeMap<String, &'t [u8]> {
    let used: BTreeSet<String> = pages
        .iter()
        .flat_map(|page| figures_of(&page.leaf.blocks))
        .collect();
    tree.figures
        .iter()
        .filter_map(|figure| {
            let path = settings.first()?.figure(&figure.path)?;
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
    look: &Look,
    pages: &[Page<'_>],
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
    let design = look.design();
    let press = match typst {
        Some(typst) => {
            let figures = figures.iter().map(|(path, bytes)| (path.as_str(), *bytes));
            Some(Press::new(typst, look, figures)?)
        }
        None => None,
    };
    let made: Vec<(String, Result<Option<Made>, RenderError>)> = pages
        .par_iter()
        .map(|page| {
            let path = format!("{}.pdf", page.leaf.head.path);
            let content = content_key(page, &design);
            let made = if output.is_current(&path, &content, tool.as_deref()) {
                Ok(Some(Made::Kept))
            } else if let (Some(press), Some(tool)) = (&press, &tool) {
                let key = Key {
                    content,
                    tool: tool.clone(),
                };
                press.set(&page.leaf, &page.edition.words).map(|bytes| {
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
fn content_key(page: &Page<'_>, design: &[&str]) -> String {
    let mut hasher = blake3::Hasher::new();
    for text in design {
        hasher.update(&(text.len() as u64).to_le_bytes());
        hasher.update(text.as_bytes());
    }
    for (key, word) in page.edition.words.all() {
        hasher.update(key.as_bytes());
        hasher.update(word.as_bytes());
    }
    // A leaf is plain data with text keys, which always serialises.
    hasher.update(&serde_json::to_vec(&page.leaf).unwrap_or_default());
    hasher.finalize().to_hex().to_string()
}
