//! `benchleaf preview`

use super::console::{print, print_error, print_summary};
use super::exit::{CliError, ExitStatus};
use super::shared::{TreeArguments, counted, templates};
use crate::preview::{Check, Outcome, Preview, PreviewError, Settings};
use crate::publish::summarizer;
use clap::Args;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;

/// Show the pages in a browser while you edit the sources
///
/// Serves the HTML pages to a browser on this computer. When a source is saved, updates the pages and
/// reloads open ones at the same place. Findings are shown on top of the page. While there are errors,
/// the last good pages are kept. Writes nothing to the output folder. Stop it with Ctrl-C.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf preview                            the sources in `procedures`
  benchleaf preview my-shop --port 0           on any free port
  benchleaf preview --host 0.0.0.0             also for a tablet on the shop's network")]
pub(super) struct Arguments {
    #[command(flatten)]
    tree: TreeArguments,

    /// Folder of the shop's own templates; by default `templates` beside the sources folder
    #[arg(long, value_name = "DIR")]
    templates: Option<PathBuf>,

    /// Port to serve on; 0 takes any free port
    // The port is fixed because a browser stores a checklist's entries by address and port.
    #[arg(long, value_name = "N", default_value_t = 7340)]
    port: u16,

    /// Address to serve on; unless it is a loopback address, everyone on the network can read the pages
    #[arg(long, value_name = "ADDRESS", default_value_t = IpAddr::V4(Ipv4Addr::LOCALHOST))]
    host: IpAddr,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let tree = &arguments.tree;
    // The preview waits for a tree that disappears for a moment. A tree that never existed is an error.
    tree.open()?;
    let settings = Settings {
        tree: tree.folder().to_owned(),
        templates: templates(arguments.templates.as_deref(), tree.folder())?,
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
        "open http://{}/ (stop with Ctrl-C)\n",
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
            "no more findings\n"
        } else {
            &findings
        });
        *shown = findings;
    }
    match changed {
        Some(0) => {}
        Some(files) => print_summary(&format!("{} updated\n", counted(files, "file", "files"))),
        None => print_error("nothing was updated: the last good pages are kept\n"),
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
            "another preview may be running; use `--port` to choose another port, or `--port 0` for any free port",
        ),
        PreviewError::Address(..) => cli_error.help(
            "use an address of this computer; without `--host`, only this computer can read the pages",
        ),
        PreviewError::Folder(_) | PreviewError::Watch(_) => cli_error,
    }
}
