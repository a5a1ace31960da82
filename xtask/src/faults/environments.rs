//! Publishes the same tree in different environments, and compares the bytes.

use super::Amount;
use super::scene::{Files, copy, expect, finished, pages, text_of};
use crate::TaskError;
use std::path::{Path, PathBuf};
use std::process::Command;

/// An environment: variables, the file mode mask and the folder.
struct Environment {
    variables: &'static [(&'static str, &'static str)],
    mask: &'static str,
    folder: &'static str,
}

const ENVIRONMENTS: [Environment; 3] = [
    Environment {
        variables: &[("LC_ALL", "C"), ("TZ", "UTC"), ("RAYON_NUM_THREADS", "1")],
        mask: "022",
        folder: "a",
    },
    Environment {
        variables: &[
            ("LC_ALL", "tr_TR.UTF-8"),
            ("TZ", "Pacific/Kiritimati"),
            // As many as a large computer has cores.
            ("RAYON_NUM_THREADS", "64"),
            ("SOURCE_DATE_EPOCH", "1"),
            ("COLUMNS", "20"),
        ],
        mask: "077",
        folder: "Ein Ordner mit Leerzeichen und ü",
    },
    Environment {
        variables: &[
            ("LANG", "de_DE.UTF-8"),
            ("TZ", "America/St_Johns"),
            ("HOME", "/nonexistent"),
            ("NO_COLOR", "1"),
        ],
        mask: "027",
        folder: "deep/er/folder",
    },
];

/// Publishes a tree in each environment, with PDFs. Returns the number of environments.
pub(super) fn compare(
    program: &Path,
    typst: &Path,
    root: &Path,
    amount: Amount,
) -> Result<usize, TaskError> {
    let tree = amount.either("tests/trees/hand-pump", "procedures");
    let mut first: Option<Files> = None;
    for environment in &ENVIRONMENTS {
        let outer = tempfile::tempdir().map_err(|error| TaskError(error.to_string()))?;
        let folder: PathBuf = outer.path().join(environment.folder);
        std::fs::create_dir_all(&folder).map_err(|error| TaskError(error.to_string()))?;
        copy(&root.join(tree), &folder.join("procedures"))?;
        let mut command = Command::new("sh");
        command
            .args(["-c", "umask \"$0\" && exec \"$@\"", environment.mask])
            .arg(program)
            .args(["publish", "--typst"])
            .arg(typst)
            .current_dir(&folder)
            .envs(environment.variables.iter().copied());
        let made = finished(command)?;
        expect(made.status.success(), || text_of(&made))?;
        let pages = pages(&folder.join("output"))?;
        match &first {
            None => first = Some(pages),
            Some(first) => {
                let differ: Vec<&String> = first
                    .iter()
                    .filter(|(path, bytes)| pages.get(*path) != Some(*bytes))
                    .map(|(path, _)| path)
                    .collect();
                expect(differ.is_empty() && first.len() == pages.len(), || {
                    format!("in `{}`, these differ: {differ:?}", environment.folder)
                })?;
            }
        }
    }
    Ok(ENVIRONMENTS.len())
}
