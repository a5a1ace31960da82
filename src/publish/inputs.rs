//! Fingerprints of the inputs that each page is made from. A page is kept if they have not changed.

use crate::Sources;
use crate::cache::{Fingerprint, FingerprintBuilder};
use crate::page::{FigureId, JobId, OutputContext, PageId, SheetKind};
use crate::render::Look;
use crate::sheet::Summary;
use crate::shop::Colour;
use crate::tree::SourceKind;
use rayon::prelude::*;

/// The fingerprint of the inputs that all pages of an edition share, for each medium.
pub(super) struct EditionInputs {
    html: FingerprintBuilder,
    pdf: FingerprintBuilder,
}

impl EditionInputs {
    pub(super) fn of(
        look: &Look,
        accent: Option<Colour>,
        output: &OutputContext,
        base: Option<&str>,
    ) -> EditionInputs {
        let mut shared = FingerprintBuilder::default()
            .with(program())
            .with(&output.edition.language);
        for language in &*output.languages {
            shared.add(&language.tag);
        }
        for (key, word) in output.edition.words.all() {
            shared.add(key);
            shared.add(word);
        }
        shared.add(base.unwrap_or_default());
        shared.add(look.logo().map(|(path, _)| path).unwrap_or_default());
        let accent = accent.map(|accent| accent.to_string()).unwrap_or_default();
        let with_shared = |texts: Vec<&str>| {
            let texts = texts.into_iter();
            texts.fold(shared.clone(), FingerprintBuilder::with)
        };
        EditionInputs {
            html: with_shared(look.page_design()).with(accent),
            pdf: with_shared(look.design()),
        }
    }

    /// A builder for an HTML page, to which the page's own inputs are added.
    pub(super) fn html(&self) -> FingerprintBuilder {
        self.html.clone()
    }

    /// A builder for a PDF, to which its own inputs are added.
    pub(super) fn pdf(&self) -> FingerprintBuilder {
        self.pdf.clone()
    }
}

/// The version of this program, with the size and time of its file: another build of the same version
/// may make different pages.
fn program() -> String {
    let version = env!("CARGO_PKG_VERSION");
    let file = std::env::current_exe().and_then(std::fs::metadata);
    let build = file.and_then(|file| Ok((file.len(), file.modified()?)));
    match build {
        Ok((size, modified)) => format!("{version} {size} {modified:?}"),
        Err(_) => version.to_owned(),
    }
}

/// The fingerprints of a tree's files.
pub(super) struct Inputs {
    /// The fingerprint of each source file, in the tree's order.
    files: Vec<Fingerprint>,
    /// The files that belong to no machine, procedure or fault table. They affect every page.
    shop: FingerprintBuilder,
    /// The ids of the machines.
    machines: Vec<String>,
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
                    // Only interval charts have what it says, and those are compared as a whole.
                    | SourceKind::Log
            );
            if is_of_shop {
                shop.add(&file.path);
                shop.add(digest);
            }
        }
        // The navigation of every page lists the machines.
        for machine in sources.shop.machines.values() {
            shop.add(&machine.id);
            shop.add(&machine.name.value);
            // Sheets lead to those for other serial numbers.
            let ends = [&machine.serials.from, &machine.serials.to];
            for end in ends {
                shop.add(end.as_ref().map_or("", |end| end.value.text()));
            }
            shop.add(machine.fitted.join("\n"));
        }
        let machines = sources.shop.machines.keys().map(str::to_owned);
        Inputs {
            files,
            shop,
            machines: machines.collect(),
        }
    }

    /// The fingerprint of everything that affects a job's sheets, except the inputs that all pages share.
    ///
    /// If an input were missing here, outdated pages would be kept. `tests/internal/incremental.rs` changes
    /// every file of the demonstration in turn and compares the pages with those of a clean build.
    pub(super) fn of_job(&self, job: &Summary<'_>, output: &OutputContext) -> Fingerprint {
        let mut fingerprint = self.shop.clone();
        fingerprint.add(&job.machine.id);
        fingerprint.add(&job.procedure.id);
        for file in job.sources.iter().chain(&job.referenced_files) {
            fingerprint.add(self.files[file.0 as usize]);
        }
        // The name of a figure in the output depends on its content.
        for figure in &job.figures {
            fingerprint.add(figure);
            let figure = FigureId((*figure).to_owned());
            fingerprint.add(
                output
                    .figure(&figure)
                    .map_or("", |facts| facts.content.as_str()),
            );
        }
        for cure in &job.remedied_faults {
            fingerprint.add(&cure.fault.id);
            for cause in &cure.causes {
                fingerprint.add(cause.to_string());
            }
        }
        // A reference becomes a link only if the run makes its page.
        let referenced = job.referenced_procedures.iter().flat_map(|id| {
            let job = JobId::new(&job.machine.id, *id);
            let kinds = SheetKind::OF_JOB.into_iter();
            kinds.map(move |kind| PageId::JobSheet(kind, job.clone()))
        });
        // The same job on the other machines, for other serial numbers.
        let machines = job.procedure.machines.iter();
        let variants = machines.flat_map(|machine| {
            let machine = &self.machines[machine.value.index()];
            let job = JobId::new(machine, &job.procedure.id);
            let kinds = SheetKind::OF_JOB.into_iter();
            kinds.map(move |kind| PageId::JobSheet(kind, job.clone()))
        });
        let referenced = referenced.chain(variants);
        let faults = job.faults.iter().map(|id| {
            let fault = JobId::new(&job.machine.id, *id);
            PageId::JobSheet(SheetKind::FaultTable, fault)
        });
        let data = PageId::MachineSheet(SheetKind::MachineData, job.machine.id.clone());
        for page in referenced.chain(faults).chain([data]) {
            fingerprint.add(page.to_string());
            fingerprint.add(if output.includes(&page) { "made" } else { "" });
        }
        fingerprint.finish()
    }
}
