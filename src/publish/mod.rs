//! Checked jobs become files: leaves and the pages that lead to them, rendered
//! in each medium, put in place.
//!
//! Comes in: sources that were checked, and a summary of each job. Goes out: the
//! output folder. Jobs are made again one procedure at a time, and only those of
//! which a page is out of date: a large shop needs neither the room for all of
//! them nor the time. It joins `sheet`, `site`, `manual`, `render` and `output`; what a page says or
//! how it looks is theirs.

mod inputs;
mod links;
pub mod manual;

use crate::dry_run;
use crate::finding::{Finding, Findings};
use crate::job::{self, Again, Job};
use crate::output::{FileCounts, Key, Output, OutputError, StagedWrite};
use crate::page::{
    self, Edition, LISTS, Leaf, LeafKind, Setting, machine_page_path, procedure_path,
};
use crate::render::{Html, Look, RenderError, Typst, TypstError, TypstRunner, search_file};
use crate::rules::printing;
use crate::sheet::{self, SearchPiece, Summary};
use crate::site::{self, FaultOf, Nav, SearchIndex, SearchTerm, Site, nav_of_leaf};
use crate::words::WordsError;
use crate::{Checked, Rehearsed, Sources};
use inputs::{Common, Digest, Inputs};
use links::Links;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

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
#[derive(Debug, Default)]
pub struct Published {
    /// Jobs whose leaves were made.
    pub jobs: usize,
    /// Leaves, each in one or two media.
    pub leaves: usize,
    /// What became of their files.
    pub files: FileCounts,
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
    /// Links that would lead nowhere: the page and the address of each.
    Links(Vec<(String, String)>),
}

/// As many lost links are named: what breaks one breaks many.
const FEW_LINKS: usize = 20;

impl fmt::Display for PublishError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PublishError::Output(error) => error.fmt(f),
            PublishError::Render(error) => error.fmt(f),
            PublishError::Words(path, why) => write!(f, "`{}`: {why}", path.display()),
            PublishError::Links(broken) => {
                write!(f, "nothing was written, because links would lead nowhere:")?;
                for (page, address) in broken.iter().take(FEW_LINKS) {
                    write!(f, "\n  `{address}` on `{page}`")?;
                }
                match broken.len().saturating_sub(FEW_LINKS) {
                    0 => Ok(()),
                    more => write!(f, "\n  and {more} more"),
                }
            }
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
    /// What was done up to now is over, and this begins: for whoever times it.
    fn begins(&self, stage: &'static str) {
        let _ = stage;
    }
}

/// Where to, with what, and who is told.
#[derive(Clone, Copy)]
pub struct Outlet<'o> {
    /// The shop's own look.
    pub look: &'o Look,
    /// What PDFs are made with.
    pub pdfs: &'o Pdfs,
    /// The output folder.
    pub folder: &'o Path,
    /// Told of progress.
    pub progress: &'o dyn Progress,
}

impl fmt::Debug for Outlet<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Outlet").finish_non_exhaustive()
    }
}

/// As many jobs as one manual can be bound of. Of more, a binder would not hold the paper, and the
/// typesetter needs more memory than a workshop's computer has: `bind` makes a manual a machine.
pub const MOST_JOBS_BOUND: usize = 300;

/// Whether the manual of the whole shop is made along with the leaves.
fn binds_manual(selection: &Selection, jobs: usize) -> bool {
    selection.is_whole() && jobs <= MOST_JOBS_BOUND
}

/// What to keep of each job for a whole output: its summary, with what can be found of it in each of
/// the shop's languages.
pub fn summaries<'s>(
    sources: &'s Sources,
    look: &Look,
) -> impl Fn(Rehearsed<'s>) -> Option<Summary<'s>> + Sync {
    // Words that can't be taken over are said to be so where pages are made.
    let editions = Edition::of_shop(&sources.shop, look.words())
        .or_else(|_| Edition::of_shop(&sources.shop, None))
        .unwrap_or_default();
    let settings: Vec<Setting> = editions
        .iter()
        .map(|edition| Setting::new(&sources.tree, edition, &editions, BTreeSet::new()))
        .collect();
    move |one| {
        let mut summary = Summary::of(&one.job);
        let pieces = settings
            .iter()
            .map(|setting| SearchPiece::of_job(&one.job, &one.rehearsal, setting));
        summary.search = pieces.collect();
        Some(summary)
    }
}

/// Makes the selected leaves of checked jobs and puts them in the output folder; with all of them
/// the pages that lead to them.
///
/// `checked` holds the summaries of all jobs that are asked for: of [`summaries`] for a whole output.
///
/// # Errors
///
/// When a page can't be rendered at all or the output can't be written; then
/// nothing in the output has changed, or the next run completes what this one began.
pub fn publish(
    sources: &Sources,
    checked: &Checked<'_, Summary<'_>>,
    selection: &Selection,
    outlet: Outlet<'_>,
) -> Result<Published, PublishError> {
    let faults: Vec<&Rehearsed<'_>> = checked
        .faults
        .iter()
        .filter(|one| selection.takes(&one.job))
        .collect();
    let run = Run {
        sources,
        jobs: &checked.jobs,
        selection,
        made: paths(sources, &checked.jobs, &faults, selection),
        figures: figures(&checked.jobs, &faults, selection),
        is_whole: selection.is_whole(),
    };
    let published = run.deliver(outlet, |publishers| {
        outlet.progress.begins("leaves of jobs");
        let inputs = Inputs::of(sources);
        let leaves = || {
            publishers
                .iter()
                .try_for_each(|publisher| publisher.procedures(&inputs))
        };
        // The manual takes as long as many leaves do: beside them, not after them.
        let manual = || {
            if binds_manual(selection, checked.jobs.len()) {
                manual::of_whole_shop(publishers, sources)
            } else {
                Ok(())
            }
        };
        let (manual, leaves) = rayon::join(manual, leaves);
        manual.and(leaves)?;
        outlet.progress.begins("leaves of machines and of the shop");
        let is_whole = selection.is_whole();
        let pages = || {
            let mut all = publishers.iter();
            all.try_for_each(|publisher| publisher.others(&faults))?;
            if !is_whole {
                return Ok(());
            }
            outlet.progress.begins("pages that lead to leaves");
            let mut all = publishers.iter();
            all.try_for_each(|publisher| publisher.site(&faults))
        };
        // What is searched is one long list, which nothing else here waits for.
        let search = || {
            let mut all = publishers.iter().enumerate().filter(|_| is_whole);
            all.try_for_each(|(at, publisher)| publisher.search(at, &faults))
        };
        let (pages, search) = rayon::join(pages, search);
        pages.and(search)
    })?;
    Ok(Published {
        jobs: checked.jobs.len(),
        ..published
    })
}

/// Makes one kit list for some jobs together.
///
/// # Errors
///
/// As [`publish`].
pub fn kit(
    sources: &Sources,
    jobs: &[&Job<'_>],
    outlet: Outlet<'_>,
) -> Result<Published, PublishError> {
    let path = sheet::kit_path(jobs);
    let run = Run {
        sources,
        jobs: &[],
        selection: &Selection::default(),
        made: BTreeSet::from([path.clone()]),
        figures: BTreeSet::new(),
        is_whole: false,
    };
    let published = run.deliver(outlet, |publishers| {
        for publisher in publishers {
            if let Some(leaf) = sheet::kit_of(&sources.shop, jobs, publisher.setting) {
                publisher.other(&leaf, &nav_of_leaf(publisher.setting, None, None, &path))?;
            }
        }
        Ok(())
    })?;
    Ok(Published {
        jobs: jobs.len(),
        ..published
    })
}

/// What is made in one run.
struct Run<'r, 'a> {
    sources: &'a Sources,
    jobs: &'r [Summary<'a>],
    selection: &'r Selection,
    /// Every page, by its path in the first edition, without an ending.
    made: BTreeSet<String>,
    /// The figures that stand on any leaf, by their paths in the tree.
    figures: BTreeSet<&'r str>,
    /// Whether what is not made in it goes.
    is_whole: bool,
}

impl<'a> Run<'_, 'a> {
    /// Makes pages with a publisher for each edition, and puts them in place.
    fn deliver(
        self,
        outlet: Outlet<'_>,
        make: impl Fn(&[Publisher<'_, 'a>]) -> Result<(), PublishError>,
    ) -> Result<Published, PublishError> {
        let Outlet {
            look,
            pdfs,
            folder,
            progress,
        } = outlet;
        let sources = self.sources;
        let mut output = Output::open(folder)?;
        let editions = Edition::of_shop(&sources.shop, look.words())
            .map_err(|why| PublishError::Words(look.words_path(), why))?;
        let mut findings = Findings::new();
        let (typst, tool) = typesetter(pdfs, &mut findings);
        let logo = look.logo();
        let pages = Arc::new(self.made);
        let settings: Vec<Setting> = editions
            .iter()
            .map(|edition| {
                let mut setting =
                    Setting::new(&sources.tree, edition, &editions, Arc::clone(&pages));
                setting.logo = logo.as_ref().map(|(path, _)| path.clone());
                setting
            })
            .collect();
        let used = sources.tree.figures.iter();
        let used = used.filter(|figure| self.figures.contains(figure.path.as_str()));
        let figures = used.filter_map(|figure| {
            let path = settings.first()?.figure(&figure.path)?;
            Some((path.to_owned(), figure.bytes.as_slice()))
        });
        let figures: BTreeMap<String, &[u8]> = figures.chain(logo).collect();
        let runner = match typst {
            Some(typst) => {
                let figures = figures.iter().map(|(path, bytes)| (path.as_str(), *bytes));
                Some(TypstRunner::new(typst.clone(), look, figures)?)
            }
            None => None,
        };
        let staged = output.begin()?;
        let links = Links::default();
        let mut publishers = Vec::new();
        for (edition, setting) in editions.iter().zip(&settings) {
            publishers.push(Publisher {
                sources,
                jobs: self.jobs,
                selection: self.selection,
                edition,
                setting,
                common: Common::of(look, edition, setting),
                html: Html::new(look, &edition.words)?,
                runner: runner.as_ref(),
                tool: tool.as_deref(),
                staged: &staged,
                links: &links,
                progress,
                findings: Mutex::default(),
                leaves: Mutex::default(),
            });
        }
        progress.expect(pages.len() * editions.len());
        make(&publishers)?;
        // What pages share; of a part of the leaves, only what they ask for.
        let files = publishers.iter().flat_map(|one| one.html.shared());
        let files: BTreeMap<String, String> = files.collect();
        let files = files.iter().map(|(path, text)| (path, text.as_bytes()));
        let figures = figures.iter().map(|(path, bytes)| (path, *bytes));
        for (path, bytes) in files.chain(figures) {
            if self.is_whole || links.lead_to(path) {
                staged.put(path, bytes, Key::default())?;
            }
        }
        let mut leaves = BTreeSet::new();
        for publisher in publishers {
            findings.extend(unlocked(publisher.findings));
            leaves.extend(unlocked(publisher.leaves));
        }
        progress.begins("links");
        let broken = links.broken(&staged, self.is_whole)?;
        if !broken.is_empty() {
            return Err(PublishError::Links(broken));
        }
        progress.begins("files");
        let paths = leaves.iter().flat_map(|path| {
            let files = [format!("{path}.html"), format!("{path}.pdf")];
            files.into_iter().filter(|file| staged.has(file))
        });
        Ok(Published {
            jobs: 0,
            leaves: leaves.len(),
            paths: paths.collect(),
            files: staged.complete(self.is_whole)?,
            findings,
        })
    }
}

fn unlocked<T>(mutex: Mutex<T>) -> T {
    mutex.into_inner().unwrap_or_else(PoisonError::into_inner)
}

/// The typesetter and its name with its version, where PDFs are made.
fn typesetter<'p>(pdfs: &'p Pdfs, findings: &mut Findings) -> (Option<&'p Typst>, Option<String>) {
    match pdfs {
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
    }
}

/// Every page that is made, by its path in the first edition, without an ending.
fn paths(
    sources: &Sources,
    jobs: &[Summary<'_>],
    faults: &[&Rehearsed<'_>],
    selection: &Selection,
) -> BTreeSet<String> {
    let kinds = selection.kinds();
    let of_job = |kind: &&LeafKind| LeafKind::OF_JOB.contains(kind);
    let mut paths: BTreeSet<String> = jobs
        .iter()
        .flat_map(|job| {
            let kinds = kinds.iter().filter(of_job);
            kinds.map(|kind| page::path(&job.machine.id, &job.procedure.id, *kind))
        })
        .collect();
    if kinds.contains(&LeafKind::FaultTable) {
        paths.extend(faults.iter().map(|one| fault_path(one)));
    }
    // What is drawn from all procedures of a machine is made when all of them are asked for.
    if !selection.procedures.is_empty() {
        return paths;
    }
    let of_jobs = jobs.iter().map(|job| job.machine.id.as_str());
    let of_faults = faults.iter().map(|one| one.job.machine.id.as_str());
    let machines: BTreeSet<&str> = of_jobs.chain(of_faults).collect();
    // Which of them have anything on them does not hang on what else is made.
    let edition = Edition::first(&sources.shop);
    let setting = Setting::new(&sources.tree, &edition, &[], BTreeSet::new());
    for machine in sources.shop.machines.values() {
        let own = jobs.iter().filter(|job| job.machine.id == machine.id);
        let own: Vec<&Summary<'_>> = own.collect();
        let of_machine = LeafKind::OF_MACHINE.into_iter();
        let made = of_machine.filter(|kind| {
            let leaf = || sheet::of_machine(*kind, &sources.shop, machine, &own, &setting);
            kinds.contains(kind) && !own.is_empty() && leaf().is_some()
        });
        paths.extend(made.map(|kind| page::machine_path(&machine.id, kind)));
    }
    let is_any_used = jobs.iter().any(Summary::uses_any);
    if is_any_used && selection.machines.is_empty() && kinds.contains(&LeafKind::WhereUsed) {
        paths.insert(LeafKind::WhereUsed.slug().to_owned());
    }
    if selection.is_whole() {
        paths.insert("index".to_owned());
        paths.extend(machines.iter().map(|machine| machine_page_path(machine)));
        paths.extend(jobs.iter().map(|job| procedure_path(&job.procedure.id)));
        let shop = &sources.shop;
        let is_empty = |list: &str| match list {
            "cautions" => shop.cautions.is_empty(),
            "tools" => shop.tools.is_empty(),
            "supplies" => shop.supplies.is_empty(),
            _ => false,
        };
        let lists = LISTS.into_iter().filter(|(list, _)| !is_empty(list));
        paths.extend(lists.map(|(list, _)| list.to_owned()));
    }
    paths
}

fn fault_path(fault: &Rehearsed<'_>) -> String {
    let Job {
        machine, procedure, ..
    } = &fault.job;
    page::path(&machine.id, &procedure.id, LeafKind::FaultTable)
}

/// The figures that stand on any leaf, by their paths in the tree.
fn figures<'r>(
    jobs: &'r [Summary<'_>],
    faults: &[&'r Rehearsed<'_>],
    selection: &Selection,
) -> BTreeSet<&'r str> {
    let kinds = selection.kinds();
    let mut used = BTreeSet::new();
    if kinds.contains(&LeafKind::ShopSheet) {
        used.extend(jobs.iter().flat_map(|job| job.figures.iter().copied()));
    }
    if kinds.contains(&LeafKind::FaultTable) {
        let figures = faults.iter().flat_map(|one| one.job.figures.values());
        used.extend(figures.copied());
    }
    used
}

/// Publishes one edition.
struct Publisher<'p, 'a> {
    sources: &'a Sources,
    jobs: &'p [Summary<'a>],
    selection: &'p Selection,
    edition: &'p Edition,
    setting: &'p Setting,
    common: Common,
    html: Html,
    runner: Option<&'p TypstRunner>,
    /// What PDFs are made with; none where none are made in this run.
    tool: Option<&'p str>,
    staged: &'p StagedWrite<'p>,
    links: &'p Links,
    progress: &'p dyn Progress,
    findings: Mutex<Findings>,
    /// The paths of the leaves, in this edition.
    leaves: Mutex<BTreeSet<String>>,
}

/// A leaf of a job that is to be seen to.
struct Due {
    kind: LeafKind,
    /// In this edition.
    path: String,
    nav: Nav,
    pdf: Key,
    needs_pdf: bool,
    needs_html: bool,
}

impl<'a> Publisher<'_, 'a> {
    /// The leaves of every job, and the procedures' pages.
    fn procedures(&self, inputs: &Inputs) -> Result<(), PublishError> {
        let has_pdf = |path: &str| self.has_pdf(path);
        let site = Site {
            shop: &self.sources.shop,
            jobs: self.jobs,
            faults: &[],
            setting: self.setting,
            has_pdf: &has_pdf,
        };
        let order = site.procedures();
        let Sources {
            tree,
            shop,
            procedures,
            faults,
            ..
        } = self.sources;
        job::again(tree, shop, procedures, faults, |again| {
            order
                .par_iter()
                .enumerate()
                .try_for_each(|(at, _)| self.procedure(&site, &order, at, again, inputs))
        })
    }

    /// What is made of one procedure on all its machines.
    fn procedure(
        &self,
        site: &Site<'_, 'a>,
        order: &[Vec<&Summary<'a>>],
        at: usize,
        again: Again<'a, '_>,
        inputs: &Inputs,
    ) -> Result<(), PublishError> {
        let summaries = &order[at];
        let digests: Vec<Digest> = summaries
            .iter()
            .map(|job| inputs.of_job(job, self.setting))
            .collect();
        // As long as nobody asked for it, the job is not made.
        let mut jobs: Vec<Option<Rehearsed<'a>>> = summaries.iter().map(|_| None).collect();
        let mut sheets: Vec<Option<Leaf>> = vec![None; summaries.len()];
        let make = |at: usize, jobs: &mut Vec<Option<Rehearsed<'a>>>| {
            if jobs[at].is_none() {
                let summary = summaries[at];
                let job = again.job(summary.procedure, summary.machine, summary.cures.clone());
                let rehearsal = dry_run::rehearse(&job, |_| {});
                jobs[at] = Some(Rehearsed { job, rehearsal });
            }
        };
        let kinds = self.selection.kinds();
        let kinds: Vec<LeafKind> = LeafKind::OF_JOB
            .into_iter()
            .filter(|kind| kinds.contains(kind))
            .collect();
        for (one, summary) in summaries.iter().enumerate() {
            for kind in &kinds {
                let due = self.due(summary, *kind, &digests[one]);
                if due.needs_pdf || due.needs_html {
                    make(one, &mut jobs);
                    if let Some(job) = &jobs[one] {
                        let leaf = self.leaf_of_job(job, due, &digests[one])?;
                        if leaf.kind == LeafKind::ShopSheet {
                            sheets[one] = Some(leaf);
                        }
                    }
                }
                self.progress.made();
            }
        }
        if !self
            .setting
            .is_made(&procedure_path(&summaries[0].procedure.id))
        {
            return Ok(());
        }
        let path = self
            .edition
            .path(&procedure_path(&summaries[0].procedure.id));
        let mut digest = self.common.html.with(&["procedure"]);
        for (one, summary) in summaries.iter().enumerate() {
            digest.add(&digests[one].text());
            for kind in &kinds {
                let path = page::path(&summary.machine.id, &summary.procedure.id, *kind);
                digest.add(if self.has_pdf(&self.edition.path(&path)) {
                    "pdf"
                } else {
                    ""
                });
            }
        }
        for neighbour in [at.checked_sub(1), Some(at + 1)] {
            let neighbour = neighbour.and_then(|at| order.get(at));
            let procedure = neighbour.map(|jobs| jobs[0].procedure);
            digest.add(procedure.map_or("", |one| &one.id));
            digest.add(procedure.map_or("", |one| &one.title.value));
        }
        let key = Key {
            inputs: digest.text(),
            ..Key::default()
        };
        if !self.keep_html(&path, &key) {
            for one in 0..summaries.len() {
                make(one, &mut jobs);
            }
            let sheet = |one: &Rehearsed<'_>| {
                sheet::make(LeafKind::ShopSheet, &one.job, &one.rehearsal, self.setting)
            };
            let jobs = jobs.iter().flatten().zip(sheets);
            let sheets = jobs.map(|(one, made)| (&one.job, made.unwrap_or_else(|| sheet(one))));
            let page = site::procedure(site, order, at, sheets.collect());
            self.put_html(&path, &self.html.page(page, &self.edition.prefix)?, key)?;
        }
        self.progress.made();
        Ok(())
    }

    /// What is to be done for a leaf of a job; what is up to date is kept.
    fn due(&self, job: &Summary<'_>, kind: LeafKind, digest: &Digest) -> Due {
        let path = self
            .edition
            .path(&page::path(&job.machine.id, &job.procedure.id, kind));
        self.note_leaf(&path);
        let pdf = Key {
            inputs: self.common.pdf.with(&[kind.slug(), &digest.text()]).text(),
            content: None,
            tool: self.tool.map(str::to_owned),
        };
        let has_pdf = self.keep_pdf(&path, &pdf, |old| old.inputs == pdf.inputs);
        // A PDF of an earlier run may stay if it says the same: only the leaf tells.
        let may_stay = self.staged.was_there(&format!("{path}.pdf"));
        let needs_pdf = !has_pdf && (self.runner.is_some() || may_stay);
        let nav = nav_of_leaf(
            self.setting,
            Some((&job.procedure.id, &job.procedure.title.value)),
            Some((&job.machine.id, &job.machine.name.value)),
            &page::path(&job.machine.id, &job.procedure.id, kind),
        );
        let html = self.html_key(kind, digest, &nav, has_pdf);
        let needs_html = needs_pdf || !self.keep_html(&path, &html);
        Due {
            kind,
            path,
            nav,
            pdf,
            needs_pdf,
            needs_html,
        }
    }

    fn html_key(&self, kind: LeafKind, digest: &Digest, nav: &Nav, has_pdf: bool) -> Key {
        let has_pdf = if has_pdf { "pdf" } else { "" };
        let nav = Digest::of_value(nav).text();
        let texts = [kind.slug(), &digest.text(), &nav, has_pdf];
        Key {
            inputs: self.common.html.with(&texts).text(),
            ..Key::default()
        }
    }

    /// Makes a leaf of a job, and returns it.
    fn leaf_of_job(
        &self,
        one: &Rehearsed<'_>,
        due: Due,
        digest: &Digest,
    ) -> Result<Leaf, PublishError> {
        let leaf = sheet::make(due.kind, &one.job, &one.rehearsal, self.setting);
        if due.needs_pdf {
            self.pdf(&leaf, due.pdf)?;
        }
        let has_pdf = self.has_pdf(&due.path);
        let key = self.html_key(due.kind, digest, &due.nav, has_pdf);
        if due.needs_html && !self.keep_html(&due.path, &key) {
            let text = self.html.leaf(&leaf, &due.nav, has_pdf)?;
            self.put_html(&due.path, &text, key)?;
        }
        Ok(leaf)
    }

    /// Leaves of machines and of the shop, and fault tables.
    fn others(&self, faults: &[&Rehearsed<'_>]) -> Result<(), PublishError> {
        faults
            .par_iter()
            .filter(|one| self.setting.is_made(&fault_path(one)))
            .try_for_each(|one| {
                let leaf =
                    sheet::make(LeafKind::FaultTable, &one.job, &one.rehearsal, self.setting);
                let machine = one.job.machine;
                let nav = nav_of_leaf(
                    self.setting,
                    None,
                    Some((&machine.id, &machine.name.value)),
                    &fault_path(one),
                );
                self.other(&leaf, &nav)
            })?;
        let shop = &self.sources.shop;
        let machines: Vec<_> = shop.machines.values().collect();
        machines.par_iter().try_for_each(|machine| {
            let own = self.jobs.iter().filter(|job| job.machine.id == machine.id);
            let own: Vec<&Summary<'_>> = own.collect();
            for kind in LeafKind::OF_MACHINE {
                let path = page::machine_path(&machine.id, kind);
                if !self.setting.is_made(&path) {
                    continue;
                }
                if let Some(leaf) = sheet::of_machine(kind, shop, machine, &own, self.setting) {
                    let of_machine = Some((machine.id.as_str(), machine.name.value.as_str()));
                    let nav = nav_of_leaf(self.setting, None, of_machine, &path);
                    self.other(&leaf, &nav)?;
                }
            }
            Ok::<(), PublishError>(())
        })?;
        let path = LeafKind::WhereUsed.slug();
        if self.setting.is_made(path) {
            let all: Vec<&Summary<'_>> = self.jobs.iter().collect();
            if let Some(leaf) = sheet::where_used(shop, &all, self.setting) {
                self.other(&leaf, &nav_of_leaf(self.setting, None, None, path))?;
            }
        }
        Ok(())
    }

    /// A leaf that is quick to make and drawn from many files: what stands on it says whether its
    /// files are up to date.
    fn other(&self, leaf: &Leaf, nav: &Nav) -> Result<(), PublishError> {
        let path = &leaf.head.path;
        self.note_leaf(path);
        let digest = Digest::of_value(&(leaf, nav));
        let pdf = Key {
            inputs: self.common.pdf.with(&[&digest.text()]).text(),
            content: None,
            tool: self.tool.map(str::to_owned),
        };
        if !self.keep_pdf(path, &pdf, |old| old.inputs == pdf.inputs) {
            self.pdf(leaf, pdf)?;
        }
        let has_pdf = self.has_pdf(path);
        let key = self.html_key(leaf.kind, &digest, nav, has_pdf);
        if !self.keep_html(path, &key) {
            let text = self.html.leaf(leaf, nav, has_pdf)?;
            self.put_html(path, &text, key)?;
        }
        self.progress.made();
        Ok(())
    }

    /// The pages that lead to the leaves, but for the procedures' own.
    fn site(&self, faults: &[&Rehearsed<'_>]) -> Result<(), PublishError> {
        let faults: Vec<FaultOf<'_>> = faults
            .iter()
            .map(|one| FaultOf {
                fault: one.job.procedure,
                machine: one.job.machine,
            })
            .collect();
        let has_pdf = |path: &str| self.has_pdf(path);
        let site = Site {
            shop: &self.sources.shop,
            jobs: self.jobs,
            faults: &faults,
            setting: self.setting,
            has_pdf: &has_pdf,
        };
        let machines: Vec<_> = self.sources.shop.machines.values().collect();
        let pages = machines
            .par_iter()
            .filter_map(|machine| site::machine(&site, machine));
        pages.try_for_each(|page| self.page(page))?;
        self.page(site::front(&site))?;
        let lists = [
            site::cautions(&site),
            site::tools(&site),
            site::supplies(&site),
            site::glossary(&site),
        ];
        lists
            .into_iter()
            .flatten()
            .try_for_each(|page| self.page(page))
    }

    /// What the search finds by; `at` is the edition's place among the shop's.
    fn search(&self, at: usize, faults: &[&Rehearsed<'_>]) -> Result<(), PublishError> {
        let of_jobs = self
            .jobs
            .iter()
            .filter_map(|job| job.search.get(at).cloned());
        let of_faults = faults
            .iter()
            .map(|one| SearchPiece::of_fault(&one.job, &one.rehearsal, self.setting));
        let pieces = of_jobs.chain(of_faults).collect();
        let terms = site::terms(&self.sources.shop, &self.edition.words);
        let terms: Vec<SearchTerm<'_>> = terms
            .iter()
            .map(|(id, name, meaning)| SearchTerm { id, name, meaning })
            .collect();
        let found = SearchIndex::new(&self.sources.shop, pieces, &terms);
        let path = self.edition.path("search-index.js");
        let text = search_file(&found);
        Ok(self.staged.put(&path, text.as_bytes(), Key::default())?)
    }

    fn page(&self, page: site::Page) -> Result<(), PublishError> {
        let digest = Digest::of_value(&page);
        let key = Key {
            inputs: self.common.html.with(&[&digest.text()]).text(),
            ..Key::default()
        };
        if !self.keep_html(&page.path, &key) {
            let path = page.path.clone();
            let text = self.html.page(page, &self.edition.prefix)?;
            self.put_html(&path, &text, key)?;
        }
        self.progress.made();
        Ok(())
    }

    fn note_leaf(&self, path: &str) {
        let mut leaves = self.leaves.lock().unwrap_or_else(PoisonError::into_inner);
        leaves.insert(path.to_owned());
    }

    fn has_pdf(&self, path: &str) -> bool {
        self.staged.has(&format!("{path}.pdf"))
    }

    /// Keeps a leaf's PDF, if its key will do: where no PDFs are made, one that was made with any
    /// program.
    fn keep_pdf(&self, path: &str, key: &Key, will_do: impl Fn(&Key) -> bool) -> bool {
        self.staged.keep(&format!("{path}.pdf"), key, |old| {
            will_do(old) && (self.tool.is_none() || old.tool == key.tool)
        })
    }

    fn keep_html(&self, path: &str, key: &Key) -> bool {
        let path = format!("{path}.html");
        let is_kept = self.staged.keep(&path, key, |old| old.inputs == key.inputs);
        if is_kept {
            self.links.kept(path);
        }
        is_kept
    }

    fn put_html(&self, path: &str, text: &str, key: Key) -> Result<(), PublishError> {
        let path = format!("{path}.html");
        self.links.read(&path, text);
        Ok(self.staged.put(&path, text.as_bytes(), key)?)
    }

    /// Makes a leaf's PDF, or keeps one that says the same; what can't be made is a finding.
    fn pdf(&self, leaf: &Leaf, key: Key) -> Result<(), PublishError> {
        let path = &leaf.head.path;
        let key = Key {
            content: Some(
                self.common
                    .pdf
                    .with(&[&Digest::of_value(leaf).text()])
                    .text(),
            ),
            ..key
        };
        if self.keep_pdf(path, &key, |old| old.content == key.content) {
            return Ok(());
        }
        let Some(runner) = self.runner else {
            return Ok(());
        };
        match runner.set(leaf, &self.edition.words) {
            Ok(bytes) => self.staged.put(&format!("{path}.pdf"), &bytes, key)?,
            Err(error) => self.cant_set(&format!("{path}.pdf"), &error),
        }
        Ok(())
    }

    fn cant_set(&self, path: &str, error: &RenderError) {
        let message = format!("`{path}` can't be set: {error}");
        let finding = Finding::new(&printing::TYPESETTING_FAILED, message);
        let mut findings = self.findings.lock().unwrap_or_else(PoisonError::into_inner);
        findings.push(finding);
    }
}
