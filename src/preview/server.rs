//! Answers HTTP requests. Each connection has one request and its own thread.

use super::connections::{Connection, Connections};
use super::files::{content_type, decode};
use super::request::{self, Request, RequestError};
use super::shared::{SharedState, Update};
use super::status::{PageStatus, digest};
use std::fs;
use std::io::{self, Read as _, Write};
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, Shutdown, SocketAddr, TcpListener, TcpStream};
use std::sync::Arc;
use std::thread::{self, JoinHandle};
use std::time::Duration;

/// The path of the event stream. It is hidden, so it can't be that of a served file.
const EVENTS: &str = "/.preview/events";
/// How long a client may take to send the head of its request. Browsers open connections before they need them.
const REQUEST_TIME: Duration = Duration::from_secs(10);
/// How long a client may take to receive a file, such as a large photo over a weak network.
const ANSWER_TIME: Duration = Duration::from_mins(1);
/// How long a client may take to receive an event, and to close its connection.
const EVENT_TIME: Duration = Duration::from_secs(10);
/// How much of a request's body is read and ignored, in bytes.
const MAX_IGNORED: usize = 1 << 20;
/// How often an event stream is written to, to detect a closed connection.
const HEARTBEAT: Duration = Duration::from_secs(5);

/// A running server. Dropping it stops it.
#[derive(Debug)]
pub(super) struct Server {
    address: SocketAddr,
    shared: Arc<SharedState>,
    accepting: Option<JoinHandle<()>>,
}

impl Server {
    /// Serves the pages of a preview.
    pub(super) fn start(listener: TcpListener, shared: Arc<SharedState>) -> io::Result<Server> {
        let address = listener.local_addr()?;
        let thread_state = Arc::clone(&shared);
        let accepting = thread::Builder::new()
            .name("preview".to_owned())
            .spawn(move || accept(&listener, address, &thread_state))?;
        Ok(Server {
            address,
            shared,
            accepting: Some(accepting),
        })
    }

    pub(super) fn address(&self) -> SocketAddr {
        self.address
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.shared.end();
        // The accepting thread blocks until the next connection, so this makes one.
        let ip = match self.address.ip() {
            IpAddr::V4(ip) if ip.is_unspecified() => IpAddr::V4(Ipv4Addr::LOCALHOST),
            IpAddr::V6(ip) if ip.is_unspecified() => IpAddr::V6(Ipv6Addr::LOCALHOST),
            ip => ip,
        };
        let address = SocketAddr::new(ip, self.address.port());
        let is_awake = TcpStream::connect_timeout(&address, EVENT_TIME).is_ok();
        if let Some(accepting) = self.accepting.take().filter(|_| is_awake) {
            // An error means that the thread panicked, so it has ended too.
            let _ = accepting.join();
        }
    }
}

fn accept(listener: &TcpListener, address: SocketAddr, shared: &Arc<SharedState>) {
    let connections = Arc::new(Connections::default());
    loop {
        let accepted = listener.accept();
        if shared.has_ended() {
            return;
        }
        let Ok((stream, client)) = accepted else {
            // A temporary failure, such as too many open files.
            thread::sleep(Duration::from_millis(50));
            continue;
        };
        let Some(connection) = connections.add(stream, client.ip()) else {
            continue;
        };
        let shared = Arc::clone(shared);
        let answering = thread::Builder::new().spawn(move || {
            // An error here means that the client has gone.
            let _ = answer(&connection, address, &shared);
        });
        // Without a thread the connection closes, and the browser tries again.
        drop(answering);
    }
}

/// A response, without the headers that all responses have.
struct Response {
    status: &'static str,
    content_type: &'static str,
    body: Vec<u8>,
}

impl Response {
    fn plain(status: &'static str) -> Response {
        Response {
            status,
            content_type: "text/plain; charset=utf-8",
            body: format!("{status}\n").into_bytes(),
        }
    }
}

fn answer(connection: &Connection, address: SocketAddr, shared: &SharedState) -> io::Result<()> {
    connection.stream().set_nodelay(true)?;
    let head = request::read(&mut connection.within(REQUEST_TIME))?;
    connection.set_idle(false);
    let request = head.and_then(|head| request::parse(&head, address));
    let is_head = request.as_ref().is_ok_and(|request| request.is_head);
    let response = match request {
        Ok(request) if request.path == EVENTS => {
            return send_events(connection, &request, shared);
        }
        Ok(request) => page(&request.path, shared),
        Err(RequestError::Malformed) => Response::plain("400 Bad Request"),
        Err(RequestError::Method) => Response::plain("405 Method Not Allowed"),
        Err(RequestError::OtherHost) => Response::plain("421 Misdirected Request"),
        Err(RequestError::TooLong) => Response::plain("431 Request Header Fields Too Large"),
    };
    let head = head_of(response.status, response.content_type);
    let length = response.body.len();
    let mut sent = format!("{head}Content-Length: {length}\r\n\r\n").into_bytes();
    if !is_head {
        sent.extend(response.body);
    }
    connection.within(ANSWER_TIME).write_all(&sent)?;
    connection.set_idle(true);
    // Closing a connection with unread data would reset it, and the client might lose the response.
    connection.stream().shutdown(Shutdown::Write)?;
    let mut stream = connection.within(EVENT_TIME);
    let mut rest = [0; 4096];
    for _ in 0..MAX_IGNORED / rest.len() {
        if stream.read(&mut rest)? == 0 {
            break;
        }
    }
    Ok(())
}

/// The status line and the headers that all responses have.
fn head_of(status: &str, content_type: &str) -> String {
    let allow = if status.starts_with("405") {
        "Allow: GET, HEAD\r\n"
    } else {
        ""
    };
    format!(
        "HTTP/1.1 {status}\r\n\
         Content-Type: {content_type}\r\n\
         X-Content-Type-Options: nosniff\r\n\
         Cross-Origin-Resource-Policy: same-origin\r\n\
         Referrer-Policy: same-origin\r\n\
         Cache-Control: no-store\r\n\
         {allow}Connection: close\r\n"
    )
}

/// The file that a path names. An HTML page gets the preview's script.
fn page(path: &str, shared: &SharedState) -> Response {
    let (overlay, build) = (shared.overlay(), shared.build());
    let file = shared.file(path).and_then(|file| {
        // None if the file has been removed since.
        let bytes = fs::read(&file).ok()?;
        Some((content_type(&file), bytes))
    });
    match file {
        Some((content_type, bytes)) if content_type.starts_with("text/html") => {
            let page = Some(digest(&bytes));
            let status = PageStatus {
                page,
                build: &build,
            };
            Response {
                status: "200 OK",
                content_type,
                body: overlay.add_to(&bytes, &status),
            }
        }
        Some((content_type, body)) => Response {
            status: "200 OK",
            content_type,
            body,
        },
        // A request for a page is answered with a page.
        None if [".html", "/"].iter().any(|end| path.ends_with(end)) => {
            let status = PageStatus {
                page: None,
                build: &build,
            };
            Response {
                status: if build.built {
                    "404 Not Found"
                } else {
                    "503 Service Unavailable"
                },
                content_type: "text/html; charset=utf-8",
                body: overlay.add_to(overlay.placeholder(build.built).as_bytes(), &status),
            }
        }
        None => Response::plain("404 Not Found"),
    }
}

/// Sends an event to a page after each build, until the page closes the connection (WHATWG HTML,
/// "Server-sent events").
fn send_events(connection: &Connection, request: &Request, shared: &SharedState) -> io::Result<()> {
    let path = request.query.strip_prefix("page=").and_then(decode);
    let path = path.unwrap_or_default();
    let mut head = head_of("200 OK", "text/event-stream");
    head += "\r\n";
    let send = |text: &str| connection.within(EVENT_TIME).write_all(text.as_bytes());
    send(&head)?;
    if request.is_head {
        return Ok(());
    }
    let mut known = None;
    loop {
        let text = match shared.wait(known, HEARTBEAT) {
            Update::End => return Ok(()),
            Update::Timeout => ": here\n\n".to_owned(),
            Update::New(version, build) => {
                known = Some(version);
                // Compact JSON has no line breaks.
                let json = serde_json::to_string(&shared.page_status(&path, &build))?;
                // The page connects again after a second.
                format!("retry: 1000\nid: {version}\ndata: {json}\n\n")
            }
        };
        send(&text)?;
    }
}
