//! Sessions in memory, and renames of everything in the demonstration. `tests/editor.rs` has sessions with real clients.

use super::address::uri_of;
use super::name::{Name, NameKind};
use super::names::names;
use super::rename::renamed;
use super::serve;
use crate::Sources;
use crate::finding::{Edit, FileId};
use crate::prose::ThingKind;
use crate::recheck::replace_text;
use crate::tree::{Disk, Memory};
use fastrand::Rng;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Cursor, Write};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// The stream that a server writes to.
#[derive(Clone, Default)]
struct Stream(Arc<Mutex<Vec<u8>>>);

impl Write for Stream {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.lock().unwrap().extend(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Sends messages all at once. Returns what the server sends, and whether the session ended as it should.
fn session(messages: &[Value]) -> (Vec<Value>, bool) {
    let mut sent = Vec::new();
    for message in messages {
        let body = message.to_string();
        sent.extend(format!("Content-Length: {}\r\n\r\n{body}", body.len()).bytes());
    }
    let stream = Stream::default();
    let is_ended = serve(Cursor::new(sent), stream.clone()).unwrap();
    let received = std::mem::take(&mut *stream.0.lock().unwrap());
    let text = String::from_utf8(received).unwrap();
    let bodies = text.split("Content-Length: ").skip(1);
    let bodies = bodies.map(|message| message.split_once("\r\n\r\n").unwrap().1);
    (
        bodies
            .map(|body| serde_json::from_str(body).unwrap())
            .collect(),
        is_ended,
    )
}

#[expect(clippy::needless_pass_by_value, reason = "it is shorter to call so")]
fn request(id: usize, method: &str, parameters: Value) -> Value {
    json!({"jsonrpc": "2.0", "id": id, "method": method, "params": parameters})
}

#[expect(clippy::needless_pass_by_value, reason = "it is shorter to call so")]
fn notice(method: &str, parameters: Value) -> Value {
    json!({"jsonrpc": "2.0", "method": method, "params": parameters})
}

/// The first messages of a session.
fn opening(root: &Path) -> Vec<Value> {
    let uri = uri_of(root).unwrap();
    let capabilities = json!({
        "general": {"positionEncodings": ["utf-16"]},
        "workspace": {"workspaceEdit": {"documentChanges": true, "resourceOperations": ["rename"]}},
    });
    vec![
        request(
            0,
            "initialize",
            json!({"processId": null, "rootUri": uri, "capabilities": capabilities}),
        ),
        notice("initialized", json!({})),
    ]
}

fn closing() -> [Value; 2] {
    [
        request(999_999, "shutdown", Value::Null),
        notice("exit", Value::Null),
    ]
}

/// The answers to a request.
fn answers(received: &[Value], id: usize) -> Vec<&Value> {
    let is_answer = |message: &&Value| message["id"] == id && message.get("method").is_none();
    received.iter().filter(is_answer).collect()
}

fn tree(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// A copy of a tree, and its texts by path.
fn copy(from: &Path) -> (tempfile::TempDir, BTreeMap<String, String>) {
    let folder = tempfile::tempdir().unwrap();
    let mut texts = BTreeMap::new();
    for entry in walkdir::WalkDir::new(from) {
        let entry = entry.unwrap();
        let relative = entry.path().strip_prefix(from).unwrap();
        let to = folder.path().join(relative);
        if entry.file_type().is_dir() {
            fs::create_dir_all(to).unwrap();
            continue;
        }
        fs::copy(entry.path(), to).unwrap();
        if let Ok(text) = fs::read_to_string(entry.path()) {
            texts.insert(relative.to_str().unwrap().to_owned(), text);
        }
    }
    (folder, texts)
}

#[test]
fn cancelled_requests_are_answered_as_cancelled() {
    let (folder, _) = copy(&tree("tests/trees/hand-pump"));
    let document = json!({"uri": uri_of(&folder.path().join("air/cover.md")).unwrap()});
    let place = json!({"textDocument": document, "position": {"line": 12, "character": 40}});
    let mut messages = opening(folder.path());
    messages.extend((1..40).map(|id| request(id, "textDocument/hover", place.clone())));
    messages.extend((20..40).map(|id| notice("$/cancelRequest", json!({"id": id}))));
    messages.extend(closing());
    let (received, is_ended) = session(&messages);
    assert!(is_ended);
    for id in 1..40 {
        let [answer] = answers(&received, id)[..] else {
            panic!("{id} has one answer");
        };
        let is_cancelled = answer["error"]["code"] == -32800;
        assert!(is_cancelled || answer.get("result").is_some(), "{answer}");
        assert!(id >= 20 || !is_cancelled);
    }
    // The sources are read before the first is answered, and all others have come by then.
    assert_eq!(answers(&received, 39)[0]["error"]["code"], -32800);
}

#[test]
fn session_without_a_shutdown_ends_with_a_failure() {
    let (folder, _) = copy(&tree("tests/trees/hand-pump"));
    let mut messages = opening(folder.path());
    assert!(!session(&messages).1, "the client is gone");
    messages.push(notice("exit", Value::Null));
    assert!(!session(&messages).1);
    let early = [
        request(1, "textDocument/hover", json!({})),
        notice("exit", Value::Null),
    ];
    let (received, _) = session(&early);
    assert_eq!(answers(&received, 1)[0]["error"]["code"], -32002);
}

/// Requests about a place in a document.
const AT_PLACE: [&str; 6] = [
    "textDocument/completion",
    "textDocument/definition",
    "textDocument/documentHighlight",
    "textDocument/hover",
    "textDocument/prepareRename",
    "textDocument/references",
];

/// Requests about a document.
const OF_DOCUMENT: [&str; 6] = [
    "textDocument/codeLens",
    "textDocument/documentLink",
    "textDocument/documentSymbol",
    "textDocument/foldingRange",
    "textDocument/semanticTokens/full",
    "workspace/symbol",
];

/// Random messages of a client that types nonsense.
struct Typist {
    rng: Rng,
    folder: PathBuf,
    paths: Vec<String>,
    messages: Vec<Value>,
    requests: usize,
    version: i32,
}

impl Typist {
    fn uri(&self, path: &str) -> Value {
        json!(uri_of(&self.folder.join(path)).unwrap())
    }

    fn path(&mut self) -> String {
        self.rng.choice(&self.paths).unwrap().clone()
    }

    fn position(&mut self) -> Value {
        let line = self.rng.u32(0..60);
        json!({"line": line, "character": self.rng.u32(0..90)})
    }

    fn ask(&mut self, method: &str, parameters: Value) {
        self.requests += 1;
        self.messages
            .push(request(self.requests, method, parameters));
    }

    fn message(&mut self) {
        let path = self.path();
        let uri = self.uri(&path);
        let (start, end) = (self.position(), self.position());
        match self.rng.usize(0..10) {
            0..=3 => {
                let texts = [
                    "",
                    "x",
                    "\n",
                    "\r",
                    "[](",
                    "+++",
                    "\"",
                    "🔧",
                    "remove:cover",
                    "{",
                    "[part.",
                    "1. ",
                ];
                let text = *self.rng.choice(texts.as_slice()).unwrap();
                self.version += 1;
                // A range of one place, or any other, even one that ends before it begins.
                let end = if self.rng.bool() { start.clone() } else { end };
                let change = json!({"range": {"start": start, "end": end}, "text": text});
                let document = json!({"uri": uri, "version": self.version});
                let parameters = json!({"textDocument": document, "contentChanges": [change]});
                self.messages
                    .push(notice("textDocument/didChange", parameters));
            }
            4 | 5 => {
                let method = *self.rng.choice(AT_PLACE.as_slice()).unwrap();
                let document = json!({"uri": uri});
                let context = json!({"includeDeclaration": true});
                let parameters =
                    json!({"textDocument": document, "position": start, "context": context});
                self.ask(method, parameters);
            }
            6 => {
                let method = *self.rng.choice(OF_DOCUMENT.as_slice()).unwrap();
                self.ask(method, json!({"textDocument": {"uri": uri}, "query": "c"}));
            }
            7 => {
                let parameters = json!({
                    "textDocument": {"uri": uri},
                    "position": start,
                    "newName": *self.rng.choice(["lid", "cover", "A b", ""].as_slice()).unwrap(),
                });
                self.ask("textDocument/rename", parameters);
            }
            8 => {
                let range = json!({"start": start, "end": end});
                let context = json!({"diagnostics": []});
                let parameters =
                    json!({"textDocument": {"uri": uri}, "range": range, "context": context});
                let method = if self.rng.bool() {
                    "textDocument/codeAction"
                } else {
                    "textDocument/inlayHint"
                };
                self.ask(method, parameters);
            }
            _ => self.other(&uri),
        }
    }

    /// A document that is closed and opened again, or a file that is said to have changed.
    fn other(&mut self, uri: &Value) {
        let kind = self.rng.u8(1..=3);
        if self.rng.bool() {
            let changes = json!([{"uri": uri, "type": kind}]);
            self.messages.push(notice(
                "workspace/didChangeWatchedFiles",
                json!({"changes": changes}),
            ));
            return;
        }
        let document = json!({"uri": uri});
        self.messages.push(notice(
            "textDocument/didClose",
            json!({"textDocument": document}),
        ));
        let document =
            json!({"uri": uri, "languageId": "x", "version": self.version, "text": "+++\n"});
        self.messages.push(notice(
            "textDocument/didOpen",
            json!({"textDocument": document}),
        ));
    }
}

/// Types nonsense into all files of a tree, and asks about random places.
fn type_nonsense(from: &Path, count: usize, seed: u64) {
    let (folder, texts) = copy(from);
    let mut typist = Typist {
        rng: Rng::with_seed(seed),
        folder: folder.path().to_owned(),
        paths: texts.keys().cloned().collect(),
        messages: opening(folder.path()),
        requests: 0,
        version: 1,
    };
    for (path, text) in &texts {
        let document =
            json!({"uri": typist.uri(path), "languageId": "x", "version": 1, "text": text});
        typist.messages.push(notice(
            "textDocument/didOpen",
            json!({"textDocument": document}),
        ));
    }
    for _ in 0..count {
        typist.message();
    }
    typist.messages.extend(closing());
    let (received, is_ended) = session(&typist.messages);
    assert!(is_ended);
    for id in 0..=typist.requests {
        assert_eq!(
            answers(&received, id).len(),
            1,
            "the answers to request {id} of seed {seed}"
        );
    }
    for message in &received {
        let has_failed =
            message["error"]["code"] == -32603 || message["method"] == "window/logMessage";
        assert!(!has_failed, "seed {seed}: {message}");
    }
}

#[test]
fn nonsense_does_not_end_the_session() {
    let seed = std::env::var("BENCHLEAF_SEED")
        .ok()
        .and_then(|seed| seed.parse().ok());
    let count = if seed.is_some() { 2_000 } else { 250 };
    type_nonsense(&tree("tests/trees/hand-pump"), count, seed.unwrap_or(1));
}

/// The texts of some sources with edits.
fn edited(sources: &Sources, edits: &[Edit]) -> BTreeMap<FileId, String> {
    let mut by_file: BTreeMap<FileId, Vec<&Edit>> = BTreeMap::new();
    for edit in edits {
        by_file.entry(edit.span.file).or_default().push(edit);
    }
    let texts = by_file.into_iter().map(|(file, edits)| {
        let mut text = sources.tree.file(file).text.clone();
        for edit in edits.into_iter().rev() {
            text.replace_range(edit.span.range(), &edit.replacement);
        }
        (file, text)
    });
    texts.collect()
}

/// What is found in some sources, without ids and places, which a rename changes.
fn rules(sources: &Sources) -> Vec<&'static str> {
    let findings = crate::check(sources).findings;
    let mut rules: Vec<&str> = findings.iter().map(|finding| finding.rule.name).collect();
    rules.sort_unstable();
    rules
}

/// The first name that is wanted in a tree's files from `first` on: one that is declared, or that of a file. With the index
/// of the file that it is in.
fn first_name(
    sources: &Sources,
    first: usize,
    is_wanted: impl Fn(&Name) -> bool,
) -> Option<(usize, Name)> {
    let mut files = sources.tree.files.iter().enumerate().skip(first);
    files.find_map(|(index, file)| {
        let mut names = names(sources, file).into_iter();
        let name = names.find(|name| {
            let is_file = matches!(
                name.kind,
                NameKind::Machine | NameKind::Fault | NameKind::Thing(ThingKind::Procedure)
            );
            (name.is_declaration || is_file) && is_wanted(name)
        });
        Some((index, name?))
    })
}

/// Renames every id of some sources, one after another, and compares the findings. Returns the number of renames and those
/// that were refused.
fn rename_all(mut sources: Sources) -> (usize, Vec<(NameKind, String)>) {
    let before = rules(&sources);
    let (mut renames, mut refused, mut first) = (0, Vec::new(), 0);
    // The names are looked up again each time, because all places have moved.
    while let Some((index, name)) = first_name(&sources, first, |name| {
        let own = name.key.rsplit('/').next().unwrap_or_default();
        !own.starts_with("other-") && !refused.contains(&(name.kind, name.key.clone()))
    }) {
        first = index;
        let new = format!("other-{renames}");
        assert!(renames < 5_000, "no end: {name:?}");
        let changes = match renamed(&sources, &name, &new) {
            Ok(changes) => changes,
            Err(why) => {
                assert!(why.contains("also names"), "{why}");
                refused.push((name.kind, name.key.clone()));
                continue;
            }
        };
        renames += 1;
        let texts = edited(&sources, &changes.edits);
        if changes.files.is_empty() {
            for (file, text) in texts {
                assert!(replace_text(&mut sources, file, text).is_some());
            }
            continue;
        }
        let mut world: BTreeMap<String, Vec<u8>> = BTreeMap::new();
        for figure in &sources.tree.figures {
            world.insert(figure.path.clone(), figure.bytes.clone());
        }
        for file in &sources.tree.files {
            let text = texts.get(&file.id).unwrap_or(&file.text);
            let moved = changes.files.iter().find(|(from, _)| *from == file.path);
            let path = moved.map_or(&file.path, |(_, to)| to);
            world.insert(path.clone(), text.clone().into_bytes());
        }
        sources = crate::read(&Memory::new(world));
    }
    assert_eq!(rules(&sources), before);
    (renames, refused)
}

#[test]
fn every_id_of_the_demonstration_can_be_renamed() {
    let disk = Disk::open(&tree("procedures")).unwrap();
    let (renames, refused) = rename_all(crate::read(&disk));
    assert!(
        renames > 200 && refused.len() < 5,
        "{renames} renames, {refused:?}"
    );
}

/// An id is renamed in the file of a machine and in those of its variants, also where these do not take it over.
#[test]
fn every_id_of_a_machine_with_variants_can_be_renamed() {
    let (_folder, texts) = copy(&tree("tests/trees/hand-pump"));
    let mut world: BTreeMap<String, Vec<u8>> = BTreeMap::new();
    for (path, text) in texts {
        let all = "machines = [\"hand-pump\", \"long-pump\", \"wide-pump\"]";
        let text = text.replace("machines = [\"hand-pump\"]", all);
        let peeled = ", then [peel the gasket off](remove:cover-gasket).";
        let apart = ".\n3. [Peel the gasket off](remove:cover-gasket). {if-fitted}";
        let text = text.replace(peeled, apart);
        world.insert(path, text.into_bytes());
    }
    for (path, text) in [
        (
            "long-pump",
            "name = \"Long\"\nlike = \"hand-pump\"\n[part.cover]\nclean = false\n[part.cover-gasket]\ncount = 2\n",
        ),
        (
            "wide-pump",
            "name = \"Wide\"\nlike = \"long-pump\"\nlacks = [\"cover-gasket\"]\n[part.cover-nut]\ncount = 3\n",
        ),
    ] {
        world.insert(format!("machines/{path}.toml"), text.as_bytes().to_vec());
    }
    let (renames, refused) = rename_all(crate::read(&Memory::new(world)));
    assert!(
        renames > 8 && refused.is_empty(),
        "{renames} renames, {refused:?}"
    );
}

/// Names in the marks of steps, and the other half of a pair.
#[test]
fn every_id_in_marks_and_pairs_can_be_renamed() {
    let world: BTreeMap<String, Vec<u8>> = [
        ("shop.toml", "name = \"Shop\"\n"),
        (
            "machines/pump.toml",
            "name = \"Pump\"\nbasis = \"invented\"\n[part.rod]\nname = \"rod\"\nreuse = \"straight\"\n\
             [part.rod.dimension.size]\nname = \"size\"\nwear-limit = \"at least 9 mm\"\n\
             [reading.play]\nname = \"play\"\nlimits = \"1 mm to 2 mm\"\n",
        ),
        (
            "air/off.md",
            "+++\ntitle = \"Off\"\nmachines = [\"pump\"]\n+++\nWhy.\n\n## Do\n\n1. [](measure:play)\n\
             2. [](adjust:play) {#turn if=\"play.out\"}\n\
             3. [](measure:play) {if=\"play.out\" until=\"play.within\" back-to=\"turn\" at-most=\"3\"}\n\
             4. [](remove:rod)\n5. [](inspect:rod)\n6. Say so. {if=\"rod/size.under\"}\n",
        ),
        (
            "air/back.md",
            "+++\ntitle = \"Back\"\nmachines = [\"pump\"]\nreverses = \"off\"\n+++\nWhy.\n\n## Do\n\n\
             1. [](renew:rod) {if=\"rod.renew\"}\n2. [](fit:rod) {if=\"rod.reuse\"}\n",
        ),
    ]
    .map(|(path, text)| (path.to_owned(), text.as_bytes().to_vec()))
    .into();
    let (renames, refused) = rename_all(crate::read(&Memory::new(world)));
    assert!(
        renames >= 6 && refused.is_empty(),
        "{renames} renames, {refused:?}"
    );
}

#[test]
fn a_dimension_is_renamed_within_its_part() {
    let disk = Disk::open(&tree("tests/correct/skerry-estate")).unwrap();
    let mut sources = crate::read(&disk);
    let before = rules(&sources);
    let find = |sources: &Sources, kind: ThingKind, key: &str| {
        let is_wanted = |name: &Name| {
            name.kind == NameKind::Thing(kind) && name.key == key && name.is_declaration
        };
        first_name(sources, 0, is_wanted).unwrap().1
    };
    for (kind, key, new, written) in [
        (
            ThingKind::Reading,
            "cylinder/bore",
            "width",
            "measure:cylinder/width",
        ),
        (
            ThingKind::Part,
            "cylinder",
            "barrel",
            "measure:barrel/width",
        ),
        (ThingKind::Tool, "bore-gauge", "gauge", "tool = \"gauge\""),
    ] {
        let name = find(&sources, kind, key);
        let changes = renamed(&sources, &name, new).unwrap();
        for (file, text) in edited(&sources, &changes.edits) {
            replace_text(&mut sources, file, text);
        }
        let mut files = sources.tree.files.iter();
        assert!(files.any(|file| file.text.contains(written)), "{written}");
        // A tool is read again with all files.
        let files = sources.tree.files.iter();
        let world: BTreeMap<String, Vec<u8>> = files
            .map(|file| (file.path.clone(), file.text.clone().into_bytes()))
            .collect();
        sources = crate::read(&Memory::new(world));
        assert_eq!(rules(&sources), before, "{written}");
    }
    let name = find(&sources, ThingKind::Reading, "barrel/width");
    assert!(renamed(&sources, &name, "out-of-round").is_err());
    // Ids of dimensions are those of one part.
    assert!(renamed(&sources, &name, "flatness").is_ok());
    assert!(renamed(&sources, &name, "head").is_ok());
}
