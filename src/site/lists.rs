//! The lists of the shop's machines, symptoms and records: cautions, tools, supplies and the glossary.

use super::entries::{fault_link, machine_entry, part};
use super::{LinkStyle, ManualOrder, PageKind, Site, SiteEntry, SitePage, SitePart};
use crate::page::{
    Block, Cell, LinkTarget, ListKind, PageId, SafetyMessage, SectionId, TextRun, Topic,
};
use crate::sheet::{Use, uses};
use crate::shop::{Shop, Word};
use crate::words::Words;

/// Every machine, with its engine and the number of its jobs.
#[must_use]
pub(crate) fn machines(site: &Site<'_, '_>, order: &ManualOrder<'_, '_>) -> Option<SitePage> {
    let machines = site.machines_with_pages().into_iter();
    let entries = machines.filter_map(|machine| {
        let entry = machine_entry(site, order, machine)?;
        Some(SiteEntry {
            picture: None,
            ..entry
        })
    });
    let part = part(site, Topic::Machines, LinkStyle::Rows, entries.collect());
    list_of(site, ListKind::Machines, part.into_iter().collect())
}

/// Every fault table, with its machines.
#[must_use]
pub(crate) fn symptoms(site: &Site<'_, '_>) -> Option<SitePage> {
    let faults = site.faults_by_machine().into_iter();
    let parts = faults.filter_map(|tables| {
        let fault = tables.first()?.fault;
        let entries = tables.iter().filter_map(|table| {
            let mut link = fault_link(site, table)?;
            link.title.clone_from(&table.machine.name.value);
            Some(SiteEntry::bare(link))
        });
        let entries: Vec<SiteEntry> = entries.collect();
        (!entries.is_empty()).then(|| SitePart::Links {
            id: SectionId::Fault(fault.id.clone()),
            title: fault.title.value.clone(),
            style: LinkStyle::Chips,
            entries,
        })
    });
    list_of(site, ListKind::Symptoms, parts.collect())
}

/// Every safety message, the most severe first, with the places where it applies.
#[must_use]
pub(crate) fn cautions(site: &Site<'_, '_>) -> Option<SitePage> {
    let context = site.context();
    let uses = uses_of(site);
    let mut sections = Vec::new();
    for (word, topic) in [
        (Word::Danger, Topic::Dangers),
        (Word::Warning, Topic::Warnings),
        (Word::Caution, Topic::Cautions),
        (Word::Notice, Topic::Notices),
    ] {
        let mut blocks = Vec::new();
        let cautions = site.shop.cautions.values();
        for caution in cautions.filter(|caution| caution.signal_word == word) {
            blocks.push(Block::Safety(SafetyMessage {
                place: Some(LinkTarget::Caution(caution.key.clone())),
                ..context.message(caution)
            }));
            blocks.extend(used_in_block(site, &uses, "caution", &caution.key));
        }
        if !blocks.is_empty() {
            sections.push(context.section(topic, blocks));
        }
    }
    list(site, ListKind::Cautions, sections)
}

#[must_use]
pub(crate) fn tools(site: &Site<'_, '_>) -> Option<SitePage> {
    let uses = uses_of(site);
    let words = site.words();
    let rows = site.shop.tools.values().map(|tool| {
        let engraved = tool.size.as_ref().or(tool.range.as_ref());
        let due = tool.due.as_ref().map(|due| due.value.to_string());
        vec![
            Cell::Place {
                text: tool.name.clone(),
                place: LinkTarget::Tool(tool.key.clone()),
                link: None,
            },
            // Printed as engraved: nobody looks for a 9/16 in wrench as 14.3 mm.
            Cell::text(
                engraved
                    .map(|size| words.value(&size.value.parts()))
                    .unwrap_or_default(),
            ),
            Cell::text(due.unwrap_or_default().replace('-', "\u{2011}")),
            Cell::text(tool.note.clone().unwrap_or_default()),
            Cell::Text {
                runs: super::used_in::used_in(site, find_use(&uses, "tool", &tool.key)),
            },
        ]
    });
    let columns = [
        ("tool", 5),
        ("size-or-range", 4),
        ("calibrated-until", 3),
        ("remark", 5),
        ("used-in", 8),
    ];
    table(site, ListKind::Tools, &columns, rows.collect())
}

#[must_use]
pub(crate) fn supplies(site: &Site<'_, '_>) -> Option<SitePage> {
    let context = site.context();
    let uses = uses_of(site);
    let rows = site.shop.supplies.values().map(|supply| {
        let mix = supply.mix.as_ref().map(|mix| {
            let ratio = context.spec(&mix.value, false).first;
            context.words().format("mixed", &[("ratio", &ratio)])
        });
        let remarks = [mix, supply.note.clone()].into_iter().flatten();
        vec![
            Cell::Place {
                text: supply.name.clone(),
                place: LinkTarget::Supply(supply.key.clone()),
                link: None,
            },
            Cell::text(remarks.collect::<Vec<_>>().join("; ")),
            Cell::Text {
                runs: super::used_in::used_in(site, find_use(&uses, "supply", &supply.key)),
            },
        ]
    });
    let columns = [("supply", 5), ("remark", 6), ("used-in", 8)];
    table(site, ListKind::Supplies, &columns, rows.collect())
}

/// The parts that have a part number, by that number, so that what a supplier delivered can be
/// matched to a machine. One number can belong to several parts and machines.
#[must_use]
pub(crate) fn part_numbers(site: &Site<'_, '_>) -> Option<SitePage> {
    let uses = uses_of(site);
    let mut parts = Vec::new();
    for machine in site.shop.machines.values() {
        for part in machine.parts.values() {
            if let Some(number) = &part.number {
                parts.push((number.as_str(), machine, part));
                let old = part.supersedes.iter();
                parts.extend(old.map(|old| (old.value.as_str(), machine, part)));
            }
        }
    }
    parts.sort_by_key(|(number, machine, part)| (*number, &machine.id, &part.key));
    let rows = parts.into_iter().map(|(number, machine, part)| {
        let usage = uses.iter().find(|usage| {
            usage.kind == "part" && usage.id == part.key && usage.machine == Some(&machine.id)
        });
        let target = LinkTarget::Part {
            machine: machine.id.clone(),
            part: part.key.clone(),
        };
        let new = part.number.as_deref().filter(|new| *new != number);
        let numbers = match new {
            Some(new) => {
                let replaced = [("old", number), ("new", new)];
                site.context().words().format("replaced-number", &replaced)
            }
            None => number.to_owned(),
        };
        vec![
            Cell::text(numbers),
            Cell::Text {
                runs: vec![TextRun::link(target, vec![TextRun::text(&part.name)])],
            },
            Cell::text(&machine.name.value),
            Cell::Text {
                runs: super::used_in::used_in(site, usage),
            },
        ]
    });
    let columns = [("number", 4), ("part", 5), ("machine", 5), ("used-in", 8)];
    table(site, ListKind::PartNumbers, &columns, rows.collect())
}

/// Terms that every shop's sheets use: the id, the key of the term and the key of its meaning.
const STANDARD_TERMS: [(&str, &str, &str); 14] = [
    ("as-found", "as-found", "means-as-found"),
    ("as-left", "as-left", "means-as-left"),
    ("basis", "basis", "means-basis"),
    ("caution", "term-caution", "means-caution"),
    ("danger", "term-danger", "means-danger"),
    ("group", "term-group", "means-group"),
    ("hold", "term-hold", "means-hold"),
    ("mark", "mark", "means-mark"),
    ("notice", "term-notice", "means-notice"),
    ("proved", "is-proved", "means-proved"),
    ("position", "term-position", "means-position"),
    ("single-use", "single-use", "means-single-use"),
    ("unverified", "unverified", "means-unverified"),
    ("warning", "term-warning", "means-warning"),
];

/// The glossary as id, term and meaning, sorted by term: the shop's terms, and the standard terms
/// that the shop does not define.
#[must_use]
pub(crate) fn terms(shop: &Shop, words: &Words) -> Vec<(String, String, String)> {
    let shop_terms = shop.terms.values().map(|term| {
        let name = match term.also.as_slice() {
            [] => term.name.clone(),
            also => format!("{} ({})", term.name, also.join(", ")),
        };
        (term.key.clone(), name, term.means.clone())
    });
    let mut terms: Vec<(String, String, String)> = shop_terms.collect();
    for (id, name, means) in STANDARD_TERMS {
        // The shop's definition takes precedence.
        if shop.terms.find(id).is_none() {
            terms.push((
                id.to_owned(),
                words.get(name).to_owned(),
                words.get(means).to_owned(),
            ));
        }
    }
    terms.sort_by_key(|(_, name, _)| (name.to_lowercase(), name.clone()));
    terms
}

#[must_use]
pub(crate) fn glossary(site: &Site<'_, '_>) -> Option<SitePage> {
    let terms = terms(site.shop, site.words());
    let rows = terms.into_iter().map(|(id, name, means)| {
        vec![
            Cell::Place {
                text: crate::shop::capitalised(&name),
                place: LinkTarget::Term(id),
                link: None,
            },
            Cell::text(means),
        ]
    });
    let columns = [("term", 4), ("meaning", 11)];
    table(site, ListKind::Glossary, &columns, rows.collect())
}

fn uses_of<'a>(site: &Site<'_, 'a>) -> Vec<Use<'a>> {
    uses(&site.jobs.iter().collect::<Vec<_>>())
}

fn find_use<'u, 'a>(uses: &'u [Use<'a>], kind: &str, id: &str) -> Option<&'u Use<'a>> {
    uses.iter()
        .find(|usage| usage.kind == kind && usage.id == id)
}

fn used_in_block(site: &Site<'_, '_>, uses: &[Use<'_>], kind: &str, id: &str) -> Option<Block> {
    let places = super::used_in::used_in(site, Some(find_use(uses, kind, id)?));
    let label = site.words().get("used-in");
    let mut runs = vec![TextRun::Strong {
        runs: vec![TextRun::text(format!("{label}:"))],
    }];
    runs.push(TextRun::text(" "));
    runs.extend(places);
    Some(Block::Text { runs })
}

/// The page of a list that is one table. `None` if it has no rows.
fn table(
    site: &Site<'_, '_>,
    kind: ListKind,
    columns: &[(&str, u8)],
    rows: Vec<Vec<Cell>>,
) -> Option<SitePage> {
    let context = site.context();
    let is_empty = rows.is_empty();
    // Omit empty columns.
    let has_text = |index: usize| {
        let mut cells = rows.iter().filter_map(|row| row.get(index));
        cells.any(|cell| *cell != Cell::text(""))
    };
    let is_kept: Vec<bool> = (0..columns.len()).map(has_text).collect();
    let columns: Vec<(&str, u8)> = columns
        .iter()
        .zip(&is_kept)
        .filter_map(|(column, is_kept)| is_kept.then_some(*column))
        .collect();
    let rows = rows.into_iter().map(|row| {
        let cells = row.into_iter().zip(&is_kept);
        cells
            .filter_map(|(cell, is_kept)| is_kept.then_some(cell))
            .collect()
    });
    let table = context.table(
        context.words().get(kind.title_key()),
        &columns,
        rows.collect(),
    );
    list(site, kind, if is_empty { Vec::new() } else { vec![table] })
}

/// A list's page. `None` without blocks.
fn list(site: &Site<'_, '_>, kind: ListKind, blocks: Vec<Block>) -> Option<SitePage> {
    let has_blocks = !blocks.is_empty();
    let parts = has_blocks.then_some(SitePart::Blocks { blocks });
    list_of(site, kind, parts.into_iter().collect())
}

/// A list's page. `None` without parts.
fn list_of(site: &Site<'_, '_>, kind: ListKind, parts: Vec<SitePart>) -> Option<SitePage> {
    if parts.is_empty() {
        return None;
    }
    let title = site.words().get(kind.title_key());
    let mut page = site.page(PageId::List(kind), PageKind::List, title);
    page.parts = parts;
    Some(page)
}
