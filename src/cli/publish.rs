//! `benchleaf publish`

use super::shared::{OutputArguments, TreeArguments, make};
use super::{Ended, Refusal, say};
use crate::publish::Selection;
use clap::Args;

/// Make every leaf of every job, with a front page to find them by
///
/// Checks the whole tree first. Where there are errors, nothing is made and what was made before
/// stays as it is. A run that changes nothing writes nothing.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf publish                            from `procedures` into `output`
  benchleaf publish my-shop --output /srv/shop
  benchleaf publish --html-only                without PDFs")]
pub(super) struct Arguments {
    #[command(flatten)]
    tree: TreeArguments,

    #[command(flatten)]
    output: OutputArguments,
}

pub(super) fn run(arguments: &Arguments) -> Result<Ended, Refusal> {
    let sources = arguments.tree.read()?;
    let checked = arguments.tree.check(&sources);
    let all = Selection::default();
    let (ended, published) = make(&sources, &checked, &all, &arguments.tree, &arguments.output)?;
    if published.is_some() {
        let front = arguments.output.path("index.html");
        say(&format!("open {}\n", front.display()));
    }
    Ok(ended)
}
