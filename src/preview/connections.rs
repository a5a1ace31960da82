//! The open connections of the server: how many there may be, and which are closed to make room.

use std::collections::BTreeMap;
use std::io::{self, Read, Write};
use std::net::{IpAddr, Shutdown, TcpStream};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// The most connections at a time, more than a shop's tabs need.
pub(super) const MAX_CONNECTIONS: usize = 200;
/// The most connections of one address. A browser opens six to one server, and many computers can be behind one
/// address.
pub(super) const MAX_OF_ADDRESS: usize = 64;

/// The open connections. One that has sent no complete request, or has its answer, is idle: it is closed when
/// there is no room for a new one, the oldest first. So nobody who only holds connections open keeps others out.
#[derive(Debug, Default)]
pub(super) struct Connections {
    open: Mutex<Open>,
}

#[derive(Debug, Default)]
struct Open {
    /// The number of the next connection.
    next: u64,
    /// By number, so the oldest first.
    connections: BTreeMap<u64, Entry>,
}

#[derive(Debug)]
struct Entry {
    address: IpAddr,
    stream: Arc<TcpStream>,
    is_idle: bool,
}

impl Connections {
    fn open(&self) -> MutexGuard<'_, Open> {
        self.open.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Adds a connection, which is idle at first. `None` if there is no room for it.
    pub(super) fn add(
        self: &Arc<Connections>,
        stream: TcpStream,
        address: IpAddr,
    ) -> Option<Connection> {
        let stream = Arc::new(stream);
        let number = self.open().add(&stream, address)?;
        Some(Connection {
            all: Arc::clone(self),
            number,
            stream,
        })
    }
}

impl Open {
    fn add(&mut self, stream: &Arc<TcpStream>, address: IpAddr) -> Option<u64> {
        let of_address = self
            .connections
            .values()
            .filter(|open| open.address == address);
        if of_address.count() >= MAX_OF_ADDRESS {
            self.close_idle(|open| open.address == address)?;
        }
        if self.connections.len() >= MAX_CONNECTIONS {
            self.close_idle(|_| true)?;
        }
        let number = self.next;
        self.next += 1;
        let open = Entry {
            address,
            stream: Arc::clone(stream),
            is_idle: true,
        };
        self.connections.insert(number, open);
        Some(number)
    }

    /// Closes the oldest idle connection among some. `None` if there is none.
    fn close_idle(&mut self, among: impl Fn(&Entry) -> bool) -> Option<()> {
        let mut idle = self.connections.iter().filter(|(_, open)| open.is_idle);
        let (&number, _) = idle.find(|(_, open)| among(open))?;
        let closed = self.connections.remove(&number)?;
        // Its thread then ends. An error means that the client has closed it already.
        let _ = closed.stream.shutdown(Shutdown::Both);
        Some(())
    }
}

/// An open connection. Dropping it makes room for another.
#[derive(Debug)]
pub(super) struct Connection {
    all: Arc<Connections>,
    number: u64,
    stream: Arc<TcpStream>,
}

impl Connection {
    pub(super) fn stream(&self) -> &TcpStream {
        &self.stream
    }

    /// Says whether it is idle, so that it may be closed to make room.
    pub(super) fn set_idle(&self, is_idle: bool) {
        if let Some(open) = self.all.open().connections.get_mut(&self.number) {
            open.is_idle = is_idle;
        }
    }

    /// The stream, to read and write until all of it has taken this long.
    pub(super) fn within(&self, time: Duration) -> Timed<'_> {
        Timed {
            stream: &self.stream,
            until: now() + time,
        }
    }
}

impl Drop for Connection {
    fn drop(&mut self) {
        self.all.open().connections.remove(&self.number);
    }
}

/// A stream with one deadline for all reads and writes.
#[derive(Debug)]
pub(super) struct Timed<'s> {
    stream: &'s TcpStream,
    until: Instant,
}

impl Timed<'_> {
    /// The time that is left.
    fn left(&self) -> io::Result<Option<Duration>> {
        let left = self.until.saturating_duration_since(now());
        if left.is_zero() {
            return Err(io::ErrorKind::TimedOut.into());
        }
        Ok(Some(left))
    }
}

impl Read for Timed<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        self.stream.set_read_timeout(self.left()?)?;
        self.stream.read(buffer)
    }
}

impl Write for Timed<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.stream.set_write_timeout(self.left()?)?;
        self.stream.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.stream.flush()
    }
}

#[allow(
    clippy::disallowed_methods,
    reason = "only the time that a connection may take depends on it"
)]
fn now() -> Instant {
    Instant::now()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::net::{Ipv4Addr, TcpListener};

    /// Connections that are said to come from these addresses, with their clients.
    fn add(
        listener: &TcpListener,
        all: &Arc<Connections>,
        from: u8,
    ) -> (TcpStream, Option<Connection>) {
        let client = TcpStream::connect(listener.local_addr().unwrap()).unwrap();
        let (stream, _) = listener.accept().unwrap();
        (
            client,
            all.add(stream, Ipv4Addr::new(192, 0, 2, from).into()),
        )
    }

    fn is_closed(mut client: &TcpStream) -> bool {
        client.set_nonblocking(true).unwrap();
        !matches!(client.read(&mut [0]), Err(error) if error.kind() == io::ErrorKind::WouldBlock)
    }

    #[test]
    fn the_oldest_idle_connection_of_the_address_makes_room() {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let all = Arc::new(Connections::default());
        let other = add(&listener, &all, 2);
        let own: Vec<_> = (0..MAX_OF_ADDRESS)
            .map(|_| add(&listener, &all, 1))
            .collect();
        own[0].1.as_ref().unwrap().set_idle(false);
        assert!(add(&listener, &all, 1).1.is_some());
        let closed: Vec<usize> = (0..own.len()).filter(|at| is_closed(&own[*at].0)).collect();
        assert_eq!(closed, [1], "the first one is answered");
        assert!(!is_closed(&other.0), "another address is not affected");
        // The number of the closed one is not taken by another, so dropping it makes no more room.
        drop(own);
        assert_eq!(all.open().connections.len(), 1);
    }

    #[test]
    fn no_connection_that_is_answered_is_closed() {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let all = Arc::new(Connections::default());
        let own: Vec<_> = (0..MAX_OF_ADDRESS)
            .map(|_| add(&listener, &all, 1))
            .collect();
        for (_, connection) in &own {
            connection.as_ref().unwrap().set_idle(false);
        }
        assert!(add(&listener, &all, 1).1.is_none());
        assert!(own.iter().all(|(client, _)| !is_closed(client)));
        assert!(add(&listener, &all, 2).1.is_some());
    }

    #[test]
    fn addresses_share_what_there_is() {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let all = Arc::new(Connections::default());
        let own: Vec<_> = (0..MAX_CONNECTIONS)
            .map(|count| add(&listener, &all, u8::try_from(count / 50).unwrap()))
            .collect();
        assert!(own.iter().all(|(_, connection)| connection.is_some()));
        assert!(add(&listener, &all, 9).1.is_some());
        assert!(is_closed(&own[0].0) && !is_closed(&own[1].0));
    }
}
