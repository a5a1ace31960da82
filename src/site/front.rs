//! The front page: every machine, every system.

use super::{Entry, Page, PageKind, Part, Site};
use crate::page::text::anchor;
use crate::page::{LISTS, LeafKind, machine_page_path};

/// The front page of an edition.
#[must_use]
pub fn front(site: &Site<'_, '_>) -> Page {
    let words = &site.setting.edition.words;
    let mut page = site.page(PageKind::Front, words.get("index-title"), "index");
    page.links = LISTS
        .into_iter()
        .filter_map(|(list, title)| site.link_if_made(words.get(title), list))
        .collect();
    let where_used = LeafKind::WhereUsed;
    page.links
        .extend(site.link_if_made(words.get(where_used.title_key()), where_used.slug()));
    let manual = site.link(words.get("manual"), "manual", None);
    page.manual = manual.pdf.then_some(manual);
    page.parts.extend(self::machines(site));
    let machines = site.shop.machines.len();
    for (id, title, jobs) in site.systems() {
        let mut entries: Vec<Entry> = Vec::new();
        let mut last = "";
        for job in jobs {
            if last == job.procedure.id {
                if let Some(entry) = entries.last_mut() {
                    entry.about.push(job.machine.name.value.clone());
                }
                continue;
            }
            last = &job.procedure.id;
            entries.push(Entry {
                link: site.procedure_link(job, None),
                about: vec![job.machine.name.value.clone()],
                leaves: Vec::new(),
            });
        }
        for entry in &mut entries {
            if entry.about.len() == machines && machines > 2 {
                entry.about = vec![words.get("every-machine").to_owned()];
            }
        }
        page.parts.push(Part::Links {
            title,
            anchor: format!("system-{}", anchor(id)),
            entries,
        });
    }
    page
}

/// The machines, by name.
fn machines(site: &Site<'_, '_>) -> Option<Part> {
    let words = &site.setting.edition.words;
    let mut machines: Vec<_> = site.shop.machines.values().collect();
    machines.sort_by_key(|machine| &machine.name.value);
    let entries: Vec<Entry> = machines
        .into_iter()
        .filter_map(|machine| {
            let path = machine_page_path(&machine.id);
            let link = site.link_if_made(&machine.name.value, &path)?;
            let engine = machine.engine.as_ref();
            Some(Entry {
                link,
                about: engine
                    .and_then(|engine| engine.kind.clone())
                    .into_iter()
                    .collect(),
                leaves: Vec::new(),
            })
        })
        .collect();
    (!entries.is_empty()).then(|| Part::Links {
        title: words.get("machines").to_owned(),
        anchor: "machines".to_owned(),
        entries,
    })
}
