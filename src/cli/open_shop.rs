//! The sources folder that `benchleaf outline` writes a new file for.

use super::console::{print, print_error};
use super::exit::{CliError, ExitStatus};
use super::shared::{counted, quoted_argument, require_known, show, shown_path, without_controls};
use super::start::creation_error;
use crate::finding::{FileId, Finding, Findings, Level, Span, nearest};
use crate::outline::{self, NewFile, Request};
use crate::shop::{Machine, Part};
use crate::tree::{Disk, Overlay, SourceKind};
use crate::words::Words;
use crate::{Checked, Sources};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Checks that an id can be the name of a source.
pub(super) fn check_id(id: &str) -> Result<(), CliError> {
    let mut findings = Findings::new();
    let span = Span::new(FileId(0), 0..0);
    crate::record::check_file_id(id, span, &mut findings);
    match findings.iter().next() {
        None => Ok(()),
        Some(found) => {
            let message = without_controls(&found.message);
            let error = CliError::new(message);
            Err(error.help("use lower-case words and digits joined by hyphens: `float-bowl`"))
        }
    }
}

/// A shop that a file is written for.
pub(super) struct OpenShop<'f> {
    folder: &'f Path,
    disk: Disk,
    pub(super) sources: Sources,
}

impl<'f> OpenShop<'f> {
    pub(super) fn read(folder: &'f Path) -> Result<OpenShop<'f>, CliError> {
        let disk = Disk::open(folder).map_err(|error| {
            let message = format!("can't open the folder {}: {error}", shown_path(folder));
            CliError::new(message)
                .help("give the sources folder after the id; `benchleaf start` creates one")
        })?;
        let sources = crate::read(&disk);
        Ok(OpenShop {
            folder,
            disk,
            sources,
        })
    }

    /// The words of the language that the shop's text is in.
    pub(super) fn words(&self) -> &'static Words {
        let language = self.sources.shop.languages.first();
        let words = language.and_then(|language| Words::of(language));
        words.unwrap_or_else(|| Words::english())
    }

    /// The machines that are meant.
    pub(super) fn machines(&self, named: &[String]) -> Result<Vec<String>, CliError> {
        let known = self.sources.shop.machines.keys();
        for name in named {
            require_known("machine", name, known.clone())?;
        }
        let known: Vec<&str> = known.collect();
        match (named, known.as_slice()) {
            ([], [only]) => Ok(vec![(*only).to_owned()]),
            ([], []) => Err(CliError::new("the shop has no machine yet").help(format!(
                "write one first: `benchleaf outline machine ID {}`",
                quoted_argument(self.folder)
            ))),
            ([], _) => Err(CliError::new("the machine is not given").help(format!(
                "add `--machine ID`; there are: {}",
                known.join(", ")
            ))),
            (named, _) => {
                let mut machines = named.to_vec();
                let mut seen = BTreeSet::new();
                machines.retain(|machine| seen.insert(machine.clone()));
                Ok(machines)
            }
        }
    }

    /// The part that is meant, and its machine.
    pub(super) fn part(&self, named: &[String], key: &str) -> Result<(&Machine, &Part), CliError> {
        let machines = &self.sources.shop.machines;
        if let [_, _, ..] = named {
            return Err(CliError::new("a removal is for one machine")
                .help("run the command once for each machine"));
        }
        if let Some(name) = named.first() {
            require_known("machine", name, machines.keys())?;
        }
        let meant = machines
            .values()
            .filter(|machine| named.is_empty() || named[0] == machine.id);
        let meant: Vec<&Machine> = meant.collect();
        let having = meant
            .iter()
            .filter_map(|machine| Some((*machine, machine.parts.get(key)?)));
        let having: Vec<(&Machine, &Part)> = having.collect();
        match having.as_slice() {
            [(machine, part)] => Ok((machine, part)),
            [] => Err(unknown_part(&meant, key)),
            several => {
                let ids: Vec<&str> = several
                    .iter()
                    .map(|(machine, _)| machine.id.as_str())
                    .collect();
                let message = format!("several machines have a part `{key}`");
                Err(CliError::new(message)
                    .help(format!("add `--machine ID`, one of: {}", ids.join(", "))))
            }
        }
    }

    /// Where a new procedure is written. `id` may begin with its folder.
    pub(super) fn procedure_path(
        &self,
        id: &str,
        request: Option<&Request<'_>>,
    ) -> Result<String, CliError> {
        let (system, id) = match id.rsplit_once('/') {
            Some((system, id)) => (Some(system), id),
            None => (None, id),
        };
        check_id(id)?;
        if let Some(system) = system {
            check_id(system)?;
        }
        let mut procedures = self.sources.procedures.iter();
        if let Some(other) = procedures.find(|procedure| procedure.id == id) {
            let message = format!("there is a procedure `{id}` already: {}", other.path);
            return Err(CliError::new(message).help("give another id before the sources folder"));
        }
        let derived = request.and_then(Request::folder);
        let mut systems: Vec<&str> = self
            .sources
            .procedures
            .iter()
            .map(|it| it.system.as_str())
            .collect();
        systems.sort_unstable();
        systems.dedup();
        let system = match (system.or(derived), systems.as_slice()) {
            (Some(system), _) => system,
            (None, [only]) => only,
            (None, known) => {
                let known = if known.is_empty() {
                    String::new()
                } else {
                    format!("; there are: {}", known.join(", "))
                };
                return Err(CliError::new("the folder of the procedure is not given").help(format!(
                    "write it before the id, such as `air/{id}`: each folder is a chapter of the manual{known}"
                )));
            }
        };
        let path = format!("{system}/{id}.md");
        let with_it = self.sources.tree.with_source(&path, String::new());
        let kind = with_it.and_then(|tree| Some(tree.files.last()?.kind.clone()));
        match kind {
            Some(SourceKind::Procedure { .. }) => Ok(path),
            _ => Err(no_path()),
        }
    }

    /// Shows the errors of the files that a procedure for a machine is written from. `None` if there are none.
    pub(super) fn report_errors(&self, machine: &Machine) -> Option<ExitStatus> {
        let is_needed = |finding: &Finding| {
            let file = finding.primary.as_ref().map(|mark| mark.span.file);
            finding.level == Level::Error
                && file.is_none_or(|file| match &self.sources.tree.file(file).kind {
                    SourceKind::Machine { .. } => machine.files.contains(&file),
                    SourceKind::Procedure { .. } => {
                        let mut procedures = self.sources.procedures.iter();
                        procedures.any(|it| it.file == file && it.is_for(machine.index))
                    }
                    SourceKind::Fault { .. } => false,
                    _ => true,
                })
        };
        let needed = self
            .sources
            .findings
            .iter()
            .filter(|finding| is_needed(finding));
        let needed: Findings = needed.cloned().collect();
        if needed.is_empty() && machine.is_complete {
            return None;
        }
        show(&self.sources, &needed);
        print_error("nothing was written: fix the errors above\n");
        Some(ExitStatus::SourceErrors)
    }

    /// Checks the sources with a new file, and writes the file. `notes` are printed below its path.
    pub(super) fn write(
        &self,
        file: &NewFile,
        notes: &[String],
        next: &str,
    ) -> Result<ExitStatus, CliError> {
        let texts = BTreeMap::from([(file.path.clone(), file.text.clone())]);
        let world = Overlay::new(&self.disk, texts);
        let sources = crate::read(&world);
        let Checked { findings, .. } = crate::check(&sources);
        let id = sources
            .tree
            .files
            .iter()
            .find(|source| source.path == file.path);
        let id = id.map(|source| source.id);
        let is_of_file = |finding: &&Finding| {
            let mut marks = finding.marks();
            let stem = file.path.rsplit('/').next().unwrap_or_default();
            let job = format!("`{}` on", stem.trim_end_matches(".md"));
            let mut jobs = finding.jobs.iter();
            marks.any(|mark| Some(mark.span.file) == id) || jobs.any(|name| name.starts_with(&job))
        };
        let gaps = outline::gaps(&file.text);
        let found: Findings = findings.iter().filter(is_of_file).cloned().collect();
        let others: Findings = found
            .iter()
            .filter(|it| !crate::rules::is_gap(it))
            .cloned()
            .collect();
        outline::create(self.folder, std::slice::from_ref(file))
            .map_err(|error| creation_error(&error))?;
        show(&sources, &others);
        let created = format!("created {}", shown_path(&self.folder.join(&file.path)));
        let mut lines = vec![created];
        lines.extend(notes.iter().map(|note| format!("  {note}")));
        let missing = gaps.iter();
        lines.extend(missing.map(|(line, missing)| format!("  line {line}: missing: {missing}")));
        let counted_gaps = counted(gaps.len(), "gap", "gaps");
        let pronoun = if gaps.len() == 1 { "it" } else { "them" };
        lines.push(match (gaps.is_empty(), others.is_empty()) {
            (true, true) => "it checks clean".to_owned(),
            (false, true) => format!("it checks clean but for {counted_gaps}: fill {pronoun} in"),
            (true, false) => "it has the findings above".to_owned(),
            (false, false) => format!("it has the findings above, and {counted_gaps}"),
        });
        lines.push(format!("\nNext:\n  {next}\n"));
        print(&lines.join("\n"));
        Ok(ExitStatus::of(&others))
    }
}

/// No procedure can be in that folder.
pub(super) fn no_path() -> CliError {
    CliError::new("no procedure can be written there")
        .help("name a folder other than `machines`, `faults` and `figures`")
}

/// Why there is no such part.
fn unknown_part(machines: &[&Machine], key: &str) -> CliError {
    let kind_of = |machine: &&Machine| {
        let kinds = [
            ("a fluid", machine.fluids.find(key).is_some()),
            ("a valve", machine.valves.find(key).is_some()),
            ("a control", machine.controls.find(key).is_some()),
            ("an energy source", machine.energies.find(key).is_some()),
            ("a reading", machine.readings.find(key).is_some()),
            ("a condition", machine.conditions.find(key).is_some()),
        ];
        let kind = kinds.into_iter().find(|(_, is_it)| *is_it);
        kind.map(|(kind, _)| (kind, machine.id.clone()))
    };
    if let Some((kind, machine)) = machines.iter().find_map(kind_of) {
        let message = format!("`{key}` is {kind} of `{machine}`, and only parts come off");
        let help = format!("name a part: `[part.ID]` in machines/{machine}.toml");
        return CliError::new(message).help(help);
    }
    let key = without_controls(key);
    let of = match machines {
        [machine] => format!("`{}` has no part `{key}`", machine.id),
        _ => format!("no machine has a part `{key}`"),
    };
    let mut known: Vec<&str> = machines
        .iter()
        .flat_map(|machine| machine.parts.keys())
        .collect();
    known.sort_unstable();
    known.dedup();
    let help = match nearest(&key, known.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => "`benchleaf guards MACHINE` and the machine's file list its parts".to_owned(),
    };
    CliError::new(of).help(help)
}
