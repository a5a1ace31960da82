//! The leaves of machines and of the shop, the fault tables, and the pages that lead to leaves.

use super::PublishError;
use super::inputs::Digest;
use super::plan::fault_path;
use super::publisher::Publisher;
use crate::Rehearsed;
use crate::output::Key;
use crate::page::{self, Leaf, LeafKind};
use crate::render::search_file;
use crate::sheet::{self, SearchPiece, Summary};
use crate::site::{self, FaultOf, Nav, SearchIndex, SearchTerm, Site, nav_of_leaf};
use rayon::prelude::*;

impl Publisher<'_, '_> {
    /// Leaves of machines and of the shop, and fault tables.
    pub(super) fn others(&self, faults: &[&Rehearsed<'_>]) -> Result<(), PublishError> {
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
    pub(super) fn other(&self, leaf: &Leaf, nav: &Nav) -> Result<(), PublishError> {
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
    pub(super) fn site(&self, faults: &[&Rehearsed<'_>]) -> Result<(), PublishError> {
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
    pub(super) fn search(&self, at: usize, faults: &[&Rehearsed<'_>]) -> Result<(), PublishError> {
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
}
