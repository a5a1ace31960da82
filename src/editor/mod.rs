//! A language server for editors, after the Language Server Protocol 3.17.
//!
//! In: requests and notifications of a client. Out: its answers, and diagnostics whenever they change. The sources are those
//! on the disk with the open documents over them. `shop_folder` keeps them up to date, `checker` checks them in
//! a thread of their own, and each thing that a client can ask for has a file. No request ends the session: what fails is
//! answered with an error. This stage never changes a file; it sends edits, which the client applies.

mod abilities;
mod address;
mod capabilities;
mod checker;
mod client;
mod code_actions;
mod code_lenses;
mod commands;
mod completion;
mod completion_context;
mod definition;
mod describe;
mod described;
mod diagnostics;
mod documents;
mod edits;
mod encoding;
mod folders;
mod folding;
mod hover;
mod inlay_hints;
mod jobs;
mod legend_names;
mod links;
mod name;
mod names;
mod place;
mod rename;
mod requests;
mod semantic_tokens;
mod session;
mod shop_folder;
mod started;
mod symbols;
mod toml_names;
mod toml_sections;
mod transport;
mod workspace;

use std::io::{self, BufRead, Write};
use transport::Transport;

/// Serves one client until it ends the session. Returns whether it ended it as the protocol says.
///
/// # Errors
///
/// If the threads can't be started, or the client can't be written to.
pub(crate) fn serve(
    reader: impl BufRead + Send + 'static,
    writer: impl Write + Send + 'static,
) -> io::Result<bool> {
    let transport = Transport::start(reader, writer)?;
    let is_ended = session::run(&transport.incoming, &transport.outbox);
    match transport.finish() {
        // The client is gone.
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(false),
        result => result.map(|()| is_ended),
    }
}

#[cfg(test)]
mod tests;
