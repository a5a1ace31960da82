//! What the client can do.

use lsp_types::{ClientCapabilities, MarkupKind, ResourceOperationKind};

/// What the client can do.
#[derive(Clone, Copy, Debug, Default)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "the client has each or has it not"
)]
pub(super) struct Abilities {
    /// Tell of changed files when it is asked to.
    pub(super) watches_files: bool,
    /// Change several documents in one edit, with their versions.
    pub(super) changes_documents: bool,
    /// Rename files in such an edit.
    pub(super) renames_files: bool,
    /// Expand places for the cursor in what is completed.
    pub(super) takes_snippets: bool,
    /// Show what a completed word stands for beside it.
    pub(super) shows_label_details: bool,
    /// Show Markdown beside what is completed.
    pub(super) shows_markdown: bool,
    /// Show what a link leads to.
    pub(super) shows_tooltips: bool,
    /// Show a file or a web page.
    pub(super) shows_documents: bool,
}

impl Abilities {
    pub(super) fn of(client: &ClientCapabilities) -> Abilities {
        let workspace = client.workspace.as_ref();
        let watched = workspace.and_then(|workspace| workspace.did_change_watched_files);
        let edit = workspace.and_then(|workspace| workspace.workspace_edit.as_ref());
        let operations = edit.and_then(|edit| edit.resource_operations.as_ref());
        let document = client.text_document.as_ref();
        let completion = document.and_then(|document| document.completion.as_ref());
        let item = completion.and_then(|completion| completion.completion_item.as_ref());
        let formats = item.and_then(|item| item.documentation_format.as_ref());
        let link = document.and_then(|document| document.document_link.as_ref());
        let window = client.window.as_ref();
        let show = window.and_then(|window| window.show_document.as_ref());
        let changes_documents = edit.and_then(|edit| edit.document_changes) == Some(true);
        Abilities {
            watches_files: watched.and_then(|watched| watched.dynamic_registration) == Some(true),
            changes_documents,
            renames_files: changes_documents
                && operations
                    .is_some_and(|operations| operations.contains(&ResourceOperationKind::Rename)),
            takes_snippets: item.and_then(|item| item.snippet_support) == Some(true),
            shows_label_details: item.and_then(|item| item.label_details_support) == Some(true),
            shows_markdown: formats.is_some_and(|formats| formats.contains(&MarkupKind::Markdown)),
            shows_tooltips: link.and_then(|link| link.tooltip_support) == Some(true),
            shows_documents: show.is_some_and(|show| show.support),
        }
    }
}
