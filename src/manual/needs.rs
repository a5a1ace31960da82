//! What a job or a fault table needs, one or two lines each.

use super::book::{ManualPiece, Need};
use super::writer::{Book, Causes};
use crate::job::Job;
use crate::page::{JobId, LinkTarget, SectionId, TextRun, Topic};
use crate::sheet::{JobDocument, Writer};

impl<'a> Book<'_, 'a> {
    /// The fault tables that a job remedies, and the tools and kit that it needs.
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
        need("tools", document.kit().tools_in_brief());
        need("kit", document.kit().items_in_brief());
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
            needs.push(Need {
                label: self.word("make-safe"),
                runs: vec![TextRun::link(target, vec![text])],
            });
        }
        let tools = writer.kit().tools_in_brief();
        if !tools.is_empty() {
            needs.push(Need {
                label: self.word("tools"),
                runs: tools.join(&TextRun::text("; ")),
            });
        }
        (!needs.is_empty()).then_some(ManualPiece::Needs { needs })
    }
}
