//! What a job or a fault table needs, a line or two each.

use super::book::{ManualPiece, Need};
use super::writer::{Book, Causes};
use crate::job::Job;
use crate::page::{JobId, LinkTarget, SectionId, TextRun, Topic};
use crate::sheet::{Amount, JobDocument, Kit, ToolLine, Writer};

impl<'a> Book<'_, 'a> {
    /// What a job is for and what it takes, a line or two each.
    pub(super) fn needs(
        &self,
        document: &JobDocument<'_, 'a>,
        causes: &Causes,
    ) -> Option<ManualPiece> {
        let mut needs = Vec::new();
        let mut need = |key: &'static str, items: Vec<Vec<TextRun>>| {
            if !items.is_empty() {
                let runs = items.join(&TextRun::text("; "));
                needs.push(Need {
                    label: self.word(key),
                    runs,
                });
            }
        };
        need("cures", self.cures(document.job, causes));
        need("tools", tools(document.kit()));
        need("kit", kit(document.kit()));
        (!needs.is_empty()).then_some(ManualPiece::Needs { needs })
    }

    /// The fault tables that lead to the job, with the page of the first cause that does.
    fn cures(&self, job: &Job<'a>, causes: &Causes) -> Vec<Vec<TextRun>> {
        let words = self.words();
        let cures = job.cures.iter().map(|cure| {
            let title = vec![TextRun::text(&cure.fault.title.value)];
            let numbers: Vec<String> = cure.causes.iter().map(u32::to_string).collect();
            let (key, list) = match numbers.as_slice() {
                [one] => ("cause", one.clone()),
                several => ("causes", words.list(several)),
            };
            let said = words.say(key, &[("number", &list)]);
            let fault = JobId::new(&job.machine.id, &cure.fault.id);
            let row = cure
                .causes
                .first()
                .and_then(|first| causes.get(&(fault, *first)));
            match row {
                Some(row) => vec![TextRun::Link {
                    target: row.clone(),
                    runs: title,
                    name: Some(said),
                }],
                None => [title, vec![TextRun::text(format!(" ({said})"))]].concat(),
            }
        });
        cures.collect()
    }

    /// What the tools of a job of any kind are, and where a machine is made safe.
    pub(super) fn needs_of_fault(&self, writer: &Writer<'_, 'a>) -> Option<ManualPiece> {
        let mut needs = Vec::new();
        if writer.make_safe().is_some() {
            let target = LinkTarget::machine(&writer.job.machine.id)
                .section(SectionId::Topic(Topic::MakeSafe));
            let said = TextRun::text(self.word("as-in-data"));
            needs.push(Need {
                label: self.word("make-safe"),
                runs: vec![TextRun::link(target, vec![said])],
            });
        }
        let tools = tools(writer.kit());
        if !tools.is_empty() {
            needs.push(Need {
                label: self.word("tools"),
                runs: tools.join(&TextRun::text("; ")),
            });
        }
        (!needs.is_empty()).then_some(ManualPiece::Needs { needs })
    }
}

/// The tools that a job takes, each with its size where its name does not say it.
fn tools(kit: Kit<'_, '_>) -> Vec<Vec<TextRun>> {
    let lines = kit.tool_lines().into_iter();
    let tools = lines.map(|ToolLine { name, size, .. }| {
        let is_said = name.contains(&size.replace('\u{a0}', " "));
        vec![TextRun::text(if is_said {
            name
        } else {
            format!("{name}, {size}")
        })]
    });
    tools.collect()
}

/// What is to be pulled for a job, with how much of it where that is known.
fn kit(kit: Kit<'_, '_>) -> Vec<Vec<TextRun>> {
    let items = kit.items();
    let items = items.iter().map(|item| {
        let name = item.name;
        let text = match kit.amount(item) {
            Amount::AsNeeded | Amount::Pieces(1) => name.to_owned(),
            Amount::Pieces(count) => format!("{count}\u{a0}×\u{a0}{name}"),
            Amount::Filled(value) => format!("{name}, {}", value.first),
            Amount::Fillings(text) => format!("{name}, {text}"),
        };
        let mut runs = vec![TextRun::text(text)];
        if let Some(number) = item.number {
            runs.push(TextRun::text(" "));
            runs.push(TextRun::Code {
                text: number.to_owned(),
            });
        }
        runs
    });
    items.collect()
}
