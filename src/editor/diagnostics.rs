//! Findings as diagnostics.

use super::encoding::{Encoding, Lines};
use super::shop_folder::ShopFolder;
use crate::Sources;
use crate::finding::{Finding, Findings, Level, Mark};
use crate::report;
use lsp_types::{
    CodeDescription, Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, Location,
    NumberOrString, Range,
};
use std::collections::BTreeMap;

/// The file for findings that are about no place in particular.
pub(super) const SHOP_FILE: &str = "shop.toml";

/// The most diagnostics of a file. Editors get slow with more, and nobody reads them.
const MOST_OF_FILE: usize = 500;

/// The name that editors show beside a diagnostic.
const SOURCE: &str = "benchleaf";

/// The diagnostics of each file that has some, by path.
pub(super) fn diagnostics(
    folder: &ShopFolder,
    sources: &Sources,
    findings: &Findings,
    encoding: Encoding,
) -> BTreeMap<String, Vec<Diagnostic>> {
    let mut by_file: BTreeMap<String, Vec<Diagnostic>> = BTreeMap::new();
    let mut places = Places {
        folder,
        sources,
        encoding,
        lines: BTreeMap::new(),
    };
    for finding in findings {
        let path = match &finding.primary {
            Some(mark) => sources.tree.file(mark.span.file).path.clone(),
            None => SHOP_FILE.to_owned(),
        };
        let of_file = by_file.entry(path).or_default();
        if of_file.len() < MOST_OF_FILE {
            of_file.push(places.diagnostic(finding));
        }
    }
    by_file
}

/// Translates spans to ranges.
struct Places<'s> {
    folder: &'s ShopFolder,
    sources: &'s Sources,
    encoding: Encoding,
    lines: BTreeMap<crate::finding::FileId, Lines<'s>>,
}

impl Places<'_> {
    fn range(&mut self, mark: &Mark) -> Range {
        let file = mark.span.file;
        let (tree, encoding) = (&self.sources.tree, self.encoding);
        let lines = self.lines.entry(file);
        let lines = lines.or_insert_with(|| Lines::of(&tree.file(file).text, encoding));
        lines.range(mark.span.range())
    }

    fn diagnostic(&mut self, finding: &Finding) -> Diagnostic {
        let range = finding.primary.as_ref().map(|mark| self.range(mark));
        let related: Vec<DiagnosticRelatedInformation> = finding
            .others
            .iter()
            .filter_map(|mark| self.related(mark))
            .collect();
        Diagnostic {
            range: range.unwrap_or_default(),
            severity: Some(match finding.level {
                Level::Error => DiagnosticSeverity::ERROR,
                Level::Warning => DiagnosticSeverity::WARNING,
                Level::Advice => DiagnosticSeverity::INFORMATION,
            }),
            code: Some(NumberOrString::String(finding.rule.name.to_owned())),
            code_description: self.page(finding),
            source: Some(SOURCE.to_owned()),
            message: message(finding),
            related_information: (!related.is_empty()).then_some(related),
            ..Diagnostic::default()
        }
    }

    /// The page of the finding's rule, if the published site has an address.
    fn page(&self, finding: &Finding) -> Option<CodeDescription> {
        let site = self.sources.shop.address.as_deref()?;
        let href = report::address_of_rule(site, finding.rule).parse().ok()?;
        Some(CodeDescription { href })
    }

    fn related(&mut self, mark: &Mark) -> Option<DiagnosticRelatedInformation> {
        let path = &self.sources.tree.file(mark.span.file).path;
        let uri = self.folder.uri(path)?;
        let range = self.range(mark);
        Some(DiagnosticRelatedInformation {
            location: Location { uri, range },
            message: if mark.label.is_empty() {
                "also here".to_owned()
            } else {
                mark.label.clone()
            },
        })
    }
}

/// The message with what is at the place, and how to fix it.
fn message(finding: &Finding) -> String {
    let mut message = finding.whole_message();
    let label = finding.primary.as_ref().map(|mark| mark.label.as_str());
    if let Some(label) = label.filter(|label| !label.is_empty()) {
        message = format!("{message}: {label}");
    }
    match &finding.help {
        Some(help) => format!("{message}\nhelp: {help}"),
        None => message,
    }
}
