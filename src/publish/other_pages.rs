//! Publishes the sheets of machines and of the shop, the fault tables, the pages that link to sheets,
//! and the search index.

use super::PublishError;
use super::plan::fault_page;
use super::publisher::Publisher;
use crate::Rehearsed;
use crate::cache::Fingerprint;
use crate::output::OutputKey;
use crate::page::{PageContext, PageId, Sheet, SheetKind};
use crate::render::search_file;
use crate::sheet::{self, SearchPiece, Summary};
use crate::site::{self, MachineFaultTable, Nav, SearchIndex, SearchTerm, Site, nav_of_sheet};
use rayon::prelude::*;

impl Publisher<'_, '_> {
    /// Publishes the sheets of machines and of the shop, and the fault tables.
    pub(super) fn publish_other_sheets(
        &self,
        faults: &[&Rehearsed<'_>],
    ) -> Result<(), PublishError> {
        faults
            .par_iter()
            .filter(|fault| self.output.includes(&fault_page(fault)))
            .try_for_each(|fault| {
                let sheet = sheet::fault_sheet(&fault.job, &fault.rehearsal, self.output);
                let machine = fault.job.machine;
                let of_machine = Some((machine.id.as_str(), machine.name.value.as_str()));
                let nav = nav_of_sheet(self.output, &sheet.page, &sheet.head.title, of_machine);
                self.publish_sheet(&sheet, &nav)
            })?;
        let shop = &self.sources.shop;
        let machines: Vec<_> = shop.machines.values().collect();
        machines.par_iter().try_for_each(|machine| {
            let jobs = self.jobs.iter();
            let jobs = jobs.filter(|job| job.machine.id == machine.id);
            let jobs: Vec<&Summary<'_>> = jobs.collect();
            for kind in SheetKind::OF_MACHINE {
                if !self
                    .output
                    .includes(&PageId::MachineSheet(kind, machine.id.clone()))
                {
                    continue;
                }
                if let Some(sheet) = sheet::machine_sheet(kind, shop, machine, &jobs, self.output) {
                    let of_machine = Some((machine.id.as_str(), machine.name.value.as_str()));
                    let nav = nav_of_sheet(self.output, &sheet.page, &sheet.head.title, of_machine);
                    self.publish_sheet(&sheet, &nav)?;
                }
            }
            Ok::<(), PublishError>(())
        })?;
        if self.output.includes(&PageId::WhereUsed) {
            let jobs: Vec<&Summary<'_>> = self.jobs.iter().collect();
            if let Some(sheet) = sheet::where_used(shop, &jobs, self.output) {
                let nav = nav_of_sheet(self.output, &sheet.page, &sheet.head.title, None);
                self.publish_sheet(&sheet, &nav)?;
            }
        }
        Ok(())
    }

    /// Makes or keeps the files of a sheet. The fingerprint is that of the sheet itself, not of its sources:
    /// these sheets have many sources and are quick to make.
    pub(super) fn publish_sheet(&self, sheet: &Sheet, nav: &Nav) -> Result<(), PublishError> {
        let path = self.paths.path(&sheet.page);
        self.record_sheet(&path);
        let digest = Fingerprint::of(sheet);
        let pdf = OutputKey {
            inputs: Some(self.inputs.pdf().with(digest).finish()),
            content: None,
            tool: self.tool.map(str::to_owned),
        };
        if !self.keep_pdf(&path, &pdf, |old| old.inputs == pdf.inputs) {
            self.make_pdf(sheet, digest, &path, pdf)?;
        }
        let has_pdf = self.has_pdf(&path);
        let addresses = self.addresses_of_sheet(sheet, nav);
        let digest = Fingerprint::of(&(digest, &addresses));
        let key = self.html_key(sheet.kind, digest, Fingerprint::of(nav), has_pdf);
        if !self.keep_html(&path, &key) {
            let text = self.html.sheet(sheet, nav, &addresses)?;
            self.put_html(&path, &text, key)?;
        }
        self.progress.page_done();
        Ok(())
    }

    /// Publishes the pages that link to sheets, except the procedures' pages.
    pub(super) fn publish_site(&self, faults: &[&Rehearsed<'_>]) -> Result<(), PublishError> {
        let faults: Vec<MachineFaultTable<'_>> = faults
            .iter()
            .map(|fault| MachineFaultTable {
                fault: fault.job.procedure,
                machine: fault.job.machine,
            })
            .collect();
        let site = Site {
            shop: &self.sources.shop,
            jobs: self.jobs,
            faults: &faults,
            output: self.output,
        };
        let order = site.procedures();
        let machines: Vec<_> = self.sources.shop.machines.values().collect();
        machines.par_iter().try_for_each(|machine| {
            let pages = site::machine(&site, &order, machine).into_iter();
            let mut pages = pages.chain(site::machine_details(&site, &order, machine));
            pages.try_for_each(|page| self.publish_page(&page))
        })?;
        self.publish_page(&site::front(&site, &order))?;
        let systems = site::systems_pages(&site);
        systems
            .par_iter()
            .try_for_each(|page| self.publish_page(page))?;
        let lists = [
            site::machines(&site, &order),
            site::symptoms(&site),
            site::cautions(&site),
            site::tools(&site),
            site::supplies(&site),
            site::part_numbers(&site),
            site::glossary(&site),
        ];
        lists
            .into_iter()
            .flatten()
            .try_for_each(|page| self.publish_page(&page))?;
        self.publish_rules(&site)
    }

    /// Publishes the reference of the rules.
    pub(super) fn publish_rules(&self, site: &Site<'_, '_>) -> Result<(), PublishError> {
        let pages = site::rules(site);
        pages
            .par_iter()
            .try_for_each(|page| self.publish_page(page))
    }

    /// Writes the search index of the edition with this index among the shop's editions.
    pub(super) fn write_search_index(
        &self,
        edition: usize,
        faults: &[&Rehearsed<'_>],
    ) -> Result<(), PublishError> {
        let of_jobs = self
            .jobs
            .iter()
            .filter_map(|job| job.search.get(edition).cloned());
        let of_faults = faults
            .iter()
            .map(|fault| SearchPiece::of_fault(&fault.job, &fault.rehearsal, self.output));
        let pieces = of_jobs.chain(of_faults).collect();
        let terms = site::terms(&self.sources.shop, &self.output.edition.words);
        let terms: Vec<SearchTerm<'_>> = terms
            .iter()
            .map(|(id, name, meaning)| SearchTerm { id, name, meaning })
            .collect();
        let context = PageContext {
            shop: &self.sources.shop,
            output: self.output,
        };
        let index = SearchIndex::new(context, pieces, &terms);
        let path = self.paths.search_index();
        let text = search_file(&index);
        Ok(self
            .staged
            .put(&path, text.as_bytes(), OutputKey::default())?)
    }

    fn publish_page(&self, page: &site::SitePage) -> Result<(), PublishError> {
        let path = self.paths.path(&page.head.page);
        let addresses = self.addresses_of_page(page);
        let digest = Fingerprint::of(&(page, &addresses));
        let key = OutputKey {
            inputs: Some(self.inputs.html().with(digest).finish()),
            ..OutputKey::default()
        };
        if !self.keep_html(&path, &key) {
            let text = self.html.page(page, &addresses)?;
            self.put_html(&path, &text, key)?;
        }
        self.progress.page_done();
        Ok(())
    }
}
