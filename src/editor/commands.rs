//! The commands of the lenses.
//!
//! A rehearsal is a text in the folder for temporary files, which the client shows. Pages are those of a preview, which this
//! program runs in a process of its own until the session ends.

use super::address::{path_of, uri_of};
use super::client::{Client, Refusal};
use super::jobs::with_jobs;
use super::names::written;
use super::place::Opened;
use super::started::Preview;
use super::transport::Outbox;
use crate::job::Job;
use crate::page::{Edition, JobId, OutputContext, PageId, SheetKind};
use crate::rehearsal::{self, State};
use crate::render::Paths;
use crate::sheet::JobDocument;
use lsp_server::{Request, RequestId};
use lsp_types::notification::ShowMessage;
use lsp_types::{ExecuteCommandParams, MessageType, ShowDocumentParams, ShowMessageParams, Uri};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::str::FromStr as _;

pub(super) const PREVIEW: &str = "benchleaf.preview";
pub(super) const REHEARSE: &str = "benchleaf.rehearse";
pub(super) const SHEETS: &str = "benchleaf.sheets";

/// Runs a command. The result is shown by the client.
pub(super) fn execute(
    client: &mut Client,
    outbox: &Outbox,
    parameters: &ExecuteCommandParams,
) -> Result<(), Refusal> {
    let argument = |index: usize| {
        parameters
            .arguments
            .get(index)
            .and_then(|text| text.as_str())
    };
    let uri = argument(0).and_then(|uri| Uri::from_str(uri).ok());
    let uri = uri.ok_or("the first argument is the address of a procedure")?;
    let machine = argument(1);
    let shown = match (parameters.command.as_str(), machine) {
        (PREVIEW, _) => preview(client, &uri)?,
        (SHEETS, Some(machine)) => preview(client, &uri)? + &sheet_path(client, &uri, machine)?,
        (REHEARSE, Some(machine)) => rehearse(client, &uri, machine)?,
        (REHEARSE | SHEETS, None) => {
            return Err("the second argument is the id of a machine".to_owned());
        }
        (other, _) => return Err(format!("there is no command `{other}`")),
    };
    show(client, outbox, &shown);
    Ok(())
}

/// Asks the client to show an address. One that can't is told of it.
fn show(client: &Client, outbox: &Outbox, address: &str) {
    let is_page = address.starts_with("http");
    match Uri::from_str(address) {
        Ok(uri) if client.abilities.shows_documents => {
            let parameters = ShowDocumentParams {
                uri,
                external: Some(is_page),
                take_focus: Some(true),
                selection: None,
            };
            let id = RequestId::from(format!("show {address}"));
            outbox.send(Request::new(
                id,
                "window/showDocument".to_owned(),
                parameters,
            ));
        }
        _ => outbox.notify::<ShowMessage>(ShowMessageParams {
            typ: MessageType::INFO,
            message: format!("open {address}"),
        }),
    }
}

/// The address of a running preview of the sources folder that a file is in.
fn preview(client: &mut Client, uri: &Uri) -> Result<String, Refusal> {
    let (folder, _) = client.workspace.find(uri).ok_or(NOT_A_SOURCE)?;
    let root = folder.root.clone();
    let previews = &mut client.started.previews;
    if let Some(running) = previews.get_mut(&root)
        && matches!(running.process.try_wait(), Ok(None))
    {
        return Ok(running.address.clone());
    }
    let running =
        start_preview(&root).map_err(|error| format!("can't start the preview: {error}"))?;
    let address = running.address.clone();
    previews.insert(root, running);
    Ok(address)
}

const NOT_A_SOURCE: &str = "this file is in no sources folder";

/// Starts a preview, and waits for the line that has its address.
fn start_preview(root: &Path) -> std::io::Result<Preview> {
    let mut process = Command::new(std::env::current_exe()?)
        .args(["preview", "--port", "0"])
        .arg(root)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()?;
    let output = process.stdout.take();
    // Ends the process if the rest fails.
    let mut preview = Preview {
        process,
        address: String::new(),
    };
    let mut lines = output.map(|output| BufReader::new(output).lines());
    // The line with the address comes after those about the pages that were made first.
    for line in lines.iter_mut().flatten() {
        let line = line?;
        if let Some(rest) = line.strip_prefix("open ") {
            let address = rest.split(' ').next().unwrap_or(rest);
            address.clone_into(&mut preview.address);
            break;
        }
    }
    if preview.address.is_empty() {
        return Err(std::io::Error::other("it has ended"));
    }
    // Its later lines would otherwise fill the pipe.
    std::thread::Builder::new().spawn(move || lines.into_iter().flatten().for_each(drop))?;
    Ok(preview)
}

/// The path of a job's shop sheet in the preview.
fn sheet_path(client: &Client, uri: &Uri, machine: &str) -> Result<String, Refusal> {
    let opened = Opened::find(client, uri).ok_or(NOT_A_SOURCE)?;
    let (sources, file) = opened.get().ok_or(NOT_A_SOURCE)?;
    let procedure = written(sources, file.id).ok_or(NOT_A_SOURCE)?;
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::without_figures(&edition);
    let page = PageId::JobSheet(SheetKind::ShopSheet, JobId::new(machine, &procedure.id));
    let path = Paths::new(&output, None).path(&page);
    Ok(format!("{path}.html"))
}

/// Writes the rehearsal of a job to a file, and returns its address.
fn rehearse(client: &mut Client, uri: &Uri, machine: &str) -> Result<String, Refusal> {
    let (name, text) = {
        let opened = Opened::find(client, uri).ok_or(NOT_A_SOURCE)?;
        let (sources, file) = opened.get().ok_or(NOT_A_SOURCE)?;
        let procedure = written(sources, file.id).ok_or(NOT_A_SOURCE)?;
        let on = sources.shop.machines.get(machine);
        let on = on.ok_or_else(|| format!("there is no machine `{machine}`"))?;
        let edition = Edition::first(&sources.shop);
        let output = OutputContext::without_figures(&edition);
        let texts = with_jobs(sources, procedure, &[on], |job| {
            rehearsal_text(job, &output)
        });
        let text = texts.into_iter().next();
        let text = text.ok_or("this job can't be made: see the findings of its sources")?;
        (format!("{}-{}.txt", procedure.id, on.id), text)
    };
    let failed = |error: std::io::Error| format!("can't write the rehearsal: {error}");
    let texts = match client.started.texts.take() {
        Some(texts) => texts,
        None => tempfile::Builder::new()
            .prefix("benchleaf-rehearsal-")
            .tempdir()
            .map_err(failed)?,
    };
    let path = texts.path().join(name);
    client.started.texts = Some(texts);
    std::fs::write(&path, text).map_err(failed)?;
    let uri = uri_of(&path).filter(|uri| path_of(uri).is_some());
    Ok(uri
        .ok_or("the folder for temporary files has no address")?
        .as_str()
        .to_owned())
}

/// Each step as it is printed, and below it what differs from how the job found the machine.
fn rehearsal_text(job: &Job<'_>, output: &OutputContext) -> String {
    let rehearsal = rehearsal::rehearse(job, |_| {});
    let texts: BTreeMap<u32, String> = JobDocument::new(job, &rehearsal, output)
        .step_texts()
        .collect();
    let states = rehearsal::states(job);
    let mut text = format!("{}\n", job.name());
    for section in &job.sections {
        let _ = writeln!(text, "\n{} ({})", section.title, section.origin.id);
        for step in section.steps() {
            let printed = texts
                .get(&step.number)
                .map(String::as_str)
                .unwrap_or_default();
            let _ = writeln!(text, "{:>4}  {printed}", step.number);
            let state = states.get(step.number as usize - 1);
            let differences = state.map(State::differences).unwrap_or_default();
            let state = differences
                .iter()
                .map(|change| format!("{} {}", change.key, change.how));
            let state: Vec<String> = state.collect();
            if !state.is_empty() {
                let _ = writeln!(text, "      now {}", state.join("; "));
            }
        }
    }
    text
}
