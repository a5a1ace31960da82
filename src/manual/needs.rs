//! What a job or a fault table needs, one or two lines each.

use super::book::ManualPiece;
use super::writer::{Book, Causes};
use crate::job::Job;
use crate::page::{JobId, LinkTarget, SectionId, SetUpLine, TextRun, Topic, map_links};
use crate::sheet::{JobDocument, SetUpKind, Writer};
use std::collections::BTreeMap;

impl<'a> Book<'_, 'a> {
    /// The set-up box of a job. `steps` are the places of its steps in the manual.
    pub(super) fn needs(
        &self,
        document: &JobDocument<'_, 'a>,
        causes: &Causes,
        steps: &BTreeMap<u32, LinkTarget>,
    ) -> Option<ManualPiece> {
        let lines = document.set_up.lines.iter();
        let lines = lines.map(|(kind, line)| {
            let mut line = line.clone();
            if *kind == SetUpKind::Cures {
                line.runs = self.cures(document.job, causes).join(&TextRun::text("; "));
            } else {
                line.runs = map_links(line.runs, &|target| self.resolve(target, steps));
            }
            line
        });
        let needs: Vec<SetUpLine> = lines.collect();
        (!needs.is_empty()).then_some(ManualPiece::Needs { needs })
    }

    /// The fault tables whose remedy is the job, each linked to the first of its causes that leads
    /// here.
    fn cures(&self, job: &Job<'a>, causes: &Causes) -> Vec<Vec<TextRun>> {
        let words = self.words();
        let cures = job.remedied_faults.iter().map(|cure| {
            let title = vec![TextRun::text(&cure.fault.title.value)];
            let numbers: Vec<String> = cure.causes.iter().map(u32::to_string).collect();
            let (key, list) = match numbers.as_slice() {
                [number] => ("cause", number.clone()),
                numbers => ("causes", words.list(numbers)),
            };
            let causes_text = words.format(key, &[("number", &list)]);
            let fault = JobId::new(&job.machine.id, &cure.fault.id);
            let row = cure
                .causes
                .first()
                .and_then(|first| causes.get(&(fault, *first)));
            match row {
                Some(row) => vec![TextRun::Link {
                    target: row.clone(),
                    runs: title,
                    name: Some(causes_text),
                }],
                None => [title, vec![TextRun::text(format!(" ({causes_text})"))]].concat(),
            }
        });
        cures.collect()
    }

    /// The tools that a fault table needs, and a link to how the machine is made safe.
    pub(super) fn needs_of_fault(&self, writer: &Writer<'_, 'a>) -> Option<ManualPiece> {
        let mut needs = Vec::new();
        if writer.make_safe().is_some() {
            let target = LinkTarget::machine(&writer.job.machine.id)
                .section(SectionId::Topic(Topic::MakeSafe));
            let text = TextRun::text(self.word("as-in-data"));
            needs.push(SetUpLine {
                label: self.word("make-safe"),
                runs: vec![TextRun::link(target, vec![text])],
            });
        }
        for (key, special) in [("special-tools", true), ("tools", false)] {
            let tools = writer.kit().tools_in_brief(special);
            if !tools.is_empty() {
                needs.push(SetUpLine {
                    label: self.word(key),
                    runs: tools.join(&TextRun::text("; ")),
                });
            }
        }
        (!needs.is_empty()).then_some(ManualPiece::Needs { needs })
    }
}
