//! A request's head, and whether it is one for us.

use std::io::{self, Read};
use std::net::{IpAddr, SocketAddr};

/// No browser's head is longer.
const LONGEST: usize = 16 * 1024;
const MOST_HEADERS: usize = 100;
/// A head comes in one piece, or a few; who sends it byte by byte means no good.
const MOST_PIECES: usize = 64;

/// What is asked for.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Request {
    /// Whether the content itself is wanted, or only what would be said of it.
    pub(super) is_head: bool,
    /// The path, as it was sent.
    pub(super) path: String,
    /// What follows the path's question mark.
    pub(super) query: String,
}

/// Why a request gets no answer to what it asks.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Refused {
    /// Not HTTP, or not a whole request.
    Broken,
    /// Its head has no end.
    TooLong,
    /// Sent to another host's name, which somebody may have pointed at this machine.
    OtherHost,
    /// It wants to change something, and nothing here can be changed.
    Method,
}

/// Reads the head of a request; what follows it is nobody's concern.
///
/// # Errors
///
/// When the other side goes away or falls silent.
pub(super) fn read(stream: &mut impl Read) -> io::Result<Result<Vec<u8>, Refused>> {
    let mut head = Vec::new();
    let mut piece = [0; 4096];
    for _ in 0..MOST_PIECES {
        let count = stream.read(&mut piece)?;
        if count == 0 {
            return Err(io::ErrorKind::UnexpectedEof.into());
        }
        // The end may lie across two pieces.
        let from = head.len().saturating_sub(3);
        head.extend_from_slice(&piece[..count]);
        if head[from..].windows(4).any(|end| end == b"\r\n\r\n") {
            return Ok(Ok(head));
        }
        if head.len() > LONGEST {
            break;
        }
    }
    Ok(Err(Refused::TooLong))
}

/// What a head asks for, of a server at this address.
pub(super) fn parse(head: &[u8], served: SocketAddr) -> Result<Request, Refused> {
    let mut headers = [httparse::EMPTY_HEADER; MOST_HEADERS];
    let mut parsed = httparse::Request::new(&mut headers);
    match parsed.parse(head) {
        Ok(status) if status.is_complete() => {}
        Err(httparse::Error::TooManyHeaders) => return Err(Refused::TooLong),
        _ => return Err(Refused::Broken),
    }
    let mut hosts = parsed
        .headers
        .iter()
        .filter(|header| header.name.eq_ignore_ascii_case("host"));
    // Exactly one, as RFC 9112, 3.2 has it.
    let (Some(host), None) = (hosts.next(), hosts.next()) else {
        return Err(Refused::Broken);
    };
    let is_ours = std::str::from_utf8(host.value).is_ok_and(|host| is_ours(host.trim(), served));
    if !is_ours {
        return Err(Refused::OtherHost);
    }
    let is_head = match parsed.method {
        Some("GET") => false,
        Some("HEAD") => true,
        _ => return Err(Refused::Method),
    };
    let target = parsed.path.filter(|target| target.starts_with('/'));
    let target = target.ok_or(Refused::Broken)?;
    let (path, query) = target.split_once('?').unwrap_or((target, ""));
    Ok(Request {
        is_head,
        path: path.to_owned(),
        query: query.to_owned(),
    })
}

/// Whether a request to this host is one to the address that is served.
///
/// A page of somebody else's may have its name lead to this machine and then read ours as its own;
/// but then the request carries that name. A number can't be made to lead elsewhere.
fn is_ours(host: &str, served: SocketAddr) -> bool {
    let (name, port) = match host.rsplit_once(':') {
        // The colons of `[::1]` are no port's.
        Some((name, port)) if !port.ends_with(']') => (name, port.parse().ok()),
        _ => (host, Some(80)),
    };
    if port != Some(served.port()) {
        return false;
    }
    if name.eq_ignore_ascii_case("localhost") {
        return served.ip().is_loopback() || served.ip().is_unspecified();
    }
    let bare = name
        .strip_prefix('[')
        .and_then(|rest| rest.strip_suffix(']'));
    let number = match bare {
        Some(six) => six.parse().ok().map(IpAddr::V6),
        None => name.parse().ok().map(IpAddr::V4),
    };
    number.is_some_and(|number| number == served.ip() || served.ip().is_unspecified())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(address: &str) -> SocketAddr {
        address.parse().unwrap()
    }

    fn asked(head: &str) -> Result<Request, Refused> {
        parse(head.as_bytes(), at("127.0.0.1:7340"))
    }

    const HOST: &str = "Host: 127.0.0.1:7340\r\n\r\n";

    #[test]
    fn a_request_is_read() {
        let get = asked(&format!("GET /a/b.html?x=%2F&y HTTP/1.1\r\n{HOST}")).unwrap();
        assert!(!get.is_head);
        assert_eq!(
            (get.path.as_str(), get.query.as_str()),
            ("/a/b.html", "x=%2F&y")
        );
        assert!(
            asked(&format!("HEAD / HTTP/1.0\r\n{HOST}"))
                .unwrap()
                .is_head
        );
    }

    #[test]
    fn what_is_no_request_for_us_is_refused() {
        for (head, why) in [
            (format!("POST / HTTP/1.1\r\n{HOST}"), Refused::Method),
            (format!("OPTIONS / HTTP/1.1\r\n{HOST}"), Refused::Method),
            (format!("get / HTTP/1.1\r\n{HOST}"), Refused::Method),
            ("GET / HTTP/1.1\r\n\r\n".to_owned(), Refused::Broken),
            (
                format!("GET / HTTP/1.1\r\nHost: 127.0.0.1:7340\r\n{HOST}"),
                Refused::Broken,
            ),
            (
                format!("GET http://127.0.0.1:7340/ HTTP/1.1\r\n{HOST}"),
                Refused::Broken,
            ),
            (
                format!("GET index.html HTTP/1.1\r\n{HOST}"),
                Refused::Broken,
            ),
            (format!("GET * HTTP/1.1\r\n{HOST}"), Refused::Broken),
            (format!("GET / HTTP/2.0\r\n{HOST}"), Refused::Broken),
            ("\u{16}\u{3}\u{1}\r\n\r\n".to_owned(), Refused::Broken),
            (
                format!("GET / HTTP/1.1\r\n{}{HOST}", "a: b\r\n".repeat(200)),
                Refused::TooLong,
            ),
        ] {
            assert_eq!(asked(&head), Err(why), "{head}");
        }
    }

    #[test]
    fn a_host_is_ours_by_its_number_or_as_this_machine() {
        let loopback = "127.0.0.1:7340";
        let cases = [
            (loopback, "127.0.0.1:7340", true),
            (loopback, "localhost:7340", true),
            (loopback, "LOCALHOST:7340", true),
            (loopback, "localhost:7341", false),
            (loopback, "localhost", false),
            (loopback, "127.0.0.1", false),
            (loopback, "127.0.0.1:", false),
            (loopback, "127.0.0.2:7340", false),
            (loopback, "evil.example:7340", false),
            (loopback, "localhost.evil.example:7340", false),
            (loopback, "127.0.0.1.evil.example:7340", false),
            (loopback, "evil@127.0.0.1:7340", false),
            (loopback, "", false),
            ("127.0.0.1:80", "127.0.0.1", true),
            ("[::1]:7340", "[::1]:7340", true),
            ("[::1]:7340", "::1:7340", false),
            ("[::1]:7340", "localhost:7340", true),
            ("[::1]:80", "[::1]", true),
            ("192.168.7.2:7340", "192.168.7.2:7340", true),
            ("192.168.7.2:7340", "localhost:7340", false),
            ("0.0.0.0:7340", "192.168.7.2:7340", true),
            ("0.0.0.0:7340", "localhost:7340", true),
            ("0.0.0.0:7340", "evil.example:7340", false),
        ];
        for (served, host, expected) in cases {
            assert_eq!(is_ours(host, at(served)), expected, "{host} at {served}");
        }
    }

    #[test]
    fn a_head_ends_where_it_ends_or_is_too_long() {
        let mut whole: &[u8] = b"GET / HTTP/1.1\r\n\r\nbody";
        assert!(matches!(read(&mut whole), Ok(Ok(_))));
        let mut half: &[u8] = b"GET / HTTP/1.1\r\n";
        assert!(read(&mut half).is_err());
        let long = vec![b'a'; 2 * LONGEST];
        assert!(matches!(
            read(&mut long.as_slice()),
            Ok(Err(Refused::TooLong))
        ));
    }
}
