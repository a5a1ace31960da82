//! What the server offers, and what the client can do.

use super::encoding::Encoding;
use super::{commands, semantic_tokens};
use lsp_server::{Request, RequestId};
use lsp_types::{
    ClientCapabilities, CodeActionKind, CodeActionOptions, CodeActionProviderCapability,
    CodeLensOptions, CompletionOptions, DidChangeWatchedFilesRegistrationOptions,
    DocumentLinkOptions, ExecuteCommandOptions, FileSystemWatcher, FoldingRangeProviderCapability,
    GlobPattern, HoverProviderCapability, InitializeResult, MarkupKind, OneOf, Registration,
    RegistrationParams, RenameOptions, SaveOptions, SemanticTokensFullOptions,
    SemanticTokensOptions, SemanticTokensServerCapabilities, ServerCapabilities, ServerInfo,
    TextDocumentSyncCapability, TextDocumentSyncKind, TextDocumentSyncOptions,
    TextDocumentSyncSaveOptions, WorkDoneProgressOptions, WorkspaceFoldersServerCapabilities,
    WorkspaceServerCapabilities,
};

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
                && operations.is_some_and(|operations| {
                    operations.contains(&lsp_types::ResourceOperationKind::Rename)
                }),
            takes_snippets: item.and_then(|item| item.snippet_support) == Some(true),
            shows_label_details: item.and_then(|item| item.label_details_support) == Some(true),
            shows_markdown: formats.is_some_and(|formats| formats.contains(&MarkupKind::Markdown)),
            shows_tooltips: link.and_then(|link| link.tooltip_support) == Some(true),
            shows_documents: show.is_some_and(|show| show.support),
        }
    }
}

/// The answer to the first request.
pub(super) fn result(encoding: Encoding) -> InitializeResult {
    let sync = TextDocumentSyncOptions {
        open_close: Some(true),
        change: Some(TextDocumentSyncKind::INCREMENTAL),
        save: Some(TextDocumentSyncSaveOptions::SaveOptions(
            SaveOptions::default(),
        )),
        ..TextDocumentSyncOptions::default()
    };
    let completion = CompletionOptions {
        trigger_characters: Some([":", "/", "(", "{", "\"", "["].map(str::to_owned).to_vec()),
        ..CompletionOptions::default()
    };
    let rename = RenameOptions {
        prepare_provider: Some(true),
        work_done_progress_options: WorkDoneProgressOptions::default(),
    };
    let tokens = SemanticTokensOptions {
        legend: semantic_tokens::legend(),
        full: Some(SemanticTokensFullOptions::Bool(true)),
        ..SemanticTokensOptions::default()
    };
    let commands = ExecuteCommandOptions {
        commands: [commands::PREVIEW, commands::REHEARSE, commands::SHEETS]
            .map(str::to_owned)
            .to_vec(),
        ..ExecuteCommandOptions::default()
    };
    let links = DocumentLinkOptions {
        resolve_provider: None,
        work_done_progress_options: WorkDoneProgressOptions::default(),
    };
    let code_actions = CodeActionOptions {
        code_action_kinds: Some(vec![CodeActionKind::QUICKFIX]),
        ..CodeActionOptions::default()
    };
    InitializeResult {
        capabilities: ServerCapabilities {
            position_encoding: Some(encoding.kind()),
            text_document_sync: Some(TextDocumentSyncCapability::Options(sync)),
            code_action_provider: Some(CodeActionProviderCapability::Options(code_actions)),
            completion_provider: Some(completion),
            hover_provider: Some(HoverProviderCapability::Simple(true)),
            definition_provider: Some(OneOf::Left(true)),
            references_provider: Some(OneOf::Left(true)),
            document_highlight_provider: Some(OneOf::Left(true)),
            rename_provider: Some(OneOf::Right(rename)),
            document_symbol_provider: Some(OneOf::Left(true)),
            workspace_symbol_provider: Some(OneOf::Left(true)),
            folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
            document_link_provider: Some(links),
            semantic_tokens_provider: Some(
                SemanticTokensServerCapabilities::SemanticTokensOptions(tokens),
            ),
            inlay_hint_provider: Some(OneOf::Left(true)),
            code_lens_provider: Some(CodeLensOptions {
                resolve_provider: None,
            }),
            execute_command_provider: Some(commands),
            workspace: Some(WorkspaceServerCapabilities {
                workspace_folders: Some(WorkspaceFoldersServerCapabilities {
                    supported: Some(true),
                    change_notifications: Some(OneOf::Left(true)),
                }),
                file_operations: None,
            }),
            ..ServerCapabilities::default()
        },
        server_info: Some(ServerInfo {
            name: "benchleaf".to_owned(),
            version: Some(env!("CARGO_PKG_VERSION").to_owned()),
        }),
    }
}

/// The request that the client tells of changed sources and figures.
pub(super) fn watch_files() -> Request {
    let watcher = FileSystemWatcher {
        glob_pattern: GlobPattern::String("**/*.{toml,md,svg,png,jpg,jpeg}".to_owned()),
        kind: None,
    };
    let options = DidChangeWatchedFilesRegistrationOptions {
        watchers: vec![watcher],
    };
    let registration = Registration {
        id: "sources".to_owned(),
        method: "workspace/didChangeWatchedFiles".to_owned(),
        register_options: serde_json::to_value(options).ok(),
    };
    let parameters = RegistrationParams {
        registrations: vec![registration],
    };
    Request::new(
        RequestId::from("watch-sources".to_owned()),
        "client/registerCapability".to_owned(),
        parameters,
    )
}
