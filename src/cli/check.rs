//! `benchleaf check`

use super::shared::{TreeArguments, counted, show};
use super::{Ended, Refusal, say};
use crate::finding::Level;
use clap::Args;

/// Check all sources and rehearse every job; make nothing
///
/// Reads the whole tree, rehearses each procedure on each machine it is for, and shows what was
/// found, with the line it stands in and how to mend it.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf check                          the tree in `procedures`
  benchleaf check my-shop --deny warning   for a review: warnings fail, too")]
pub(super) struct Arguments {
    #[command(flatten)]
    tree: TreeArguments,
}

pub(super) fn run(arguments: &Arguments) -> Result<Ended, Refusal> {
    let sources = arguments.tree.read()?;
    let checked = arguments.tree.check_taking(&sources, |_| None::<()>);
    show(&sources, &checked.findings);
    if checked.findings.count(Level::Error) > 0 {
        return Ok(Ended::WithErrors);
    }
    let found = if checked.findings.is_empty() {
        "clean"
    } else {
        "no errors"
    };
    say(&format!(
        "{found}: {} on {}, {} rehearsed\n",
        counted(sources.procedures.len(), "procedure", "procedures"),
        counted(sources.shop.machines.len(), "machine", "machines"),
        counted(checked.rehearsed, "job", "jobs"),
    ));
    Ok(Ended::Well)
}
