//! Publishes under faults, and checks that nothing is lost: `cargo xtask faults`.
//!
//! Each part prints what it did and how often, and fails at the first promise that is broken. The promises are those in
//! `docs/promises.md`.

mod confined;
mod environments;
mod payloads;
mod scene;
mod sizes;
mod system_calls;
mod together;

use crate::{TaskError, note};
use scene::Scene;
use std::path::Path;

/// How much is tried.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Amount {
    /// As much as fits into about two minutes.
    Some,
    /// Every case.
    All,
}

impl Amount {
    /// The numbers from 1 to `count`, or some of them, spread evenly, always with the first and the last.
    fn of(self, count: usize) -> Vec<usize> {
        const SOME: usize = 6;
        if self == Amount::All || count <= SOME {
            return (1..=count).collect();
        }
        (0..SOME)
            .map(|index| 1 + index * (count - 1) / (SOME - 1))
            .collect()
    }

    fn either<T>(self, some: T, all: T) -> T {
        match self {
            Amount::Some => some,
            Amount::All => all,
        }
    }
}

/// Runs all parts, and prints the number of cases of each.
///
/// # Errors
///
/// If a promise is broken, with what happened.
pub(crate) fn run(
    program: &Path,
    typst: &Path,
    root: &Path,
    amount: Amount,
) -> Result<(), TaskError> {
    let scene = Scene::new(program.to_owned(), &root.join("tests/trees/hand-pump"))?;
    let add = |what: &str, count: usize| note(&format!("{count:>6}  {what}"));
    add(
        "kills at a system call: each page old or new, completed by the next run",
        system_calls::kills(&scene, amount)?,
    );
    add(
        "failing system calls: the status and the message say what is there",
        system_calls::errors(&scene, amount)?,
    );
    add(
        "runs at the same time: one writes, the others wait or say so",
        together::several_runs(&scene, amount.either(5, 40))?,
    );
    add(
        "runs while a source is saved slowly: no half is published",
        together::slow_saves(&scene, amount.either(20, 200))?,
    );
    add(
        "files opened: only those promised; no other program, no connection",
        confined::watch(&scene, program, typst)?,
    );
    add(
        "environments: the same bytes in each",
        environments::compare(program, typst, root, amount)?,
    );
    let [fields, pages, pdfs] = payloads::open_in_browser(program, typst, root, amount)?;
    add("fields with a text that would run as code", fields);
    add(
        "pages made of them: nothing ran and nothing was fetched",
        pages,
    );
    add("PDFs made of them: each text is printed", pdfs);
    add(
        "inputs at one, two and four times their size: time grows in proportion",
        sizes::measure(program, amount)?,
    );
    Ok(())
}
