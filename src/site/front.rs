//! The front page: links to every machine, procedure and list.

use super::{Link, PageKind, Site, SiteEntry, SitePage, SitePart};
use crate::page::{ListKind, PageId, SectionId, SheetKind, Topic};

#[must_use]
pub(crate) fn front(site: &Site<'_, '_>) -> SitePage {
    let words = site.words();
    let mut page = site.page(PageId::Front, PageKind::Front, words.get("index-title"));
    page.head.links = ListKind::ALL
        .into_iter()
        .filter_map(|list| site.link_if_made(words.get(list.title_key()), PageId::List(list)))
        .collect();
    let where_used = words.get(SheetKind::WhereUsed.title_key());
    page.head
        .links
        .extend(site.link_if_made(where_used, PageId::WhereUsed));
    page.head.manual = Some(Link::to_page(words.get("manual"), PageId::whole_manual()));
    page.parts.extend(self::machines(site));
    let machines = site.shop.machines.len();
    for (id, title, jobs) in site.systems() {
        let mut entries: Vec<SiteEntry> = Vec::new();
        let mut last_procedure = "";
        for job in jobs {
            if last_procedure == job.procedure.id {
                if let Some(entry) = entries.last_mut() {
                    entry.about.push(job.machine.name.value.clone());
                }
                continue;
            }
            last_procedure = &job.procedure.id;
            entries.push(SiteEntry {
                link: site.procedure_link(job),
                about: vec![job.machine.name.value.clone()],
                sheets: Vec::new(),
            });
        }
        for entry in &mut entries {
            if entry.about.len() == machines && machines > 2 {
                entry.about = vec![words.get("every-machine").to_owned()];
            }
        }
        page.parts.push(SitePart::Links {
            id: SectionId::System(id.to_owned()),
            title,
            entries,
        });
    }
    page
}

fn machines(site: &Site<'_, '_>) -> Option<SitePart> {
    let words = site.words();
    let entries: Vec<SiteEntry> = site
        .machines()
        .into_iter()
        .filter_map(|machine| {
            let page = PageId::Machine(machine.id.clone());
            let link = site.link_if_made(&machine.name.value, page)?;
            let engine = machine.engine.as_ref();
            Some(SiteEntry {
                link,
                about: engine
                    .and_then(|engine| engine.kind.clone())
                    .into_iter()
                    .collect(),
                sheets: Vec::new(),
            })
        })
        .collect();
    (!entries.is_empty()).then(|| SitePart::Links {
        id: SectionId::Topic(Topic::Machines),
        title: words.get(Topic::Machines.name()).to_owned(),
        entries,
    })
}
