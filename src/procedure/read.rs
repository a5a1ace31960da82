//! From Markdown sources to procedures.

use super::step::{read_step, take_figures};
use super::{Item, Procedure, Section, rules};
use crate::finding::{Finding, Findings, Located, Span};
use crate::prose::{self, Action, Block, Heading, Inline, Verb};
use crate::record::{Record, check_id, read_toml};
use crate::tree::{Kind, Source, Tree};

/// Reads all Markdown sources of a tree, in order of their paths.
pub fn read(tree: &Tree, findings: &mut Findings) -> Vec<Procedure> {
    let mut procedures: Vec<Procedure> = Vec::new();
    for file in &tree.files {
        let Kind::Procedure { system, id } = &file.kind else {
            continue;
        };
        let procedure = read_one(file, system, id, findings);
        if let Some(first) = procedures.iter().find(|other| other.id == procedure.id) {
            let message = format!(
                "`{id}` is the id of two procedures, `{}` and `{}`",
                first.path, file.path
            );
            findings.push(
                Finding::new(&rules::SAME_ID_TWICE, message)
                    .at(procedure.title.span, "this one is not used")
                    .and(first.title.span, "the other")
                    .help("give one of the files another name"),
            );
            continue;
        }
        procedures.push(procedure);
    }
    procedures
}

fn read_one(file: &Source, system: &str, id: &str, findings: &mut Findings) -> Procedure {
    check_id(id, file.span(0..0), findings);
    let mut procedure = Procedure {
        id: id.to_owned(),
        system: system.to_owned(),
        file: file.id,
        path: file.path.clone(),
        title: Located {
            value: id.to_owned(),
            span: file.span(0..0),
        },
        machines: Vec::new(),
        minutes: None,
        interval: None,
        begin: Vec::new(),
        finish: Vec::new(),
        revision: 1,
        revised: None,
        leaves: Vec::new(),
        why: Vec::new(),
        sections: Vec::new(),
        whole: false,
    };
    let Some((front, body)) = split(&file.text) else {
        findings.push(
            Finding::new(
                &rules::NO_FRONT_MATTER,
                format!("`{}` does not begin with its front matter", file.path),
            )
            .at(file.span(0..first_line(&file.text)), "expected `+++` here")
            .help(
                "begin the file with TOML between two `+++` lines: at least `title` and `machines`",
            ),
        );
        return procedure;
    };
    let what = format!("procedure `{id}`");
    procedure.whole = read_toml(
        &file.text[front.clone()],
        file.span(front),
        &what,
        findings,
        |top, findings| read_front(&mut procedure, top, findings),
    );
    let span = file.span(body.clone());
    let blocks = prose::read(&file.text[body], span, findings);
    read_body(&mut procedure, blocks, findings);
    procedure
}

/// The front matter's and the body's ranges.
fn split(text: &str) -> Option<(std::ops::Range<usize>, std::ops::Range<usize>)> {
    let mut lines = text.split_inclusive('\n');
    let first = lines.next().filter(|line| line.trim_end() == "+++")?;
    let mut at = first.len();
    for line in lines {
        if line.trim_end() == "+++" {
            return Some((first.len()..at, at + line.len()..text.len()));
        }
        at += line.len();
    }
    None
}

fn first_line(text: &str) -> usize {
    text.lines().next().map_or(0, str::len)
}

fn read_front(procedure: &mut Procedure, top: &mut Record<'_>, findings: &mut Findings) {
    if let Some(title) = top.need_text("title", findings) {
        procedure.title = title;
    }
    procedure.machines = top.need_texts("machines", findings);
    procedure.minutes = top.count("minutes", findings).map(|minutes| minutes.value);
    procedure.interval = top.text("interval", findings).map(|text| text.value);
    procedure.begin = top.texts("begin", findings);
    procedure.finish = top.texts("finish", findings);
    procedure.revision = top
        .count("revision", findings)
        .map_or(1, |count| count.value);
    procedure.revised = top.date("revised", findings).map(|day| day.value);
    procedure.leaves = top.pairs("leaves", findings);
}

fn read_body(procedure: &mut Procedure, blocks: Vec<Block>, findings: &mut Findings) {
    // Cautions wait for the step below them.
    let mut waiting: Vec<Action> = Vec::new();
    for block in blocks {
        match block {
            Block::Heading(heading) => {
                no_step_below(&mut waiting, findings);
                if let Some(section) = read_heading(&heading, findings) {
                    procedure.sections.push(section);
                }
            }
            Block::Quote(blocks, span) => waiting.extend(cautions_of(&blocks, span, findings)),
            Block::List(list) if list.numbered => {
                let Some(section) = procedure.sections.last_mut() else {
                    if let Some(item) = list.items.first() {
                        findings.push(
                            Finding::new(
                                &rules::STEP_OUTSIDE_SECTION,
                                "a step stands before the first `##` heading",
                            )
                            .at(item.span, "")
                            .help("write a heading above it: `## Take off`"),
                        );
                    }
                    continue;
                };
                for item in list.items {
                    let mut step = read_step(item, findings);
                    step.cautions.splice(0..0, waiting.drain(..));
                    section.items.push(Item::Step(step));
                }
            }
            Block::Paragraph(mut inlines, span) => {
                let figures = take_figures(&mut inlines);
                stray_actions(&inlines, findings);
                let is_empty =
                    prose::plain(&inlines).trim().is_empty() && prose::actions(&inlines).is_empty();
                let text = (!is_empty).then_some(Block::Paragraph(inlines, span));
                let text = text.map(Item::Text);
                let items = text
                    .into_iter()
                    .chain(figures.into_iter().map(Item::Figure));
                match procedure.sections.last_mut() {
                    Some(section) => section.items.extend(items),
                    None => procedure.why.extend(items.filter_map(|item| match item {
                        Item::Text(block) => Some(block),
                        _ => None,
                    })),
                }
            }
            Block::List(list) => {
                for item in &list.items {
                    for block in &item.blocks {
                        if let Block::Paragraph(inlines, _) = block {
                            stray_actions(inlines, findings);
                        }
                    }
                }
                match procedure.sections.last_mut() {
                    Some(section) => section.items.push(Item::Text(Block::List(list))),
                    None => procedure.why.push(Block::List(list)),
                }
            }
        }
    }
    no_step_below(&mut waiting, findings);
}

fn read_heading(heading: &Heading, findings: &mut Findings) -> Option<Section> {
    if heading.level != 2 {
        findings.push(
            Finding::new(
                &rules::HEADING_LEVEL,
                "a section's heading is written with `##`",
            )
            .at(heading.span, "")
            .help("the title stands in the front matter, and sections do not nest"),
        );
        if heading.level == 1 {
            return None;
        }
    }
    for class in &heading.classes {
        if class != "reverse" {
            findings.push(
                Finding::new(
                    &rules::UNKNOWN_MARK,
                    format!("`.{class}` is not a mark of a section"),
                )
                .at(heading.span, "")
                .near(crate::finding::nearest(class, ["reverse"])),
            );
        }
    }
    Some(Section {
        title: prose::plain(&heading.text),
        reverse: heading.classes.iter().any(|class| class == "reverse"),
        items: Vec::new(),
        span: heading.span,
    })
}

fn cautions_of(blocks: &[Block], span: Span, findings: &mut Findings) -> Vec<Action> {
    let mut cautions = Vec::new();
    for block in blocks {
        if let Block::Paragraph(inlines, _) = block {
            let found = prose::actions(inlines);
            cautions.extend(
                found
                    .into_iter()
                    .filter(|action| action.verb == Verb::Caution)
                    .cloned(),
            );
        }
    }
    if cautions.is_empty() {
        findings.push(
            Finding::new(
                &rules::QUOTE_WITHOUT_CAUTION,
                "a block quote holds no caution",
            )
            .at(span, "")
            .help("name the message: `> [](caution:petrol-fire)`"),
        );
    }
    cautions
}

fn no_step_below(waiting: &mut Vec<Action>, findings: &mut Findings) {
    for caution in waiting.drain(..) {
        let message = format!("caution `{}` has no step below it", caution.thing.value);
        findings.push(
            Finding::new(&rules::CAUTION_WITHOUT_STEP, message)
                .at(caution.span, "")
                .help("move it above the step it belongs to"),
        );
    }
}

/// Outside steps only references are allowed: nothing else is rehearsed there.
fn stray_actions(inlines: &[Inline], findings: &mut Findings) {
    for action in prose::actions(inlines) {
        if action.verb != Verb::See {
            let message = format!(
                "`{}:{}` stands outside a step",
                action.verb.word(),
                action.thing.value
            );
            findings.push(
                Finding::new(&rules::ACTION_OUTSIDE_STEP, message)
                    .at(action.span, "")
                    .help("make it an item of a numbered list"),
            );
        }
    }
}
