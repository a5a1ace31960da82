//! A procedure's page: what is done, on each machine it is for.

use super::{Page, PageKind, Part, Site};
use crate::job::{self, Job};
use crate::page::{
    Blank, Block, Cell, Detail, Fact, Leaf, LeafKind, Run, Section, Step, Target,
    machine_page_path, on_machine, path, procedure_path,
};
use crate::prose;
use crate::sheet::Summary;
use std::collections::BTreeMap;

/// A procedure's page. `sheets` are the job and the shop sheet for each of its machines; `at` is its
/// place among `order`, the procedures of [`Site::procedures`].
#[must_use]
pub fn procedure(
    site: &Site<'_, '_>,
    order: &[Vec<&Summary<'_>>],
    at: usize,
    sheets: Vec<(&Job<'_>, Leaf)>,
) -> Page {
    let jobs = &order[at];
    let procedure = jobs[0].procedure;
    let words = &site.setting.edition.words;
    let mut page = site.page(
        PageKind::Procedure,
        procedure.title.value.clone(),
        &procedure_path(&procedure.id),
    );
    let system = &procedure.system;
    page.over = Some(site.shop.system_title(system));
    page.nav.crumbs.push(site.link(
        site.shop.system_title(system),
        "index",
        Some(&format!("system-{}", crate::page::text::anchor(system))),
    ));
    let neighbour = |at: Option<usize>| {
        let jobs = order.get(at?)?;
        Some(site.procedure_link(jobs[0], None))
    };
    page.nav.previous = neighbour(at.checked_sub(1));
    page.nav.next = neighbour(Some(at + 1));
    let revision = Fact {
        label: words.get("revision").to_owned(),
        text: match &procedure.revised {
            Some(day) => format!("{}, {day}", procedure.revision),
            None => procedure.revision.to_string(),
        },
    };
    for (summary, (job, sheet)) in jobs.iter().zip(sheets) {
        let id = &summary.machine.id;
        let mut links = site.leaves_of(summary);
        let machine = machine_page_path(id);
        links.extend(site.link_if_made(words.get("machine-page"), &machine));
        page.parts.push(Part::OnMachine {
            anchor: on_machine(id),
            name: summary.machine.name.value.clone(),
            facts: [sheet.head.facts.clone(), vec![revision.clone()]].concat(),
            links,
            blocks: to_read(site, sheet, job, summary),
        });
    }
    page
}

/// A shop sheet's blocks to be read: without room to write, tick or sign, with anchors that are the
/// machine's own, and with links to procedures' pages, which lead on to all of their leaves.
fn to_read(site: &Site<'_, '_>, sheet: Leaf, job: &Job<'_>, summary: &Summary<'_>) -> Vec<Block> {
    let edition = &site.setting.edition;
    let words = &edition.words;
    let machine = &summary.machine.id;
    let pages = summary.refers_to.iter().filter_map(|procedure| {
        let page = procedure_path(procedure);
        let leaf = path(machine, procedure, LeafKind::ShopSheet);
        let is_made = site.setting.is_made(&page);
        is_made.then(|| (edition.path(&leaf), edition.path(&page)))
    });
    let reader = Reader {
        prefix: format!("{}.", on_machine(machine)),
        machine: on_machine(machine),
        pages: pages.collect(),
        seats: words.get("could-sit-in"),
        hold: (words.get("hold"), words.get("hold-for")),
        origins: job
            .steps()
            .map(|step| (step.number, origin(step)))
            .collect(),
    };
    reader.blocks(sheet.blocks)
}

/// What tells a step from the others of a procedure, the same on every machine.
fn origin(step: &job::Step<'_>) -> String {
    let mut text = format!("{}/{}", step.origin.id, prose::plain(&step.text));
    for act in &step.acts {
        text.push_str(act.verb.word());
        text.push_str(act.thing.key());
    }
    blake3::hash(text.as_bytes()).to_hex()[..8].to_owned()
}

struct Reader<'r> {
    prefix: String,
    /// The anchor of the machine's part, on any procedure's page.
    machine: String,
    /// By the path of a procedure's shop sheet, that of its page.
    pages: BTreeMap<String, String>,
    seats: &'r str,
    /// "STOP", and "signs before anyone goes on".
    hold: (&'r str, &'r str),
    origins: BTreeMap<u32, String>,
}

impl Reader<'_> {
    fn blocks(&self, blocks: Vec<Block>) -> Vec<Block> {
        blocks
            .into_iter()
            .filter_map(|block| self.block(block))
            .collect()
    }

    fn block(&self, block: Block) -> Option<Block> {
        match block {
            Block::SignOff { .. } | Block::WrongHere { .. } | Block::Notices { .. } => None,
            Block::Stop(mut stop) => {
                stop.anchor = self.anchor(&stop.anchor);
                Some(Block::Stop(stop))
            }
            Block::Section(section) => {
                let blocks = self.blocks(section.blocks);
                (!blocks.is_empty()).then(|| {
                    Block::Section(Section {
                        anchor: self.anchor(&section.anchor),
                        blocks,
                        ..section
                    })
                })
            }
            Block::Steps { steps } => Some(Block::Steps {
                steps: steps.into_iter().map(|step| self.step(step)).collect(),
            }),
            Block::Text { runs } => Some(Block::Text {
                runs: self.runs(runs),
            }),
            Block::Bullets { items } => Some(Block::Bullets {
                items: items.into_iter().map(|runs| self.runs(runs)).collect(),
            }),
            Block::Figure(mut figure) => {
                figure.anchor = self.anchor(&figure.anchor);
                Some(Block::Figure(figure))
            }
            Block::Table(_) => Some(self.table(block)),
            Block::Safety(_) | Block::Protection { .. } => Some(block),
        }
    }

    fn anchor(&self, anchor: &str) -> String {
        format!("{}{anchor}", self.prefix)
    }

    fn step(&self, step: Step) -> Step {
        let mut details = step.details;
        details.extend(step.blanks.into_iter().filter_map(|blank| self.told(blank)));
        let mut figures = step.figures;
        for figure in &mut figures {
            figure.anchor = self.anchor(&figure.anchor);
        }
        let mut notes: Vec<Vec<Run>> = step.notes.into_iter().map(|note| self.runs(note)).collect();
        // Who has to sign before anyone goes on, without room to do so.
        notes.extend(step.holds.iter().map(|role| {
            let role = Run::Strong {
                runs: vec![Run::text(format!("{}: {role}", self.hold.0))],
            };
            vec![role, Run::text(format!(" {}", self.hold.1))]
        }));
        Step {
            anchor: self.anchor(&step.anchor),
            same_as: self.origins.get(&step.number).cloned(),
            text: self.runs(step.text),
            notes,
            holds: Vec::new(),
            details,
            blanks: Vec::new(),
            figures,
            ..step
        }
    }

    /// What a blank tells whoever only reads.
    fn told(&self, blank: Blank) -> Option<Detail> {
        match blank {
            Blank::Reading {
                label,
                limits,
                over,
                under,
                ..
            } => Some(Detail {
                label,
                value: Some(limits),
                more: [over, under].into_iter().flatten().collect(),
            }),
            Blank::Choice { label, options } => Some(Detail {
                label,
                value: None,
                more: vec![format!("{}: {}", self.seats, options.join(", "))],
            }),
            Blank::Words { .. } | Blank::State { .. } | Blank::Bag { .. } => None,
        }
    }

    fn table(&self, block: Block) -> Block {
        match super::unwritten(block) {
            Block::Table(mut table) => {
                for cell in table.rows.iter_mut().flatten() {
                    if let Cell::Text { runs } = cell {
                        *runs = self.runs(std::mem::take(runs));
                    }
                }
                Block::Table(table)
            }
            other => other,
        }
    }

    fn runs(&self, runs: Vec<Run>) -> Vec<Run> {
        runs.into_iter().map(|run| self.run(run)).collect()
    }

    fn run(&self, run: Run) -> Run {
        match run {
            Run::Link {
                target: Target::Here { anchor },
                runs,
            } => Run::Link {
                target: Target::Here {
                    anchor: self.anchor(&anchor),
                },
                runs,
            },
            Run::Link {
                target: Target::Leaf { path, anchor },
                runs,
            } => {
                let target = match self.pages.get(&path) {
                    Some(page) => Target::Leaf {
                        path: page.clone(),
                        anchor: Some(self.machine.clone()),
                    },
                    None => Target::Leaf { path, anchor },
                };
                Run::Link { target, runs }
            }
            Run::Strong { runs } => Run::Strong {
                runs: self.runs(runs),
            },
            Run::Emphasis { runs } => Run::Emphasis {
                runs: self.runs(runs),
            },
            other => other,
        }
    }
}
