//! The outline of a document, and the search for records in all of them.

use super::client::Client;
use super::encoding::Lines;
use super::name::{Name, NameKind};
use super::names::{names, written};
use super::place::Opened;
use super::toml_sections::toml_sections;
use crate::Sources;
use crate::finding::Span;
use crate::procedure::Procedure;
use crate::prose;
use crate::tree::Source;
use lsp_types::{
    DocumentSymbol, DocumentSymbolParams, DocumentSymbolResponse, Location, SymbolInformation,
    SymbolKind, WorkspaceSymbolParams,
};

/// The most results of a search.
const MOST_FOUND: usize = 128;

/// The most letters of a step in an outline.
const MOST_LETTERS: usize = 80;

pub(super) fn document_symbols(
    client: &Client,
    parameters: &DocumentSymbolParams,
) -> Option<DocumentSymbolResponse> {
    let opened = Opened::find(client, &parameters.text_document.uri)?;
    let (sources, file) = opened.get()?;
    let outline = Outline {
        lines: Lines::of(&file.text, opened.encoding),
        file,
    };
    let symbols = match written(sources, file.id) {
        Some(procedure) => outline.of_procedure(procedure),
        None => outline.of_toml(),
    };
    Some(DocumentSymbolResponse::Nested(symbols))
}

struct Outline<'s> {
    lines: Lines<'s>,
    file: &'s Source,
}

impl Outline<'_> {
    #[expect(deprecated, reason = "the type has a field that is not used any more")]
    fn symbol(
        &self,
        name: &str,
        kind: SymbolKind,
        whole: Span,
        selected: Span,
        children: Vec<DocumentSymbol>,
    ) -> DocumentSymbol {
        let name = name.trim();
        let short: String = name.chars().take(MOST_LETTERS).collect();
        DocumentSymbol {
            // A name may not be empty.
            name: if short.is_empty() {
                "…".to_owned()
            } else {
                short
            },
            detail: None,
            kind,
            tags: None,
            deprecated: None,
            range: self.lines.range(whole.range()),
            selection_range: self.lines.range(selected.range()),
            children: (!children.is_empty()).then_some(children),
        }
    }

    fn of_procedure(&self, procedure: &Procedure) -> Vec<DocumentSymbol> {
        let starts = procedure
            .sections
            .iter()
            .map(|section| section.span.start());
        let ends = starts.skip(1).chain([self.file.text.len()]);
        let mut number = 0;
        let sections = procedure.sections.iter().zip(ends).map(|(section, end)| {
            let steps: Vec<DocumentSymbol> = section
                .steps()
                .map(|step| {
                    number += 1;
                    let text = prose::plain(&step.text);
                    let text = if text.trim().is_empty() {
                        let actions = step.actions();
                        let actions = actions
                            .map(|link| format!("{}:{}", link.verb.word(), link.thing.value));
                        actions.collect::<Vec<_>>().join(", ")
                    } else {
                        text
                    };
                    let name = format!("{number}. {text}");
                    self.symbol(&name, SymbolKind::EVENT, step.span, step.span, Vec::new())
                })
                .collect();
            let end = end.max(section.span.end());
            let whole = self.file.span(section.span.start()..end);
            self.symbol(
                &section.title,
                SymbolKind::NAMESPACE,
                whole,
                section.span,
                steps,
            )
        });
        let sections = sections.collect();
        let whole = self.file.whole();
        let title = procedure.title.span;
        vec![self.symbol(
            &procedure.title.value,
            SymbolKind::MODULE,
            whole,
            title,
            sections,
        )]
    }

    fn of_toml(&self) -> Vec<DocumentSymbol> {
        let sections = toml_sections(&self.file.text).into_iter();
        let symbols = sections.map(|section| {
            let kind = if section.name.contains('.') {
                SymbolKind::OBJECT
            } else {
                SymbolKind::STRUCT
            };
            let (whole, header) = (
                self.file.span(section.whole),
                self.file.span(section.header),
            );
            self.symbol(&section.name, kind, whole, header, Vec::new())
        });
        symbols.collect()
    }
}

/// The records, procedures and machines whose ids or names have the letters of a query, in their order.
pub(super) fn workspace_symbols(
    client: &Client,
    parameters: &WorkspaceSymbolParams,
) -> Vec<SymbolInformation> {
    let mut found = Vec::new();
    for folder in client.workspace.shops() {
        folder.wait_until_read();
        let guard = folder.sources();
        let Some(sources) = guard.get() else {
            continue;
        };
        for (name, kind, span, container) in all_symbols(sources) {
            if !matches(&name, &parameters.query) {
                continue;
            }
            if found.len() == MOST_FOUND {
                return found;
            }
            let file = sources.tree.file(span.file);
            let Some(uri) = folder.uri(&file.path) else {
                continue;
            };
            let range = Lines::of(&file.text, client.workspace.encoding).range(span.range());
            let location = Location { uri, range };
            found.push(information(name, kind, location, container));
        }
    }
    found
}

#[expect(deprecated, reason = "the type has a field that is not used any more")]
fn information(
    name: String,
    kind: SymbolKind,
    location: Location,
    container_name: Option<String>,
) -> SymbolInformation {
    SymbolInformation {
        name,
        kind,
        tags: None,
        deprecated: None,
        location,
        container_name,
    }
}

type Symbol = (String, SymbolKind, Span, Option<String>);

/// Procedures and fault tables by their ids and titles, and all records by their ids.
fn all_symbols(sources: &Sources) -> Vec<Symbol> {
    let mut symbols: Vec<Symbol> = Vec::new();
    for procedure in sources.procedures.iter().chain(&sources.faults) {
        let name = format!("{}: {}", procedure.id, procedure.title.value);
        let system = Some(procedure.system.clone());
        symbols.push((name, SymbolKind::MODULE, procedure.title.span, system));
    }
    for machine in sources.shop.machines.values() {
        let name = format!("{}: {}", machine.id, machine.name.value);
        symbols.push((name, SymbolKind::CLASS, machine.name.span, None));
    }
    for file in &sources.tree.files {
        if written(sources, file.id).is_some() {
            continue;
        }
        let declared = names(sources, file)
            .into_iter()
            .filter(|name| name.is_declaration);
        for Name {
            kind, key, span, ..
        } in declared
        {
            if let NameKind::Thing(_) = kind {
                let container = format!("{}, {}", kind.word(), file.path);
                symbols.push((key, SymbolKind::OBJECT, span, Some(container)));
            }
        }
    }
    symbols
}

/// Whether a name has all letters of a query in their order, in any case.
fn matches(name: &str, query: &str) -> bool {
    let mut letters = name.chars().flat_map(char::to_lowercase);
    let mut wanted = query.chars().flat_map(char::to_lowercase);
    wanted.all(|wanted| letters.any(|letter| letter == wanted))
}
