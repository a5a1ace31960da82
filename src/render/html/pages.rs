//! Renders the page of a sheet, and the pages of the site.

use super::engine::Html;
use super::filters::script_text;
use super::place::Place;
use crate::page::{Block, Marked, Sheet, SheetHead, SheetKind, visit_figures, visit_links};
use crate::render::RenderError;
use crate::render::address::{Addresses, AddressesBuilder, Paths, neutral_path};
use crate::render::marked::shapes_svg;
use crate::site::{Nav, PageHead, SitePage, SitePart};
use serde::Serialize;
use std::collections::BTreeMap;
use tera::Value;

/// The template data of a sheet's page.
#[derive(Serialize)]
struct SheetPage<'a> {
    sheet: WithoutBody<'a>,
    shop: &'a str,
    nav: &'a Nav,
    language: &'a str,
    /// The input of the scripts of sheets that are filled in, as JSON. None on other sheets, which have no script.
    live: Option<String>,
}

/// A sheet without its blocks, which are rendered before.
#[derive(Serialize)]
struct WithoutBody<'a> {
    kind: SheetKind,
    head: &'a SheetHead,
}

/// What the checklist script says of its sheet in a record of entries.
#[derive(Serialize)]
struct LiveSheet<'a> {
    /// The page's path in the shop's first language, which identifies the sheet in all languages.
    sheet: &'a str,
    path: &'a str,
    shop: &'a str,
    title: &'a str,
    machine: Option<&'a str>,
    revision: Option<u32>,
    revised: Option<&'a str>,
    mark: &'a str,
}

/// The template data of a page of the site.
#[derive(Serialize)]
struct SitePageInput<'a> {
    page: &'a PageHead,
    shop: &'a str,
    nav: &'a Nav,
    language: &'a str,
}

impl Html {
    /// The addresses of the link targets and figures on a sheet's page. `nav` has the page's links to other
    /// pages. `has_pdf` says whether there is a PDF at a path of the output without extension.
    #[must_use]
    pub(crate) fn addresses_of_sheet(
        paths: Paths<'_>,
        sheet: &Sheet,
        nav: &Nav,
        has_pdf: &dyn Fn(&str) -> bool,
    ) -> Addresses {
        let mut addresses = AddressesBuilder::new(paths, &sheet.page, has_pdf);
        nav.links().for_each(|link| addresses.link(&link.target));
        add_blocks(&mut addresses, &sheet.blocks);
        addresses.finish()
    }

    /// The addresses of the link targets and figures on a page of the site.
    #[must_use]
    pub(crate) fn addresses_of_page(
        paths: Paths<'_>,
        page: &SitePage,
        has_pdf: &dyn Fn(&str) -> bool,
    ) -> Addresses {
        let mut addresses = AddressesBuilder::new(paths, &page.head.page, has_pdf);
        page.links()
            .for_each(|link| addresses.link_with_pdf(&link.target));
        page.value_targets()
            .for_each(|target| addresses.link(target));
        page.pictures()
            .for_each(|picture| addresses.figure(picture));
        for part in &page.parts {
            if let SitePart::Blocks { blocks } = part {
                add_blocks(&mut addresses, blocks);
            }
        }
        addresses.finish()
    }

    /// Renders the page of a sheet. `nav` has the page's links to other pages. `addresses` come from
    /// [`Html::addresses_of_sheet`].
    ///
    /// # Errors
    ///
    /// If a template has an error, has no component for something on the sheet, or omits the notices.
    pub(crate) fn sheet(
        &self,
        sheet: &Sheet,
        nav: &Nav,
        addresses: &Addresses,
    ) -> Result<String, RenderError> {
        let place = Place {
            kind: sheet.kind.name(),
            addresses,
        };
        let blocks = self.blocks(&sheet.blocks, place)?;
        let page = self.render_page(
            "sheet.html",
            &[
                ("blocks", blocks),
                ("shapes", shapes([sheet.blocks.as_slice()])),
            ],
            &SheetPage {
                sheet: WithoutBody {
                    kind: sheet.kind,
                    head: &sheet.head,
                },
                shop: &sheet.head.shop,
                nav,
                language: &sheet.head.language,
                live: live(sheet, addresses),
            },
            addresses,
        )?;
        // A shop's own templates must not omit the notices.
        let has_notices = |block: &Block| matches!(block, Block::Notices { .. });
        if sheet.blocks.iter().any(has_notices) && !page.contains("class=\"notices\"") {
            return Err(RenderError::Template {
                message: "the templates leave out the notices that every sheet must carry"
                    .to_owned(),
            });
        }
        Ok(page)
    }

    /// Renders a page of the site. `addresses` come from [`Html::addresses_of_page`].
    ///
    /// # Errors
    ///
    /// If a template has an error, or has no component for something on the page.
    pub(crate) fn page(
        &self,
        page: &SitePage,
        addresses: &Addresses,
    ) -> Result<String, RenderError> {
        let parts = page.parts.iter().map(|part| self.part(part, addresses));
        let parts = parts.collect::<Result<Vec<Value>, _>>()?;
        let blocks = page.parts.iter().filter_map(|part| match part {
            SitePart::Blocks { blocks } => Some(blocks.as_slice()),
            _ => None,
        });
        self.render_page(
            "site.html",
            &[("parts", parts.into()), ("shapes", shapes(blocks))],
            &SitePageInput {
                page: &page.head,
                shop: &page.head.shop,
                nav: &page.head.nav,
                language: &page.head.language,
            },
            addresses,
        )
    }
}

/// Adds the addresses of all link targets and figures in blocks.
fn add_blocks(addresses: &mut AddressesBuilder<'_, '_>, blocks: &[Block]) {
    visit_links(blocks, |target| addresses.link(target));
    visit_figures(blocks, |figure| addresses.figure(figure));
}

/// The shapes of the drawings in blocks, each once. Empty if only photographs have numbers, and none without numbers.
fn shapes<'b>(blocks: impl IntoIterator<Item = &'b [Block]>) -> Value {
    let mut drawings: BTreeMap<String, Vec<Marked>> = BTreeMap::new();
    for blocks in blocks {
        visit_figures(blocks, |figure| {
            if let Some(marked) = &figure.marked {
                let pictures = drawings.entry(marked.id()).or_default();
                pictures.push(Marked::clone(marked));
            }
        });
    }
    if drawings.is_empty() {
        return Value::none();
    }
    let shapes = drawings.values().filter_map(|pictures| {
        let pictures: Vec<&Marked> = pictures.iter().collect();
        shapes_svg(&pictures)
    });
    shapes.collect::<String>().into()
}

/// The input of the checklist's scripts, as JSON that is escaped for a script element.
fn live(sheet: &Sheet, addresses: &Addresses) -> Option<String> {
    let is_filled_in = matches!(
        sheet.kind,
        SheetKind::BenchChecklist | SheetKind::KitList | SheetKind::FaultTable
    );
    if !is_filled_in {
        return None;
    }
    let head = &sheet.head;
    let input = LiveSheet {
        sheet: &neutral_path(&sheet.page),
        path: &addresses.path,
        shop: &head.shop,
        title: &head.title,
        machine: head.machine.as_deref(),
        revision: head.revision,
        revised: head.revised.as_deref(),
        mark: &head.mark,
    };
    // Serialisation can't fail: the input has only strings and a number. If it did, the page would
    // be a checklist without a script.
    serde_json::to_string(&input)
        .ok()
        .map(|json| script_text(&json))
}
