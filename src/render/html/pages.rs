//! The page of a sheet, and the pages that lead to sheets.

use super::engine::Html;
use super::filters::script_text;
use super::place::Place;
use crate::page::{Block, Sheet, SheetHead, SheetKind, figures, links};
use crate::render::RenderError;
use crate::render::address::{Addresses, AddressesOf, Paths};
use crate::site::{Nav, PageHead, SitePage, SitePart};
use serde::Serialize;
use std::collections::BTreeMap;
use tera::Value;

/// What a sheet's page reads.
#[derive(Serialize)]
struct SheetPage<'a> {
    leaf: WithoutBody<'a>,
    nav: &'a Nav,
    language: &'a str,
    /// What the script of a checklist reads; none on other sheets, which have no script.
    live: Option<String>,
}

/// A sheet but for its blocks, which are laid out beforehand.
#[derive(Serialize)]
struct WithoutBody<'a> {
    kind: SheetKind,
    head: &'a SheetHead,
}

/// What the script of a checklist knows of its page.
#[derive(Serialize)]
struct Live<'a> {
    path: &'a str,
    mark: &'a str,
    revision: Option<u32>,
    title: &'a str,
    machine: Option<&'a str>,
    /// The words whose keys begin with `live-`, without that: the script says nothing of its own.
    words: &'a BTreeMap<String, String>,
}

/// What the search on a page reads.
#[derive(Serialize)]
struct Search<'a> {
    /// What the edition's paths begin with.
    prefix: &'a str,
    words: &'a str,
}

/// What a page of the site reads.
#[derive(Serialize)]
struct SitePageInput<'a> {
    page: &'a PageHead,
    search: Search<'a>,
    language: &'a str,
}

impl Html {
    /// What a sheet's page has in the place of targets and figures. `nav` leads from it to other pages;
    /// `has_pdf` says whether there is a PDF at a path of the output.
    #[must_use]
    pub(crate) fn addresses_of_sheet(
        paths: Paths<'_>,
        sheet: &Sheet,
        nav: &Nav,
        has_pdf: &dyn Fn(&str) -> bool,
    ) -> Addresses {
        let mut addresses = AddressesOf::new(paths, &sheet.page, has_pdf);
        nav.links().for_each(|link| addresses.link(&link.target));
        add(&mut addresses, &sheet.blocks);
        addresses.done()
    }

    /// What a page of the site has in the place of targets and figures.
    #[must_use]
    pub(crate) fn addresses_of_page(
        paths: Paths<'_>,
        page: &SitePage,
        has_pdf: &dyn Fn(&str) -> bool,
    ) -> Addresses {
        let mut addresses = AddressesOf::new(paths, &page.head.page, has_pdf);
        page.links().for_each(|link| addresses.listed(&link.target));
        for part in &page.parts {
            match part {
                SitePart::Blocks { blocks } | SitePart::OnMachine { blocks, .. } => {
                    add(&mut addresses, blocks);
                }
                SitePart::Links { .. } => {}
            }
        }
        addresses.done()
    }

    /// The page of a sheet. `nav` leads from it to other pages; `addresses` are those of
    /// [`Html::addresses_of_sheet`].
    ///
    /// # Errors
    ///
    /// When a template has a fault, or no piece for what is on the sheet.
    pub(crate) fn sheet(
        &self,
        sheet: &Sheet,
        nav: &Nav,
        addresses: &Addresses,
    ) -> Result<String, RenderError> {
        let place = Place {
            kind: sheet.kind.name(),
            prefix: "",
            addresses,
        };
        let blocks = self.laid(&sheet.blocks, place)?;
        let page = self.render(
            "leaf.html",
            &[("blocks", blocks)],
            &SheetPage {
                leaf: WithoutBody {
                    kind: sheet.kind,
                    head: &sheet.head,
                },
                nav,
                language: &sheet.head.language,
                live: self.live(sheet, addresses),
            },
            addresses,
        )?;
        // A shop's own templates can't leave out what every sheet has to carry.
        let has_notices = |block: &Block| matches!(block, Block::Notices { .. });
        if sheet.blocks.iter().any(has_notices) && !page.contains("class=\"notices\"") {
            return Err(RenderError::Template {
                why: "the templates leave out the notices that every leaf has to carry".to_owned(),
            });
        }
        Ok(page)
    }

    /// A page of the site. `prefix` is what the paths of its language begin with; `addresses` are those
    /// of [`Html::addresses_of_page`].
    ///
    /// # Errors
    ///
    /// When a template has a fault, or no piece for what is on the page.
    pub(crate) fn page(
        &self,
        page: &SitePage,
        prefix: &str,
        addresses: &Addresses,
    ) -> Result<String, RenderError> {
        let parts = page.parts.iter().map(|part| self.part(part, addresses));
        let parts = parts.collect::<Result<Vec<Value>, _>>()?;
        self.render(
            "site.html",
            &[("parts", parts.into())],
            &SitePageInput {
                page: &page.head,
                search: Search {
                    prefix,
                    words: &self.search_words,
                },
                language: &page.head.language,
            },
            addresses,
        )
    }

    /// What the script of a checklist reads, as the inside of a script element of JSON.
    fn live(&self, sheet: &Sheet, addresses: &Addresses) -> Option<String> {
        if sheet.kind != SheetKind::BenchChecklist {
            return None;
        }
        let head = &sheet.head;
        let read = Live {
            path: &addresses.path,
            mark: &head.mark,
            revision: head.revision,
            title: &head.title,
            machine: head.machine.as_deref(),
            words: &self.live,
        };
        // Texts and nothing else: they always have a JSON. Without one, the page stays a sheet.
        serde_json::to_string(&read)
            .ok()
            .map(|json| script_text(&json))
    }
}

/// Adds the addresses of everything in some blocks.
fn add(addresses: &mut AddressesOf<'_, '_>, blocks: &[Block]) {
    links(blocks, |target| addresses.link(target));
    figures(blocks, |figure| addresses.figure(figure));
}
