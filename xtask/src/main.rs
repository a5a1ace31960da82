//! The project's development tasks. See [`USAGE`] for the commands.

mod faults;
mod large;
mod notices;
mod packages;
mod python;

use packages::{Need, Plan, System, plan};
use std::env;
use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};
use std::time::Instant;

const USAGE: &str = "\
usage: cargo xtask COMMAND

  demo   build benchleaf and make the demonstration shop's sheets in output/
  fmt    format all source files, those that `cargo fmt` does not find among them
  test   check format, lints and docs, and run all tests
  notices
         write THIRD-PARTY.md, the licences of what the program contains, after a change of dependencies
  large N DIR
         write a tree of about N procedures, each on two machines, into DIR, to time with
  faults [--full]
         publish with the program killed or a system call failing at each step, beside other runs, and
         while the sources change, and check that nothing is lost; --full tries every case
  contact-sheets DIR
         write pictures of every kind of sheet as it is printed (in colour, in grey and in black
         and white), of every kind of page as it is shown (on narrow and wide screens, light and
         dark), and of every figure in its steps into DIR, to be looked at, and the pictures of the README into docs/

`demo`, `test`, `faults` and `contact-sheets` need some Debian packages. As root they install what is missing; otherwise they
print the command that installs it, and stop.";

/// The message of a task that failed.
struct TaskError(String);

impl fmt::Display for TaskError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

fn main() -> ExitCode {
    let task = env::args().nth(1);
    let result = match task.as_deref() {
        Some("demo") => demo(),
        Some("fmt") => format(&[]),
        Some("test") => test(),
        Some("notices") => make_notices(),
        Some("large") => large(),
        Some("faults") => faults(),
        Some("contact-sheets") => contact_sheets(),
        _ => Err(TaskError(USAGE.to_owned())),
    };
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            note(&error.to_string());
            ExitCode::FAILURE
        }
    }
}

#[allow(
    clippy::print_stderr,
    reason = "all messages of the tasks go through this function"
)]
fn note(text: &str) {
    eprintln!("{text}");
}

/// Makes the demonstration. If Typst has not been built, makes the pages without PDFs first: they can be read while it is
/// built, and link to no PDF.
///
/// The profile `demo` is built in a fraction of the time of a release, and publishes the demonstration in a few seconds
/// more.
fn demo() -> Result<(), TaskError> {
    install_missing(packages::DEMO)?;
    note("building benchleaf");
    cargo(&["build", "--profile", "demo", "--package", "benchleaf"])?;
    let program = target_folder().join("demo").join("benchleaf");
    let publish = || {
        let mut command = Command::new(&program);
        command.args(["publish", "procedures", "--output", "output"]);
        command
    };
    if typst_program().is_err() {
        run(publish().args(["--html-only", "--quiet"]))?;
        let page = root().join("output").join("index.html");
        note(&format!(
            "\nThe pages are made: open {} in a browser.\n\
             Still to come: the PDFs. Typst, which makes them, is built first: once, about six minutes on two cores.\n",
            page.display()
        ));
        TYPST.install()?;
    }
    let typst = typst_program()?;
    run(publish().arg("--typst").arg(typst))?;
    note("look at output/index.html in a browser; each sheet's PDF stands beside it");
    Ok(())
}

fn large() -> Result<(), TaskError> {
    let (count, folder) = (env::args().nth(2), env::args().nth(3));
    let count = count.and_then(|count| count.parse().ok());
    let (Some(count), Some(folder)) = (count, folder) else {
        return Err(TaskError(USAGE.to_owned()));
    };
    large::write(&root().join("procedures"), count, Path::new(&folder))
        .map_err(|error| TaskError(format!("`{folder}`: {error}")))
}

fn faults() -> Result<(), TaskError> {
    let amount = match env::args().nth(2).as_deref() {
        None => faults::Amount::Some,
        Some("--full") => faults::Amount::All,
        Some(_) => return Err(TaskError(USAGE.to_owned())),
    };
    install_missing(packages::FAULTS)?;
    install_typst()?;
    install_npm_packages(&browser_folder())?;
    cargo(&["build", "--package", "benchleaf"])?;
    faults::run(&debug_program(), &typst_program()?, &root(), amount)
}

fn contact_sheets() -> Result<(), TaskError> {
    let Some(folder) = env::args_os().nth(2) else {
        return Err(TaskError(USAGE.to_owned()));
    };
    install_missing(packages::CONTACT_SHEETS)?;
    install_typst()?;
    install_npm_packages(&browser_folder())?;
    cargo(&["build", "--package", "benchleaf"])?;
    let pages = target_folder().join("contact-sheets");
    note("making the demonstration shop's sheets");
    run(Command::new(debug_program())
        .args(["publish", "procedures", "--output"])
        .arg(&pages))?;
    note("making pictures of them");
    run(Command::new("node")
        .arg(browser_folder().join("contact_sheets.mjs"))
        .arg(&pages)
        .arg(&folder)
        .arg(root().join("docs")))?;
    note(&format!("look at the pictures in {}", folder.display()));
    Ok(())
}

/// Formats all source files, or checks their format with the option `--check`.
///
/// `cargo fmt` does not find modules that a macro declares, such as the rules in `src/rules/mod.rs`. So
/// these files are passed to `rustfmt` by name.
fn format(options: &[&str]) -> Result<(), TaskError> {
    cargo(&[&["fmt", "--all", "--"], options].concat())?;
    let folder = root().join("src/rules");
    let files = fs::read_dir(&folder)
        .map_err(|error| TaskError(format!("`{}`: {error}", folder.display())))?;
    let files = files.flatten().map(|file| file.path());
    run(Command::new("rustfmt")
        .args(["--edition", "2024"])
        .args(options)
        .args(files))
}

fn test() -> Result<(), TaskError> {
    timed("install the tools", || {
        install_missing(packages::TESTS)?;
        install_typst()?;
        CARGO_DENY.install()?;
        python::install(&root())?;
        install_npm_packages(&report_folder())?;
        install_npm_packages(&browser_folder())
    })?;
    timed("check the format", || format(&["--check"]))?;
    timed("lint", lint)?;
    timed("make the docs", make_docs)?;
    timed("check the dependencies", check_dependencies)?;
    timed("run the Rust tests", || {
        cargo(&["test", "--workspace", "--all-targets"])
    })?;
    timed("run the browser tests", browser_tests)?;
    timed("publish with faults", || {
        let typst = typst_program()?;
        faults::run(&debug_program(), &typst, &root(), faults::Amount::Some)
    })?;
    // `--all-targets` does not include doc tests.
    timed("run the doc tests", || {
        cargo(&["test", "--workspace", "--doc"])
    })
}

/// Runs one part of the tests, and prints how long it took.
#[expect(clippy::disallowed_methods, reason = "says only how long a part took")]
fn timed(part: &str, run: impl FnOnce() -> Result<(), TaskError>) -> Result<(), TaskError> {
    let start = Instant::now();
    run()?;
    note(&format!("{part}: {} s", start.elapsed().as_secs()));
    Ok(())
}

fn lint() -> Result<(), TaskError> {
    let options = ["--workspace", "--all-targets", "--", "--deny", "warnings"];
    cargo(&[&["clippy"], options.as_slice()].concat())
}

/// Makes the docs, without warnings.
///
/// There are no examples. Naming them turns on the features that the tests' dependencies need, as linting does.
/// Otherwise, all dependencies would be checked a second time, with fewer features. The docs of the program would
/// overwrite those of the library, which has the same name.
fn make_docs() -> Result<(), TaskError> {
    run(cargo_command(&["doc", "--workspace", "--no-deps"])
        .args(["--lib", "--bin", "xtask", "--examples"])
        .arg("--document-private-items")
        .env("RUSTDOCFLAGS", "--deny warnings"))
}

/// The licences of what the program contains, from the project's root.
const NOTICES: &str = "THIRD-PARTY.md";

fn make_notices() -> Result<(), TaskError> {
    CARGO_ABOUT.install()?;
    fetch_dependencies()?;
    run(Command::new(CARGO_ABOUT.path())
        .args(["generate", "--locked", "--offline", "--fail", "about.hbs"])
        .args(["--output-file", NOTICES]))
}

/// Fetches the dependencies of all systems. A build only fetches those of its own.
fn fetch_dependencies() -> Result<(), TaskError> {
    cargo(&["fetch", "--locked", "--quiet"])
}

/// Checks the licences, sources and duplicates of the dependencies, and that the notices name all of them.
fn check_dependencies() -> Result<(), TaskError> {
    fetch_dependencies()?;
    run(Command::new(CARGO_DENY.path())
        .args(["--locked", "--offline", "check", "--hide-inclusion-graph"])
        .args(["bans", "licenses", "sources"]))?;
    let tree = cargo_command(&["tree", "--locked", "--offline", "--package", "benchleaf"])
        .args(["--edges", "normal,no-proc-macro", "--target", "all"])
        .args(["--prefix", "none", "--no-dedupe"])
        .current_dir(root())
        .output();
    let tree = tree.map_err(|error| TaskError(format!("`cargo tree`: {error}")))?;
    if !tree.status.success() {
        let message = String::from_utf8_lossy(&tree.stderr);
        return Err(TaskError(format!("`cargo tree` failed: {message}")));
    }
    let read = |path: &str| fs::read_to_string(root().join(path)).unwrap_or_default();
    let program = String::from_utf8_lossy(&tree.stdout);
    let outdated = notices::outdated(&read(NOTICES), &program, &read("Cargo.lock"));
    if outdated.is_empty() {
        return Ok(());
    }
    let outdated: Vec<String> = outdated.into_iter().collect();
    Err(TaskError(format!(
        "`{NOTICES}` is out of date for {}: run `cargo xtask notices`",
        outdated.join(", ")
    )))
}

fn browser_folder() -> PathBuf {
    root().join("tests").join("browser")
}

/// Has the validator of the formats that findings are written in.
fn report_folder() -> PathBuf {
    root().join("tests").join("report")
}

fn debug_program() -> PathBuf {
    target_folder().join("debug").join("benchleaf")
}

/// Installs the npm packages of a folder of tests, unless they are up to date.
fn install_npm_packages(folder: &Path) -> Result<(), TaskError> {
    // npm writes this file when it installs. If it is older than the lock file, the packages are outdated.
    let modified = |path: &str| fs::metadata(folder.join(path)).and_then(|file| file.modified());
    let is_current = match (
        modified("node_modules/.package-lock.json"),
        modified("package-lock.json"),
    ) {
        (Ok(installed), Ok(locked)) => installed >= locked,
        _ => false,
    };
    if !is_current {
        note(&format!(
            "installing what the tests in {} need, with npm",
            folder.display()
        ));
        run(Command::new("npm").arg("ci").arg("--prefix").arg(folder))?;
    }
    Ok(())
}

/// Runs the browser tests, with the program that the Rust tests have built.
fn browser_tests() -> Result<(), TaskError> {
    run(Command::new("npm")
        .args(["test", "--silent", "--prefix"])
        .arg(browser_folder())
        .env("BENCHLEAF", debug_program()))
}

/// The machine that the tasks run on.
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

/// Installs missing programs if this process runs as root. Otherwise fails with the command that
/// installs them.
fn install_missing(needs: &[Need]) -> Result<(), TaskError> {
    match plan(needs, &ThisSystem) {
        Plan::Ready => Ok(()),
        Plan::Stop(message) => Err(TaskError(message)),
        Plan::Install(packages) => {
            note(&format!("installing {} with apt-get", packages.join(", ")));
            apt_get(&["update", "--quiet"])?;
            let install = ["install", "--quiet", "--yes"];
            apt_get(&[&install, packages.as_slice()].concat())
        }
    }
}

fn apt_get(arguments: &[&str]) -> Result<(), TaskError> {
    run(Command::new("apt-get")
        .args(arguments)
        .env("DEBIAN_FRONTEND", "noninteractive")
        .stdout(Stdio::null()))
}

/// A program that is built from its crate into `.tools`.
struct Tool {
    /// The crate.
    package: &'static str,
    version: &'static str,
    program: &'static str,
    /// Further options of `cargo install`.
    options: &'static [&'static str],
    /// How far its build is optimised. What runs for seconds only is built for speed of building.
    optimised: &'static str,
}

/// Makes the PDFs. The version is the one that the templates are written for.
const TYPST: Tool = Tool {
    package: "typst-cli",
    version: "0.15.1",
    program: "typst",
    options: &[],
    optimised: "3",
};

/// Checks the licences, sources and duplicates of the dependencies.
const CARGO_DENY: Tool = Tool {
    package: "cargo-deny",
    version: "0.20.2",
    program: "cargo-deny",
    options: &["--no-default-features"],
    optimised: "0",
};

/// Writes the licences of the dependencies.
const CARGO_ABOUT: Tool = Tool {
    package: "cargo-about",
    version: "0.9.3",
    program: "cargo-about",
    options: &["--features", "cli"],
    optimised: "0",
};

impl Tool {
    /// Where it is built to.
    fn path(&self) -> PathBuf {
        root().join(".tools").join("bin").join(self.program)
    }

    /// Builds the program, unless the right version is there.
    fn install(&self) -> Result<(), TaskError> {
        let folder = root().join(".tools");
        if self.is_at(&self.path()) {
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
                .arg(&folder)
                .env("CARGO_PROFILE_RELEASE_OPT_LEVEL", self.optimised)
                // Optimising over all crates takes longer than it saves here.
                .env("CARGO_PROFILE_RELEASE_LTO", "off")
                .env("CARGO_PROFILE_RELEASE_CODEGEN_UNITS", "16"),
        )
    }

    /// Whether there is a program of this version at a path.
    fn is_at(&self, program: &Path) -> bool {
        let output = Command::new(program).arg("--version").output();
        output.is_ok_and(|output| {
            let stdout = String::from_utf8_lossy(&output.stdout).into_owned();
            stdout.split_whitespace().nth(1) == Some(self.version)
        })
    }
}

/// Installs typst, unless the right version is on the search path.
fn install_typst() -> Result<(), TaskError> {
    if TYPST.is_at(Path::new(TYPST.program)) {
        return Ok(());
    }
    TYPST.install()
}

/// The path of the typst program that [`install_typst`] found or built.
fn typst_program() -> Result<PathBuf, TaskError> {
    let installed = root().join(".tools/bin").join(TYPST.program);
    if TYPST.is_at(&installed) {
        return Ok(installed);
    }
    let path = env::var_os("PATH").unwrap_or_default();
    let mut programs = env::split_paths(&path).map(|folder| folder.join(TYPST.program));
    let found = programs.find(|program| TYPST.is_at(program));
    found.ok_or_else(|| TaskError(format!("there is no typst {}", TYPST.version)))
}

fn root() -> PathBuf {
    let xtask = Path::new(env!("CARGO_MANIFEST_DIR"));
    xtask.parent().unwrap_or(xtask).to_owned()
}

fn target_folder() -> PathBuf {
    match env::var_os("CARGO_TARGET_DIR") {
        Some(folder) => root().join(folder),
        None => root().join("target"),
    }
}

fn cargo(arguments: &[&str]) -> Result<(), TaskError> {
    run(&mut cargo_command(arguments))
}

fn cargo_command(arguments: &[&str]) -> Command {
    let program = env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(program);
    command.args(arguments);
    command
}

/// Runs a command in the project's root. Its failure is an error.
fn run(command: &mut Command) -> Result<(), TaskError> {
    let name = command.get_program().to_string_lossy().into_owned();
    let words: Vec<String> = command
        .get_args()
        .map(|word| word.to_string_lossy().into_owned())
        .collect();
    let line = format!("{name} {}", words.join(" "));
    match command.current_dir(root()).status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(TaskError(format!("`{line}` failed: {status}"))),
        Err(error) => Err(TaskError(format!("`{line}` could not be started: {error}"))),
    }
}
