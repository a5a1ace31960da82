//! Findings as text for a terminal, with the source lines they point at.

use crate::finding::{FileId, Finding, Findings, Level, Mark};
use crate::tree::Tree;
use annotate_snippets::{AnnotationKind, Group, Level as Style, Patch, Renderer, Snippet};
use std::fmt::Write as _;

/// All findings, followed by a line with their numbers. Empty if there are no findings.
///
/// If `styled`, the text has terminal styles (ANSI escape codes).
///
/// ```
/// use benchleaf::{check, read, report, tree::Memory};
///
/// let sources = read(&Memory::new([("shop.toml", "nmae = \"Elmbrook workshop\"")]));
/// let text = report::terminal(&sources.tree, &check(&sources).findings, false);
/// assert!(text.contains("shop.toml:1:1"), "{text}");
/// ```
#[must_use]
pub fn terminal(tree: &Tree, findings: &Findings, styled: bool) -> String {
    let renderer = if styled {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    let mut text = String::new();
    for finding in findings {
        let mut groups = vec![group(tree, finding)];
        groups.extend(edits(tree, finding));
        let _ = writeln!(text, "{}\n", renderer.render(&groups));
    }
    if !findings.is_empty() {
        let _ = writeln!(text, "{}", count(findings));
    }
    text
}

/// An error without a rule or a place, such as a folder that can't be opened.
#[must_use]
pub(crate) fn error_without_rule(message: &str) -> String {
    let group = Group::with_title(Style::ERROR.primary_title(message));
    format!("{}\n\n", Renderer::styled().render(&[group]))
}

fn group<'f>(tree: &'f Tree, finding: &'f Finding) -> Group<'f> {
    let style = match finding.level {
        Level::Error => Style::ERROR,
        Level::Warning => Style::WARNING,
        Level::Advice => Style::INFO.with_name("advice"),
    };
    let mut group = Group::with_title(style.primary_title(finding.whole_message()));
    for (file, marks) in by_file(finding) {
        let source = tree.file(file);
        let mut snippet = Snippet::source(source.text.as_str())
            .path(format!("{}/{}", tree.name, source.path))
            .fold(true);
        for (is_primary, mark) in marks {
            let kind = if is_primary {
                AnnotationKind::Primary
            } else {
                AnnotationKind::Context
            };
            let mut annotation = kind.span(mark.span.range());
            if !mark.label.is_empty() {
                annotation = annotation.label(mark.label.as_str());
            }
            snippet = snippet.annotation(annotation);
        }
        group = group.element(snippet);
    }
    // With edits, the help is the title of their group.
    if let Some(help) = finding.help.as_ref().filter(|_| finding.edits.is_empty()) {
        group = group.element(Style::HELP.message(help.as_str()));
    }
    group.element(Style::NOTE.with_name("rule").message(finding.rule.name))
}

/// The help with the edits, as the lines that they change. `None` if there are no edits.
fn edits<'f>(tree: &'f Tree, finding: &'f Finding) -> Option<Group<'f>> {
    let first = finding.edits.first()?;
    let title = finding.help.as_deref().unwrap_or_default();
    let mut group = Group::with_title(Style::HELP.secondary_title(title));
    let mut files: Vec<FileId> = vec![first.span.file];
    for edit in &finding.edits {
        if !files.contains(&edit.span.file) {
            files.push(edit.span.file);
        }
    }
    for file in files {
        let source = tree.file(file);
        let here = finding.edits.iter().filter(|edit| edit.span.file == file);
        let patches = here.map(|edit| Patch::new(edit.span.range(), edit.replacement.as_str()));
        group = group.element(
            Snippet::source(source.text.as_str())
                .path(format!("{}/{}", tree.name, source.path))
                .fold(true)
                .patches(patches),
        );
    }
    Some(group)
}

/// The marks of each file. The file of the primary mark comes first.
fn by_file(finding: &Finding) -> Vec<(FileId, Vec<(bool, &Mark)>)> {
    let primary = finding.primary.iter().map(|mark| (true, mark));
    let others = finding.others.iter().map(|mark| (false, mark));
    let mut files: Vec<(FileId, Vec<(bool, &Mark)>)> = Vec::new();
    for (is_primary, mark) in primary.chain(others) {
        match files.iter_mut().find(|(file, _)| *file == mark.span.file) {
            Some((_, marks)) => marks.push((is_primary, mark)),
            None => files.push((mark.span.file, vec![(is_primary, mark)])),
        }
    }
    files
}

/// For example "2 errors, 1 warning and 3 pieces of advice".
fn count(findings: &Findings) -> String {
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
