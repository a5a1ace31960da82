//! Findings as text for a terminal, with the source lines they point at.

use super::subject::{Report, counts};
use crate::finding::{FileId, Finding, Findings, Level, Mark, Span};
use crate::tree::{Source, Tree};
use annotate_snippets::{AnnotationKind, Group, Level as Style, Patch, Renderer, Snippet};
use std::fmt::Write as _;
use std::ops::Range;

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
    let all: Vec<&Finding> = findings.iter().collect();
    render(tree, findings, &all, styled)
}

/// The most findings that are shown if not all are. Nobody reads more before correcting something.
const MOST_SHOWN: usize = 200;

/// The most findings of a rule that are shown if not all are.
const MOST_OF_RULE: usize = 50;

/// As [`terminal`]. If there are very many findings, only some, the worst first, and how many there are.
#[must_use]
pub(crate) fn terminal_worst(tree: &Tree, findings: &Findings, styled: bool) -> String {
    let shown = findings.to_show(MOST_SHOWN, MOST_OF_RULE);
    render(tree, findings, &shown, styled)
}

/// A report for a terminal: all findings, and what else there is to know.
pub(super) fn report(report: &Report<'_>, styled: bool) -> String {
    let mut text = terminal(report.tree, report.findings, styled);
    text.push_str(&closing(report));
    text
}

/// What there is to know besides the findings.
pub(crate) fn closing(report: &Report<'_>) -> String {
    let mut text = String::new();
    for note in report.notes {
        let _ = writeln!(text, "{note}");
    }
    match report.affected {
        None => {}
        Some([]) => text.push_str("no sheet is affected\n"),
        Some(affected) => {
            text.push_str("sheets affected:\n");
            for sheet in affected {
                let _ = writeln!(text, "  {sheet}");
            }
        }
    }
    text
}

/// One finding without styles.
pub(super) fn plain(report: &Report<'_>, finding: &Finding) -> String {
    let mut groups = vec![group(report.tree, finding)];
    groups.extend(edits(report.tree, finding));
    format!("{}\n", Renderer::plain().render(&groups))
}

fn render(tree: &Tree, findings: &Findings, shown: &[&Finding], styled: bool) -> String {
    let renderer = if styled {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    let mut text = String::new();
    for finding in shown {
        let mut groups = vec![group(tree, finding)];
        groups.extend(edits(tree, finding));
        let _ = writeln!(text, "{}\n", renderer.render(&groups));
    }
    if !findings.is_empty() {
        let _ = writeln!(text, "{}", counts(findings));
    }
    if shown.len() < findings.iter().len() {
        let _ = writeln!(
            text,
            "{} of them are shown, errors first; `benchleaf check --all` shows all",
            shown.len()
        );
    }
    text
}

/// The lines of a source that some spans are in: the number of the first one, its offset, and their text.
fn lines(source: &Source, spans: impl Iterator<Item = Span> + Clone) -> (usize, usize, &str) {
    let first = spans.clone().map(Span::start).min().unwrap_or_default();
    let last = spans.map(Span::end).max().unwrap_or_default();
    let line = source.line(first);
    let start = source.line_start(line);
    let end = source.line_start(source.line(last) + 1);
    (line, start, source.text.get(start..end).unwrap_or_default())
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
        let (line, start, text) = lines(source, marks.iter().map(|(_, mark)| mark.span));
        let mut snippet = Snippet::source(text)
            .line_start(line)
            .path(format!("{}/{}", tree.name, source.path))
            .fold(true);
        for (is_primary, mark) in marks {
            let kind = if is_primary {
                AnnotationKind::Primary
            } else {
                AnnotationKind::Context
            };
            let mut annotation = kind.span(within(mark.span, start));
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
        let (line, start, text) = lines(source, here.clone().map(|edit| edit.span));
        let patches =
            here.map(|edit| Patch::new(within(edit.span, start), edit.replacement.as_str()));
        group = group.element(
            Snippet::source(text)
                .line_start(line)
                .path(format!("{}/{}", tree.name, source.path))
                .fold(true)
                .patches(patches),
        );
    }
    Some(group)
}

/// The range of a span in a text that begins at an offset of its file.
fn within(span: Span, start: usize) -> Range<usize> {
    span.start() - start..span.end() - start
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
