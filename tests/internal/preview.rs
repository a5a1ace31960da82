//! The server of the preview, over plain TCP: its HTTP answers, and its pages and events after changes of the sources.

use super::support::{copy, tree, write};
use crate::preview::{Check, Outcome, Preview, PreviewError, Settings};
use std::fs;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::PathBuf;
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;

const CHECK: &Check<'static> =
    &|sources, look| crate::check_jobs(sources, None, crate::publish::summarizer(sources, look));
/// A limit for waits, so that a fault does not hang the test. No test takes nearly as long.
const TIMEOUT: Duration = Duration::from_secs(20);
const SHEET: &str = "/hand-pump/cover-shop-sheet.html";

/// A preview of a copy of the tree `hand-pump`.
struct Shop {
    preview: Preview<'static>,
    folder: tempfile::TempDir,
}

impl Shop {
    /// The pages have been built.
    fn new() -> Shop {
        let mut shop = Shop::without_pages(|_| {});
        assert!(shop.next().changed.is_some_and(|files| files > 9));
        shop
    }

    fn without_pages(change_files: impl FnOnce(&std::path::Path)) -> Shop {
        let folder = tempfile::tempdir().unwrap();
        copy(&tree("hand-pump"), &folder.path().join("procedures"));
        change_files(folder.path());
        let settings = Settings {
            tree: folder.path().join("procedures"),
            templates: folder.path().join("templates"),
            address: "127.0.0.1:0".parse().unwrap(),
        };
        let preview = Preview::open(settings, CHECK).unwrap();
        Shop { preview, folder }
    }

    fn path(&self, path: &str) -> PathBuf {
        self.folder.path().join(path)
    }

    /// The outcome of the next build.
    fn next(&mut self) -> Outcome {
        let (done, done_receiver) = channel::<()>();
        let stopper = self.preview.stopper();
        let waiting = thread::spawn(move || {
            if done_receiver.recv_timeout(TIMEOUT) == Err(RecvTimeoutError::Timeout) {
                stopper.stop();
            }
        });
        let outcome = self.preview.next();
        drop(done);
        waiting.join().unwrap();
        outcome.expect("the change is detected")
    }

    fn change(&mut self, path: &str, content: impl AsRef<[u8]>) -> Outcome {
        write(&self.path(path), content);
        self.next()
    }

    fn read(&self, path: &str) -> String {
        fs::read_to_string(self.path(path)).unwrap()
    }

    /// Sends bytes, and returns the whole answer.
    fn send(&self, bytes: impl AsRef<[u8]>) -> String {
        let mut stream = connect(self.preview.address());
        stream.write_all(bytes.as_ref()).unwrap();
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).unwrap();
        String::from_utf8_lossy(&answer).into_owned()
    }

    fn get(&self, path: &str) -> String {
        let address = self.preview.address();
        self.send(format!("GET {path} HTTP/1.1\r\nHost: {address}\r\n\r\n"))
    }

    /// The events for a page. Each call waits for the next one.
    fn listen(&self, page: &str) -> impl FnMut() -> serde_json::Value + use<> {
        let address = self.preview.address();
        let mut stream = connect(address);
        let page = page.replace('/', "%2F");
        let request =
            format!("GET /.preview/events?page={page} HTTP/1.1\r\nHost: {address}\r\n\r\n");
        stream.write_all(request.as_bytes()).unwrap();
        let mut lines = BufReader::new(stream).lines();
        move || {
            let data =
                lines.find_map(|line| Some(line.unwrap().strip_prefix("data: ")?.to_owned()));
            serde_json::from_str(&data.expect("the stream has not ended")).unwrap()
        }
    }
}

fn connect(address: SocketAddr) -> TcpStream {
    let stream = TcpStream::connect(address).unwrap();
    stream.set_read_timeout(Some(TIMEOUT)).unwrap();
    stream
}

fn status(answer: &str) -> &str {
    let (line, _) = answer.split_once("\r\n").unwrap();
    line.strip_prefix("HTTP/1.1 ").unwrap()
}

fn body(answer: &str) -> &str {
    answer.split_once("\r\n\r\n").unwrap().1
}

#[test]
fn pages_are_served_with_the_script_and_other_files_unchanged() {
    let mut shop = Shop::new();
    let page = shop.get(SHEET);
    assert_eq!(status(&page), "200 OK");
    for header in [
        "Content-Type: text/html; charset=utf-8",
        "X-Content-Type-Options: nosniff",
        "Cache-Control: no-store",
    ] {
        assert!(page.contains(&format!("\r\n{header}\r\n")), "{header}");
    }
    assert!(!page.to_ascii_lowercase().contains("access-control"));
    let length = format!("\r\nContent-Length: {}\r\n", body(&page).len());
    assert!(page.contains(&length), "{length}");
    assert!(page.contains("Cover: clean") && page.contains("id=\"benchleaf-preview\""));
    assert!(page.trim_end().ends_with("</html>"));
    assert!(shop.get("/").contains("id=\"benchleaf-preview\""));

    // A figure is served unchanged.
    let logo = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 1 1\"></body></svg>";
    shop.change("templates/logo.svg", logo);
    let page = shop.get(SHEET);
    let (_, address) = page.split_once("src=\"../figures/logo-").unwrap();
    let name = address.split('"').next().unwrap();
    let figure = shop.get(&format!("/figures/logo-{name}"));
    assert!(
        figure.contains("\r\nContent-Type: image/svg+xml\r\n"),
        "{figure}"
    );
    assert_eq!(body(&figure), logo);
}

#[test]
fn head_answers_with_the_headers_of_get_and_no_body() {
    let shop = Shop::new();
    let address = shop.preview.address();
    let head = shop.send(format!("HEAD {SHEET} HTTP/1.1\r\nHost: {address}\r\n\r\n"));
    let (head_text, _) = head.split_once("\r\n\r\n").unwrap();
    let page = shop.get(SHEET);
    assert_eq!(head_text, page.split_once("\r\n\r\n").unwrap().0);
    assert_eq!(body(&head), "");
    let events = "/.preview/events?page=%2F";
    let head = shop.send(format!("HEAD {events} HTTP/1.1\r\nHost: {address}\r\n\r\n"));
    assert_eq!((status(&head), body(&head)), ("200 OK", ""));
}

#[test]
fn paths_outside_the_pages_and_hidden_files_are_not_found() {
    let shop = Shop::new();
    let pages = shop.get(SHEET);
    assert_eq!(status(&pages), "200 OK");
    for path in [
        "/../procedures/shop.toml",
        "/hand-pump/../../etc/passwd",
        "/hand-pump/../index.html",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/..%2f..%2fetc%2fpasswd",
        "/%252e%252e/etc/passwd",
        "//etc/passwd",
        "/%2Fetc%2Fpasswd",
        "/..%5c..%5cetc%5cpasswd",
        "/hand-pump\\cover-shop-sheet.html",
        "/index.html%00.png",
        "/index.html%0d%0aX-Evil:%201",
        "/.benchleaf/record.json",
        "/%2ebenchleaf/lock",
        "/.preview",
        "/.preview/events/",
        "/hand-pump",
        "/nothing.html",
    ] {
        let answer = shop.get(path);
        assert_eq!(status(&answer), "404 Not Found", "{path}");
        assert!(
            !answer.contains("root:") && !answer.contains("X-Evil"),
            "{path}"
        );
        assert!(answer.contains("\r\nX-Content-Type-Options: nosniff\r\n"));
    }
}

#[test]
fn invalid_requests_are_refused() {
    let shop = Shop::new();
    let address = shop.preview.address();
    let port = address.port();
    let request = |line: &str, host: &str| shop.send(format!("{line}\r\nHost: {host}\r\n\r\n"));
    let here = address.to_string();
    for method in ["POST", "PUT", "DELETE", "OPTIONS", "TRACE", "CONNECT"] {
        let answer = request(&format!("{method} / HTTP/1.1"), &here);
        assert_eq!(status(&answer), "405 Method Not Allowed", "{method}");
        assert!(answer.contains("\r\nAllow: GET, HEAD\r\n"));
    }
    // The answer arrives even if the body of the request is not read.
    let body = "x".repeat(900_000);
    let answer = shop.send(format!(
        "POST / HTTP/1.1\r\nHost: {here}\r\nContent-Length: 900000\r\n\r\n{body}"
    ));
    assert_eq!(status(&answer), "405 Method Not Allowed");
    for host in [
        "evil.example".to_owned(),
        format!("evil.example:{port}"),
        format!("localhost.evil.example:{port}"),
        "127.0.0.1".to_owned(),
        "localhost".to_owned(),
        "127.0.0.1:1".to_owned(),
        format!("127.0.0.2:{port}"),
    ] {
        for path in ["/", "/.preview/events?page=%2F"] {
            let answer = request(&format!("GET {path} HTTP/1.1"), &host);
            assert_eq!(status(&answer), "421 Misdirected Request", "{host}");
        }
    }
    let answer = request("GET / HTTP/1.1", &format!("localhost:{port}"));
    assert_eq!(status(&answer), "200 OK");
    for broken in [
        "GET / HTTP/1.1\r\n\r\n".to_owned(),
        format!("GET http://evil.example/ HTTP/1.1\r\nHost: {here}\r\n\r\n"),
        format!("GET index.html HTTP/1.1\r\nHost: {here}\r\n\r\n"),
        format!("GET / HTTP/9.9\r\nHost: {here}\r\n\r\n"),
        "\u{1}\u{2}\r\n\r\n".to_owned(),
    ] {
        assert_eq!(status(&shop.send(&broken)), "400 Bad Request", "{broken}");
    }
    let long_header = format!(
        "GET / HTTP/1.1\r\nHost: {here}\r\nX: {}\r\n",
        "y".repeat(40_000)
    );
    assert_eq!(
        status(&shop.send(long_header)),
        "431 Request Header Fields Too Large"
    );
    // The server still answers.
    assert_eq!(status(&shop.get(SHEET)), "200 OK");
}

/// Connections that have sent the beginning of a request.
fn slow_connections(address: SocketAddr) -> Vec<TcpStream> {
    let slow = (0..200).map(|_| {
        let mut stream = connect(address);
        stream.write_all(b"GET / HTTP/1.1\r\nX: ").unwrap();
        stream
    });
    slow.collect()
}

#[test]
fn slow_connections_keep_nobody_out_and_are_closed_after_the_deadline() {
    let shop = Shop::new();
    let mut slow = slow_connections(shop.preview.address());
    // A byte a second is not idle on the wire, and yet no request.
    for _ in 0..11 {
        assert_eq!(status(&shop.get(SHEET)), "200 OK");
        for stream in &mut slow {
            // It fails for one that was closed.
            let _ = stream.write_all(b"y");
        }
        thread::sleep(Duration::from_secs(1));
    }
    for mut stream in slow {
        let end = stream.read(&mut [0; 1]);
        let is_closed = match &end {
            Ok(count) => *count == 0,
            Err(error) => error.kind() == std::io::ErrorKind::ConnectionReset,
        };
        assert!(is_closed, "{end:?}");
    }
    assert_eq!(status(&shop.get(SHEET)), "200 OK");
}

#[test]
fn tabs_with_event_streams_are_not_cut_off_by_slow_connections() {
    let mut shop = Shop::new();
    // Two browsers with six connections each, all of them streams but one.
    let mut tabs: Vec<_> = (0..10).map(|_| shop.listen(SHEET)).collect();
    for next_event in &mut tabs {
        next_event();
    }
    // A connection that a browser opens in advance.
    let mut spare = connect(shop.preview.address());
    let slow = slow_connections(shop.preview.address());
    for _ in 0..30 {
        assert_eq!(status(&shop.get(SHEET)), "200 OK");
    }
    let procedure = shop.read("procedures/air/cover.md");
    shop.change(
        "procedures/air/cover.md",
        procedure.replace("Cover: clean", "Cover: brush"),
    );
    for next_event in &mut tabs {
        assert_eq!(next_event()["errors"], 0);
    }
    drop(slow);
    // It was the oldest idle one. A browser that finds a spare connection closed opens another.
    assert_eq!(spare.read(&mut [0; 1]).unwrap(), 0);
}

#[test]
fn a_page_is_told_of_changes_and_whether_it_changed_itself() {
    let mut shop = Shop::new();
    let mut of_sheet = shop.listen(SHEET);
    let mut of_data = shop.listen("/hand-pump/machine-data.html");
    let mut of_nothing = shop.listen("/nothing.html");
    let (sheet, data) = (of_sheet(), of_data());
    assert_eq!(of_nothing()["page"], serde_json::Value::Null);
    assert!(shop.get(SHEET).contains(sheet["page"].as_str().unwrap()));

    let procedure = shop.read("procedures/air/cover.md");
    let outcome = shop.change(
        "procedures/air/cover.md",
        procedure.replace("Cover: clean", "Cover: brush"),
    );
    assert!(outcome.changed.is_some_and(|changed| changed > 0));
    assert_ne!(of_sheet()["page"], sheet["page"]);
    assert_eq!(
        of_data()["page"],
        data["page"],
        "the page does not have the title"
    );
    assert!(shop.get(SHEET).contains("Cover: brush"));

    // The page of a removed job is removed.
    fs::rename(
        shop.path("procedures/air/cover.md"),
        shop.path("procedures/air/lid.md"),
    )
    .unwrap();
    assert!(shop.next().changed.is_some());
    assert_eq!(of_sheet()["page"], serde_json::Value::Null);
    assert_eq!(status(&shop.get(SHEET)), "404 Not Found");
    assert_eq!(
        status(&shop.get("/hand-pump/lid-shop-sheet.html")),
        "200 OK"
    );
}

/// Somebody who begins has errors before there are any pages.
#[test]
fn the_pages_of_rules_are_served_before_there_are_any_others() {
    let mut shop = Shop::without_pages(|folder| {
        let shop = "name = \"Shop\"\nlanguage = [\"es\", \"en\"]\nnmae = \"\"\n";
        write(&folder.join("procedures/shop.toml"), shop);
    });
    assert_eq!(shop.next().changed, None);
    let front = shop.get("/");
    assert!(
        front.contains("\"reference\":\"rules/reading.html#unknown-field\""),
        "{front}"
    );
    let page = shop.get("/rules/reading.html");
    assert_eq!(status(&page), "200 OK");
    assert!(page.contains("id=\"unknown-field\"") && page.contains("benchleaf-preview"));
    let (_, style) = page.split_once("rel=\"stylesheet\" href=\"..").unwrap();
    let style = shop.get(style.split('"').next().unwrap());
    assert_eq!(status(&style), "200 OK");
    assert_eq!(status(&shop.get("/en/rules/")), "200 OK");
    // The rest of the site follows, and the pages of the rules lead to it.
    shop.change(
        "procedures/shop.toml",
        "name = \"Shop\"\nlanguage = [\"es\", \"en\"]\n",
    );
    assert_eq!(status(&shop.get("/index.html")), "200 OK");
    assert!(
        shop.get("/rules/reading.html")
            .contains("href=\"../index.html\"")
    );
}

#[test]
fn after_an_error_the_last_good_pages_are_served_with_the_findings() {
    let mut shop = Shop::new();
    let mut next_event = shop.listen(SHEET);
    let good = next_event();
    assert_eq!((&good["kept"], &good["errors"]), (&false.into(), &0.into()));
    let procedure = shop.read("procedures/air/cover.md");
    let spoilt = procedure.replace("{.reverse}", "");
    let outcome = shop.change("procedures/air/cover.md", &spoilt);
    assert_eq!(outcome.changed, None);
    assert!(
        outcome.findings.contains("part-left-off"),
        "{}",
        outcome.findings
    );
    let event = next_event();
    assert_eq!(event["page"], good["page"], "the page is the last good one");
    assert_eq!(
        (&event["kept"], &event["built"]),
        (&true.into(), &true.into())
    );
    let findings = event["findings"].as_array().unwrap();
    assert_eq!(event["errors"], findings.len());
    let left = findings
        .iter()
        .find(|finding| finding["rule"] == "part-left-off");
    let left = left.unwrap_or_else(|| panic!("{event}"));
    let place = &left["places"][0];
    assert!(
        place["path"]
            .as_str()
            .unwrap()
            .ends_with("procedures/air/cover.md")
    );
    let line = usize::try_from(place["line"].as_u64().unwrap()).unwrap();
    let line_parts = ["before", "marked", "after"].map(|part| place[part].as_str().unwrap());
    assert_eq!(
        Some(line_parts.concat().as_str()),
        spoilt.lines().nth(line - 1)
    );
    assert!(line_parts[1].contains("(remove:cover"), "{place}");
    assert!(left["help"].is_string());
    assert_eq!(left["reference"], "rules/rehearsal.html#part-left-off");
    assert!(
        shop.get("/rules/rehearsal.html")
            .contains("id=\"part-left-off\"")
    );
    assert!(shop.get(SHEET).contains("Cover: clean"));

    assert_eq!(
        shop.change("procedures/air/cover.md", procedure).changed,
        Some(0)
    );
    let event = next_event();
    assert_eq!(
        (&event["kept"], &event["errors"]),
        (&false.into(), &0.into())
    );
}

#[test]
fn errors_come_first_and_findings_are_limited() {
    let mut shop = Shop::new();
    let mut next_event = shop.listen("/");
    next_event();
    let tools: Vec<String> = (0..90)
        .map(|number| format!("[tool.wrench-{number}]\nname = 3\n"))
        .collect();
    write(
        &shop.path("procedures/tool.toml"),
        "advice: nothing reads it",
    );
    shop.change("procedures/tools.toml", tools.concat());
    let event = next_event();
    let count = |level: &str| event[level].as_u64().unwrap();
    assert!(count("errors") >= 90 && count("advice") == 1, "{event}");
    let total = count("errors") + count("warnings") + count("advice");
    let findings = event["findings"].as_array().unwrap();
    assert_eq!((findings.len(), count("more")), (40, total - 40));
    assert!(findings.iter().all(|finding| finding["level"] == "error"));
}

#[test]
fn the_preview_reports_a_failed_build_and_continues() {
    let mut shop = Shop::new();
    let good = shop.listen(SHEET)();
    let shop_toml = shop.read("procedures/shop.toml");
    let first_message = |shop: &Shop, outcome: &Outcome| {
        assert_eq!(outcome.changed, None, "{}", outcome.findings);
        let event = shop.listen(SHEET)();
        assert_eq!(event["page"], good["page"]);
        assert!(shop.get(SHEET).contains("Cover: clean"));
        let message = event["findings"][0]["message"].as_str().unwrap().to_owned();
        let first = message.lines().next().unwrap();
        assert!(outcome.findings.contains(first), "{}", outcome.findings);
        message
    };

    let outcome = shop.change("procedures/shop.toml", "name = \"Elm");
    first_message(&shop, &outcome);
    let outcome = shop.change("procedures/shop.toml", b"name = \"\xff\"");
    assert!(first_message(&shop, &outcome).contains("UTF-8"));
    assert_eq!(
        shop.change("procedures/shop.toml", &shop_toml).changed,
        Some(0)
    );

    // The shop's own template is broken.
    let outcome = shop.change("templates/html/wrong_here.html", "{% if %}");
    let message = first_message(&shop, &outcome);
    assert!(message.contains("wrong_here.html"), "{message}");
    fs::remove_file(shop.path("templates/html/wrong_here.html")).unwrap();
    let outcome = shop.change("templates/html/wrong_her.html", "x");
    assert!(first_message(&shop, &outcome).contains("did you mean `wrong_here.html`?"));
    fs::remove_dir_all(shop.path("templates")).unwrap();
    assert_eq!(shop.next().changed, Some(0));

    // The tree is missing for a moment.
    let (tree_path, moved_path) = (shop.path("procedures"), shop.path("aside"));
    fs::rename(&tree_path, &moved_path).unwrap();
    let outcome = shop.next();
    assert!(first_message(&shop, &outcome).contains("can't open the folder"));
    fs::rename(&moved_path, &tree_path).unwrap();
    assert_eq!(shop.next().changed, Some(0));
    let outcome = shop.change("procedures/air/cover.md", "no front matter");
    first_message(&shop, &outcome);
}

#[test]
fn without_pages_a_placeholder_shows_the_findings() {
    let mut shop = Shop::without_pages(|folder| {
        write(&folder.join("procedures/tools.toml"), "[tool.wrench-10");
    });
    assert_eq!(shop.next().changed, None);
    for path in ["/", SHEET, "/nothing.html"] {
        let answer = shop.get(path);
        assert_eq!(status(&answer), "503 Service Unavailable", "{path}");
        assert!(answer.contains("There are no pages yet"), "{answer}");
        assert!(answer.contains("procedures/tools.toml"), "{answer}");
    }
    assert_eq!(status(&shop.get("/nothing.png")), "404 Not Found");
    let mut next_event = shop.listen(SHEET);
    assert_eq!(next_event()["built"], false);
    fs::remove_file(shop.path("procedures/tools.toml")).unwrap();
    copy(&tree("hand-pump"), &shop.path("procedures"));
    shop.next();
    let event = next_event();
    assert!(
        event["built"] == true && event["page"].is_string(),
        "{event}"
    );
    assert_eq!(status(&shop.get("/")), "200 OK");
}

#[test]
fn a_save_without_a_change_sends_no_event() {
    let mut shop = Shop::new();
    let mut next_event = shop.listen(SHEET);
    next_event();
    let text = shop.read("procedures/air/cover.md");
    assert_eq!(
        shop.change("procedures/air/cover.md", text).changed,
        Some(0)
    );
    let shop_toml = shop.read("procedures/shop.toml");
    let changed = format!("{shop_toml}\n# A comment.\n");
    shop.change("procedures/shop.toml", changed);
    shop.change("procedures/tool.toml", "advice: nothing reads it");
    // The next event is the one with the advice: the changes before it have sent none.
    assert_eq!(next_event()["advice"], 1);
}

#[test]
fn the_output_is_not_touched_and_the_pages_are_removed_with_the_preview() {
    let shop = Shop::new();
    assert!(!shop.path("output").exists());
    let names: Vec<_> = fs::read_dir(shop.folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name())
        .collect();
    assert_eq!(names, ["procedures"]);
    let address = shop.preview.address();
    let mut stream = connect(address);
    let Shop {
        preview,
        folder: _folder,
    } = shop;
    stream
        .write_all(
            format!("GET /.preview/events?page=%2F HTTP/1.1\r\nHost: {address}\r\n\r\n").as_bytes(),
        )
        .unwrap();
    let mut first = [0; 15];
    stream.read_exact(&mut first).unwrap();
    drop(preview);
    // The event stream ends, and new connections are refused.
    stream.read_to_end(&mut Vec::new()).unwrap();
    assert!(TcpStream::connect(address).is_err());
}

#[test]
fn a_taken_port_is_reported() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let settings = Settings {
        tree: folder.path().to_owned(),
        templates: folder.path().join("templates"),
        address,
    };
    let error = Preview::open(settings, CHECK).unwrap_err();
    assert!(
        matches!(error, PreviewError::Taken(taken) if taken == address),
        "{error}"
    );
}

#[test]
fn a_stopper_ends_the_wait() {
    let mut shop = Shop::new();
    let stopper = shop.preview.stopper();
    let stopping = thread::spawn(move || stopper.stop());
    assert!(shop.preview.next().is_none());
    stopping.join().unwrap();
}
