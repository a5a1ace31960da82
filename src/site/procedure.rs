//! The page of a procedure that several machines have, and the navigation of its sheets.

use super::nav::{NavLink, NavWriter};
use super::order::ManualOrder;
use super::page::LinkStyle;
use super::{Link, Nav, PageKind, Site, SiteEntry, SitePage, SitePart, nav_of_sheet};
use crate::page::{
    Block, Fact, JobId, LinkTarget, PageId, SectionId, SheetKind, TextRun, Topic, text::minutes,
};
use crate::sheet::{JobDocument, Summary};

/// The most machines for which a procedure's page has all sheets beside each machine. With more
/// machines, it has one link for each.
const MAX_WITH_SHEETS: usize = 12;

/// The most machines that a sheet has links to. With more machines, it has a link to the procedure's
/// page.
const MAX_IN_SWITCH: usize = 8;

/// The navigation of a sheet of the job at `machine_index` of the procedure at `index` in `order`.
#[must_use]
pub(crate) fn nav_of_job_sheet(
    site: &Site<'_, '_>,
    order: &ManualOrder<'_, '_>,
    (index, machine_index): (usize, usize),
    kind: SheetKind,
) -> Nav {
    let jobs = &order.procedures[index];
    let job = jobs[machine_index];
    let page = PageId::JobSheet(kind, id(job));
    let title = &job.procedure.title.value;
    let of_machine = (job.machine.id.as_str(), job.machine.name.value.as_str());
    let mut nav = nav_of_sheet(site.output, &page, title, Some(of_machine));
    let neighbour = |job: Option<&Summary<'_>>| {
        let job = job?;
        let page = PageId::JobSheet(kind, id(job));
        site.link_if_made(&job.procedure.title.value, page)
    };
    if kind == SheetKind::ShopSheet {
        let (previous, next) = order.neighbours(index, machine_index);
        (nav.previous, nav.next) = (neighbour(previous), neighbour(next));
    }
    if jobs.len() > 1 {
        let writer = NavWriter {
            output: site.output,
            page: &page,
        };
        let is_shown = |other: &usize| jobs.len() <= MAX_IN_SWITCH || *other == machine_index;
        let machines = (0..jobs.len()).filter(is_shown).filter_map(|other| {
            let page = PageId::JobSheet(kind, id(jobs[other]));
            writer.link(&jobs[other].machine.name.value, page)
        });
        nav.machines = machines.collect();
        if jobs.len() > MAX_IN_SWITCH {
            let count = jobs.len().to_string();
            let title = site.words().format("all-machines", &[("count", &count)]);
            let procedure = PageId::Procedure(job.procedure.id.clone());
            nav.machines.extend(writer.link(&title, procedure));
        }
    }
    nav
}

fn id(job: &Summary<'_>) -> JobId {
    JobId::new(&job.machine.id, &job.procedure.id)
}

/// The page of the procedure with these jobs, in order of machine. `first` is the document of the first
/// one. `None` if this run does not make it.
#[must_use]
pub(crate) fn procedure(
    site: &Site<'_, '_>,
    jobs: &[&Summary<'_>],
    first: &JobDocument<'_, '_>,
) -> Option<SitePage> {
    let procedure = jobs[0].procedure;
    let words = site.words();
    let page = PageId::Procedure(procedure.id.clone());
    if !site.output.includes(&page) {
        return None;
    }
    let mut page = site.page(page, PageKind::Procedure, &procedure.title.value);
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
    if let Some(group) = page.head.nav.groups.first_mut() {
        group.links.push(of_system);
    }
    page.head.facts = vec![Fact {
        label: words.get("revision").to_owned(),
        text: match &procedure.revised {
            Some(day) => format!("{}, {day}", procedure.revision),
            None => procedure.revision.to_string(),
        },
    }];
    let blocks = first.why.iter().cloned().map(without_links).collect();
    page.parts.push(SitePart::Blocks { blocks });
    let has_sheets = jobs.len() <= MAX_WITH_SHEETS;
    let entries = jobs.iter().map(|job| {
        let time = job.minutes.filter(|_| has_sheets).map(minutes);
        let time = time.map(|time| words.own(&time).into_owned());
        let link = Link {
            title: job.machine.name.value.clone(),
            target: LinkTarget::Job(id(job)),
        };
        SiteEntry {
            about: time.into_iter().collect(),
            sheets: if has_sheets {
                site.sheets_of(job)
            } else {
                Vec::new()
            },
            ..SiteEntry::bare(link)
        }
    });
    page.parts.push(SitePart::Links {
        id: SectionId::Topic(Topic::Machines),
        title: words.get("choose-machine").to_owned(),
        style: LinkStyle::Rows,
        entries: entries.collect(),
    });
    Some(page)
}

/// A block with the text of its links, which lead to pages of one machine.
fn without_links(block: Block) -> Block {
    match block {
        Block::Text { runs } => Block::Text {
            runs: plain_runs(runs),
        },
        Block::Note { runs } => Block::Note {
            runs: plain_runs(runs),
        },
        Block::Bullets { items } => Block::Bullets {
            items: items.into_iter().map(plain_runs).collect(),
        },
        block => block,
    }
}

fn plain_runs(runs: Vec<TextRun>) -> Vec<TextRun> {
    let runs = runs.into_iter().flat_map(|run| match run {
        TextRun::Link {
            target: LinkTarget::Web(_),
            ..
        } => vec![run],
        TextRun::Link { runs, name, .. } => {
            let mut runs = plain_runs(runs);
            runs.extend(name.map(|name| TextRun::text(format!(" ({name})"))));
            runs
        }
        TextRun::Strong { runs } => vec![TextRun::Strong {
            runs: plain_runs(runs),
        }],
        TextRun::Emphasis { runs } => vec![TextRun::Emphasis {
            runs: plain_runs(runs),
        }],
        run => vec![run],
    });
    runs.collect()
}
