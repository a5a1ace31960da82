//! A small shop in two states, and the outputs of both, to be published with faults.

use crate::TaskError;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

/// The files of a folder by path. Those whose path starts with a dot, such as the record, are left out.
pub(super) type Files = BTreeMap<String, Vec<u8>>;

pub(super) struct Scene {
    program: PathBuf,
    folder: TempDir,
    /// The shop's tree before and after a change, and one with an error.
    pub(super) old_tree: PathBuf,
    pub(super) new_tree: PathBuf,
    pub(super) broken_tree: PathBuf,
    /// The output of the old tree, to be copied.
    old_output: PathBuf,
    pub(super) old_pages: Files,
    pub(super) new_pages: Files,
}

/// A procedure that only one of the two trees has.
fn procedure(title: &str) -> String {
    format!(
        "+++\ntitle = \"{title}\"\nmachines = [\"hand-pump\"]\n+++\nA leak shows here first.\n\n## Look\n\n\
         1. [Look at the cover](inspect:cover).\n"
    )
}

impl Scene {
    /// Makes the trees below the folder for temporary files, and publishes them.
    pub(super) fn new(program: PathBuf, tree: &Path) -> Result<Scene, TaskError> {
        let folder = tempfile::tempdir().map_err(|error| TaskError(error.to_string()))?;
        let path = |name: &str| folder.path().join(name);
        let (old_tree, new_tree) = (path("old"), path("new"));
        let broken_tree = path("broken");
        for copy_of in [&old_tree, &new_tree, &broken_tree] {
            copy(tree, copy_of)?;
        }
        write(&old_tree.join("air/look.md"), procedure("Cover: look"))?;
        write(
            &new_tree.join("water/look.md"),
            procedure("Cover: look at it"),
        )?;
        let changed = new_tree.join("air/cover.md");
        let text = read(&changed)?.replacen("title = \"Cover", "title = \"Top cover", 1);
        write(&changed, text)?;
        write(&broken_tree.join("tools.toml"), "[tool")?;
        let mut scene = Scene {
            program,
            old_output: path("old-output"),
            old_tree,
            new_tree,
            broken_tree,
            folder,
            old_pages: Files::new(),
            new_pages: Files::new(),
        };
        let new_output = scene.folder.path().join("new-output");
        for (tree, output) in [
            (&scene.old_tree, &scene.old_output),
            (&scene.new_tree, &new_output),
        ] {
            let made = finished(scene.publish(tree, output))?;
            expect(made.status.success(), || text_of(&made))?;
        }
        scene.old_pages = pages(&scene.old_output)?;
        scene.new_pages = pages(&new_output)?;
        expect(scene.old_pages != scene.new_pages, || {
            "both trees give the same pages".to_owned()
        })?;
        Ok(scene)
    }

    /// A new folder with the output of the old tree, and an empty one for temporary files.
    pub(super) fn outputs(&self) -> Result<(TempDir, PathBuf), TaskError> {
        let folder = tempfile::tempdir_in(self.folder.path());
        let folder = folder.map_err(|error| TaskError(error.to_string()))?;
        let output = folder.path().join("output");
        copy(&self.old_output, &output)?;
        fs::create_dir(folder.path().join("tmp")).map_err(|error| TaskError(error.to_string()))?;
        Ok((folder, output))
    }

    /// The command that publishes a tree without PDFs, in one thread.
    pub(super) fn publish(&self, tree: &Path, output: &Path) -> Command {
        self.traced(&[], tree, output)
    }

    /// As [`Scene::publish`], but run by another program with these words before its own.
    pub(super) fn traced(&self, words: &[&str], tree: &Path, output: &Path) -> Command {
        let mut all: Vec<&str> = words.to_vec();
        let program = self.program.to_string_lossy();
        all.push(&program);
        let mut command = Command::new(all[0]);
        command
            .args(&all[1..])
            .arg("publish")
            .arg(tree)
            .args(["--html-only", "--output"])
            .arg(output)
            .env("RAYON_NUM_THREADS", "1")
            .env("TMPDIR", output.with_file_name("tmp"))
            .stdin(Stdio::null());
        command
    }

    /// Every page is that of the old tree or that of the new one, none is missing from both, and each link leads to a
    /// page.
    pub(super) fn expect_usable(&self, pages: &Files) -> Result<(), TaskError> {
        for (path, bytes) in pages {
            let versions = [self.old_pages.get(path), self.new_pages.get(path)];
            expect(versions.contains(&Some(bytes)), || {
                format!("`{path}` is neither old nor new")
            })?;
            if Path::new(path)
                .extension()
                .is_some_and(|extension| extension == "html")
            {
                let text = String::from_utf8_lossy(bytes);
                for target in text.split("href=\"").skip(1) {
                    let target = target.split(['"', '#', '?']).next().unwrap_or_default();
                    if target.is_empty() || target.contains(':') {
                        continue;
                    }
                    let target = resolve(path, target);
                    expect(pages.contains_key(&target), || {
                        format!("`{path}` links to `{target}`, which is missing")
                    })?;
                }
            }
        }
        Ok(())
    }
}

/// The path that a link on a page leads to.
fn resolve(page: &str, target: &str) -> String {
    let mut parts: Vec<&str> = page.split('/').collect();
    parts.pop();
    for part in target.split('/') {
        match part {
            ".." => {
                parts.pop();
            }
            "." | "" => {}
            part => parts.push(part),
        }
    }
    parts.join("/")
}

pub(super) fn finished(mut command: Command) -> Result<Output, TaskError> {
    command
        .output()
        .map_err(|error| TaskError(format!("{command:?} could not be started: {error}")))
}

/// What a program printed, for a message.
pub(super) fn text_of(output: &Output) -> String {
    format!(
        "{}\n{}{}",
        output.status,
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    )
}

pub(super) fn expect(condition: bool, message: impl FnOnce() -> String) -> Result<(), TaskError> {
    if condition {
        Ok(())
    } else {
        Err(TaskError(message()))
    }
}

pub(super) fn pages(folder: &Path) -> Result<Files, TaskError> {
    let mut files = Files::new();
    for entry in walkdir::WalkDir::new(folder) {
        let entry = entry.map_err(|error| TaskError(error.to_string()))?;
        let path = entry.path().strip_prefix(folder);
        let path = path.unwrap_or(entry.path()).to_string_lossy().into_owned();
        if entry.file_type().is_file() && !path.starts_with('.') {
            let bytes = fs::read(entry.path());
            let bytes = bytes.map_err(|error| TaskError(format!("`{path}`: {error}")))?;
            files.insert(path, bytes);
        }
    }
    Ok(files)
}

pub(super) fn copy(from: &Path, to: &Path) -> Result<(), TaskError> {
    let status = Command::new("cp").arg("-a").arg(from).arg(to).status();
    expect(status.is_ok_and(|status| status.success()), || {
        format!("can't copy `{}`", from.display())
    })
}

pub(super) fn write(path: &Path, text: impl AsRef<[u8]>) -> Result<(), TaskError> {
    if let Some(folder) = path.parent() {
        let _ = fs::create_dir_all(folder);
    }
    fs::write(path, text).map_err(|error| TaskError(format!("`{}`: {error}", path.display())))
}

pub(super) fn read(path: &Path) -> Result<String, TaskError> {
    fs::read_to_string(path).map_err(|error| TaskError(format!("`{}`: {error}", path.display())))
}
