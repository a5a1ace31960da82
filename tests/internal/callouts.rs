//! The figures beside the steps of the demonstration: what they show is what the steps touch, on pages and on paper.

use super::mutants::demo;
use super::support::typst;
use crate::job::{Job, JobStep, Thing};
use crate::page::{
    Block, Edition, Figure, Marked, OutputContext, Sheet, SheetKind, SheetStep, TextRun,
    visit_figures,
};
use crate::prose::Verb;
use crate::render::{Html, Look, Paths, Typst, TypstRunner};
use crate::shop::{Callout, Legend, Machine, Part};
use crate::tree::{Area, Drawing, Memory};
use crate::words::Words;
use crate::{Sources, sheet, site};
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

fn sources() -> Sources {
    crate::read(&Memory::new(demo()))
}

fn steps(blocks: &[Block]) -> Vec<&SheetStep> {
    let steps = blocks.iter().flat_map(|block| match block {
        Block::Section(section) => steps(&section.blocks),
        Block::Steps { steps } => steps.iter().collect(),
        _ => Vec::new(),
    });
    steps.collect()
}

/// The keys of the parts, valves and controls that a step acts on.
fn touched<'j>(step: &'j JobStep<'_>) -> BTreeSet<&'j str> {
    let actions = step.all_actions();
    let actions = actions.filter(|action| action.verb != Verb::See);
    let things = actions.filter_map(|action| match action.thing {
        Thing::Part(part) => Some(part.key.as_str()),
        Thing::Valve(valve) => Some(valve.key.as_str()),
        Thing::Control(control) => Some(control.key.as_str()),
        _ => None,
    });
    things.collect()
}

/// The numbers in a figure on a job's machine, by what they are for. The file of the legend is read by itself.
fn numbers_of(job: &Job<'_>, figure: &Figure, sources: &Sources) -> BTreeMap<String, u32> {
    let stem = figure.id.0.rsplit_once('.').unwrap().0;
    let text = &sources.tree.source(&format!("{stem}.toml")).unwrap().text;
    let table: toml::Table = text.parse().unwrap();
    let callouts = table["callout"].as_table().unwrap().iter();
    let of_machine = callouts.filter(|(_, callout)| {
        let machines = callout.get("machines").and_then(toml::Value::as_array);
        machines.is_none_or(|machines| {
            let mut ids = machines.iter();
            ids.any(|id| id.as_str() == Some(job.machine.id.as_str()))
        })
    });
    of_machine
        .map(|(key, callout)| {
            let number = callout["number"].as_integer().unwrap();
            (key.clone(), u32::try_from(number).unwrap())
        })
        .collect()
}

fn crop(step: &SheetStep) -> Option<(&Figure, &Marked)> {
    let figures = step.content.figures.iter();
    let mut marked = figures.filter_map(|figure| Some((figure, figure.marked.as_deref()?)));
    marked.find(|(_, marked)| !marked.is_whole)
}

fn callouts(runs: &[TextRun]) -> Vec<(&str, u32)> {
    let found = runs.iter().flat_map(|run| match run {
        TextRun::Callout { part, number, .. } => vec![(part.as_str(), *number)],
        TextRun::Strong { runs }
        | TextRun::Emphasis { runs }
        | TextRun::Foreign { runs, .. }
        | TextRun::Link { runs, .. } => callouts(runs),
        _ => Vec::new(),
    });
    found.collect()
}

/// Every sheet of a kind, with its job.
fn each_sheet(kind: SheetKind, mut check: impl FnMut(&Job<'_>, &Sheet, &Sources, &OutputContext)) {
    let sources = sources();
    let checked = crate::check_all(&sources);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    for rehearsed in &checked.jobs {
        let (job, rehearsal) = (&rehearsed.job, &rehearsed.rehearsal);
        let sheet = sheet::sheet_of_kind(kind, job, rehearsal, &output).unwrap();
        check(job, &sheet, &sources, &output);
    }
}

#[test]
fn the_parts_that_a_step_touches_are_those_in_its_picture() {
    for kind in [SheetKind::ShopSheet, SheetKind::BenchChecklist] {
        let mut pictures = 0;
        each_sheet(kind, |job, sheet, sources, _| {
            let of_job: BTreeMap<u32, &JobStep<'_>> =
                job.steps().map(|step| (step.number, step)).collect();
            for step in steps(&sheet.blocks) {
                let numbered = callouts(&step.content.text);
                let touched = touched(of_job[&step.number]);
                for (part, _) in &numbered {
                    assert!(touched.contains(part), "{}: {part}", sheet.page);
                }
                let Some((figure, marked)) = crop(step) else {
                    continue;
                };
                pictures += 1;
                let numbers = numbers_of(job, figure, sources);
                let shown: BTreeMap<&str, u32> = marked
                    .parts
                    .iter()
                    .map(|part| (part.part.as_str(), part.number))
                    .collect();
                let expected: BTreeMap<&str, u32> = numbers
                    .iter()
                    .filter(|(key, _)| touched.contains(key.as_str()))
                    .map(|(key, number)| (key.as_str(), *number))
                    .collect();
                assert_eq!(shown, expected, "step {} of {}", step.number, sheet.page);
                for (part, number) in numbered {
                    assert_eq!(shown.get(part), Some(&number), "{}", sheet.page);
                }
            }
        });
        assert!(pictures > 300, "{pictures} pictures on sheets of {kind:?}");
    }
}

#[test]
fn a_picture_contains_its_parts_and_their_numbers() {
    let mut seen = 0;
    each_sheet(SheetKind::ShopSheet, |_, sheet, _, _| {
        visit_figures(&sheet.blocks, |figure| {
            let Some(marked) = &figure.marked else { return };
            seen += 1;
            let (view, radius) = (marked.layout.view, marked.layout.radius);
            for (part, mark) in marked.parts.iter().zip(&marked.layout.marks) {
                assert_eq!(part.number, mark.number);
                let [x, y] = mark.at;
                let circle = Area {
                    left: x - radius,
                    top: y - radius,
                    right: x + radius,
                    bottom: y + radius,
                };
                assert!(view.contains(&circle), "{}: {part:?}", sheet.page);
            }
            let shapes = marked.drawing.shapes.as_ref().unwrap();
            let numbers: BTreeSet<u32> = marked.parts.iter().map(|part| part.number).collect();
            let strong = marked.groups.iter();
            let strong = strong.filter(|group| numbers.contains(&group.number));
            for run in strong.flat_map(|group| &group.shapes) {
                for shape in &shapes[run.clone()] {
                    assert!(
                        view.contains(&shape.area),
                        "{}: {:?}",
                        sheet.page,
                        shape.area
                    );
                }
            }
        });
    });
    assert!(seen > 300, "{seen} pictures");
}

/// The numbers in the picture beside each step of a page, by the steps' numbers.
fn read_page(html: &str) -> BTreeMap<u32, Vec<u32>> {
    let mut read = BTreeMap::new();
    for step in html.split("<li id=\"step-").skip(1) {
        let number = step.split_once('"').unwrap().0.parse().unwrap();
        // A scale or a lever refers to no shapes at the head of the page.
        let pictures = step.split("<svg viewBox=\"").skip(1);
        let mut pictures = pictures.map(|picture| picture.split_once("</svg>").unwrap().0);
        let Some(picture) = pictures.find(|picture| picture.contains("<use href=\"#")) else {
            continue;
        };
        let numbers = picture.split("</text>").filter_map(|part| {
            let (_, number) = part.rsplit_once('>')?;
            number.parse().ok()
        });
        read.insert(number, numbers.collect());
    }
    read
}

#[test]
fn pages_have_the_pictures_and_numbers_of_the_data() {
    let html = Html::new(&Look::default(), None, Words::english()).unwrap();
    let mut seen = 0;
    each_sheet(SheetKind::ShopSheet, |_, sheet, _, output| {
        let nav = site::Nav::default();
        let addresses = Html::addresses_of_sheet(Paths::new(output, None), sheet, &nav, &|_| false);
        let page = html.sheet(sheet, &nav, &addresses).unwrap();
        let read = read_page(&page);
        for step in steps(&sheet.blocks) {
            let expected = crop(step).map(|(_, marked)| {
                let parts = marked.parts.iter();
                parts.map(|part| part.number).collect::<Vec<_>>()
            });
            assert_eq!(read.get(&step.number), expected.as_ref(), "{}", sheet.page);
            seen += usize::from(expected.is_some());
            // What is referred to is at the head of the page.
            if let Some((_, marked)) = crop(step) {
                for part in &marked.parts {
                    let id = format!("<g id=\"{}{}\">", marked.id(), part.number);
                    assert_eq!(page.matches(&id).count(), 1, "{id} in {}", sheet.page);
                }
            }
        }
    });
    assert!(seen > 300, "{seen} pictures");
}

/// The text alternatives of a PDF's figures, in its order.
fn alternatives(pdf: &[u8]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sheet.pdf");
    std::fs::write(&path, pdf).unwrap();
    let output = Command::new("qpdf")
        .args(["--qdf", "--object-streams=disable"])
        .arg(&path)
        .arg("-")
        .output()
        .expect("qpdf is installed: see `cargo xtask test`");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let lines = text
        .lines()
        .filter_map(|line| line.strip_prefix("  /Alt ("));
    let alternatives = lines.map(|line| {
        let text = line.strip_suffix(')').unwrap_or(line);
        text.replace("\\(", "(").replace("\\)", ")")
    });
    alternatives.collect()
}

/// On paper, a picture can be left out, but none shows anything else, and none is in another place.
#[test]
fn prints_have_the_pictures_of_the_data_in_their_order() {
    let typst = Typst::at(&typst()).unwrap();
    let runner = TypstRunner::new(typst, &Look::default(), std::iter::empty()).unwrap();
    let mut seen = 0;
    each_sheet(SheetKind::ShopSheet, |job, sheet, _, _| {
        let is_tested = ["float-bowl", "recoil-starter", "air-cleaner"]
            .contains(&job.procedure.id.as_str())
            && job.machine.id == "tarn-sedge";
        if !is_tested {
            return;
        }
        let pdf = runner.set(sheet, Words::english(), "sheet", None).unwrap();
        let printed = alternatives(&pdf);
        let printed = printed.iter().filter(|text| text.ends_with(')'));
        let mut expected = Vec::new();
        for step in steps(&sheet.blocks) {
            if let Some((figure, marked)) = crop(step) {
                let parts = marked.parts.iter();
                let parts: Vec<String> = parts
                    .map(|part| format!("{} ({})", part.name, part.number))
                    .collect();
                let parts = parts.join(", ");
                expected.push(match figure.number {
                    0 => parts,
                    number => format!("Figure {number}: {parts}"),
                });
            }
        }
        let mut rest = expected.iter();
        for text in printed {
            let is_whole = text.matches(": ").count() > 1;
            if is_whole {
                continue;
            }
            assert!(rest.any(|next| next == text), "{text} in {}", sheet.page);
            seen += 1;
        }
    });
    assert!(seen > 20, "{seen} pictures");
}

/// Every sheet has a figure, and in most jobs every `remove` concerns a part that has a number.
#[test]
fn sheets_of_the_demonstration_have_figures() {
    let mut jobs = BTreeSet::new();
    let mut shown = BTreeSet::new();
    each_sheet(SheetKind::ShopSheet, |job, sheet, sources, _| {
        let legends = || {
            let legends = sources.shop.legends.values();
            legends.filter(|legend| legend.is_for(job.machine.index))
        };
        let has_number = |key: &str| {
            legends().any(|legend| {
                let mut callouts = legend.callouts_for(job.machine.index);
                callouts.any(|callout| callout.key.value == key)
            })
        };
        let actions = job.steps().flat_map(|step| step.all_actions());
        let removed: BTreeSet<&str> = actions
            .filter_map(|action| match (action.verb, action.thing) {
                (Verb::Remove, Thing::Part(part)) => Some(part.key.as_str()),
                _ => None,
            })
            .collect();
        if !removed.is_empty() && removed.iter().all(|key| has_number(key)) {
            jobs.insert(job.procedure.id.clone());
        }
        let mut figures = 0;
        visit_figures(&sheet.blocks, |figure| {
            figures += 1;
            shown.insert(figure.id.0.clone());
        });
        assert!(figures > 0, "{} has no figure", sheet.page);
    });
    let sources = sources();
    let drawn = sources.shop.legends.values();
    let drawn: BTreeSet<String> = drawn.filter_map(|legend| legend.picture.clone()).collect();
    let never: Vec<&String> = drawn.difference(&shown).collect();
    assert!(never.is_empty(), "no shop sheet shows {never:?}");
    assert!(jobs.len() >= 8, "{jobs:?}");
    assert!(jobs.contains("carburettor"), "{jobs:?}");
}

/// The parts of a machine that come off before a part: what holds it, and what is in front of it.
fn before<'m>(machine: &'m Machine, part: &'m Part) -> Vec<&'m Part> {
    let ids = part.held_by.iter().chain(&part.behind);
    ids.map(|id| &machine.parts[id.value]).collect()
}

/// The middle of the places of a part in a drawing.
fn middle(drawing: &Drawing, callout: &Callout) -> [i32; 2] {
    let places = callout.places.iter();
    let areas = places.map(|place| drawing.place(&place.value).unwrap().area);
    let areas: Vec<Area> = areas.collect();
    let least = |side: fn(&Area) -> i32| areas.iter().map(side).min().unwrap();
    let most = |side: fn(&Area) -> i32| areas.iter().map(side).max().unwrap();
    [
        i32::midpoint(least(|area| area.left), most(|area| area.right)),
        i32::midpoint(least(|area| area.top), most(|area| area.bottom)),
    ]
}

/// Numbers follow the order in which the machine's file says that parts come off.
#[test]
fn numbers_follow_the_order_in_which_parts_come_off() {
    let sources = sources();
    let mut pairs = 0;
    let mut wrong = BTreeSet::new();
    for (legend, machine) in legends(&sources) {
        let number = |part: &Part| Some(callout_of(legend, machine, part)?.number.as_ref()?.value);
        for part in machine.parts.values() {
            for first in before(machine, part) {
                let (Some(one), Some(other)) = (number(first), number(part)) else {
                    continue;
                };
                pairs += 1;
                if one > other {
                    let (first, part) = (&first.key, &part.key);
                    wrong.insert(format!(
                        "{}: {first} ({one}) comes off before {part} ({other})",
                        legend.key
                    ));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(pairs > 50, "{pairs}");
}

/// The parts of a joint are drawn in the order of its `stack`.
#[test]
fn joints_are_drawn_in_the_order_of_the_machine() {
    let sources = sources();
    let mut joints = 0;
    for (legend, machine) in legends(&sources) {
        let figures = sources.tree.figures.iter();
        let mut figures = figures.filter(|figure| Some(&figure.path) == legend.picture.as_ref());
        let drawing = figures.next().unwrap().drawing().unwrap();
        for part in machine.parts.values() {
            let stack = part.stack.iter().map(|id| &machine.parts[id.value]);
            let drawn = stack.filter_map(|part| callout_of(legend, machine, part));
            let places: Vec<[i32; 2]> = drawn.map(|callout| middle(drawing, callout)).collect();
            let ([first, .., last], true) = (places.as_slice(), places.len() > 2) else {
                continue;
            };
            // Along the axis on which its ends are further apart.
            let apart = |axis: usize| (first[axis] - last[axis]).abs();
            let axis = usize::from(apart(1) > apart(0));
            let along: Vec<i32> = places.iter().map(|place| place[axis]).collect();
            let is_in_order = along.is_sorted_by(|one, other| one < other)
                || along.is_sorted_by(|one, other| one > other);
            assert!(is_in_order, "{} on {}: {along:?}", legend.key, machine.id);
            joints += 1;
        }
    }
    assert!(joints > 1, "{joints}");
}

/// The legends, each with each of its machines.
fn legends(sources: &Sources) -> impl Iterator<Item = (&Legend, &Machine)> {
    sources.shop.legends.values().flat_map(move |legend| {
        let machines = legend.machines.iter();
        machines.map(move |id| (legend, &sources.shop.machines[id.value]))
    })
}

fn callout_of<'l>(legend: &'l Legend, machine: &Machine, part: &Part) -> Option<&'l Callout> {
    let mut callouts = legend.callouts_for(machine.index);
    callouts.find(|callout| callout.key.value == part.key)
}
