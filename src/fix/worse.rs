//! Judges whether edited sources are better.

use crate::finding::{Family, Finding, Findings, Span};
use crate::tree::Tree;
use std::collections::BTreeMap;

/// A finding in one job, without its place, which an edit moves.
type Key<'f> = (&'static str, &'f str, &'f str);

/// A key for each job that has the finding, because edits may fix some of them.
fn keys(finding: &Finding) -> Vec<Key<'_>> {
    let key = |job| (finding.rule.name, finding.message.as_str(), job);
    match finding.jobs.as_slice() {
        [] => vec![key("")],
        jobs => jobs.iter().map(|job| key(job)).collect(),
    }
}

fn counts(findings: &Findings) -> BTreeMap<Key<'_>, usize> {
    let mut counts = BTreeMap::new();
    for key in findings.iter().flat_map(keys) {
        *counts.entry(key).or_default() += 1;
    }
    counts
}

/// Whether the findings that were edited are gone, and nothing else is found.
///
/// A name or a value that can't be read hides what a rehearsal would find. So once it is corrected, other findings may
/// appear: but none at the text that was written, which would be the wrong name or value.
pub(super) fn is_better(
    before: &Findings,
    edited: &[&Finding],
    tree: &Tree,
    after: &Findings,
) -> bool {
    let (known, found) = (counts(before), counts(after));
    let count = |counts: &BTreeMap<Key<'_>, usize>, key: &Key<'_>| {
        counts.get(key).copied().unwrap_or_default()
    };
    let mut fixed: BTreeMap<Key<'_>, usize> = BTreeMap::new();
    for key in edited.iter().flat_map(|finding| keys(finding)) {
        *fixed.entry(key).or_default() += 1;
    }
    let is_gone = fixed
        .iter()
        .all(|(key, fixed)| count(&found, key) + fixed <= count(&known, key));
    if !is_gone {
        return false;
    }
    let hid = edited.iter().any(|finding| hides(finding));
    let written: Vec<Span> = written(edited);
    let mut new = after.iter().filter(|finding| {
        let keys = keys(finding);
        keys.iter()
            .any(|key| count(&found, key) > count(&known, key))
    });
    new.all(|finding| {
        let mut marks = finding.marks();
        let is_at_edit = marks.any(|mark| {
            written
                .iter()
                .any(|span| span.file == mark.span.file && is_on_lines(tree, *span, mark.span))
        });
        hid && !is_at_edit
    })
}

/// Whether a finding can hide others: the job with it was not made.
fn hides(finding: &Finding) -> bool {
    matches!(
        finding.rule.family,
        Family::Reading | Family::Names | Family::Quantities
    )
}

/// The spans of the replacements in the edited text.
fn written(edited: &[&Finding]) -> Vec<Span> {
    let mut edits: Vec<_> = edited.iter().flat_map(|finding| &finding.edits).collect();
    edits.sort_by_key(|edit| edit.span);
    let mut written = Vec::new();
    let mut file = None;
    // How much longer the text before has become, and how much shorter.
    let (mut added, mut removed) = (0, 0);
    for edit in edits {
        if file != Some(edit.span.file) {
            file = Some(edit.span.file);
            (added, removed) = (0, 0);
        }
        let start = (edit.span.start() + added).saturating_sub(removed);
        written.push(Span::new(
            edit.span.file,
            start..start + edit.replacement.len(),
        ));
        added += edit.replacement.len();
        removed += edit.span.len();
    }
    written
}

/// Whether a mark is on one of the lines of an edit.
fn is_on_lines(tree: &Tree, edit: Span, mark: Span) -> bool {
    let source = tree.file(edit.file);
    let lines = |span: Span| (source.line(span.start()), source.line(span.end()));
    let (first, last) = lines(edit);
    let (start, end) = lines(mark);
    start <= last && first <= end
}
