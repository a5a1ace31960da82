//! The client of a session.

use super::abilities::Abilities;
use super::started::Started;
use super::workspace::Workspace;

/// Why a request is refused: a sentence that the client shows.
pub(super) type Refusal = String;

/// What is known of the client after its first request.
pub(super) struct Client {
    pub(super) workspace: Workspace,
    pub(super) abilities: Abilities,
    pub(super) started: Started,
}
