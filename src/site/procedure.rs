//! A procedure's page, with a part for each machine.

use super::nav::NavLink;
use super::{Link, PageKind, Site, SitePage, SitePart};
use crate::page::{Fact, LinkTarget, PageId};
use crate::sheet::{JobDocument, Summary};

/// The page of the procedure at `index` in `order`, which is the result of [`Site::procedures`].
/// `documents` are the documents of its jobs, in the order of their summaries.
#[must_use]
pub(crate) fn procedure(
    site: &Site<'_, '_>,
    order: &[Vec<&Summary<'_>>],
    index: usize,
    documents: &[&JobDocument<'_, '_>],
) -> SitePage {
    let jobs = &order[index];
    let procedure = jobs[0].procedure;
    let words = site.words();
    let mut page = site.page(
        PageId::Procedure(procedure.id.clone()),
        PageKind::Procedure,
        &procedure.title.value,
    );
    let system = &procedure.system;
    page.head.over = Some(site.shop.system_title(system));
    let of_system = NavLink {
        link: Link {
            title: site.shop.system_title(system),
            target: LinkTarget::System(system.clone()),
        },
        icon: Some("chapters"),
        is_current: false,
    };
    if let Some(first) = page.head.nav.groups.first_mut() {
        first.links.push(of_system);
    }
    let neighbour = |index: Option<usize>| {
        let jobs = order.get(index?)?;
        Some(Site::procedure_link(jobs[0], None))
    };
    page.head.nav.previous = neighbour(index.checked_sub(1));
    page.head.nav.next = neighbour(Some(index + 1));
    let revision = Fact {
        label: words.get("revision").to_owned(),
        text: match &procedure.revised {
            Some(day) => format!("{}, {day}", procedure.revision),
            None => procedure.revision.to_string(),
        },
    };
    for (summary, document) in jobs.iter().zip(documents) {
        let machine = summary.machine;
        let mut links = site.sheets_of(summary);
        let machine_page = PageId::Machine(machine.id.clone());
        links.extend(site.link_if_made(words.get("machine-page"), machine_page));
        page.parts.push(SitePart::OnMachine {
            machine: machine.id.clone(),
            name: machine.name.value.clone(),
            facts: document.facts().chain([revision.clone()]).collect(),
            links,
            blocks: document.screen_blocks(),
        });
    }
    page
}
