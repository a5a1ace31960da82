//! The set-up box at the head of a job's sheets: what the job needs and starts from.

use super::start::state_at_start;
use super::writer::Writer;
use crate::job::{ReferenceTarget, Thing};
use crate::page::{Block, JobId, LinkTarget, PageId, SetUpLine, SheetKind, TextRun};
use crate::procedure::Procedure;
use crate::rehearsal::State;
use crate::shop::capitalised;

/// What a line of the box is about, in the order of the lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum SetUpKind {
    /// The state that the machine must be in.
    Start,
    People,
    /// The roles that sign.
    Signatures,
    SpecialTools,
    Tools,
    /// Parts and supplies.
    Kit,
    /// The pages that the job refers to.
    References,
    /// The fault tables that lead to the job.
    Cures,
    /// What is done some time after the job.
    FollowOn,
}

impl SetUpKind {
    /// The key of the label.
    fn label(self) -> &'static str {
        match self {
            SetUpKind::Start => "machine-at-start",
            SetUpKind::People => "people",
            SetUpKind::Signatures => "signatures",
            SetUpKind::SpecialTools => "special-tools",
            SetUpKind::Tools => "tools",
            SetUpKind::Kit => "kit",
            SetUpKind::References => "references",
            SetUpKind::Cures => "cures",
            SetUpKind::FollowOn => "follow-on",
        }
    }

    /// Whether the bench checklist has the line. It has no tools, parts and supplies, because these have a kit list with
    /// boxes to tick, and nothing that is only read.
    fn is_for_bench(self) -> bool {
        matches!(
            self,
            SetUpKind::Start | SetUpKind::People | SetUpKind::SpecialTools | SetUpKind::FollowOn
        )
    }
}

/// The lines of the box. A line without content is left out.
#[derive(Clone, Debug)]
pub(crate) struct SetUp {
    pub(crate) lines: Vec<(SetUpKind, SetUpLine)>,
    /// Whether the machine starts as its file says, with nothing to add.
    is_as_found: bool,
}

impl SetUp {
    /// The box with the lines that are `wanted`. `None` if it would be empty.
    pub(crate) fn block(&self, wanted: impl Fn(SetUpKind) -> bool) -> Option<Block> {
        let lines = self.lines.iter().filter(|(kind, _)| wanted(*kind));
        let lines: Vec<SetUpLine> = lines.map(|(_, line)| line.clone()).collect();
        (!lines.is_empty()).then_some(Block::SetUp { lines })
    }
}

impl SetUp {
    /// The box of a bench checklist. How a machine is found that nobody has worked on is only on the shop sheet: the
    /// checklist is to take little paper.
    pub(crate) fn bench_block(&self) -> Option<Block> {
        self.block(|kind| kind.is_for_bench() && !(kind == SetUpKind::Start && self.is_as_found))
    }
}

impl Writer<'_, '_> {
    /// The set-up box of a job that begins with the machine in the state `start`.
    pub(crate) fn set_up(&self, start: &State<'_>) -> SetUp {
        let kit = self.kit();
        let texts = |texts: Vec<String>| -> Vec<Vec<TextRun>> {
            let texts = texts.into_iter();
            texts.map(|text| vec![TextRun::text(text)]).collect()
        };
        let procedure = self.job.procedure;
        let mut lines = self.start_lines(start);
        let left_by = self.left_by();
        if let Some(first) = lines.first_mut().filter(|_| left_by.is_none()) {
            *first = capitalised(first);
        }
        let mut found: Vec<Vec<TextRun>> = left_by.into_iter().collect();
        found.extend(texts(lines));
        let people = procedure.people.iter().map(u32::to_string).collect();
        let content = [
            (SetUpKind::Start, found),
            (SetUpKind::People, texts(people)),
            (SetUpKind::Signatures, texts(self.signatures())),
            (SetUpKind::SpecialTools, kit.tools_in_brief(true)),
            (SetUpKind::Tools, kit.tools_in_brief(false)),
            (SetUpKind::Kit, kit.items_in_brief()),
            (SetUpKind::References, self.references()),
            (SetUpKind::Cures, self.cures()),
            (SetUpKind::FollowOn, self.follow_on()),
        ];
        let content = content.into_iter().filter(|(_, items)| !items.is_empty());
        let lines = content.map(|(kind, items)| {
            let line = SetUpLine {
                label: self.context.words().get(kind.label()).to_owned(),
                runs: items.join(&TextRun::text("; ")),
            };
            (kind, line)
        });
        SetUp {
            lines: lines.collect(),
            is_as_found: self.job.earlier.is_none() && procedure.at_start.is_empty(),
        }
    }

    /// The state that the machine must be in, and what else has to be so.
    fn start_lines(&self, start: &State<'_>) -> Vec<String> {
        let mut lines = state_at_start(self.context.words(), self.job.machine, start);
        let texts = self.job.procedure.at_start.iter();
        lines.extend(texts.map(|text| text.trim_end_matches('.').to_owned()));
        lines
    }

    /// The roles that sign: the one that signs each group of steps, and those that sign at a hold.
    fn signatures(&self) -> Vec<String> {
        let mut roles = vec![self.mechanic()];
        for action in self.actions() {
            if let Thing::Role(role) = action.thing
                && !roles.contains(&role.name)
            {
                roles.push(role.name.clone());
            }
        }
        roles
    }

    /// The procedures and fault tables that the job's text refers to, each once, and the machine's data.
    fn references(&self) -> Vec<Vec<TextRun>> {
        let machine = &self.job.machine.id;
        let mut links: Vec<Vec<TextRun>> = Vec::new();
        for place in self.job.places.values() {
            let link = match place {
                ReferenceTarget::Procedure(procedure) => self.job_link(procedure),
                ReferenceTarget::Fault(fault) => {
                    let target = LinkTarget::fault(JobId::new(machine, &fault.id));
                    vec![TextRun::link(
                        target,
                        vec![TextRun::text(&fault.title.value)],
                    )]
                }
                ReferenceTarget::Step(_) | ReferenceTarget::Figure(_) => continue,
            };
            if !links.contains(&link) {
                links.push(link);
            }
        }
        let kind = SheetKind::MachineData;
        let data = LinkTarget::Page(PageId::MachineSheet(kind, machine.clone()));
        let title = self.context.words().get(kind.title_key());
        links.push(vec![TextRun::link(data, vec![TextRun::text(title)])]);
        links
    }

    fn follow_on(&self) -> Vec<Vec<TextRun>> {
        let procedures = self.job.follow_on.iter();
        procedures
            .map(|procedure| self.job_link(procedure))
            .collect()
    }

    /// The title of a procedure, with a link to its job on the machine.
    fn job_link(&self, procedure: &Procedure) -> Vec<TextRun> {
        let target = LinkTarget::Job(JobId::new(&self.job.machine.id, &procedure.id));
        vec![TextRun::link(
            target,
            vec![TextRun::text(&procedure.title.value)],
        )]
    }
}
