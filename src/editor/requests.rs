//! Answers requests, each by the file of what is asked for.

use super::client::{Client, Refusal};
use super::transport::Outbox;
use super::{
    code_actions, code_lenses, commands, completion, definition, folding, hover, inlay_hints,
    links, rename, semantic_tokens, symbols,
};
use lsp_server::{ErrorCode, Request, RequestId, Response};
use lsp_types::request::{self as ask, Request as _};
use serde::Serialize;
use serde::de::DeserializeOwned;

/// Answers a request. One of a method that is not offered is refused.
pub(super) fn answer(client: &mut Client, outbox: &Outbox, request: Request) -> Response {
    let Request { id, method, params } = request;
    let asked = Asked { id, params };
    match method.as_str() {
        ask::CodeActionRequest::METHOD => {
            asked.of(|asked| code_actions::code_actions(client, asked))
        }
        ask::CodeLensRequest::METHOD => asked.of(|asked| code_lenses::code_lenses(client, asked)),
        ask::Completion::METHOD => asked.of(|asked| completion::completion(client, asked)),
        ask::DocumentHighlightRequest::METHOD => {
            asked.of(|asked| definition::highlights(client, asked))
        }
        ask::DocumentLinkRequest::METHOD => asked.of(|asked| links::document_links(client, asked)),
        ask::DocumentSymbolRequest::METHOD => {
            asked.of(|asked| symbols::document_symbols(client, asked))
        }
        ask::ExecuteCommand::METHOD => {
            asked.try_of(|asked| commands::execute(client, outbox, asked))
        }
        ask::FoldingRangeRequest::METHOD => asked.of(|asked| folding::folding(client, asked)),
        ask::GotoDefinition::METHOD => asked.of(|asked| definition::definition(client, asked)),
        ask::HoverRequest::METHOD => asked.of(|asked| hover::hover(client, asked)),
        ask::InlayHintRequest::METHOD => asked.of(|asked| inlay_hints::inlay_hints(client, asked)),
        ask::PrepareRenameRequest::METHOD => asked.try_of(|asked| rename::prepare(client, asked)),
        ask::References::METHOD => asked.of(|asked| definition::references(client, asked)),
        ask::Rename::METHOD => asked.try_of(|asked| rename::rename(client, asked)),
        ask::SemanticTokensFullRequest::METHOD => {
            asked.of(|asked| semantic_tokens::semantic_tokens(client, asked))
        }
        ask::WorkspaceSymbolRequest::METHOD => {
            asked.of(|asked| symbols::workspace_symbols(client, asked))
        }
        _ => {
            let message = format!("`{method}` is not offered");
            Response::new_err(asked.id, ErrorCode::MethodNotFound as i32, message)
        }
    }
}

struct Asked {
    id: RequestId,
    params: serde_json::Value,
}

impl Asked {
    /// Makes an answer that is never refused.
    fn of<P: DeserializeOwned, R: Serialize>(self, make: impl FnOnce(&P) -> R) -> Response {
        self.try_of(|parameters| Ok(make(parameters)))
    }

    /// Reads the parameters and makes the answer.
    fn try_of<P: DeserializeOwned, R: Serialize>(
        self,
        make: impl FnOnce(&P) -> Result<R, Refusal>,
    ) -> Response {
        let parameters = match serde_json::from_value(self.params) {
            Ok(parameters) => parameters,
            Err(error) => {
                let code = ErrorCode::InvalidParams as i32;
                return Response::new_err(self.id, code, error.to_string());
            }
        };
        match make(&parameters) {
            Ok(result) => Response::new_ok(self.id, result),
            Err(why) => Response::new_err(self.id, ErrorCode::RequestFailed as i32, why),
        }
    }
}
