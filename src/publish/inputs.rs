//! What pages are made from, as fingerprints.

use crate::Sources;
use crate::cache::{Fingerprint, FingerprintBuilder};
use crate::page::{FigureId, JobId, OutputContext, PageId, SheetKind};
use crate::render::Look;
use crate::sheet::Summary;
use crate::tree::SourceKind;
use rayon::prelude::*;

/// The inputs that all pages of an edition share, by medium.
pub(super) struct EditionInputs {
    html: FingerprintBuilder,
    pdf: FingerprintBuilder,
}

impl EditionInputs {
    pub(super) fn of(look: &Look, output: &OutputContext, base: Option<&str>) -> EditionInputs {
        let mut all = FingerprintBuilder::default()
            .with(program())
            .with(&output.edition.language);
        for language in &*output.languages {
            all.add(&language.tag);
        }
        for (key, word) in output.edition.words.all() {
            all.add(key);
            all.add(word);
        }
        all.add(base.unwrap_or_default());
        all.add(look.logo().map(|(path, _)| path).unwrap_or_default());
        let with_all = |texts: Vec<&str>| {
            let texts = texts.into_iter();
            texts.fold(all.clone(), FingerprintBuilder::with)
        };
        EditionInputs {
            html: with_all(look.page_design()),
            pdf: with_all(look.design()),
        }
    }

    /// Begins the fingerprint of an HTML page.
    pub(super) fn html(&self) -> FingerprintBuilder {
        self.html.clone()
    }

    /// Begins the fingerprint of a PDF.
    pub(super) fn pdf(&self) -> FingerprintBuilder {
        self.pdf.clone()
    }
}

/// The version and the file of this program: another build of the same version may make other pages.
fn program() -> String {
    let version = env!("CARGO_PKG_VERSION");
    let file = std::env::current_exe().and_then(std::fs::metadata);
    let built = file.and_then(|file| Ok((file.len(), file.modified()?)));
    match built {
        Ok((size, when)) => format!("{version} {size} {when:?}"),
        Err(_) => version.to_owned(),
    }
}

/// The fingerprints of a tree's files.
pub(super) struct Inputs {
    /// Of each source file, in the tree's order.
    files: Vec<Fingerprint>,
    /// Of the files that belong to no machine and no procedure: they decide every page.
    shop: FingerprintBuilder,
}

impl Inputs {
    pub(super) fn of(sources: &Sources) -> Inputs {
        let files = sources.tree.files.par_iter();
        let files: Vec<Fingerprint> = files
            .map(|file| Fingerprint::of_bytes(file.text.as_bytes()))
            .collect();
        let mut shop = FingerprintBuilder::default();
        for (file, digest) in sources.tree.files.iter().zip(&files) {
            let is_of_shop = !matches!(
                file.kind,
                SourceKind::Machine { .. }
                    | SourceKind::Procedure { .. }
                    | SourceKind::Fault { .. }
            );
            if is_of_shop {
                shop.add(&file.path);
                shop.add(digest);
            }
        }
        Inputs { files, shop }
    }

    /// Of everything that decides a job's sheets, besides what all pages share.
    ///
    /// A page that is kept is right only if nothing is missing here: `tests/internal/incremental.rs`
    /// changes every file of the demonstration in turn and compares the pages with those of a run
    /// from nothing.
    pub(super) fn of_job(&self, job: &Summary<'_>, output: &OutputContext) -> Fingerprint {
        let mut all = self.shop.clone();
        all.add(&job.machine.id);
        all.add(&job.procedure.id);
        for file in job.sources.iter().chain(&job.also) {
            all.add(self.files[file.0 as usize]);
        }
        // The name of a figure in the output depends on its content.
        for figure in &job.figures {
            all.add(figure);
            let figure = FigureId((*figure).to_owned());
            all.add(output.figure_content(&figure).unwrap_or_default());
        }
        for cure in &job.cures {
            all.add(&cure.fault.id);
            for cause in &cure.causes {
                all.add(cause.to_string());
            }
        }
        // A reference is a link only if its page is made.
        let referred = job.refers_to.iter().flat_map(|id| {
            let job = JobId::new(&job.machine.id, *id);
            let kinds = SheetKind::OF_JOB.into_iter();
            kinds.map(move |kind| PageId::JobSheet(kind, job.clone()))
        });
        let faults = job.faults.iter().map(|id| {
            let fault = JobId::new(&job.machine.id, *id);
            PageId::JobSheet(SheetKind::FaultTable, fault)
        });
        for page in referred.chain(faults) {
            all.add(page.to_string());
            all.add(if output.makes(&page) { "made" } else { "" });
        }
        all.finish()
    }
}
