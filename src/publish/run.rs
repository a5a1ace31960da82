//! The frame of every run: makes pages with one publisher for each edition, writes the files that pages
//! share, checks the links, and completes the output.

use super::inputs::EditionInputs;
use super::links::Links;
use super::publisher::Publisher;
use super::{Outlet, Pdfs, PublishError, Selection};
use crate::Sources;
use crate::output::{FileChanges, Output, OutputKey, StagedWrite};
use crate::page::{Edition, OutputContext, PageId};
use crate::render::{Html, Look, Paths, Typst, TypstRunner, figure_path, offline};
use crate::sheet::Summary;
use crate::tree::{FigureFile, MostPixels, shown};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};

/// The result of a run.
#[derive(Debug, Default)]
pub(crate) struct Published {
    /// The number of jobs that the run made sheets of.
    pub(crate) jobs: usize,
    /// The number of sheets. A sheet in two media counts once.
    pub(crate) sheets: usize,
    pub(crate) files: FileChanges,
    /// The files of the sheets, as paths from the output's root. HTML comes before PDF.
    pub(crate) paths: Vec<String>,
}

/// The plan of one run.
pub(super) struct PublishRun<'r, 'a> {
    pub(super) sources: &'a Sources,
    pub(super) jobs: &'r [Summary<'a>],
    pub(super) selection: &'r Selection,
    /// Every page that the run makes.
    pub(super) pages: BTreeSet<PageId>,
    /// The paths in the tree of all figures on the sheets.
    pub(super) figures: BTreeSet<&'r str>,
    /// Whether the run removes files that it does not make.
    pub(super) is_whole: bool,
}

impl<'a> PublishRun<'_, 'a> {
    /// Calls `make` with a publisher for each edition, then moves the pages to the output. Moves nothing if
    /// a PDF could not be made or a link is broken: the output of an earlier run is whole, and one with some pages
    /// missing is not.
    pub(super) fn deliver(
        self,
        outlet: Outlet<'_>,
        make: impl Fn(&[Publisher<'_, 'a>]) -> Result<(), PublishError>,
    ) -> Result<Published, PublishError> {
        let Outlet {
            look,
            pdfs,
            folder,
            settings,
            world,
            progress,
        } = outlet;
        let sources = self.sources;
        let typst = typesetter(pdfs)?;
        let tool = typst.map(|typst| format!("typst {}", typst.version()));
        let mut output = Output::open(folder, settings)?;
        let editions = Edition::of_shop(&sources.shop, look.words())
            .map_err(|error| PublishError::Words(look.words_path(), error))?;
        let pages = Arc::new(self.pages);
        let contexts = OutputContext::of_editions(&sources.tree, &editions, Arc::clone(&pages));
        let contexts = OutputContext::all_on(contexts, self.selection.on);
        let used = sources.tree.figures.iter();
        let used = used.filter(|figure| self.figures.contains(figure.path.as_str()));
        let used: Vec<&FigureFile> = used.collect();
        let in_print = used
            .iter()
            .map(|figure| (figure.path.as_str(), figure.bytes.as_slice()));
        let runner = typst.map(|typst| TypstRunner::new(typst.clone(), look, in_print));
        let runner = runner.transpose()?;
        let staged = output.begin()?;
        let links = Links::default();
        let mut publishers = Vec::new();
        let base = sources.shop.address.as_deref();
        for output in &contexts {
            publishers.push(Publisher {
                sources,
                jobs: self.jobs,
                selection: self.selection,
                output,
                paths: Paths::new(output, base),
                inputs: EditionInputs::of(look, sources.shop.accent, output, base),
                html: Html::new(look, sources.shop.accent, &output.edition.words)?,
                runner: runner.as_ref(),
                tool: tool.as_deref(),
                staged: &staged,
                links: &links,
                progress,
                failed: Mutex::default(),
                sheets: Mutex::default(),
            });
        }
        progress.set_total(pages.len() * contexts.len());
        make(&publishers)?;
        // A partial run writes only those shared files that its pages use.
        let files = publishers
            .iter()
            .flat_map(|publisher| publisher.html.shared());
        let files: BTreeMap<String, String> = files.collect();
        let files = files.iter().map(|(path, text)| (path, text.as_bytes()));
        let logo: BTreeMap<String, &[u8]> = look.logo().into_iter().collect();
        let logo = logo.iter().map(|(path, bytes)| (path, *bytes));
        let is_needed = |path: &str| self.is_whole || links.has_link_to(path);
        for (path, bytes) in files.chain(logo).filter(|(path, _)| is_needed(path)) {
            staged.put(path, bytes, OutputKey::default())?;
        }
        let mut files = used.clone();
        files.retain(|figure| !is_drawn_in_pages(sources, self.jobs, &figure.path));
        put_figures(&staged, &files, is_needed)?;
        let front = publishers.first();
        let front = front.map(|publisher| publisher.paths.path(&PageId::Front));
        let (mut failed, mut sheets) = (Vec::new(), BTreeSet::new());
        for publisher in publishers {
            failed.extend(into_inner(publisher.failed));
            sheets.extend(into_inner(publisher.sheets));
        }
        if !failed.is_empty() {
            // Threads finish in any order.
            failed.sort_by(|(one, _), (other, _)| one.cmp(other));
            return Err(PublishError::Pdfs(failed));
        }
        if let (true, Some(front)) = (self.is_whole, front) {
            put_offline_files(&staged, look, &sources.shop.name, &front)?;
        }
        progress.begin_stage("links");
        let broken = links.broken(&staged, self.is_whole)?;
        if !broken.is_empty() {
            return Err(PublishError::Links(broken));
        }
        progress.begin_stage("files");
        if world.is_some_and(|world| !sources.tree.is_current(world) || !look.is_current()) {
            return Err(PublishError::SourcesChanged);
        }
        let paths = sheets.iter().flat_map(|path| {
            let files = [format!("{path}.html"), format!("{path}.pdf")];
            files.into_iter().filter(|file| staged.has(file))
        });
        Ok(Published {
            jobs: 0,
            sheets: sheets.len(),
            paths: paths.collect(),
            files: staged.complete(self.is_whole)?,
        })
    }
}

/// Whether pages contain the shapes of a figure, and none needs its file: it has numbers on each machine that shows it.
fn is_drawn_in_pages(sources: &Sources, jobs: &[Summary<'_>], path: &str) -> bool {
    let drawing = sources.tree.figure(path).and_then(FigureFile::drawing);
    if drawing.is_none_or(|drawing| drawing.shapes.is_none()) {
        return false;
    }
    let shop = &sources.shop;
    let mut legends = shop.legends.values();
    let Some(legend) = legends.find(|legend| legend.picture.as_deref() == Some(path)) else {
        return false;
    };
    let mut machines = shop.machines.values();
    let is_of_machine = machines.any(|machine| {
        let figures = machine.picture.iter().chain(&machine.wiring);
        figures.into_iter().any(|figure| figure.value == path)
    });
    let mut showing = jobs.iter().filter(|job| job.figures.contains(path));
    !is_of_machine && showing.all(|job| legend.is_for(job.machine.index))
}

/// Typst. None if the run makes no PDFs; those of an earlier run whose content has not changed are then kept.
fn typesetter(pdfs: &Pdfs) -> Result<Option<&Typst>, PublishError> {
    match pdfs {
        Pdfs::With(typst) => Ok(Some(typst)),
        Pdfs::NotAsked => Ok(None),
        Pdfs::Without(error) => Err(PublishError::NoTypesetter(error.clone())),
    }
}

/// Adds the figures. Photographs are made as they are shown on pages, each once in all runs with the same content.
fn put_figures(
    staged: &StagedWrite<'_>,
    figures: &[&FigureFile],
    is_needed: impl Fn(&str) -> bool + Sync,
) -> Result<(), PublishError> {
    // Several paths in the tree may have the same name and content.
    let figures = figures.iter().map(|figure| {
        let content = figure.content();
        (
            figure_path(&figure.path, &content.short()),
            (content, figure),
        )
    });
    let figures: BTreeMap<String, _> = figures.collect();
    figures
        .par_iter()
        .try_for_each(|(path, (content, figure))| {
            if !is_needed(path) {
                return Ok(());
            }
            let key = OutputKey {
                inputs: Some(*content),
                ..OutputKey::default()
            };
            if staged.keep(path, &key, |old| old.inputs == key.inputs) {
                return Ok(());
            }
            let bytes = shown(&figure.path, &figure.bytes, MostPixels::PAGE);
            Ok(staged.put(path, &bytes, key)?)
        })
}

/// Adds what makes the site readable without a connection. `front` is the path of the front page without extension.
fn put_offline_files(
    staged: &StagedWrite<'_>,
    look: &Look,
    shop: &str,
    front: &str,
) -> Result<(), PublishError> {
    let manifest = offline::manifest(shop, &format!("{front}.html"));
    staged.put(offline::MANIFEST, manifest.as_bytes(), OutputKey::default())?;
    let worker = offline::worker(look, &staged.contents());
    staged.put(offline::WORKER, worker.as_bytes(), OutputKey::default())?;
    Ok(())
}

fn into_inner<T>(mutex: Mutex<T>) -> T {
    mutex.into_inner().unwrap_or_else(PoisonError::into_inner)
}
