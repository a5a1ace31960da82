//! The project's own chores: `cargo xtask demo`, `cargo xtask test`, `cargo xtask large`.

mod large;
mod packages;

use packages::{Need, Plan, System, plan};
use std::env;
use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};

const USAGE: &str = "\
usage: cargo xtask COMMAND

  demo   build benchleaf and make the demonstration shop's leaves in output/
  fmt    format all source files, those that `cargo fmt` does not find among them
  test   check format, lints and docs, and run all tests
  large N DIR
         write a tree of about N procedures, each on two machines, into DIR, to time with

`demo` and `test` need some Debian packages. As root they install what is missing; otherwise they
print the command that installs it, and stop.";

/// Why a chore stopped.
struct Stop(String);

impl fmt::Display for Stop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

fn main() -> ExitCode {
    let chore = env::args().nth(1);
    let done = match chore.as_deref() {
        Some("demo") => demo(),
        Some("fmt") => format(&[]),
        Some("test") => test(),
        Some("large") => large(),
        _ => Err(Stop(USAGE.to_owned())),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(stop) => {
            note(&stop.to_string());
            ExitCode::FAILURE
        }
    }
}

#[allow(clippy::print_stderr, reason = "this is where chores speak")]
fn note(text: &str) {
    eprintln!("{text}");
}

fn demo() -> Result<(), Stop> {
    provide(packages::DEMO)?;
    typst()?;
    note("building benchleaf");
    cargo(&["build", "--release", "--package", "benchleaf"])?;
    let program = target_folder().join("release").join("benchleaf");
    run(Command::new(program).args(["publish", "procedures", "--output", "output"]))?;
    note("look at output/index.html in a browser; each leaf's PDF stands beside it");
    Ok(())
}

fn large() -> Result<(), Stop> {
    let (count, folder) = (env::args().nth(2), env::args().nth(3));
    let count = count.and_then(|count| count.parse().ok());
    let (Some(count), Some(folder)) = (count, folder) else {
        return Err(Stop(USAGE.to_owned()));
    };
    large::write(&root().join("procedures"), count, Path::new(&folder))
        .map_err(|why| Stop(format!("`{folder}`: {why}")))
}

/// Formats all source files, or checks their format.
///
/// `cargo fmt` does not find a module that a macro declares, as `src/rules/mod.rs` declares its rules.
fn format(options: &[&str]) -> Result<(), Stop> {
    cargo(&[&["fmt", "--all", "--"], options].concat())?;
    let folder = root().join("src/rules");
    let files =
        fs::read_dir(&folder).map_err(|why| Stop(format!("`{}`: {why}", folder.display())))?;
    let files = files.flatten().map(|file| file.path());
    run(Command::new("rustfmt")
        .args(["--edition", "2024"])
        .args(options)
        .args(files))
}

fn test() -> Result<(), Stop> {
    provide(packages::TESTS)?;
    typst()?;
    LYCHEE.see_to()?;
    format(&["--check"])?;
    cargo(&[
        "clippy",
        "--workspace",
        "--all-targets",
        "--",
        "--deny",
        "warnings",
    ])?;
    run(cargo_command(&[
        "doc",
        "--workspace",
        "--no-deps",
        "--document-private-items",
    ])
    .env("RUSTDOCFLAGS", "--deny warnings"))?;
    cargo(&["test", "--workspace", "--all-targets"])?;
    in_a_browser()?;
    // `--all-targets` leaves these out.
    cargo(&["test", "--workspace", "--doc"])
}

/// Tries the pages in a browser, with what its tests need from npm.
fn in_a_browser() -> Result<(), Stop> {
    let folder = root().join("tests").join("browser");
    // npm leaves this file behind: older than the list of what is needed, it is of another list.
    let changed = |path: &str| fs::metadata(folder.join(path)).and_then(|file| file.modified());
    let is_there = match (
        changed("node_modules/.package-lock.json"),
        changed("package-lock.json"),
    ) {
        (Ok(installed), Ok(listed)) => installed >= listed,
        _ => false,
    };
    if !is_there {
        note("installing what the tests in a browser need, with npm");
        run(Command::new("npm").arg("ci").arg("--prefix").arg(&folder))?;
    }
    cargo(&["build", "--package", "benchleaf"])?;
    run(Command::new("npm")
        .args(["test", "--silent", "--prefix"])
        .arg(&folder)
        .env("BENCHLEAF", target_folder().join("debug").join("benchleaf")))
}

/// The machine that the chores run on.
struct ThisSystem;

impl System for ThisSystem {
    fn has(&self, program: &str) -> bool {
        Command::new(program)
            .arg("--version")
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status()
            .is_ok()
    }

    fn is_root(&self) -> bool {
        let id = Command::new("id").arg("-u").output();
        id.is_ok_and(|id| id.stdout.trim_ascii() == b"0")
    }
}

/// Installs the programs that are missing where this runs as root; otherwise names the command
/// that does, and stops.
fn provide(needs: &[Need]) -> Result<(), Stop> {
    match plan(needs, &ThisSystem) {
        Plan::Ready => Ok(()),
        Plan::Stop(message) => Err(Stop(message)),
        Plan::Install(packages) => {
            note(&format!("installing {} with apt-get", packages.join(", ")));
            apt_get(&["update", "--quiet"])?;
            let install = ["install", "--quiet", "--yes"];
            apt_get(&[&install, packages.as_slice()].concat())
        }
    }
}

fn apt_get(arguments: &[&str]) -> Result<(), Stop> {
    run(Command::new("apt-get")
        .args(arguments)
        .env("DEBIAN_FRONTEND", "noninteractive")
        .stdout(Stdio::null()))
}

/// A program that is built from its published sources into `.tools`, where it is missing.
struct Tool {
    /// Its package, and its version.
    package: &'static str,
    version: &'static str,
    program: &'static str,
    /// What its build is told besides.
    options: &'static [&'static str],
}

/// Sets the PDFs; of the version that the page designs are for.
const TYPST: Tool = Tool {
    package: "typst-cli",
    version: "0.15.1",
    program: "typst",
    options: &[],
};

/// Looks at the pages' links, for the tests; what it would need for the network is left out.
const LYCHEE: Tool = Tool {
    package: "lychee",
    version: "0.24.2",
    program: "lychee",
    options: &["--no-default-features"],
};

impl Tool {
    fn see_to(&self) -> Result<(), Stop> {
        let folder = root().join(".tools");
        let ours = folder.join("bin").join(self.program);
        if self.is_at(&ours) {
            return Ok(());
        }
        let (package, version) = (self.package, self.version);
        note(&format!(
            "building {package} {version} into .tools: this takes some minutes, once"
        ));
        run(
            cargo_command(&["install", package, "--locked", "--version", version])
                .args(self.options)
                .arg("--root")
                .arg(&folder),
        )
    }

    /// Whether a program is there, and of this version.
    fn is_at(&self, program: &Path) -> bool {
        let output = Command::new(program).arg("--version").output();
        output.is_ok_and(|output| {
            let said = String::from_utf8_lossy(&output.stdout).into_owned();
            said.split_whitespace().nth(1) == Some(self.version)
        })
    }
}

/// Gets the typesetter, unless one of the right version is on the search path.
fn typst() -> Result<(), Stop> {
    if TYPST.is_at(Path::new(TYPST.program)) {
        return Ok(());
    }
    TYPST.see_to()
}

fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_owned()
}

fn target_folder() -> PathBuf {
    match env::var_os("CARGO_TARGET_DIR") {
        Some(folder) => root().join(folder),
        None => root().join("target"),
    }
}

fn cargo(arguments: &[&str]) -> Result<(), Stop> {
    run(&mut cargo_command(arguments))
}

fn cargo_command(arguments: &[&str]) -> Command {
    let program = env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(program);
    command.args(arguments);
    command
}

/// Runs a command from the project's root, and stops where it fails.
fn run(command: &mut Command) -> Result<(), Stop> {
    let name = command.get_program().to_string_lossy().into_owned();
    let words: Vec<String> = command
        .get_args()
        .map(|word| word.to_string_lossy().into_owned())
        .collect();
    let line = format!("{name} {}", words.join(" "));
    match command.current_dir(root()).status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(Stop(format!("`{line}` failed: {status}"))),
        Err(error) => Err(Stop(format!("`{line}` could not be started: {error}"))),
    }
}
