//! Every sheet of some sources, to see which ones a change affects.

use crate::page::{Edition, OutputContext, Sheet, SheetKind};
use crate::publish::summarizer;
use crate::render::{Look, Paths};
use crate::sheet::{self, JobDocument, Summary};
use crate::trade::Day;
use crate::words::WordsError;
use crate::{CheckedJobs, Rehearsed, Sources};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, PoisonError};

/// Checks like [`crate::check_on`], and passes every sheet to `see`, with the context of its language.
///
/// # Errors
///
/// If the shop's own words can't be applied.
pub(crate) fn check_with_sheets<'s>(
    sources: &'s Sources,
    on: Option<Day>,
    look: &Look,
    see: impl Fn(&Sheet, &OutputContext) + Sync,
) -> Result<CheckedJobs<'s, Summary<'s>>, WordsError> {
    let editions = Edition::of_shop(&sources.shop, look.words())?;
    let contexts = OutputContext::of_editions(&sources.tree, &editions, BTreeSet::new());
    let summary = summarizer(sources, look);
    let checked = crate::check_jobs(sources, on, |rehearsed| {
        for context in &contexts {
            let document = JobDocument::new(&rehearsed.job, &rehearsed.rehearsal, context);
            for kind in SheetKind::OF_JOB {
                if let Some(sheet) = document.sheet(kind) {
                    see(&sheet, context);
                }
            }
        }
        summary(rehearsed)
    });
    for context in &contexts {
        for Rehearsed { job, rehearsal } in &checked.faults {
            see(&sheet::fault_sheet(job, rehearsal, context), context);
        }
        let jobs: Vec<&Summary<'_>> = checked.jobs.iter().collect();
        for machine in sources.shop.machines.values() {
            let own = jobs.iter().copied();
            let own: Vec<_> = own.filter(|job| job.machine.id == machine.id).collect();
            // No sheet of a machine without jobs is published.
            let kinds = SheetKind::OF_MACHINE.into_iter();
            for kind in kinds.filter(|_| !own.is_empty()) {
                let sheet = sheet::machine_sheet(kind, &sources.shop, machine, &own, context);
                if let Some(sheet) = sheet {
                    see(&sheet, context);
                }
            }
        }
        if jobs.iter().any(|job| job.uses_any())
            && let Some(sheet) = sheet::where_used(&sources.shop, &jobs, context)
        {
            see(&sheet, context);
        }
    }
    Ok(checked)
}

/// The sheets of some sources with their content marks, by path.
#[derive(Debug, Default)]
pub(crate) struct SheetMarks(Mutex<BTreeMap<String, MarkedSheet>>);

#[derive(Clone, Debug)]
struct MarkedSheet {
    /// What it is about: "Float bowl: clean, Tarn Sedge".
    subject: String,
    /// The title of its kind: "Shop sheet".
    kind: String,
    mark: String,
}

impl SheetMarks {
    pub(crate) fn add(&self, sheet: &Sheet, context: &OutputContext) {
        let path = Paths::new(context, None).path(&sheet.page);
        let head = &sheet.head;
        let subject = match &head.machine {
            Some(machine) => format!("{}, {machine}", head.title),
            None => head.title.clone(),
        };
        let marked = MarkedSheet {
            subject,
            kind: head.kind_title.clone(),
            mark: head.mark.clone(),
        };
        let mut sheets = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        sheets.insert(path, marked);
    }

    /// The sheets that differ from those before, or that are new or gone: what each is about, and its kinds.
    pub(crate) fn affected(self, before: SheetMarks) -> Vec<String> {
        let inner =
            |marks: SheetMarks| marks.0.into_inner().unwrap_or_else(PoisonError::into_inner);
        let (now, mut before) = (inner(self), inner(before));
        let mut affected: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for (path, sheet) in now {
            let old = before.remove(&path);
            let state = match old {
                Some(old) if old.mark == sheet.mark => continue,
                Some(_) => "",
                None => " (new)",
            };
            let kinds = affected.entry(sheet.subject).or_default();
            kinds.push(format!("{}{state}", sheet.kind));
        }
        for sheet in before.into_values() {
            let kinds = affected.entry(sheet.subject).or_default();
            kinds.push(format!("{} (removed)", sheet.kind));
        }
        let lines = affected.into_iter();
        lines
            .map(|(subject, kinds)| match kinds.join(", ") {
                // A sheet about nothing in particular has the title of its kind.
                kinds if kinds.starts_with(&subject) => kinds,
                kinds => format!("{subject}: {kinds}"),
            })
            .collect()
    }
}
