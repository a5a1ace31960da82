//! The session with a client: what is asked and noticed, one after the other.

use super::abilities::Abilities;
use super::address::path_of;
use super::capabilities;
use super::client::Client;
use super::documents::Document;
use super::encoding::Encoding;
use super::requests;
use super::started::Started;
use super::transport::{Incoming, Outbox};
use super::workspace::Workspace;
use lsp_server::{ErrorCode, Message, Notification, Request, RequestId, Response};
use lsp_types::notification::{self as notice, LogMessage, Notification as _};
use lsp_types::{
    CancelParams, DidChangeTextDocumentParams, DidChangeWatchedFilesParams,
    DidChangeWorkspaceFoldersParams, DidCloseTextDocumentParams, DidOpenTextDocumentParams,
    DidSaveTextDocumentParams, InitializeParams, LogMessageParams, MessageType, NumberOrString,
};
use serde::de::DeserializeOwned;
use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::mpsc::Receiver;

/// Serves a client. Returns whether it ended the session as the protocol says: with a shutdown before the exit.
pub(super) fn run(incoming: &Receiver<Incoming>, outbox: &Outbox) -> bool {
    let mut session = Session {
        outbox,
        queue: VecDeque::new(),
        cancelled: Vec::new(),
        state: State::New,
    };
    while let Some(message) = session.next(incoming) {
        if !session.handle(message) {
            break;
        }
    }
    let is_shut_down = matches!(session.state, State::ShutDown);
    if let State::Running(client) = &mut session.state {
        client.workspace.close();
    }
    is_shut_down
}

struct Session<'o> {
    outbox: &'o Outbox,
    /// What has come and is not handled yet.
    queue: VecDeque<Incoming>,
    /// The requests in the queue that the client does not need any more.
    cancelled: Vec<RequestId>,
    state: State,
}

enum State {
    New,
    Running(Box<Client>),
    ShutDown,
}

impl Session<'_> {
    /// The next message. Everything that has come is looked at first, because it may cancel the next request.
    fn next(&mut self, incoming: &Receiver<Incoming>) -> Option<Incoming> {
        if self.queue.is_empty() {
            let first = incoming.recv().ok()?;
            self.take(first);
        }
        while let Ok(message) = incoming.try_recv() {
            self.take(message);
        }
        self.queue.pop_front()
    }

    fn take(&mut self, incoming: Incoming) {
        if let Incoming::Message(Message::Notification(notification)) = &incoming
            && notification.method == notice::Cancel::METHOD
            && let Ok(cancel) = serde_json::from_value(notification.params.clone())
        {
            let CancelParams { id } = cancel;
            self.cancelled.push(match id {
                NumberOrString::Number(id) => id.into(),
                NumberOrString::String(id) => id.into(),
            });
        }
        self.queue.push_back(incoming);
    }

    /// Handles a message. Returns false after the last.
    fn handle(&mut self, incoming: Incoming) -> bool {
        match incoming {
            Incoming::Malformed(why) => self.log(format!("a message can't be read: {why}")),
            Incoming::Message(Message::Request(request)) => self.request(request),
            Incoming::Message(Message::Notification(notification)) => {
                if notification.method == notice::Exit::METHOD {
                    return false;
                }
                let method = notification.method.clone();
                let handled = catch_unwind(AssertUnwindSafe(|| self.notice(notification)));
                if handled.is_err() {
                    self.log(format!("`{method}` has failed"));
                }
            }
            // To requests that need no answer, such as to watch files.
            Incoming::Message(Message::Response(_)) => {}
        }
        true
    }

    fn log(&self, message: String) {
        self.outbox.notify::<LogMessage>(LogMessageParams {
            typ: MessageType::ERROR,
            message,
        });
    }

    fn request(&mut self, request: Request) {
        let id = request.id.clone();
        if let Some(index) = self.cancelled.iter().position(|other| *other == id) {
            self.cancelled.remove(index);
            let code = ErrorCode::RequestCanceled as i32;
            self.outbox
                .send(Response::new_err(id, code, "cancelled".to_owned()));
            return;
        }
        let method = request.method.clone();
        let answer = catch_unwind(AssertUnwindSafe(|| self.answer(request)));
        self.outbox.send(answer.unwrap_or_else(|_| {
            let message = format!("`{method}` has failed");
            Response::new_err(id, ErrorCode::InternalError as i32, message)
        }));
    }

    fn answer(&mut self, request: Request) -> Response {
        let id = request.id.clone();
        let refuse =
            |code: ErrorCode, why: &str| Response::new_err(id, code as i32, why.to_owned());
        match (&mut self.state, request.method.as_str()) {
            (State::New, "initialize") => self.initialize(request),
            (State::New, _) => refuse(ErrorCode::ServerNotInitialized, "`initialize` comes first"),
            (State::ShutDown, _) => refuse(ErrorCode::InvalidRequest, "the session is shut down"),
            (State::Running(_), "initialize") => refuse(
                ErrorCode::InvalidRequest,
                "the session is initialized already",
            ),
            (State::Running(client), "shutdown") => {
                client.workspace.close();
                self.state = State::ShutDown;
                Response::new_ok(request.id, ())
            }
            (State::Running(client), _) => requests::answer(client, self.outbox, request),
        }
    }

    fn initialize(&mut self, request: Request) -> Response {
        let parameters: InitializeParams = match serde_json::from_value(request.params) {
            Ok(parameters) => parameters,
            Err(error) => {
                let code = ErrorCode::InvalidParams as i32;
                return Response::new_err(request.id, code, error.to_string());
            }
        };
        let abilities = Abilities::of(&parameters.capabilities);
        let general = parameters.capabilities.general.as_ref();
        let offered = general.and_then(|general| general.position_encodings.as_deref());
        let encoding = Encoding::negotiated(offered);
        let mut workspace = Workspace::new(encoding, self.outbox.clone());
        for folder in workspace_folders(&parameters) {
            workspace.add_folder(folder);
        }
        let result = capabilities::result(encoding);
        self.state = State::Running(Box::new(Client {
            workspace,
            abilities,
            started: Started::default(),
        }));
        Response::new_ok(request.id, result)
    }

    fn notice(&mut self, notification: Notification) {
        let outbox = self.outbox;
        let State::Running(client) = &mut self.state else {
            return;
        };
        let workspace = &mut client.workspace;
        let method = notification.method.clone();
        let result = match method.as_str() {
            notice::Initialized::METHOD => {
                if client.abilities.watches_files {
                    outbox.send(capabilities::watch_files());
                }
                Ok(())
            }
            notice::DidOpenTextDocument::METHOD => read(notification).map(|opened| {
                let DidOpenTextDocumentParams { text_document } = opened;
                workspace.open(Document {
                    uri: text_document.uri,
                    version: text_document.version,
                    text: text_document.text,
                });
            }),
            notice::DidChangeTextDocument::METHOD => read(notification).map(|changed| {
                let DidChangeTextDocumentParams {
                    text_document,
                    content_changes,
                } = changed;
                workspace.change(&text_document.uri, text_document.version, content_changes);
            }),
            notice::DidSaveTextDocument::METHOD => read(notification).map(|saved| {
                let DidSaveTextDocumentParams { text_document, .. } = saved;
                workspace.save(&text_document.uri);
            }),
            notice::DidCloseTextDocument::METHOD => read(notification).map(|closed| {
                let DidCloseTextDocumentParams { text_document } = closed;
                workspace.close_document(&text_document.uri);
            }),
            notice::DidChangeWatchedFiles::METHOD => read(notification).map(|changed| {
                let DidChangeWatchedFilesParams { changes } = changed;
                workspace.files_changed(&changes);
            }),
            notice::DidChangeWorkspaceFolders::METHOD => read(notification).map(|changed| {
                let DidChangeWorkspaceFoldersParams { event } = changed;
                for folder in event.added {
                    if let Some(path) = path_of(&folder.uri) {
                        workspace.add_folder(path);
                    }
                }
                for folder in event.removed {
                    if let Some(path) = path_of(&folder.uri) {
                        workspace.remove_folder(&path);
                    }
                }
            }),
            notice::Cancel::METHOD => {
                // If the request was in the queue, it is answered by now.
                if let Ok(CancelParams { id }) = read(notification) {
                    let id = match id {
                        NumberOrString::Number(id) => RequestId::from(id),
                        NumberOrString::String(id) => RequestId::from(id),
                    };
                    self.cancelled.retain(|other| *other != id);
                }
                Ok(())
            }
            _ => Ok(()),
        };
        if let Err(why) = result {
            self.log(format!("`{method}` can't be read: {why}"));
        }
    }
}

fn read<P: DeserializeOwned>(notification: Notification) -> Result<P, String> {
    serde_json::from_value(notification.params).map_err(|error| error.to_string())
}

/// The folders that the client has opened. Old clients name one, by its address or its path.
#[expect(deprecated, reason = "old clients have nothing else")]
fn workspace_folders(parameters: &InitializeParams) -> Vec<PathBuf> {
    if let Some(folders) = &parameters.workspace_folders {
        return folders
            .iter()
            .filter_map(|folder| path_of(&folder.uri))
            .collect();
    }
    let root = parameters.root_uri.as_ref().and_then(path_of);
    let path = || parameters.root_path.as_ref().map(PathBuf::from);
    root.or_else(path).into_iter().collect()
}
