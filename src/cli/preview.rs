//! `benchleaf preview`

use super::console::{print, print_error};
use super::exit::{CliError, ExitStatus};
use super::shared::{TreeArguments, counted, templates};
use crate::preview::{Check, Outcome, Preview, PreviewError, Settings};
use crate::publish::summarizer;
use clap::Args;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;

/// Show the pages in a browser while their sources are being written
///
/// Serves the HTML pages to a browser on this machine, makes them anew whenever a source is saved,
/// and lets open pages follow, where they stood. What was found is laid over them; while there are
/// errors, the pages stay as they were. It writes nothing to the output folder. Ctrl-C ends it.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf preview                            the tree in `procedures`
  benchleaf preview my-shop --port 0           at any free port
  benchleaf preview --host 0.0.0.0             for a tablet on the shop's network, too")]
pub(super) struct Arguments {
    #[command(flatten)]
    tree: TreeArguments,

    /// Folder of the shop's own templates; `templates` beside the tree where none is given
    #[arg(long, value_name = "DIR")]
    templates: Option<PathBuf>,

    /// Port to serve at; 0 takes a free one
    // The port is fixed because a browser stores a checklist's entries by address and port.
    #[arg(long, value_name = "N", default_value_t = 7340)]
    port: u16,

    /// Address to serve at; at any but a loopback address, everyone on the network can read the pages
    #[arg(long, value_name = "ADDRESS", default_value_t = IpAddr::V4(Ipv4Addr::LOCALHOST))]
    host: IpAddr,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let tree = &arguments.tree;
    // The preview waits for a tree that disappears for a moment. A tree that never existed is an error.
    tree.open()?;
    let settings = Settings {
        tree: tree.folder().to_owned(),
        templates: templates(arguments.templates.as_deref(), tree.folder()),
        address: SocketAddr::new(arguments.host, arguments.port),
    };
    let check: &Check<'_> = &|sources, look| tree.check_jobs(sources, summarizer(sources, look));
    let mut preview = Preview::open(settings, check).map_err(|error| cli_error(&error))?;
    let stopper = preview.stopper();
    ctrlc::set_handler(move || stopper.stop())
        .map_err(|error| CliError::new(format!("can't listen for Ctrl-C: {error}")))?;
    let address = preview.address();
    if !address.ip().is_loopback() {
        print_error("warning: everyone on the network can read these pages\n");
    }
    let mut shown = String::new();
    if let Some(outcome) = preview.next() {
        report(outcome, &mut shown);
    }
    print(&format!(
        "open http://{}/ (Ctrl-C ends it)\n",
        local_address(address)
    ));
    for outcome in preview {
        report(outcome, &mut shown);
    }
    Ok(ExitStatus::Success)
}

/// Prints an outcome. Findings are not repeated if they are the same as the last ones, `shown`.
fn report(outcome: Outcome, shown: &mut String) {
    let Outcome { findings, changed } = outcome;
    if findings != *shown {
        print_error(if findings.is_empty() {
            "clean again\n"
        } else {
            &findings
        });
        *shown = findings;
    }
    match changed {
        Some(0) => {}
        Some(files) => print(&format!("{} made\n", counted(files, "file", "files"))),
        None => print_error("nothing was made: the pages stay as they are\n"),
    }
}

/// The address to open in a browser on this machine. The unspecified address (`0.0.0.0`) can't be
/// opened, so it becomes the loopback address.
fn local_address(mut address: SocketAddr) -> SocketAddr {
    if address.ip().is_unspecified() {
        address.set_ip(Ipv4Addr::LOCALHOST.into());
    }
    address
}

fn cli_error(error: &PreviewError) -> CliError {
    let cli_error = CliError::new(error.to_string());
    match error {
        PreviewError::Taken(_) => cli_error.help(
            "another preview may be running; `--port` names another port, and `--port 0` takes a free one",
        ),
        PreviewError::Address(..) => cli_error.help(
            "`--host` takes an address of this machine; without it, only this machine can read the pages",
        ),
        PreviewError::Folder(_) | PreviewError::Watch(_) => cli_error,
    }
}
