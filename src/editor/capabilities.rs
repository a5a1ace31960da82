//! What the server offers.

use super::encoding::Encoding;
use super::{commands, semantic_tokens};
use lsp_server::{Request, RequestId};
use lsp_types::{
    CodeActionKind, CodeActionOptions, CodeActionProviderCapability, CodeLensOptions,
    CompletionOptions, DidChangeWatchedFilesRegistrationOptions, DocumentLinkOptions,
    ExecuteCommandOptions, FileSystemWatcher, FoldingRangeProviderCapability, GlobPattern,
    HoverProviderCapability, InitializeResult, OneOf, Registration, RegistrationParams,
    RenameOptions, SaveOptions, SemanticTokensFullOptions, SemanticTokensOptions,
    SemanticTokensServerCapabilities, ServerCapabilities, ServerInfo, TextDocumentSyncCapability,
    TextDocumentSyncKind, TextDocumentSyncOptions, TextDocumentSyncSaveOptions,
    WorkDoneProgressOptions, WorkspaceFoldersServerCapabilities, WorkspaceServerCapabilities,
};

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
