//! `benchleaf outline`

use super::exit::{CliError, ExitStatus};
use super::open_shop::{OpenShop, check_id, no_path};
use super::shared::{counted, quoted_argument};
use crate::outline::{self, NewFile, Obstacle, Request, Subject};
use crate::shop::{Machine, Part};
use clap::{Args, Subcommand};
use std::path::{Path, PathBuf};

/// Write a new machine, procedure or fault table
///
/// Writes a file with the right keys and comments that teach. What has still to be written is
/// marked with `MISSING:` and listed. With `--remove`, the whole procedure that takes a part off,
/// cleans and inspects it and puts it back is written from the machine's file. No file is ever
/// overwritten.
#[derive(Debug, Args)]
#[command(
    disable_help_subcommand = true,
    after_help = "\
Examples:
  benchleaf outline machine rotary-tiller my-shop
  benchleaf outline machine tarn-sedge-e --like tarn-sedge
  benchleaf outline procedure air/element my-shop --machine rotary-tiller
  benchleaf outline procedure --remove carburettor --machine tarn-sedge
  benchleaf outline fault will-not-start my-shop --machine rotary-tiller"
)]
pub(super) struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Write `machines/ID.toml`
    Machine(MachineArguments),
    /// Write `FOLDER/ID.md`, a procedure
    Procedure(ProcedureArguments),
    /// Write `faults/ID.md`, a fault table
    Fault(FaultArguments),
}

#[derive(Debug, Args)]
struct NamedArguments {
    /// The id, which becomes the name of the file
    #[arg(value_name = "ID")]
    id: String,

    /// The sources folder
    #[arg(default_value = "procedures", value_name = "SOURCES")]
    folder: PathBuf,
}

#[derive(Debug, Args)]
struct MachineArguments {
    #[command(flatten)]
    named: NamedArguments,

    /// The machine that it is a variant of: the file then has only what differs
    #[arg(long, value_name = "ID")]
    like: Option<String>,
}

#[derive(Debug, Args)]
struct FaultArguments {
    #[command(flatten)]
    named: NamedArguments,

    /// A machine that it is for; by default the only one there is
    #[arg(long, short, value_name = "ID")]
    machine: Vec<String>,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf outline procedure air/element my-shop --machine rotary-tiller
  benchleaf outline procedure --remove carburettor --machine tarn-sedge
  benchleaf outline procedure fuel/carb-off my-shop --remove carburettor --machine tarn-sedge")]
struct ProcedureArguments {
    /// The id, with its folder: `fuel/float-bowl`. With `--remove`, by default the machine's and the part's
    #[arg(value_name = "ID")]
    id: Option<String>,

    /// The sources folder; with `--remove`, the id before it may be left out
    #[arg(value_name = "SOURCES")]
    folder: Option<PathBuf>,

    /// A machine that it is for; by default the only one that can be meant
    #[arg(long, short, value_name = "ID")]
    machine: Vec<String>,

    /// Write how this part comes off, is cleaned and inspected, and goes back
    #[arg(long, value_name = "PART")]
    remove: Option<String>,
}

/// The sources folder of a command that names none.
const USUAL_FOLDER: &str = "procedures";

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    match &arguments.what {
        What::Machine(arguments) => machine(arguments),
        What::Procedure(arguments) => match &arguments.remove {
            Some(part) => removal(arguments, part),
            None => procedure(arguments),
        },
        What::Fault(arguments) => fault(arguments),
    }
}

fn machine(arguments: &MachineArguments) -> Result<ExitStatus, CliError> {
    let named = &arguments.named;
    let shop = OpenShop::read(&named.folder)?;
    check_id(&named.id)?;
    let text = match &arguments.like {
        Some(like) => {
            shop.machines(std::slice::from_ref(like))?;
            outline::variant(shop.words(), &named.id, like)
        }
        None => outline::machine(shop.words(), &named.id),
    };
    let path = format!("machines/{}.toml", named.id);
    shop.write(
        &NewFile { path, text },
        &[],
        &format!(
            "benchleaf outline procedure FOLDER/ID {} --machine {}",
            quoted_argument(&named.folder),
            named.id
        ),
    )
}

fn procedure(arguments: &ProcedureArguments) -> Result<ExitStatus, CliError> {
    // A folder that is there is no id: it is the sources folder, and the id was forgotten.
    let given = arguments.id.as_ref();
    let given = given.filter(|id| arguments.folder.is_some() || !Path::new(id).is_dir());
    let Some(id) = given else {
        return Err(CliError::new("the id of the procedure is not given").help(
            "give it with its folder: `benchleaf outline procedure air/cover`; with `--remove PART`, it may be left out",
        ));
    };
    let usual = Path::new(USUAL_FOLDER);
    let folder = arguments.folder.as_deref().unwrap_or(usual);
    let shop = OpenShop::read(folder)?;
    let machines = shop.machines(&arguments.machine)?;
    let first = shop.sources.shop.machines.get(&machines[0]);
    let (begin, finish) = first.map_or_else(Default::default, |machine| {
        outline::usual(&shop.sources, machine)
    });
    let path = shop.procedure_path(id, None)?;
    let (machines, begin, finish) = (texts(&machines), texts(&begin), texts(&finish));
    let subject = Subject {
        id: id.rsplit('/').next().unwrap_or(id),
        machines: &machines,
        begin: &begin,
        finish: &finish,
    };
    let text = outline::procedure(shop.words(), subject);
    let next = format!("benchleaf check {}", quoted_argument(folder));
    shop.write(&NewFile { path, text }, &[], &next)
}

fn texts(ids: &[String]) -> Vec<&str> {
    ids.iter().map(String::as_str).collect()
}

fn fault(arguments: &FaultArguments) -> Result<ExitStatus, CliError> {
    let NamedArguments { id, folder } = &arguments.named;
    let shop = OpenShop::read(folder)?;
    check_id(id)?;
    let machines = shop.machines(&arguments.machine)?;
    let subject = Subject {
        id,
        machines: &texts(&machines),
        begin: &[],
        finish: &[],
    };
    let text = outline::fault(shop.words(), subject);
    let path = format!("faults/{id}.md");
    let next = format!("benchleaf check {}", quoted_argument(folder));
    shop.write(&NewFile { path, text }, &[], &next)
}

fn removal(arguments: &ProcedureArguments, part: &str) -> Result<ExitStatus, CliError> {
    // A folder that is there is no id: a lone argument is the sources folder then.
    let lone = arguments.id.as_deref().map(Path::new);
    let lone = lone.filter(|path| arguments.folder.is_none() && path.is_dir());
    let id = arguments.id.as_deref().filter(|_| lone.is_none());
    let folder = arguments.folder.as_deref().or(lone);
    let folder = folder.unwrap_or(Path::new(USUAL_FOLDER));
    let shop = OpenShop::read(folder)?;
    // The part may be in what could not be read.
    let mut unread = shop.sources.shop.machines.values().filter(|machine| {
        let is_meant = arguments.machine.is_empty() || arguments.machine.contains(&machine.id);
        is_meant && !machine.is_complete
    });
    if let Some(status) = unread.find_map(|machine| shop.report_errors(machine)) {
        return Ok(status);
    }
    let (machine, part) = shop.part(&arguments.machine, part)?;
    if let Some(status) = shop.report_errors(machine) {
        return Ok(status);
    }
    let request = Request {
        sources: &shop.sources,
        machine,
        part,
    };
    let usual_id = format!("{}-{}", machine.id, part.key);
    let path = shop.procedure_path(id.unwrap_or(&usual_id), Some(&request))?;
    let written = outline::removal(request, &path)
        .map_err(|obstacle| explain_obstacle(&obstacle, machine, part))?;
    let mut notes = vec![format!(
        "{} `{}`, and {} back on",
        counted(written.removed, "part comes off", "parts come off"),
        machine.id,
        if written.removed == 1 { "goes" } else { "go" }
    )];
    notes.extend(around("before it", &written.begin));
    notes.extend(around("after it", &written.finish));
    let others: Vec<String> = request.others().map(|id| format!("`{id}`")).collect();
    if !others.is_empty() {
        notes.push(format!(
            "`{}` also comes off in {}",
            part.key,
            others.join(", ")
        ));
    }
    notes.push("not known from the machine's file: how many minutes it takes".to_owned());
    let name = path
        .rsplit('/')
        .next()
        .unwrap_or(&path)
        .trim_end_matches(".md");
    let (sources, machine) = (quoted_argument(folder), &machine.id);
    let next = format!(
        "benchleaf rehearse {name} {sources} --machine {machine}\n  \
         benchleaf print {sources} --procedure {name} --machine {machine} --html-only"
    );
    let text = written.text;
    shop.write(&NewFile { path, text }, &notes, &next)
}

/// The procedures that are done before or after the work.
fn around(when: &str, ids: &[String]) -> Option<String> {
    let quoted: Vec<String> = ids.iter().map(|id| format!("`{id}`")).collect();
    (!ids.is_empty()).then(|| format!("{when}: {}", quoted.join(", ")))
}

fn explain_obstacle(obstacle: &Obstacle, machine: &Machine, part: &Part) -> CliError {
    let key = &part.key;
    match obstacle {
        Obstacle::Circle(keys) => {
            let keys: Vec<String> = keys.iter().map(|key| format!("`{key}`")).collect();
            let message = format!(
                "`{key}` can't come off: each of these waits for the next, {}",
                keys.join(" → ")
            );
            CliError::new(message).help(format!(
                "correct `behind`, `held-by`, `off-first` or `seals` in machines/{}.toml",
                machine.id
            ))
        }
        Obstacle::TooMany => CliError::new(format!(
            "more parts have to come off before `{key}` than a procedure can have"
        ))
        .help(format!(
            "look for parts in front of each other in machines/{}.toml",
            machine.id
        )),
        Obstacle::NoPath => no_path(),
    }
}
