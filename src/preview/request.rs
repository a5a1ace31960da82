//! Reads the head of an HTTP request, and decides whether to answer it.

use std::io::{self, Read};
use std::net::{IpAddr, SocketAddr};

/// The longest accepted head, in bytes. Browsers send shorter ones.
const MAX_HEAD: usize = 16 * 1024;
const MAX_HEADERS: usize = 100;

/// A request that can be answered.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Request {
    /// Whether the method is HEAD, whose response has no body.
    pub(super) is_head: bool,
    /// The path as sent, still percent-encoded.
    pub(super) path: String,
    /// The query, without its question mark.
    pub(super) query: String,
}

/// Why a request is refused.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum RequestError {
    /// It is not a complete HTTP request.
    Malformed,
    /// Its head is too long.
    TooLong,
    /// Its `Host` is not this server's. It may be a foreign name that resolves to this machine.
    OtherHost,
    /// Its method is neither GET nor HEAD.
    Method,
}

/// Reads the head of a request. A body is ignored. The stream limits the time of all reads together.
///
/// # Errors
///
/// If the connection is closed or times out.
pub(super) fn read(stream: &mut impl Read) -> io::Result<Result<Vec<u8>, RequestError>> {
    let mut head = Vec::new();
    let mut buffer = [0; 4096];
    while head.len() <= MAX_HEAD {
        let count = stream.read(&mut buffer)?;
        if count == 0 {
            return Err(io::ErrorKind::UnexpectedEof.into());
        }
        // The empty line at the end can be split between two reads.
        let start = head.len().saturating_sub(3);
        head.extend_from_slice(&buffer[..count]);
        if head[start..].windows(4).any(|end| end == b"\r\n\r\n") {
            return Ok(Ok(head));
        }
    }
    Ok(Err(RequestError::TooLong))
}

/// Parses the head of a request to the server at this address.
pub(super) fn parse(head: &[u8], served: SocketAddr) -> Result<Request, RequestError> {
    let mut headers = [httparse::EMPTY_HEADER; MAX_HEADERS];
    let mut parsed = httparse::Request::new(&mut headers);
    match parsed.parse(head) {
        Ok(status) if status.is_complete() => {}
        Err(httparse::Error::TooManyHeaders) => return Err(RequestError::TooLong),
        _ => return Err(RequestError::Malformed),
    }
    let mut hosts = parsed
        .headers
        .iter()
        .filter(|header| header.name.eq_ignore_ascii_case("host"));
    // There must be exactly one (RFC 9112, 3.2).
    let (Some(host), None) = (hosts.next(), hosts.next()) else {
        return Err(RequestError::Malformed);
    };
    let is_ours = std::str::from_utf8(host.value).is_ok_and(|host| is_ours(host.trim(), served));
    if !is_ours {
        return Err(RequestError::OtherHost);
    }
    let is_head = match parsed.method {
        Some("GET") => false,
        Some("HEAD") => true,
        _ => return Err(RequestError::Method),
    };
    let target = parsed.path.filter(|target| target.starts_with('/'));
    let target = target.ok_or(RequestError::Malformed)?;
    let (path, query) = target.split_once('?').unwrap_or((target, ""));
    Ok(Request {
        is_head,
        path: path.to_owned(),
        query: query.to_owned(),
    })
}

/// Whether a `Host` header names the served address.
///
/// This prevents DNS rebinding: a foreign site can point its own name at this machine, but the
/// browser then sends that name. It can't do so with an IP address.
fn is_ours(host: &str, served: SocketAddr) -> bool {
    let (name, port) = match host.rsplit_once(':') {
        // The colons in `[::1]` don't begin a port.
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
        Some(ip_v6) => ip_v6.parse().ok().map(IpAddr::V6),
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

    fn parsed(head: &str) -> Result<Request, RequestError> {
        parse(head.as_bytes(), at("127.0.0.1:7340"))
    }

    const HOST: &str = "Host: 127.0.0.1:7340\r\n\r\n";

    #[test]
    fn get_and_head_requests_are_parsed() {
        let get = parsed(&format!("GET /a/b.html?x=%2F&y HTTP/1.1\r\n{HOST}")).unwrap();
        assert!(!get.is_head);
        assert_eq!(
            (get.path.as_str(), get.query.as_str()),
            ("/a/b.html", "x=%2F&y")
        );
        assert!(
            parsed(&format!("HEAD / HTTP/1.0\r\n{HOST}"))
                .unwrap()
                .is_head
        );
    }

    #[test]
    fn other_and_malformed_requests_are_refused() {
        for (head, error) in [
            (format!("POST / HTTP/1.1\r\n{HOST}"), RequestError::Method),
            (
                format!("OPTIONS / HTTP/1.1\r\n{HOST}"),
                RequestError::Method,
            ),
            (format!("get / HTTP/1.1\r\n{HOST}"), RequestError::Method),
            ("GET / HTTP/1.1\r\n\r\n".to_owned(), RequestError::Malformed),
            (
                format!("GET / HTTP/1.1\r\nHost: 127.0.0.1:7340\r\n{HOST}"),
                RequestError::Malformed,
            ),
            (
                format!("GET http://127.0.0.1:7340/ HTTP/1.1\r\n{HOST}"),
                RequestError::Malformed,
            ),
            (
                format!("GET index.html HTTP/1.1\r\n{HOST}"),
                RequestError::Malformed,
            ),
            (format!("GET * HTTP/1.1\r\n{HOST}"), RequestError::Malformed),
            (format!("GET / HTTP/2.0\r\n{HOST}"), RequestError::Malformed),
            (
                "\u{16}\u{3}\u{1}\r\n\r\n".to_owned(),
                RequestError::Malformed,
            ),
            (
                format!("GET / HTTP/1.1\r\n{}{HOST}", "a: b\r\n".repeat(200)),
                RequestError::TooLong,
            ),
        ] {
            assert_eq!(parsed(&head), Err(error), "{head}");
        }
    }

    #[test]
    fn host_must_be_the_served_address_or_localhost() {
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
    fn head_must_be_complete_and_within_the_limit() {
        let mut whole: &[u8] = b"GET / HTTP/1.1\r\n\r\nbody";
        assert!(matches!(read(&mut whole), Ok(Ok(_))));
        let mut half: &[u8] = b"GET / HTTP/1.1\r\n";
        assert!(read(&mut half).is_err());
        let long = vec![b'a'; 2 * MAX_HEAD];
        assert!(matches!(
            read(&mut long.as_slice()),
            Ok(Err(RequestError::TooLong))
        ));
    }
}
