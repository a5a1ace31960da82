//! What pages are made from, as digests.

use crate::Sources;
use crate::output::digest;
use crate::page::{FigureId, JobId, OutputContext, PageId, SheetKind};
use crate::render::Look;
use crate::sheet::Summary;
use crate::tree::Kind;
use rayon::prelude::*;
use serde::Serialize;

/// A digest that grows by texts, each told apart from the next.
#[derive(Clone, Default)]
pub(super) struct Digest(blake3::Hasher);

impl Digest {
    pub(super) fn of(texts: &[&str]) -> Digest {
        let mut digest = Digest::default();
        for text in texts {
            digest.add(text);
        }
        digest
    }

    /// Of plain data, which always serialises.
    pub(super) fn of_value(value: &impl Serialize) -> Digest {
        let mut digest = Digest::default();
        // Straight into the hash: a page's data may be large.
        let _ = serde_json::to_writer(&mut digest.0, value);
        digest
    }

    pub(super) fn add(&mut self, text: &str) {
        self.add_bytes(text.as_bytes());
    }

    pub(super) fn add_bytes(&mut self, bytes: &[u8]) {
        self.0.update(&(bytes.len() as u64).to_le_bytes());
        self.0.update(bytes);
    }

    /// This one, and some more texts.
    pub(super) fn with(&self, texts: &[&str]) -> Digest {
        let mut digest = self.clone();
        for text in texts {
            digest.add(text);
        }
        digest
    }

    pub(super) fn text(&self) -> String {
        self.0.finalize().to_hex()[..32].to_owned()
    }
}

/// What has a say in every page of an edition, by medium.
pub(super) struct Common {
    pub(super) html: Digest,
    pub(super) pdf: Digest,
}

impl Common {
    pub(super) fn of(look: &Look, output: &OutputContext, base: Option<&str>) -> Common {
        let mut all = Digest::of(&[&program(), &output.edition.language]);
        for language in &*output.languages {
            all.add(&language.tag);
        }
        for (key, word) in output.edition.words.all() {
            all.add(key);
            all.add(word);
        }
        all.add(base.unwrap_or_default());
        all.add(&look.logo().map(|(path, _)| path).unwrap_or_default());
        Common {
            html: all.with(&look.page_design()),
            pdf: all.with(&look.design()),
        }
    }
}

/// What tells this program from another build of it: one that was built anew may say something else
/// under the same version.
fn program() -> String {
    let version = env!("CARGO_PKG_VERSION");
    let file = std::env::current_exe().and_then(std::fs::metadata);
    let built = file.and_then(|file| Ok((file.len(), file.modified()?)));
    match built {
        Ok((size, when)) => format!("{version} {size} {when:?}"),
        Err(_) => version.to_owned(),
    }
}

/// The digests of a tree's files.
pub(super) struct Inputs {
    /// Of each source file, in the tree's order.
    files: Vec<String>,
    /// Of all that belongs to the shop as a whole.
    shop: Digest,
}

impl Inputs {
    pub(super) fn of(sources: &Sources) -> Inputs {
        let files = sources.tree.files.par_iter();
        let files: Vec<String> = files.map(|file| digest(file.text.as_bytes())).collect();
        let mut shop = Digest::default();
        for (file, digest) in sources.tree.files.iter().zip(&files) {
            let is_of_shop = !matches!(
                file.kind,
                Kind::Machine { .. } | Kind::Procedure { .. } | Kind::Fault { .. }
            );
            if is_of_shop {
                shop.add(&file.path);
                shop.add(digest);
            }
        }
        Inputs { files, shop }
    }

    /// Of everything that has a say in a job's sheets, besides what is common to all pages.
    ///
    /// A page that is kept is right only if nothing is forgotten here: `tests/incremental.rs`
    /// changes every file of the demonstration in turn and wants the same pages as from nothing.
    pub(super) fn of_job(&self, job: &Summary<'_>, output: &OutputContext) -> Digest {
        let mut all = self.shop.with(&[&job.machine.id, &job.procedure.id]);
        for file in job.sources.iter().chain(&job.also) {
            all.add(&self.files[file.0 as usize]);
        }
        // A figure's name in the output carries its content.
        for figure in &job.figures {
            all.add(figure);
            let figure = FigureId((*figure).to_owned());
            all.add(output.figure_content(&figure).unwrap_or_default());
        }
        for cure in &job.cures {
            all.add(&cure.fault.id);
            for cause in &cure.causes {
                all.add(&cause.to_string());
            }
        }
        // Whether what it refers to is there to be linked to.
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
            all.add(&page.to_string());
            all.add(if output.makes(&page) { "made" } else { "" });
        }
        all
    }
}
