//! The fixes of findings, as code actions.

use super::client::Client;
use super::diagnostics::diagnostics;
use super::edits::workspace_edit;
use super::encoding::Lines;
use crate::Sources;
use crate::finding::{Edit, Finding, Findings};
use crate::recheck::with_edits;
use lsp_types::{
    CodeAction, CodeActionKind, CodeActionOrCommand, CodeActionParams, CodeActionResponse,
    Diagnostic,
};
use std::ops::Range;

/// The most findings for which fixes are made at once, because each may take some rehearsals to try out.
const MOST_FINDINGS: usize = 10;

/// The fixes of the findings in a range.
pub(super) fn code_actions(
    client: &Client,
    parameters: &CodeActionParams,
) -> Option<CodeActionResponse> {
    let only = parameters.context.only.as_ref();
    let is_wanted = |kind: &CodeActionKind| {
        let kind = kind.as_str();
        kind.is_empty() || kind == CodeActionKind::QUICKFIX.as_str()
    };
    if only.is_some_and(|only| !only.iter().any(is_wanted)) {
        return None;
    }
    let workspace = &client.workspace;
    let (folder, path) = workspace.find(&parameters.text_document.uri)?;
    let (sources, findings) = folder.checked_sources()?;
    let sources = sources.get()?;
    let source = sources.tree.source(&path)?;
    let range = Lines::of(&source.text, workspace.encoding).offsets(parameters.range);
    let here = findings.iter().filter(|finding| {
        let place = finding.primary.as_ref().map(|mark| mark.span);
        let has_fix = !finding.edits.is_empty() || !finding.proposals.is_empty();
        has_fix
            && place.is_some_and(|span| span.file == source.id && touches(&span.range(), &range))
    });
    let fixed = with_edits(sources, here.take(MOST_FINDINGS));
    let mut actions = Vec::new();
    for finding in fixed.iter().filter(|finding| !finding.edits.is_empty()) {
        let only_this: Findings = std::iter::once(finding.clone()).collect();
        let of_file = diagnostics(folder, sources, &only_this, workspace.encoding);
        let diagnostics: Vec<Diagnostic> = of_file.into_values().flatten().collect();
        let edit = workspace_edit(
            folder,
            sources,
            workspace.encoding,
            client.abilities,
            &finding.edits,
            &[],
        );
        actions.push(CodeActionOrCommand::CodeAction(CodeAction {
            title: title(sources, finding),
            kind: Some(CodeActionKind::QUICKFIX),
            diagnostics: Some(diagnostics),
            edit: Some(edit?),
            is_preferred: Some(true),
            ..CodeAction::default()
        }));
    }
    Some(actions)
}

/// Whether two ranges have a byte or an end in common.
fn touches(one: &Range<usize>, other: &Range<usize>) -> bool {
    one.start <= other.end && other.start <= one.end
}

/// What the edits of a finding do, in a few words.
fn title(sources: &Sources, finding: &Finding) -> String {
    let shown = |text: &str| {
        let text = text.trim();
        let line = text.lines().next().unwrap_or_default();
        let short: String = line.chars().take(60).collect();
        let is_whole = short == text;
        format!("`{short}{}`", if is_whole { "" } else { "…" })
    };
    let title = |edit: &Edit| {
        let old = sources.tree.text(edit.span);
        match (old.trim().is_empty(), edit.replacement.trim().is_empty()) {
            (true, _) => format!("insert {}", shown(&edit.replacement)),
            (false, true) => format!("remove {}", shown(old)),
            (false, false) => format!("replace {} with {}", shown(old), shown(&edit.replacement)),
        }
    };
    match finding.edits.as_slice() {
        [] => String::new(),
        [edit] => title(edit),
        [first, rest @ ..] => {
            let changes = if rest.len() == 1 { "change" } else { "changes" };
            format!("{}, and {} more {changes}", title(first), rest.len())
        }
    }
}
