//! The pages that lead to the leaves: the front page, a page a machine, a page
//! a procedure, the lists of the shop's things.
//!
//! They are for a screen; what they hold is made of the same blocks as leaves.

mod front;
mod lists;
mod machine;
mod procedure;
mod search;

use crate::page::{
    Block, Cell, Desk, Fact, LeafKind, Run, Setting, Table, Target, Translation, machine_page_path,
    notices, on_machine, procedure_path, text,
};
use crate::sheet::{Summary, Use};
use crate::shop::Shop;
pub use front::front;
pub use lists::{cautions, glossary, supplies, terms, tools};
pub use machine::machine;
pub use procedure::procedure;
pub use search::{SearchIndex, SearchStep, SearchTerm, SearchThing};
use serde::Serialize;
use std::collections::BTreeMap;

/// A page that leads to leaves.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Page {
    /// What it is; the page templates lay each out in its own way.
    pub kind: PageKind,
    /// Its title.
    pub title: String,
    /// Said small above the title: the machine's or the chapter's name.
    pub over: Option<String>,
    /// The shop's name.
    pub shop: String,
    /// Where the shop's logo stands in the output.
    pub logo: Option<String>,
    /// The page's language, a BCP 47 tag.
    pub language: String,
    /// Where it lives, from the output's root and without ending.
    pub path: String,
    /// As on every leaf.
    pub data_note: Option<String>,
    /// What leads to other pages.
    pub nav: Nav,
    /// Short facts below the title.
    pub facts: Vec<Fact>,
    /// The shop's manual, a PDF without a page of its own.
    pub manual: Option<Link>,
    /// Leaves that are about the same, and pages to go on to.
    pub links: Vec<Link>,
    /// What stands on it.
    pub parts: Vec<Part>,
    /// Standing notices.
    pub notices: Vec<String>,
}

/// What a page of the site is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PageKind {
    /// The front page.
    Front,
    /// A machine's page.
    Machine,
    /// A procedure's page, with a part for each machine.
    Procedure,
    /// A list of the shop's things.
    List,
}

/// A part of a page.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "part", rename_all = "kebab-case")]
pub enum Part {
    /// Blocks as on a leaf.
    Blocks {
        /// The blocks.
        blocks: Vec<Block>,
    },
    /// Links under a heading.
    Links {
        /// The heading.
        title: String,
        /// Unique on the page.
        anchor: String,
        /// What is linked.
        entries: Vec<Entry>,
    },
    /// A procedure on one machine; one of several on a page is shown at a time.
    OnMachine {
        /// The part's anchor, of [`on_machine`].
        anchor: String,
        /// The machine's name.
        name: String,
        /// Short facts.
        facts: Vec<Fact>,
        /// The job's leaves.
        links: Vec<Link>,
        /// What is done, as on the shop sheet.
        blocks: Vec<Block>,
    },
}

/// A page that is linked, with what is said of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Entry {
    /// The page.
    pub link: Link,
    /// Short facts beside it.
    pub about: Vec<String>,
    /// Its leaves.
    pub leaves: Vec<Link>,
}

/// A link to a page of the output.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Link {
    /// What it says.
    pub title: String,
    /// The page, from the output's root and without ending.
    pub path: String,
    /// The place on it.
    pub anchor: Option<String>,
    /// Whether a PDF of the same path is made.
    pub pdf: bool,
}

/// Where a page or a leaf stands among the others.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Nav {
    /// From the front page down to it, without itself.
    pub crumbs: Vec<Link>,
    /// The page before it, in the manual's order.
    pub previous: Option<Link>,
    /// The page after it.
    pub next: Option<Link>,
    /// The same page in the shop's other languages.
    pub translations: Vec<Translation>,
}

/// All that pages of the site are made from.
#[derive(Clone, Copy)]
pub struct Site<'s, 'a> {
    /// The shop.
    pub shop: &'a Shop,
    /// The jobs, in order of procedure and then machine.
    pub jobs: &'s [Summary<'a>],
    /// The fault tables, each with its machine.
    pub faults: &'s [FaultOf<'a>],
    /// The edition's setting.
    pub setting: &'s Setting,
    /// Whether a leaf's PDF is made, by its path in this edition.
    pub has_pdf: &'s (dyn Fn(&str) -> bool + Sync),
}

impl std::fmt::Debug for Site<'_, '_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Site").finish_non_exhaustive()
    }
}

/// A fault table on one of its machines.
#[derive(Clone, Copy, Debug)]
pub struct FaultOf<'a> {
    /// The fault table.
    pub fault: &'a crate::procedure::Procedure,
    /// The machine.
    pub machine: &'a crate::shop::Machine,
}

impl<'a> Site<'_, 'a> {
    /// A desk that links to pages of the site.
    fn desk(&self, kind: LeafKind) -> Desk<'_> {
        Desk {
            shop: self.shop,
            setting: self.setting,
            kind,
            is_site: true,
        }
    }

    /// A link to a page, a leaf or a place on a page, by its path in the first edition.
    fn link(&self, title: impl Into<String>, path: &str, anchor: Option<&str>) -> Link {
        let path = self.setting.edition.path(path);
        Link {
            title: title.into(),
            pdf: (self.has_pdf)(&path),
            path,
            anchor: anchor.map(str::to_owned),
        }
    }

    /// The same, where the page is made.
    fn link_if_made(&self, title: &str, path: &str) -> Option<Link> {
        let is_made = self.setting.is_made(path);
        is_made.then(|| self.link(title, path, None))
    }

    /// The leaves of a job.
    fn leaves_of(&self, job: &Summary<'_>) -> Vec<Link> {
        let words = &self.setting.edition.words;
        let kinds = LeafKind::OF_JOB.into_iter();
        kinds
            .filter_map(|kind| {
                let path = crate::page::path(&job.machine.id, &job.procedure.id, kind);
                self.link_if_made(words.get(kind.title_key()), &path)
            })
            .collect()
    }

    /// The front page, as the first of a page's crumbs.
    fn home(&self) -> Link {
        self.link(self.setting.edition.words.get("index"), "index", None)
    }

    /// An empty page.
    fn page(&self, kind: PageKind, title: impl Into<String>, path: &str) -> Page {
        let edition = &self.setting.edition;
        Page {
            kind,
            title: title.into(),
            over: None,
            shop: self.shop.name.clone(),
            logo: self.setting.logo.clone(),
            language: edition.language.clone(),
            path: edition.path(path),
            data_note: self.shop.data_note.clone(),
            nav: Nav {
                crumbs: match kind {
                    PageKind::Front => Vec::new(),
                    _ => vec![self.home()],
                },
                translations: self.setting.translations(path),
                ..Nav::default()
            },
            facts: Vec::new(),
            manual: None,
            links: Vec::new(),
            parts: Vec::new(),
            notices: notices(self.shop, &edition.words),
        }
    }

    /// The systems that any job is in, in the shop's order, each with its title and its jobs.
    fn systems(&self) -> Vec<(&'a str, String, Vec<&Summary<'a>>)> {
        let mut systems: Vec<(&str, String, Vec<&Summary<'_>>)> = Vec::new();
        for job in self.jobs {
            let id = job.procedure.system.as_str();
            match systems.iter_mut().find(|(known, _, _)| *known == id) {
                Some((_, _, jobs)) => jobs.push(job),
                None => systems.push((id, self.shop.system_title(id), vec![job])),
            }
        }
        let order = |id: &str| {
            let at = self.shop.systems.find(id);
            (at.map_or(usize::MAX, |id| id.index()), id.to_owned())
        };
        systems.sort_by_key(|(id, _, _)| order(id));
        for (_, _, jobs) in &mut systems {
            jobs.sort_by_key(|job| {
                (
                    job.procedure.title.value.as_str(),
                    job.procedure.id.as_str(),
                )
            });
        }
        systems
    }

    /// The procedures in the manual's order, each once, with its jobs.
    #[must_use]
    pub fn procedures(&self) -> Vec<Vec<&Summary<'a>>> {
        let mut procedures: Vec<Vec<&Summary<'_>>> = Vec::new();
        for job in self.systems().into_iter().flat_map(|(_, _, jobs)| jobs) {
            match procedures.last_mut() {
                Some(last) if last[0].procedure.id == job.procedure.id => last.push(job),
                _ => procedures.push(vec![job]),
            }
        }
        procedures
    }

    /// A link to a procedure's page.
    fn procedure_link(&self, job: &Summary<'_>, machine: Option<&str>) -> Link {
        let path = procedure_path(&job.procedure.id);
        let anchor = machine.map(on_machine);
        self.link(job.procedure.title.value.clone(), &path, anchor.as_deref())
    }
}

/// Where a leaf of a job, a machine or the shop stands: under its machine's page and its
/// procedure's page, where those are made.
#[must_use]
pub fn nav_of_leaf(
    setting: &Setting,
    procedure: Option<(&str, &str)>,
    machine: Option<(&str, &str)>,
    path: &str,
) -> Nav {
    let edition = &setting.edition;
    let link = |title: &str, path: &str, anchor: Option<&str>| {
        setting.is_made(path).then(|| Link {
            title: title.to_owned(),
            path: edition.path(path),
            anchor: anchor.map(str::to_owned),
            pdf: false,
        })
    };
    let home = link(edition.words.get("index"), "index", None);
    let of_machine = machine.and_then(|(id, name)| link(name, &machine_page_path(id), None));
    let anchor = machine.map(|(id, _)| on_machine(id));
    let of_procedure =
        procedure.and_then(|(id, title)| link(title, &procedure_path(id), anchor.as_deref()));
    Nav {
        crumbs: [home, of_machine, of_procedure]
            .into_iter()
            .flatten()
            .collect(),
        translations: setting.translations(path),
        ..Nav::default()
    }
}

/// Where a thing is used, each procedure with its steps: on many, how many there are, and where the
/// whole list is.
fn used_in(site: &Site<'_, '_>, found: Option<&Use<'_>>) -> Vec<Run> {
    /// A list that is longer is no longer read, and there may be thousands.
    const MOST: usize = 40;
    let words = &site.setting.edition.words;
    let Some(found) = found else {
        return vec![Run::text("–")];
    };
    let mut by_procedure: BTreeMap<&str, Vec<(&str, &[u32])>> = BTreeMap::new();
    for ((procedure, machine), steps) in &found.places {
        let places = by_procedure.entry(procedure).or_default();
        places.push((machine, steps));
    }
    if by_procedure.len() > MOST {
        let count = by_procedure.len().to_string();
        let text = Run::text(words.say("in-procedures", &[("count", &count)]));
        let desk = site.desk(LeafKind::WhereUsed);
        return vec![match desk.leaf_target(LeafKind::WhereUsed.slug()) {
            Some(target) => Run::Link {
                target,
                runs: vec![text],
            },
            None => text,
        }];
    }
    let mut runs = Vec::new();
    for (procedure, places) in by_procedure {
        if !runs.is_empty() {
            runs.push(Run::text("; "));
        }
        let title = site
            .jobs
            .binary_search_by(|job| job.procedure.id.as_str().cmp(procedure))
            .map_or(procedure, |at| &site.jobs[at].procedure.title.value);
        let (machine, steps) = places[0];
        // On another machine the numbers are others: there the link leads to the procedure.
        let is_one = found.machine.is_some() || places.len() == 1;
        let anchor = is_one.then(|| match steps.first() {
            Some(step) => format!("{}.{}", on_machine(machine), text::step_anchor(*step)),
            None => on_machine(machine),
        });
        let path = procedure_path(procedure);
        runs.push(if site.setting.is_made(&path) {
            Run::Link {
                target: Target::Leaf {
                    path: site.setting.edition.path(&path),
                    anchor,
                },
                runs: vec![Run::text(title)],
            }
        } else {
            Run::text(title)
        });
        if is_one && !steps.is_empty() {
            let numbers: Vec<String> = steps.iter().map(u32::to_string).collect();
            let (key, numbers) = match numbers.as_slice() {
                [one] => ("step", one.clone()),
                several => ("steps-numbered", words.list(several)),
            };
            let steps = words.say(key, &[("number", &numbers)]);
            // A number is one machine's: where the reader has not chosen it, it is named.
            let name = site.shop.machines.get(machine);
            let name = name.filter(|_| found.machine.is_none());
            let of = name.map(|name| format!(", {}", name.name.value));
            runs.push(Run::text(format!(" ({steps}{})", of.unwrap_or_default())));
        }
    }
    runs
}

/// A table without columns that are only written in; another block as it is.
fn unwritten(block: Block) -> Block {
    let Block::Table(table) = block else {
        return block;
    };
    let is_written = |at: usize| {
        let cells = table.rows.iter().map(|row| row.get(at));
        cells
            .into_iter()
            .all(|cell| matches!(cell, Some(Cell::Blank | Cell::Tick)))
    };
    let kept: Vec<bool> = (0..table.columns.len()).map(|at| !is_written(at)).collect();
    let keep = |at: usize| kept.get(at).copied().unwrap_or(true);
    let columns = table.columns.into_iter().enumerate();
    let rows = table.rows.into_iter().map(|row| {
        let cells = row.into_iter().enumerate().filter(|(at, _)| keep(*at));
        cells
            .map(|(_, cell)| match cell {
                Cell::Choice { options } => Cell::text(options.join(", ")),
                Cell::Blank | Cell::Tick => Cell::text(""),
                other => other,
            })
            .collect()
    });
    Block::Table(Table {
        caption: table.caption,
        rows: rows.collect(),
        columns: columns
            .filter(|(at, _)| keep(*at))
            .map(|(_, column)| column)
            .collect(),
    })
}
