//! Messages of the Language Server Protocol, read from one stream and written to another.

use lsp_server::Message;
use std::io::{self, BufRead, Write};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::JoinHandle;

/// What the client's stream brings.
#[derive(Debug)]
pub(super) enum Incoming {
    Message(Message),
    /// A message that can't be read, with the reason.
    Malformed(String),
}

/// Where messages to the client go. Several threads have one.
#[derive(Clone, Debug)]
pub(super) struct Outbox(Sender<Message>);

impl Outbox {
    pub(super) fn send(&self, message: impl Into<Message>) {
        // An error means that the client is gone, which the reader notices as well.
        let _ = self.0.send(message.into());
    }

    /// Sends a notification.
    pub(super) fn notify<N: lsp_types::notification::Notification>(&self, parameters: N::Params) {
        self.send(lsp_server::Notification::new(
            N::METHOD.to_owned(),
            parameters,
        ));
    }
}

/// A reader and a writer, each in a thread of its own, so that no request waits for a slow client.
pub(super) struct Transport {
    pub(super) incoming: Receiver<Incoming>,
    pub(super) outbox: Outbox,
    writer: JoinHandle<io::Result<()>>,
}

impl Transport {
    pub(super) fn start(
        reader: impl BufRead + Send + 'static,
        writer: impl Write + Send + 'static,
    ) -> io::Result<Transport> {
        let (sender, incoming) = channel();
        let (outbox, outgoing) = channel();
        // It ends with the stream. If the session ends before, the process does not wait for it.
        std::thread::Builder::new()
            .name("editor-reader".to_owned())
            .spawn(move || read(reader, &sender))?;
        let writer = std::thread::Builder::new()
            .name("editor-writer".to_owned())
            .spawn(move || write(writer, &outgoing))?;
        Ok(Transport {
            incoming,
            outbox: Outbox(outbox),
            writer,
        })
    }

    /// Waits until everything is written. All copies of the outbox must be gone.
    pub(super) fn finish(self) -> io::Result<()> {
        drop(self.outbox);
        let written = self.writer.join();
        written.unwrap_or_else(|_| Err(io::Error::other("the writer has failed")))
    }
}

fn read(mut reader: impl BufRead, sender: &Sender<Incoming>) {
    loop {
        let incoming = match Message::read(&mut reader) {
            Ok(Some(message)) => Incoming::Message(message),
            // The reader is behind the message that it could not read.
            Err(error) if error.kind() == io::ErrorKind::InvalidData => {
                Incoming::Malformed(error.to_string())
            }
            Ok(None) | Err(_) => return,
        };
        if sender.send(incoming).is_err() {
            return;
        }
    }
}

fn write(mut writer: impl Write, outgoing: &Receiver<Message>) -> io::Result<()> {
    for message in outgoing {
        message.write(&mut writer)?;
    }
    writer.flush()
}
