//! Answers requests: one a connection, one thread each.

use super::board::{Board, Heard, State, digest};
use super::place::{content_type, decode};
use super::request::{self, Refused, Request};
use std::fs;
use std::io::{self, Read as _, Write};
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, Shutdown, SocketAddr, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::{self, JoinHandle};
use std::time::Duration;

/// Where a page listens. No file is served by a hidden name, so none has this one.
const EVENTS: &str = "/.preview/events";
/// More than all the tabs of a shop; who opens more waits in vain.
const MOST_CONNECTIONS: usize = 200;
/// Who sends or takes nothing for so long is gone. Browsers open connections ahead of need.
const PATIENCE: Duration = Duration::from_secs(10);
/// So much of what follows a request is read, to be ignored, in bytes.
const MOST_IGNORED: usize = 1 << 20;
/// So often a listener is written to, to see that it is there.
const HEARTBEAT: Duration = Duration::from_secs(5);

/// A server, which ends when it is dropped.
#[derive(Debug)]
pub(super) struct Server {
    address: SocketAddr,
    board: Arc<Board>,
    accepting: Option<JoinHandle<()>>,
}

impl Server {
    /// Serves what is on a board.
    pub(super) fn start(listener: TcpListener, board: Arc<Board>) -> io::Result<Server> {
        let address = listener.local_addr()?;
        let of_thread = Arc::clone(&board);
        let accepting = thread::Builder::new()
            .name("preview".to_owned())
            .spawn(move || accept(&listener, address, &of_thread))?;
        Ok(Server {
            address,
            board,
            accepting: Some(accepting),
        })
    }

    pub(super) fn address(&self) -> SocketAddr {
        self.address
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.board.end();
        // Whoever accepts wakes at a connection only.
        let ip = match self.address.ip() {
            IpAddr::V4(ip) if ip.is_unspecified() => IpAddr::V4(Ipv4Addr::LOCALHOST),
            IpAddr::V6(ip) if ip.is_unspecified() => IpAddr::V6(Ipv6Addr::LOCALHOST),
            ip => ip,
        };
        let address = SocketAddr::new(ip, self.address.port());
        let is_awake = TcpStream::connect_timeout(&address, PATIENCE).is_ok();
        if let Some(accepting) = self.accepting.take().filter(|_| is_awake) {
            // If it died, it has ended as well.
            let _ = accepting.join();
        }
    }
}

fn accept(listener: &TcpListener, address: SocketAddr, board: &Arc<Board>) {
    let open = Arc::new(AtomicUsize::new(0));
    for stream in listener.incoming() {
        if board.has_ended() {
            return;
        }
        let Ok(stream) = stream else {
            // No more files may be open, for example: that passes.
            thread::sleep(Duration::from_millis(50));
            continue;
        };
        let place = Place::take(&open);
        let board = Arc::clone(board);
        let answering = thread::Builder::new().spawn(move || {
            // Who goes away half way is no fault of ours.
            if place.is_some() {
                let _ = answer(stream, address, &board);
            }
        });
        // Without a thread the connection closes, and the browser asks again.
        drop(answering);
    }
}

/// One of the connections that may be open at a time.
struct Place(Arc<AtomicUsize>);

impl Place {
    fn take(open: &Arc<AtomicUsize>) -> Option<Place> {
        let place = Place(Arc::clone(open));
        (open.fetch_add(1, Ordering::Relaxed) < MOST_CONNECTIONS).then_some(place)
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::Relaxed);
    }
}

/// What is answered, but for what all answers carry.
struct Answer {
    status: &'static str,
    content_type: &'static str,
    body: Vec<u8>,
}

impl Answer {
    fn plain(status: &'static str) -> Answer {
        Answer {
            status,
            content_type: "text/plain; charset=utf-8",
            body: format!("{status}\n").into_bytes(),
        }
    }
}

fn answer(mut stream: TcpStream, address: SocketAddr, board: &Board) -> io::Result<()> {
    stream.set_read_timeout(Some(PATIENCE))?;
    stream.set_write_timeout(Some(PATIENCE))?;
    stream.set_nodelay(true)?;
    let head = request::read(&mut stream)?;
    let asked = head.and_then(|head| request::parse(&head, address));
    let is_head = asked.as_ref().is_ok_and(|request| request.is_head);
    let answer = match asked {
        Ok(request) if request.path == EVENTS => return tell(stream, &request, board),
        Ok(request) => page(&request.path, board),
        Err(Refused::Broken) => Answer::plain("400 Bad Request"),
        Err(Refused::Method) => Answer::plain("405 Method Not Allowed"),
        Err(Refused::OtherHost) => Answer::plain("421 Misdirected Request"),
        Err(Refused::TooLong) => Answer::plain("431 Request Header Fields Too Large"),
    };
    let head = head_of(answer.status, answer.content_type);
    let length = answer.body.len();
    let mut sent = format!("{head}Content-Length: {length}\r\n\r\n").into_bytes();
    if !is_head {
        sent.extend(answer.body);
    }
    stream.write_all(&sent)?;
    // Closing on what was sent to us and not read would take our answer back.
    stream.shutdown(Shutdown::Write)?;
    let mut rest = [0; 4096];
    for _ in 0..MOST_IGNORED / rest.len() {
        if stream.read(&mut rest)? == 0 {
            break;
        }
    }
    Ok(())
}

/// The first lines of every answer.
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

/// The file that a path names; of a page, with what lets it follow its sources.
fn page(path: &str, board: &Board) -> Answer {
    let (frame, run) = (board.frame(), board.run());
    let found = board.file(path).and_then(|file| {
        // A file may go between the two.
        let bytes = fs::read(&file).ok()?;
        Some((content_type(&file), bytes))
    });
    match found {
        Some((content_type, bytes)) if content_type.starts_with("text/html") => {
            let page = Some(digest(&bytes));
            let state = State { page, run: &run };
            Answer {
                status: "200 OK",
                content_type,
                body: frame.around(&bytes, &state),
            }
        }
        Some((content_type, body)) => Answer {
            status: "200 OK",
            content_type,
            body,
        },
        // What is asked for as a page is answered with one.
        None if [".html", "/"].iter().any(|end| path.ends_with(end)) => {
            let state = State {
                page: None,
                run: &run,
            };
            Answer {
                status: if run.built {
                    "404 Not Found"
                } else {
                    "503 Service Unavailable"
                },
                content_type: "text/html; charset=utf-8",
                body: frame.around(frame.instead(run.built).as_bytes(), &state),
            }
        }
        None => Answer::plain("404 Not Found"),
    }
}

/// Tells a page of each change, for as long as it listens (WHATWG HTML, "Server-sent events").
fn tell(mut stream: TcpStream, request: &Request, board: &Board) -> io::Result<()> {
    let path = request.query.strip_prefix("page=").and_then(decode);
    let path = path.unwrap_or_default();
    let mut head = head_of("200 OK", "text/event-stream");
    head += "\r\n";
    stream.write_all(head.as_bytes())?;
    if request.is_head {
        return Ok(());
    }
    let mut known = None;
    loop {
        let text = match board.wait(known, HEARTBEAT) {
            Heard::End => return Ok(()),
            Heard::Nothing => ": here\n\n".to_owned(),
            Heard::New(version, run) => {
                known = Some(version);
                // A JSON has no line breaks of its own.
                let json = serde_json::to_string(&board.state(&path, &run))?;
                // Tried again soon where the connection breaks.
                format!("retry: 1000\nid: {version}\ndata: {json}\n\n")
            }
        };
        stream.write_all(text.as_bytes())?;
    }
}
