//! Where pages are in the output, and where links lead in it: the only place that gives a typed
//! target a path, an address or an anchor.
//!
//! A document has targets; [`Addresses`] is what HTML has in their place, seen from one page. In a PDF
//! a target's own name is its label, and typst finds the page.

use crate::cache::Fingerprint;
use crate::page::{
    Figure, JobId, LinkTarget, ListKind, OutputContext, PageId, SectionId, SheetKind,
};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use serde::Serialize;
use std::collections::BTreeMap;

/// Where the pages of a run are, in one language.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Paths<'o> {
    output: &'o OutputContext,
    /// Where the shop says that its pages are served from.
    base: Option<&'o str>,
}

impl<'o> Paths<'o> {
    /// The paths of a run in the language of a context. `base` is the address that the shop's output is
    /// served from, where it says one.
    #[must_use]
    pub(crate) fn new(output: &'o OutputContext, base: Option<&'o str>) -> Paths<'o> {
        Paths { output, base }
    }

    /// A page's path from the output's root, without an ending: `es/tarn-t7/bowl-shop-sheet`.
    #[must_use]
    pub(crate) fn path(&self, page: &PageId) -> String {
        self.path_in(&self.output.edition.language, page)
    }

    /// What the paths of the language's pages begin with: nothing, or `es/`.
    #[must_use]
    pub(crate) fn prefix(&self) -> String {
        self.prefix_of(&self.output.edition.language)
    }

    /// The path of the file that the search of the language reads.
    #[must_use]
    pub(crate) fn search_index(&self) -> String {
        format!("{}search-index.js", self.prefix())
    }

    /// The pages of the shop's first language are at the output's root, those of another in a folder of
    /// their own.
    fn prefix_of(&self, language: &str) -> String {
        let first = self.output.languages.first();
        if first.is_none_or(|first| first.tag == language) {
            String::new()
        } else {
            format!("{}/", language.to_lowercase())
        }
    }

    fn path_in(&self, language: &str, page: &PageId) -> String {
        format!("{}{}", self.prefix_of(language), path(page))
    }

    /// The address that a page is served at; none where the shop does not say it.
    #[must_use]
    pub(crate) fn web_address(&self, page: &PageId) -> Option<String> {
        let base = self.base?.trim_end_matches('/');
        Some(format!("{base}/{}.html", self.path(page)))
    }

    /// The path of a target's page and the anchor on it, seen from a page; none where the run does not
    /// make the page, or the target has no place in HTML.
    fn find(&self, from: &PageId, target: &LinkTarget) -> Option<(PageId, Option<String>)> {
        let whole = |page: PageId| (page, None);
        let at = |page: PageId, anchor: String| (page, Some(anchor));
        let found = match target {
            LinkTarget::Page(page) => whole(page.clone()),
            LinkTarget::Job(job) => self.job(from, job),
            LinkTarget::Step { job, step } => match from {
                PageId::JobSheet(..) if from.job() == Some(job) => {
                    at(from.clone(), step_anchor("", *step))
                }
                _ => at(
                    PageId::Procedure(job.procedure.clone()),
                    step_anchor(&place_prefix(&job.machine), *step),
                ),
            },
            LinkTarget::System(folder) => {
                let section = SectionId::System(folder.clone());
                at(PageId::Front, section.to_string())
            }
            LinkTarget::Part { machine, .. } | LinkTarget::Reading { machine, .. } => {
                at(PageId::Machine(machine.clone()), entry_anchor(target)?)
            }
            LinkTarget::Tool(_) => at(PageId::List(ListKind::Tools), entry_anchor(target)?),
            LinkTarget::Supply(_) => at(PageId::List(ListKind::Supplies), entry_anchor(target)?),
            LinkTarget::Caution(_) => at(PageId::List(ListKind::Cautions), entry_anchor(target)?),
            LinkTarget::Term(_) => at(PageId::List(ListKind::Glossary), entry_anchor(target)?),
            LinkTarget::Section { of, section } => match (&**of, section) {
                (LinkTarget::Page(page @ PageId::Procedure(_)), SectionId::Machine(machine)) => {
                    at(page.clone(), machine_anchor(machine))
                }
                (LinkTarget::Page(page), section) => at(page.clone(), section.to_string()),
                _ => return None,
            },
            // Rows and the lines of a manual have no place on a page.
            LinkTarget::Row { .. } | LinkTarget::Elsewhere { .. } | LinkTarget::Web(_) => {
                return None;
            }
        };
        self.output.makes(&found.0).then_some(found)
    }

    /// From one of a job's sheets to the same sheet of another job; from elsewhere to the job's part of
    /// the procedure's page, which leads on to all of its sheets, or else to its shop sheet.
    fn job(&self, from: &PageId, job: &JobId) -> (PageId, Option<String>) {
        if let (PageId::JobSheet(kind, _), Some(_)) = (from, from.job()) {
            return (PageId::JobSheet(*kind, job.clone()), None);
        }
        let page = PageId::Procedure(job.procedure.clone());
        if self.output.makes(&page) {
            return (page, Some(machine_anchor(&job.machine)));
        }
        (PageId::JobSheet(SheetKind::ShopSheet, job.clone()), None)
    }
}

/// What one page of HTML has in the place of targets and figures.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(crate) struct Addresses {
    /// The page's own path from the output's root, without an ending.
    pub(crate) path: String,
    /// From the page up to the output's root: `../`.
    pub(crate) up: String,
    /// The address that it is served at.
    pub(crate) web: Option<String>,
    /// The address of its PDF, where there is one.
    pub(crate) pdf: Option<String>,
    /// The addresses of targets, by their names; empty where a target has none.
    pub(crate) links: BTreeMap<String, String>,
    /// The addresses of targets' PDFs, of those that have one.
    pub(crate) pdfs: BTreeMap<String, String>,
    /// The addresses of figures, by their ids.
    pub(crate) figures: BTreeMap<String, String>,
    /// The addresses of the page in other languages, by their tags.
    pub(crate) languages: BTreeMap<String, String>,
}

/// Collects what a page has in the place of its targets.
pub(crate) struct AddressesOf<'o, 'p> {
    paths: Paths<'o>,
    page: &'p PageId,
    has_pdf: &'p dyn Fn(&str) -> bool,
    found: Addresses,
}

impl<'o, 'p> AddressesOf<'o, 'p> {
    /// Begins with the page itself. `has_pdf` says whether there is a PDF at a path.
    pub(crate) fn new(
        paths: Paths<'o>,
        page: &'p PageId,
        has_pdf: &'p dyn Fn(&str) -> bool,
    ) -> AddressesOf<'o, 'p> {
        let path = paths.path(page);
        let up = "../".repeat(path.matches('/').count());
        let others = paths.output.languages.iter();
        let others = others.filter(|other| other.tag != paths.output.edition.language);
        let languages = others.map(|other| {
            let path = paths.path_in(&other.tag, page);
            (other.tag.clone(), format!("{up}{}.html", url(&path)))
        });
        let found = Addresses {
            web: paths.web_address(page),
            pdf: has_pdf(&path).then(|| format!("{up}{}.pdf", url(&path))),
            languages: languages.collect(),
            path,
            up,
            links: BTreeMap::new(),
            pdfs: BTreeMap::new(),
            figures: BTreeMap::new(),
        };
        AddressesOf {
            paths,
            page,
            has_pdf,
            found,
        }
    }

    /// Adds the address of a target.
    pub(crate) fn link(&mut self, target: &LinkTarget) {
        if matches!(target, LinkTarget::Web(_)) {
            return;
        }
        let name = target.to_string();
        if self.found.links.contains_key(&name) {
            return;
        }
        let address = self.paths.find(self.page, target).map(|(page, anchor)| {
            let fragment = anchor.map(|anchor| format!("#{}", url(&anchor)));
            let fragment = fragment.unwrap_or_default();
            // Within a page the fragment is enough.
            if page == *self.page && !fragment.is_empty() {
                return fragment;
            }
            let path = url(&self.paths.path(&page));
            format!("{}{path}.html{fragment}", self.found.up)
        });
        self.found.links.insert(name, address.unwrap_or_default());
    }

    /// Adds the address of a target that is listed with its PDF.
    pub(crate) fn listed(&mut self, target: &LinkTarget) {
        self.link(target);
        if let LinkTarget::Page(page) = target {
            let path = self.paths.path(page);
            if (self.has_pdf)(&path) {
                let address = format!("{}{}.pdf", self.found.up, url(&path));
                self.found.pdfs.insert(target.to_string(), address);
            }
        }
    }

    /// Adds the address of a figure.
    pub(crate) fn figure(&mut self, figure: &Figure) {
        let figures = &mut self.found.figures;
        figures.entry(figure.id.0.clone()).or_insert_with(|| {
            let path = figure_path(&figure.id.0, &figure.content);
            format!("{}{}", self.found.up, url(&path))
        });
    }

    pub(crate) fn done(self) -> Addresses {
        self.found
    }
}

/// A page's path in the first language, without an ending.
fn path(page: &PageId) -> String {
    match page {
        PageId::Front => "index".to_owned(),
        PageId::Machine(machine) => format!("{machine}/index"),
        PageId::Procedure(procedure) => format!("procedure/{procedure}"),
        PageId::List(list) => list.name().to_owned(),
        PageId::JobSheet(kind, job) => format!("{job}-{}", kind.name()),
        PageId::MachineSheet(kind, machine) => format!("{machine}/{}", kind.name()),
        PageId::WhereUsed => SheetKind::WhereUsed.name().to_owned(),
        PageId::Kit(jobs) => kit_path(jobs),
        PageId::Manual { machines, systems } => manual_path(machines, systems),
    }
}

/// As long as a file's name may be: some systems allow 143 bytes, of which the ending takes some.
const LONGEST_NAME: usize = 120;

fn kit_path(jobs: &[JobId]) -> String {
    let mut ids: Vec<&str> = Vec::new();
    for id in jobs.iter().flat_map(|job| [&job.machine, &job.procedure]) {
        if !ids.contains(&id.as_str()) {
            ids.push(id);
        }
    }
    let name = ids.join("-");
    if name.len() <= LONGEST_NAME {
        return format!("kits/{name}");
    }
    // What is left out of the name still tells two lists apart.
    let rest = Fingerprint::of_bytes(name.as_bytes()).short();
    format!("kits/{}-and-more-{rest}", ids[0])
}

fn manual_path(machines: &[String], systems: &[String]) -> String {
    match (machines, systems) {
        ([], []) => return "manual".to_owned(),
        ([machine], []) => return format!("{machine}/manual"),
        _ => {}
    }
    // "-on-" and "-of-" tell machines from systems; a folder's name may hold anything.
    let plain = |id: &String| {
        let letters = id.chars().map(|letter| {
            let is_plain = letter.is_ascii_alphanumeric();
            if is_plain { letter } else { '-' }
        });
        letters.collect::<String>().to_lowercase()
    };
    let of = |word: &str, ids: &[String]| -> Vec<String> {
        let ids = ids.iter().map(|id| format!("{word}-{}", plain(id)));
        ids.collect()
    };
    let ids = [of("on", machines), of("of", systems)].concat();
    let name = ids.join("-");
    if name.len() <= LONGEST_NAME {
        return format!("manual-{name}");
    }
    let rest = Fingerprint::of_bytes(name.as_bytes()).short();
    format!("manual-{}-and-more-{rest}", ids[0])
}

/// A figure's path in the output, named by its content: a figure that changes gets another name, so
/// no page shows a new one by mistake.
pub(crate) fn figure_path(path: &str, content: &str) -> String {
    let name = path.rsplit('/').next().unwrap_or(path);
    let (stem, ending) = name.rsplit_once('.').unwrap_or((name, "svg"));
    // A name from disk may hold anything; in an address it may not.
    let stem: String = stem
        .chars()
        .map(|letter| {
            if letter.is_ascii_alphanumeric() {
                letter.to_ascii_lowercase()
            } else {
                '-'
            }
        })
        .collect();
    format!("figures/{stem}-{content}.{}", ending.to_ascii_lowercase())
}

/// The anchor of a machine's part of a procedure's page. No id has a dot in it, so that none of them
/// can be another's.
pub(super) fn machine_anchor(machine: &str) -> String {
    format!("on.{machine}")
}

/// What the anchors in a machine's part of a procedure's page begin with.
pub(super) fn place_prefix(machine: &str) -> String {
    format!("{}.", machine_anchor(machine))
}

/// The anchor of a step, with what those on its part of the page begin with.
pub(super) fn step_anchor(prefix: &str, step: u32) -> String {
    format!("{prefix}step-{step}")
}

/// The anchor of the stop after a group of steps.
pub(super) fn stop_anchor(prefix: &str, stop: u32) -> String {
    format!("{prefix}stop-{stop}")
}

/// The anchor of a figure.
pub(super) fn figure_anchor(prefix: &str, figure: u32) -> String {
    format!("{prefix}figure-{figure}")
}

/// The anchor of the only place of a thing on the site; none of what is no thing.
pub(super) fn entry_anchor(target: &LinkTarget) -> Option<String> {
    Some(match target {
        LinkTarget::Part { part, .. } => format!("part-{part}"),
        LinkTarget::Reading { reading, .. } => format!("reading-{reading}"),
        LinkTarget::Tool(tool) => format!("tool-{tool}"),
        LinkTarget::Supply(supply) => format!("supply-{supply}"),
        LinkTarget::Caution(caution) => format!("caution-{caution}"),
        LinkTarget::Term(term) => format!("term-{term}"),
        _ => return None,
    })
}

/// The bytes of a path that a link percent-encodes: all but the unreserved ones of RFC 3986, 2.3,
/// and `/`.
const ENCODED: &AsciiSet = &NON_ALPHANUMERIC
    .remove(b'/')
    .remove(b'-')
    .remove(b'.')
    .remove(b'_')
    .remove(b'~');

/// A relative path as a link's address.
pub(super) fn url(path: &str) -> String {
    utf8_percent_encode(path, ENCODED).to_string()
}

#[cfg(test)]
mod tests;
