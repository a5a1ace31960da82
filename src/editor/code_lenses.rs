//! What can be done with a procedure, above its title: rehearse a job, and see its pages.

use super::client::Client;
use super::commands::{PREVIEW, REHEARSE, SHEETS};
use super::encoding::Lines;
use super::names::written;
use super::place::Opened;
use lsp_types::{CodeLens, CodeLensParams, Command};

/// The most machines with lenses of their own.
const MOST_MACHINES: usize = 4;

pub(super) fn code_lenses(client: &Client, parameters: &CodeLensParams) -> Option<Vec<CodeLens>> {
    let uri = &parameters.text_document.uri;
    let opened = Opened::find(client, uri)?;
    let (sources, file) = opened.get()?;
    let procedure = written(sources, file.id)?;
    let lines = Lines::of(&file.text, opened.encoding);
    let range = lines.range(procedure.title.span.range());
    let lens = |title: String, command: &str, machine: Option<&str>| {
        let arguments = [Some(uri.as_str()), machine].into_iter().flatten();
        let arguments = arguments.map(Into::into).collect();
        CodeLens {
            range,
            command: Some(Command::new(title, command.to_owned(), Some(arguments))),
            data: None,
        }
    };
    let is_fault = sources.faults.iter().any(|fault| fault.file == file.id);
    let mut lenses = vec![lens("preview".to_owned(), PREVIEW, None)];
    for machine in procedure.machines.iter().take(MOST_MACHINES) {
        let machine = &sources.shop.machines[machine.value];
        let (name, id) = (&machine.name.value, Some(machine.id.as_str()));
        // Nobody does a fault table from end to end.
        if !is_fault {
            lenses.push(lens(format!("rehearse on {name}"), REHEARSE, id));
            lenses.push(lens(format!("sheets for {name}"), SHEETS, id));
        }
    }
    Some(lenses)
}
