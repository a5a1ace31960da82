//! What the server offers, and what the client can do.

use super::encoding::Encoding;
use lsp_server::{Request, RequestId};
use lsp_types::{
    ClientCapabilities, CodeActionKind, CodeActionOptions, CodeActionProviderCapability,
    DidChangeWatchedFilesRegistrationOptions, FileSystemWatcher, GlobPattern, InitializeResult,
    OneOf, Registration, RegistrationParams, SaveOptions, ServerCapabilities, ServerInfo,
    TextDocumentSyncCapability, TextDocumentSyncKind, TextDocumentSyncOptions,
    TextDocumentSyncSaveOptions, WorkspaceFoldersServerCapabilities, WorkspaceServerCapabilities,
};

/// What the client can do.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Abilities {
    /// Tell of changed files when it is asked to.
    pub(super) watches_files: bool,
    /// Change several documents in one edit, with their versions.
    pub(super) changes_documents: bool,
    /// Rename files in such an edit.
    pub(super) renames_files: bool,
}

impl Abilities {
    pub(super) fn of(client: &ClientCapabilities) -> Abilities {
        let workspace = client.workspace.as_ref();
        let watched = workspace.and_then(|workspace| workspace.did_change_watched_files);
        let edit = workspace.and_then(|workspace| workspace.workspace_edit.as_ref());
        let operations = edit.and_then(|edit| edit.resource_operations.as_ref());
        let changes_documents = edit.and_then(|edit| edit.document_changes) == Some(true);
        Abilities {
            watches_files: watched.and_then(|watched| watched.dynamic_registration) == Some(true),
            changes_documents,
            renames_files: changes_documents
                && operations.is_some_and(|operations| {
                    operations.contains(&lsp_types::ResourceOperationKind::Rename)
                }),
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
    let code_actions = CodeActionOptions {
        code_action_kinds: Some(vec![CodeActionKind::QUICKFIX]),
        ..CodeActionOptions::default()
    };
    InitializeResult {
        capabilities: ServerCapabilities {
            position_encoding: Some(encoding.kind()),
            text_document_sync: Some(TextDocumentSyncCapability::Options(sync)),
            code_action_provider: Some(CodeActionProviderCapability::Options(code_actions)),
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
