//! Resolves page ids to paths in the output, and link targets to addresses and anchors. No other module
//! makes paths, addresses or anchors.
//!
//! **In**: page ids, link targets and figures. **Out**: paths from the output's root, and the
//! [`Addresses`] of one HTML page, relative to it. In a PDF the name of a target is its label, and typst
//! resolves it.

use crate::cache::Fingerprint;
use crate::finding::Rule;
use crate::page::text::anchor;
use crate::page::{Figure, JobId, LinkTarget, ListKind, OutputContext, PageId, SheetKind};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use serde::Serialize;
use std::collections::BTreeMap;

/// The paths of a run's pages in one language.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Paths<'o> {
    output: &'o OutputContext,
    /// The URL that the shop's output is served at.
    base: Option<&'o str>,
}

impl<'o> Paths<'o> {
    /// The paths of a run in the language of `output`. `base` is the URL that the shop's output is served
    /// at, if the shop declares one.
    #[must_use]
    pub(crate) fn new(output: &'o OutputContext, base: Option<&'o str>) -> Paths<'o> {
        Paths { output, base }
    }

    /// A page's path from the output's root, without extension: `es/tarn-yarrow/bowl-shop-sheet`.
    #[must_use]
    pub(crate) fn path(&self, page: &PageId) -> String {
        self.path_in(&self.output.edition.language, page)
    }

    /// The path prefix of pages in this language: empty for the first language, or `es/`.
    #[must_use]
    pub(crate) fn prefix(&self) -> String {
        self.prefix_of(&self.output.edition.language)
    }

    /// The path of the search index of this language.
    #[must_use]
    pub(crate) fn search_index(&self) -> String {
        format!("{}search-index.js", self.prefix())
    }

    /// Pages in the shop's first language are at the output's root. Each other language has a folder.
    fn prefix_of(&self, language: &str) -> String {
        let first = self.output.languages.first();
        if first.is_none_or(|first| first.tag == language) {
            String::new()
        } else {
            format!("{}/", language.to_lowercase())
        }
    }

    fn path_in(&self, language: &str, page: &PageId) -> String {
        format!("{}{}", self.prefix_of(language), neutral_path(page))
    }

    /// The URL of a page. None if the shop declares no base URL.
    #[must_use]
    pub(crate) fn web_address(&self, page: &PageId) -> Option<String> {
        let base = self.base?.trim_end_matches('/');
        Some(format!("{base}/{}.html", self.path(page)))
    }

    /// The page of a target, and the target's anchor on it. None if the run does not make the page, or if
    /// HTML has no anchor for the target. The result can depend on the page that links, `from`.
    fn resolve(&self, from: &PageId, target: &LinkTarget) -> Option<(PageId, Option<String>)> {
        let whole = |page: PageId| (page, None);
        let at = |page: PageId, anchor: String| (page, Some(anchor));
        let resolved = match target {
            LinkTarget::Page(page) => whole(page.clone()),
            LinkTarget::Job(job) => whole(match from {
                PageId::JobSheet(kind, _) if from.job().is_some() => {
                    PageId::JobSheet(*kind, job.clone())
                }
                _ => PageId::shop_sheet(job.clone()),
            }),
            LinkTarget::Step { job, step } => match from {
                // A kit list has no steps.
                PageId::JobSheet(SheetKind::BenchChecklist, own) if own == job => {
                    at(from.clone(), step_anchor(*step))
                }
                _ => at(PageId::shop_sheet(job.clone()), step_anchor(*step)),
            },
            LinkTarget::System(folder) => whole(PageId::System(folder.clone())),
            LinkTarget::Part { machine, .. } | LinkTarget::Reading { machine, .. } => {
                at(PageId::MachineParts(machine.clone()), entry_anchor(target)?)
            }
            LinkTarget::Drawn { machine, .. } => at(
                PageId::MachineSheet(SheetKind::PartsList, machine.clone()),
                entry_anchor(target)?,
            ),
            LinkTarget::Tool(_) => at(PageId::List(ListKind::Tools), entry_anchor(target)?),
            LinkTarget::Supply(_) => at(PageId::List(ListKind::Supplies), entry_anchor(target)?),
            LinkTarget::Caution(_) => at(PageId::List(ListKind::Cautions), entry_anchor(target)?),
            LinkTarget::Term(_) => at(PageId::List(ListKind::Glossary), entry_anchor(target)?),
            LinkTarget::Rule { family, .. } => {
                at(PageId::RuleFamily(*family), entry_anchor(target)?)
            }
            LinkTarget::Section { of, section } => match (&**of, section) {
                (LinkTarget::Page(page), section) => at(page.clone(), section.to_string()),
                _ => return None,
            },
            // HTML pages have no anchors for table rows, or for the sections of a manual.
            LinkTarget::Row { .. } | LinkTarget::Elsewhere { .. } | LinkTarget::Web(_) => {
                return None;
            }
        };
        self.output.includes(&resolved.0).then_some(resolved)
    }
}

/// The addresses of link targets and figures on one HTML page.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Hash)]
pub(crate) struct Addresses {
    /// The page's path from the output's root, without extension.
    pub(crate) path: String,
    /// The relative path from the page to the output's root: empty, or `../` repeated.
    pub(crate) up: String,
    /// The relative path from the page to the folder of its language, if there is a search index in it.
    pub(crate) search_root: Option<String>,
    /// The page's URL, if the shop declares a base URL.
    pub(crate) web: Option<String>,
    /// The address of the page's PDF, if it has one.
    pub(crate) pdf: Option<String>,
    /// The address of each target by its name. Empty if the target can't be linked to.
    pub(crate) links: BTreeMap<String, String>,
    /// The address of a target's PDF by the target's name, for targets that have one.
    pub(crate) pdfs: BTreeMap<String, String>,
    /// By the figures' ids.
    pub(crate) figures: BTreeMap<String, String>,
    /// The addresses of the page in other languages, by language tag.
    pub(crate) languages: BTreeMap<String, String>,
    /// Whether the page is of a whole site, which has a service worker.
    pub(crate) offline: bool,
}

/// Builds the [`Addresses`] of a page.
pub(crate) struct AddressesBuilder<'o, 'p> {
    paths: Paths<'o>,
    page: &'p PageId,
    has_pdf: &'p dyn Fn(&str) -> bool,
    addresses: Addresses,
}

impl<'o, 'p> AddressesBuilder<'o, 'p> {
    /// `has_pdf` says whether there is a PDF at a path without extension.
    pub(crate) fn new(
        paths: Paths<'o>,
        page: &'p PageId,
        has_pdf: &'p dyn Fn(&str) -> bool,
    ) -> AddressesBuilder<'o, 'p> {
        let path = paths.path(page);
        let up = "../".repeat(path.matches('/').count());
        let languages = paths.output.languages.iter();
        let languages = languages.filter(|language| language.tag != paths.output.edition.language);
        let languages = languages.map(|language| {
            let path = paths.path_in(&language.tag, page);
            (language.tag.clone(), format!("{up}{}.html", url(&path)))
        });
        // A run that does not make the front page does not make the search index either.
        let has_search = paths.output.includes(&PageId::Front);
        let addresses = Addresses {
            web: paths.web_address(page),
            pdf: has_pdf(&path).then(|| format!("{up}{}.pdf", url(&path))),
            languages: languages.collect(),
            offline: paths.output.includes(&PageId::Front),
            search_root: has_search.then(|| format!("{up}{}", url(&paths.prefix()))),
            path,
            up,
            links: BTreeMap::new(),
            pdfs: BTreeMap::new(),
            figures: BTreeMap::new(),
        };
        AddressesBuilder {
            paths,
            page,
            has_pdf,
            addresses,
        }
    }

    /// Adds the address of a target.
    pub(crate) fn link(&mut self, target: &LinkTarget) {
        if matches!(target, LinkTarget::Web(_)) {
            return;
        }
        let name = target.name();
        if self.addresses.links.contains_key(&name) {
            return;
        }
        let address = self.paths.resolve(self.page, target).map(|(page, anchor)| {
            let fragment = anchor.map(|anchor| format!("#{}", url(&anchor)));
            let fragment = fragment.unwrap_or_default();
            // A link within the page needs only the fragment.
            if page == *self.page && !fragment.is_empty() {
                return fragment;
            }
            self.relative(&page, &format!(".html{fragment}"))
        });
        self.addresses
            .links
            .insert(name, address.unwrap_or_default());
    }

    /// The relative address of a page, with an ending. Most links of a sheet lead to its own folder.
    fn relative(&self, page: &PageId, ending: &str) -> String {
        let path = self.paths.path(page);
        let own = self.addresses.path.rsplit_once('/');
        match (own, path.rsplit_once('/')) {
            (Some((folder, _)), Some((same, name))) if folder == same => {
                format!("{}{ending}", url(name))
            }
            _ => format!("{}{}{ending}", self.addresses.up, url(&path)),
        }
    }

    /// Adds the address of a target and of its PDF, if it has one.
    pub(crate) fn link_with_pdf(&mut self, target: &LinkTarget) {
        self.link(target);
        if let LinkTarget::Page(page) = target {
            let path = self.paths.path(page);
            if (self.has_pdf)(&path) {
                let address = self.relative(page, ".pdf");
                self.addresses.pdfs.insert(target.name(), address);
            }
        }
    }

    /// Adds the address of a figure.
    pub(crate) fn figure(&mut self, figure: &Figure) {
        let figures = &mut self.addresses.figures;
        figures.entry(figure.id.0.clone()).or_insert_with(|| {
            let path = figure_path(&figure.id.0, &figure.content);
            format!("{}{}", self.addresses.up, url(&path))
        });
    }

    pub(crate) fn finish(self) -> Addresses {
        self.addresses
    }
}

/// A page's path in the first language, without extension. It identifies the page in all languages.
pub(super) fn neutral_path(page: &PageId) -> String {
    match page {
        PageId::Front => "index".to_owned(),
        PageId::Machine(machine) => format!("{machine}/index"),
        PageId::MachineParts(machine) => format!("{machine}/parts"),
        PageId::MachineSystem { machine, system } => {
            format!("{machine}/system/{}", folder_name(system))
        }
        PageId::System(system) => format!("system/{}", folder_name(system)),
        PageId::Procedure(procedure) => format!("procedure/{procedure}"),
        PageId::List(list) => list.name().to_owned(),
        PageId::JobSheet(kind, job) => format!("{job}-{}", kind.name()),
        PageId::MachineSheet(kind, machine) => format!("{machine}/{}", kind.name()),
        PageId::WhereUsed => SheetKind::WhereUsed.name().to_owned(),
        PageId::Rules => "rules/index".to_owned(),
        PageId::RuleFamily(family) => format!("rules/{}", family.name()),
        PageId::Kit(jobs) => kit_path(jobs),
        PageId::Manual { machines, systems } => manual_path(machines, systems),
    }
}

/// The address of a rule's manual page, from the root of a published site in its first language:
/// `rules/rehearsal.html#part-left-off`. It changes only if the rule's name or family does.
#[must_use]
pub(crate) fn rule_address(rule: &Rule) -> String {
    let path = neutral_path(&PageId::RuleFamily(rule.family));
    format!("{}.html#{}", url(&path), url(rule.name))
}

/// The longest file name in bytes, without extension. Some file systems allow only 143 bytes in all.
const MAX_NAME_LENGTH: usize = 120;

/// A file name for a system's folder. A folder can have any character.
fn folder_name(folder: &str) -> String {
    let mut name = anchor(folder);
    if name == folder && name.len() <= MAX_NAME_LENGTH {
        return name;
    }
    name.truncate(name.floor_char_boundary(MAX_NAME_LENGTH));
    // A hash keeps the names of different folders different.
    let hash = Fingerprint::of_bytes(folder.as_bytes()).short();
    format!("{name}-{hash}")
}

fn kit_path(jobs: &[JobId]) -> String {
    let mut ids: Vec<&str> = Vec::new();
    for id in jobs.iter().flat_map(|job| [&job.machine, &job.procedure]) {
        if !ids.contains(&id.as_str()) {
            ids.push(id);
        }
    }
    let name = ids.join("-");
    if name.len() <= MAX_NAME_LENGTH {
        return format!("kits/{name}");
    }
    // A hash of all ids keeps the names of different lists different.
    let hash = Fingerprint::of_bytes(name.as_bytes()).short();
    format!("kits/{}-and-more-{hash}", ids[0])
}

fn manual_path(machines: &[String], systems: &[String]) -> String {
    match (machines, systems) {
        ([], []) => return "manual".to_owned(),
        ([machine], []) => return format!("{machine}/manual"),
        _ => {}
    }
    // "-on-" marks machines and "-of-" marks systems. A folder's name can have any character.
    let to_plain = |id: &String| {
        let letters = id.chars().map(|letter| {
            let is_plain = letter.is_ascii_alphanumeric();
            if is_plain { letter } else { '-' }
        });
        letters.collect::<String>().to_lowercase()
    };
    let with_word = |word: &str, ids: &[String]| -> Vec<String> {
        let ids = ids.iter().map(|id| format!("{word}-{}", to_plain(id)));
        ids.collect()
    };
    let ids = [with_word("on", machines), with_word("of", systems)].concat();
    let name = ids.join("-");
    if name.len() <= MAX_NAME_LENGTH {
        return format!("manual-{name}");
    }
    let hash = Fingerprint::of_bytes(name.as_bytes()).short();
    format!("manual-{}-and-more-{hash}", ids[0])
}

/// A figure's path in the output. It contains the content mark, so that a changed figure gets a new path
/// and a browser's cache can't show the old one.
pub(crate) fn figure_path(path: &str, content: &str) -> String {
    let name = path.rsplit('/').next().unwrap_or(path);
    let (stem, extension) = name.rsplit_once('.').unwrap_or((name, "svg"));
    // A file name can have any character, but an address can't.
    let stem: String = stem
        .chars()
        .take(MAX_NAME_LENGTH)
        .map(|letter| {
            if letter.is_ascii_alphanumeric() {
                letter.to_ascii_lowercase()
            } else {
                '-'
            }
        })
        .collect();
    format!(
        "figures/{stem}-{content}.{}",
        extension.to_ascii_lowercase()
    )
}

/// The anchor of a step.
pub(super) fn step_anchor(step: u32) -> String {
    format!("step-{step}")
}

/// The anchor of the stop after a group of steps.
pub(super) fn stop_anchor(stop: u32) -> String {
    format!("stop-{stop}")
}

/// The anchor of a figure.
pub(super) fn figure_anchor(figure: u32) -> String {
    format!("figure-{figure}")
}

/// The anchor of an item at its entry on the site. None if the target is not an item.
pub(super) fn entry_anchor(target: &LinkTarget) -> Option<String> {
    Some(match target {
        LinkTarget::Part { part, .. } => format!("part-{part}"),
        LinkTarget::Drawn { thing, .. } => format!("drawn-{thing}"),
        LinkTarget::Reading { reading, .. } => format!("reading-{reading}"),
        LinkTarget::Tool(tool) => format!("tool-{tool}"),
        LinkTarget::Supply(supply) => format!("supply-{supply}"),
        LinkTarget::Caution(caution) => format!("caution-{caution}"),
        LinkTarget::Term(term) => format!("term-{term}"),
        LinkTarget::Rule { rule, .. } => (*rule).to_owned(),
        // The item of an inspection is a row.
        LinkTarget::Step { step, .. } => step_anchor(*step),
        _ => return None,
    })
}

/// The bytes that are percent-encoded in an address: all except `/` and the unreserved characters of
/// RFC 3986, 2.3.
const ENCODED: &AsciiSet = &NON_ALPHANUMERIC
    .remove(b'/')
    .remove(b'-')
    .remove(b'.')
    .remove(b'_')
    .remove(b'~');

/// Percent-encodes a relative path.
pub(super) fn url(path: &str) -> String {
    utf8_percent_encode(path, ENCODED).to_string()
}

#[cfg(test)]
mod tests;
