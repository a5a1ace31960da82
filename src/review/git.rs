//! Reads the sources as they were in a commit, by means of the git program.
//!
//! Git runs with a fixed set of options: it asks nothing, starts no other program, and does not take the name of a
//! revision for an option.

use crate::tree::{FileState, Listing, World};
use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::fmt;
use std::io::{self, BufRead as _, BufReader, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::{Mutex, PoisonError};

/// A folder in the working tree of a git repository.
#[derive(Clone, Debug)]
pub(crate) struct Repository {
    /// The sources folder, with symbolic links resolved.
    folder: PathBuf,
    /// The path of the folder from the root of the repository, with `/` as separator. Empty for the root.
    prefix: String,
}

/// Why git could not answer.
#[derive(Debug)]
pub(crate) enum GitError {
    /// The program can't be started.
    NoGit(io::Error),
    /// The folder is in no repository that git reads. With git's message.
    NoRepository(String),
    /// There is no such revision.
    NoRevision(String),
    /// The revision and the current commit have no common ancestor, which happens in a clone without history.
    NoCommonCommit(String),
    /// Another failure, with git's message.
    Failed(String),
}

impl fmt::Display for GitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            GitError::NoGit(error) => write!(f, "git can't be started: {error}"),
            GitError::NoRepository(message) => {
                write!(f, "the sources folder is in no git repository: {message}")
            }
            GitError::NoRevision(revision) => write!(f, "git knows no revision `{revision}`"),
            GitError::NoCommonCommit(revision) => write!(
                f,
                "`{revision}` and the current commit have no commit in common"
            ),
            GitError::Failed(message) => write!(f, "git failed: {message}"),
        }
    }
}

impl GitError {
    /// What a user can do about it.
    pub(crate) fn help(&self) -> &'static str {
        match self {
            GitError::NoGit(_) => "install git, or leave out what needs it",
            GitError::NoRepository(_) => "put the sources under version control: `git init`",
            GitError::NoRevision(_) => "name a branch, a tag or a commit, such as `main`",
            GitError::NoCommonCommit(_) => "fetch the whole history: `git fetch --unshallow`",
            GitError::Failed(_) => "run `git status` in the folder to see what is wrong",
        }
    }
}

/// The state of the sources in a commit.
#[derive(Debug)]
pub(crate) struct Commit {
    name: String,
    /// The object and the size of each file, by its path.
    files: BTreeMap<String, (String, u64)>,
    process: Mutex<CatFile>,
}

/// A process that writes the contents of objects.
#[derive(Debug)]
struct CatFile {
    child: Child,
    input: Option<ChildStdin>,
    output: BufReader<ChildStdout>,
}

impl Repository {
    /// The repository that contains a folder.
    ///
    /// # Errors
    ///
    /// If there is none, or git can't be started.
    pub(crate) fn of(folder: &Path) -> Result<Repository, GitError> {
        let folder = folder
            .canonicalize()
            .map_err(|error| GitError::Failed(error.to_string()))?;
        let output = run(&folder, ["rev-parse", "--show-prefix"])?;
        let prefix = output.map_err(GitError::NoRepository)?;
        let prefix = prefix.trim_end_matches('\n').trim_end_matches('/');
        Ok(Repository {
            prefix: prefix.to_owned(),
            folder,
        })
    }

    /// The last commit that the current one and a revision have in common: what a change of the current branch began with.
    ///
    /// # Errors
    ///
    /// If there is no such revision, or no such commit.
    pub(crate) fn base(&self, revision: &str) -> Result<String, GitError> {
        let commit = format!("{revision}^{{commit}}");
        let arguments = [
            "rev-parse",
            "--verify",
            "--quiet",
            "--end-of-options",
            &commit,
        ];
        let commit =
            run(&self.folder, arguments)?.map_err(|_| GitError::NoRevision(revision.to_owned()))?;
        let base = run(&self.folder, ["merge-base", commit.trim(), "HEAD"])?
            .map_err(|_| GitError::NoCommonCommit(revision.to_owned()))?;
        Ok(base.trim().to_owned())
    }

    /// The sources in a commit. Empty if it does not have the folder. `name` is the name of the tree in findings.
    ///
    /// # Errors
    ///
    /// If git can't read them.
    pub(crate) fn commit(&self, commit: &str, name: String) -> Result<Commit, GitError> {
        let tree = match self.prefix.as_str() {
            "" => format!("{commit}^{{tree}}"),
            prefix => format!("{commit}:{prefix}"),
        };
        let exists = run(
            &self.folder,
            [
                "rev-parse",
                "--verify",
                "--quiet",
                "--end-of-options",
                &tree,
            ],
        )?;
        let mut files = BTreeMap::new();
        if exists.is_ok() {
            let arguments = ["ls-tree", "-r", "-z", "--long", "--full-tree", &tree];
            let listing = run(&self.folder, arguments)?.map_err(GitError::Failed)?;
            files = listing.split('\0').filter_map(entry).collect();
        }
        let mut child = git(&self.folder)
            .args(["cat-file", "--batch"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map_err(GitError::NoGit)?;
        let (input, output) = (child.stdin.take(), child.stdout.take());
        let Some(output) = output else {
            return Err(GitError::Failed("its output can't be read".to_owned()));
        };
        Ok(Commit {
            name,
            files,
            process: Mutex::new(CatFile {
                child,
                input,
                output: BufReader::new(output),
            }),
        })
    }

    /// The files that were renamed since a commit: the old path of each and the new one, within the folder. Only files that
    /// git knows count.
    ///
    /// # Errors
    ///
    /// If git can't compare them.
    pub(crate) fn renames(&self, commit: &str) -> Result<BTreeMap<String, String>, GitError> {
        let arguments = [
            "diff",
            "--relative",
            "--name-status",
            "-z",
            "--find-renames",
            "--diff-filter=R",
            "--no-ext-diff",
            "--no-textconv",
            commit,
            "--",
        ];
        let output = run(&self.folder, arguments)?.map_err(GitError::Failed)?;
        let fields: Vec<&str> = output.split('\0').collect();
        let renames = fields.chunks_exact(3);
        Ok(renames
            .map(|fields| (fields[1].to_owned(), fields[2].to_owned()))
            .collect())
    }

    /// The files of the folder that differ from the last commit or are not in it, by their paths in the folder.
    ///
    /// # Errors
    ///
    /// If git can't tell.
    pub(crate) fn uncommitted(&self) -> Result<BTreeSet<String>, GitError> {
        let arguments = [
            "status",
            "--porcelain=v1",
            "-z",
            "--untracked-files=all",
            "--ignored=matching",
            "--no-renames",
            "--",
            ".",
        ];
        let output = run(&self.folder, arguments)?.map_err(GitError::Failed)?;
        let start = match self.prefix.as_str() {
            "" => String::new(),
            prefix => format!("{prefix}/"),
        };
        let paths = output.split('\0').filter_map(|entry| entry.get(3..));
        Ok(paths
            .filter_map(|path| path.strip_prefix(&start))
            .map(str::to_owned)
            .collect())
    }
}

/// A file of a listing: `MODE blob OBJECT SIZE<tab>PATH`. `None` for links, submodules and hidden files, which a tree does
/// not have.
fn entry(line: &str) -> Option<(String, (String, u64))> {
    let (fields, path) = line.split_once('\t')?;
    let fields: Vec<&str> = fields.split_whitespace().collect();
    let [mode, "blob", object, size] = fields.as_slice() else {
        return None;
    };
    let is_hidden = path.split('/').any(|part| part.starts_with('.'));
    let is_file = mode.starts_with("100") && !is_hidden;
    let size = size.parse().ok()?;
    is_file.then(|| (path.to_owned(), ((*object).to_owned(), size)))
}

/// A git command in a folder.
fn git(folder: &Path) -> Command {
    let mut command = Command::new("git");
    command
        .arg("-C")
        .arg(folder)
        .args(["--no-optional-locks", "-c", "core.fsmonitor=false"])
        .env("GIT_TERMINAL_PROMPT", "0")
        .env("LC_ALL", "C")
        // In a hook, these name the repository that the hook is of, and paths in it.
        .env_remove("GIT_DIR")
        .env_remove("GIT_WORK_TREE")
        .env_remove("GIT_INDEX_FILE")
        .env_remove("GIT_PREFIX")
        .stdin(Stdio::null());
    command
}

/// Runs git. The inner error is git's own message.
fn run<'a>(
    folder: &Path,
    arguments: impl IntoIterator<Item = &'a str>,
) -> Result<Result<String, String>, GitError> {
    let arguments = arguments.into_iter().map(OsStr::new);
    let output = git(folder)
        .args(arguments)
        .output()
        .map_err(GitError::NoGit)?;
    if output.status.success() {
        return Ok(Ok(String::from_utf8_lossy(&output.stdout).into_owned()));
    }
    let message = String::from_utf8_lossy(&output.stderr);
    let line = message.lines().next().unwrap_or_default();
    let line = line.strip_prefix("fatal: ").unwrap_or(line);
    // It is shown on a terminal.
    let plain = line.chars().filter(|letter| !letter.is_control());
    Ok(Err(plain.collect()))
}

impl World for Commit {
    fn name(&self) -> String {
        self.name.clone()
    }

    fn list(&self) -> Listing {
        Listing {
            paths: self.files.keys().cloned().collect(),
            faults: Vec::new(),
        }
    }

    fn read(&self, path: &str) -> io::Result<Vec<u8>> {
        let (object, _) = self.files.get(path).ok_or(io::ErrorKind::NotFound)?;
        let mut process = self.process.lock().unwrap_or_else(PoisonError::into_inner);
        process.read(object)
    }

    fn state(&self, path: &str) -> Option<FileState> {
        let (_, size) = self.files.get(path)?;
        Some(FileState {
            size: *size,
            modified: None,
        })
    }
}

impl CatFile {
    /// Reads an object: `OBJECT blob SIZE`, a line break, the content, a line break.
    fn read(&mut self, object: &str) -> io::Result<Vec<u8>> {
        let input = self.input.as_mut().ok_or(io::ErrorKind::BrokenPipe)?;
        input.write_all(format!("{object}\n").as_bytes())?;
        input.flush()?;
        let mut head = String::new();
        self.output.read_line(&mut head)?;
        let size = head.trim().rsplit(' ').next().map(str::parse);
        let Some(Ok(size)) = size else {
            let message = format!("git can't read the object: {}", head.trim());
            return Err(io::Error::other(message));
        };
        let mut content = vec![0; size];
        self.output.read_exact(&mut content)?;
        self.output.read_exact(&mut [0])?;
        Ok(content)
    }
}

impl Drop for CatFile {
    fn drop(&mut self) {
        // It ends when its input does.
        self.input = None;
        let _ = self.child.wait();
    }
}
