//! What a report is about.

use crate::finding::{FileId, Finding, Findings, Level, Rule, Span};
use crate::render::rule_address;
use crate::tree::{Source, Tree};

/// The findings of a check, with what the formats say about the check.
pub(crate) struct Report<'r> {
    pub(crate) tree: &'r Tree,
    pub(crate) findings: &'r Findings,
    /// The path of the sources folder from the root of its repository, with `/` as separator. Empty if it is the root.
    pub(crate) folder: &'r str,
    /// Every procedure's file, with its jobs.
    pub(crate) jobs: &'r [CheckedJob],
    /// The web address of the published site.
    pub(crate) site: Option<&'r str>,
    /// What a reader has to know besides, such as how many known findings are left out. Sentences without a full stop.
    pub(crate) notes: &'r [String],
    /// The titles of the sheets that a change affects. `None` if no change is reported.
    pub(crate) affected: Option<&'r [String]>,
}

/// A job that was rehearsed.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct CheckedJob {
    /// The procedure's file.
    pub(crate) file: FileId,
    /// The procedure's id.
    pub(crate) procedure: String,
    /// The machine's id.
    pub(crate) machine: String,
}

impl CheckedJob {
    /// Its name in findings.
    pub(crate) fn name(&self) -> String {
        format!("`{}` on `{}`", self.procedure, self.machine)
    }
}

/// A range in a file, in lines and columns from 1. Columns count characters, and the end is exclusive.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Region {
    pub(crate) line: usize,
    pub(crate) column: usize,
    pub(crate) end_line: usize,
    pub(crate) end_column: usize,
}

impl Region {
    pub(crate) fn of(source: &Source, span: Span) -> Region {
        let (line, column) = source.place(span.start());
        let (end_line, end_column) = source.place(span.end());
        Region {
            line,
            column,
            end_line,
            end_column,
        }
    }
}

impl Report<'_> {
    /// The path of a source file from the root of the repository.
    pub(crate) fn path(&self, file: FileId) -> String {
        let path = &self.tree.file(file).path;
        match self.folder {
            "" => path.clone(),
            folder => format!("{folder}/{path}"),
        }
    }

    /// The main location of a finding: its file's path and its region.
    pub(crate) fn place(&self, finding: &Finding) -> Option<(String, Region)> {
        let span = finding.primary.as_ref()?.span;
        let region = Region::of(self.tree.file(span.file), span);
        Some((self.path(span.file), region))
    }

    /// The findings, those of the worst level first, otherwise in their order.
    pub(crate) fn worst_first(&self) -> Vec<&Finding> {
        let mut findings: Vec<&Finding> = self.findings.iter().collect();
        findings.sort_by_key(|finding| std::cmp::Reverse(finding.level));
        findings
    }

    /// The numbers of findings, as in "2 errors and 1 warning". `None` if there are none.
    pub(crate) fn counts(&self) -> Option<String> {
        (!self.findings.is_empty()).then(|| counts(self.findings))
    }

    /// The web address of a rule's page. `None` if the site has no address.
    pub(crate) fn rule_address(&self, rule: &Rule) -> Option<String> {
        Some(address_of_rule(self.site?, rule))
    }
}

/// The web address of a rule's page on a site.
pub(crate) fn address_of_rule(site: &str, rule: &Rule) -> String {
    format!("{}/{}", site.trim_end_matches('/'), rule_address(rule))
}

/// For example "2 errors, 1 warning and 3 pieces of advice".
pub(super) fn counts(findings: &Findings) -> String {
    let counted = |level, singular: &str, plural: &str| match findings.count(level) {
        0 => None,
        1 => Some(format!("1 {singular}")),
        count => Some(format!("{count} {plural}")),
    };
    let parts: Vec<String> = [
        counted(Level::Error, "error", "errors"),
        counted(Level::Warning, "warning", "warnings"),
        counted(Level::Advice, "piece of advice", "pieces of advice"),
    ]
    .into_iter()
    .flatten()
    .collect();
    match parts.as_slice() {
        [most @ .., last] if !most.is_empty() => format!("{} and {last}", most.join(", ")),
        _ => parts.concat(),
    }
}
