//! Answers requests, each by the file of what is asked for.

use super::code_actions;
use super::session::Client;
use super::transport::Outbox;
use lsp_server::{ErrorCode, Request, RequestId, Response};
use lsp_types::request as ask;
use serde::Serialize;
use serde::de::DeserializeOwned;

/// Why a request is refused: a sentence that the client shows.
pub(super) type Refusal = String;

/// Answers a request. One of a method that is not offered is refused.
pub(super) fn answer(client: &mut Client, _outbox: &Outbox, request: Request) -> Response {
    let Request { id, method, params } = request;
    let asked = Asked { id, params };
    match method.as_str() {
        <ask::CodeActionRequest as ask::Request>::METHOD => {
            asked.answer(|parameters| Ok(code_actions::code_actions(client, &parameters)))
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
    /// Reads the parameters and makes the answer.
    fn answer<P: DeserializeOwned, R: Serialize>(
        self,
        make: impl FnOnce(P) -> Result<R, Refusal>,
    ) -> Response {
        let parameters = match serde_json::from_value(self.params) {
            Ok(parameters) => parameters,
            Err(error) => {
                let code = ErrorCode::InvalidParams as i32;
                return Response::new_err(self.id, code, error.to_string());
            }
        };
        match make(parameters) {
            Ok(result) => Response::new_ok(self.id, result),
            Err(why) => Response::new_err(self.id, ErrorCode::RequestFailed as i32, why),
        }
    }
}
