//! The figures that show what steps touch.

use super::data::{Job, JobItem, JobSection, JobStep, Phase};
use super::figures::{FirstPlace, Shown, StepFigure};
use crate::model::{Action, Thing};
use crate::prose::{Image, Verb};
use crate::shop::{Legend, ThingId};
use std::collections::{BTreeMap, BTreeSet};

/// If at least this many steps of a section use a figure, all of it is at the head of the section.
const SEVERAL: u32 = 4;

impl<'a> Shown<'a> {
    /// The figures for a job, whose references are resolved.
    pub(super) fn of(job: &Job<'a>) -> Shown<'a> {
        let legends: Vec<Numbers<'a>> = job
            .shop
            .legends
            .values()
            .filter(|legend| legend.is_for(job.machine.index))
            .filter_map(|legend| Numbers::of(job, legend))
            .collect();
        let mut shown = Shown::default();
        if !legends.is_empty() {
            for (index, section) in job.sections.iter().enumerate() {
                shown.add_section(job, &legends, index, section);
            }
            if shown.steps.is_empty() && job.figures.is_empty() {
                shown.add_machine(job, &legends);
            }
        }
        shown.list_whole(job);
        shown
    }

    /// Lists the figures that are shown in full, in the order of the sheet.
    fn list_whole(&mut self, job: &Job<'a>) {
        let mut whole: Vec<(&'a str, FirstPlace)> = Vec::new();
        let mut add = |path: &'a str, place| {
            if !whole.iter().any(|(known, _)| *known == path) {
                whole.push((path, place));
            }
        };
        for (index, section) in job.sections.iter().enumerate() {
            let heads = self.heads.get(&index).into_iter().flatten();
            for path in heads.filter_map(|legend| legend.picture.as_deref()) {
                add(path, FirstPlace::Head(index));
            }
            for image in images(section) {
                let place = image.path.span;
                if let Some(path) = job.figures.get(&place) {
                    add(path, FirstPlace::Image(place));
                }
            }
        }
        self.whole = whole;
    }

    /// Adds the picture of the machine, for a job whose steps touch nothing that a figure has a number for.
    fn add_machine(&mut self, job: &Job<'a>, legends: &[Numbers<'a>]) {
        let picture = job.machine.picture.as_ref();
        let mut legends = legends.iter();
        let legend = picture.and_then(|picture| {
            legends.find(|numbers| numbers.legend.picture.as_ref() == Some(&picture.value))
        });
        let mut sections = job.sections.iter();
        let own = sections.position(|section| section.phase == Phase::Own);
        if let (Some(legend), Some(own)) = (legend, own) {
            self.heads.insert(own, vec![legend.legend]);
        }
    }

    fn add_section(
        &mut self,
        job: &Job<'a>,
        legends: &[Numbers<'a>],
        index: usize,
        section: &JobSection<'a>,
    ) {
        // The procedures before and after the job have sheets of their own, which show their figures.
        if section.phase != Phase::Own {
            return;
        }
        let written = images(section).filter_map(|image| legend_of(job, legends, image));
        let written: Vec<&Numbers<'a>> = written.collect();
        let all: BTreeSet<ThingId> = section.steps().flat_map(touched).collect();
        let mut used: BTreeMap<&str, (&'a Legend, u32)> = BTreeMap::new();
        for step in section.steps() {
            let touched: BTreeSet<ThingId> = touched(step).collect();
            let mut own = step.figures.iter();
            let own = own.find_map(|image| legend_of(job, legends, image));
            let chosen = own.or_else(|| choose(legends, &written, &touched, &all));
            let Some(chosen) = chosen else { continue };
            let touched: BTreeSet<ThingId> =
                touched.intersection(&chosen.things).copied().collect();
            if touched.is_empty() {
                continue;
            }
            used.entry(&chosen.legend.key)
                .or_insert((chosen.legend, 0))
                .1 += 1;
            // The picture of the step above is not repeated.
            let is_repeated = self
                .steps
                .get(&(step.number - 1))
                .is_some_and(|above| above.is_same(chosen.legend, &touched));
            let figure = StepFigure {
                legend: chosen.legend,
                touched,
                is_beside: own.is_none() && !section.is_inspection && !is_repeated,
            };
            self.steps.insert(step.number, figure);
        }
        // All of a figure that several steps use is shown where it is used first.
        let is_head = |(legend, count): &(&'a Legend, u32)| {
            (*count >= SEVERAL || section.is_inspection)
                // An included procedure has its whole figures on its own sheets.
                && section.origin.id == job.procedure.id
                && !self
                    .heads
                    .values()
                    .flatten()
                    .any(|head| head.key == legend.key)
                && !job
                    .sections
                    .iter()
                    .flat_map(|section| images(section))
                    .filter_map(|image| legend_of(job, legends, image))
                    .any(|written| written.legend.key == legend.key)
        };
        let heads: Vec<&'a Legend> = used
            .into_values()
            .filter(is_head)
            .map(|(legend, _)| legend)
            .collect();
        if !heads.is_empty() {
            self.heads.insert(index, heads);
        }
    }
}

/// A figure with what it has numbers for on a machine.
struct Numbers<'a> {
    legend: &'a Legend,
    things: BTreeSet<ThingId>,
}

impl<'a> Numbers<'a> {
    fn of(job: &Job<'a>, legend: &'a Legend) -> Option<Numbers<'a>> {
        legend.picture.as_ref()?;
        let things: BTreeSet<ThingId> = legend
            .callouts_on(job.machine)
            .map(|(_, thing)| thing)
            .collect();
        Some(Numbers { legend, things })
    }
}

/// The figure that shows the most of what a step touches; of several, one that the author put into the section, then the one
/// that shows the most of the section, then the one with the fewest numbers. `None` if none shows anything of it.
fn choose<'l, 'a>(
    legends: &'l [Numbers<'a>],
    written: &[&Numbers<'a>],
    touched: &BTreeSet<ThingId>,
    all: &BTreeSet<ThingId>,
) -> Option<&'l Numbers<'a>> {
    let shows = |numbers: &Numbers<'a>, things: &BTreeSet<ThingId>| {
        numbers.things.intersection(things).count()
    };
    let showing = legends.iter().filter(|numbers| shows(numbers, touched) > 0);
    showing.max_by_key(|numbers| {
        let mut chosen = written.iter();
        let is_written = chosen.any(|written| written.legend.key == numbers.legend.key);
        (
            shows(numbers, touched),
            is_written,
            shows(numbers, all),
            std::cmp::Reverse(numbers.things.len()),
            std::cmp::Reverse(&numbers.legend.key),
        )
    })
}

/// The images that the author put into a section.
fn images<'s, 'a>(section: &'s JobSection<'a>) -> impl Iterator<Item = &'a Image> + 's {
    section.items.iter().flat_map(|item| {
        let images: &'a [Image] = match item {
            JobItem::Figure(image) => std::slice::from_ref(*image),
            JobItem::Step(step) => step.figures,
            JobItem::Text(_) => &[],
        };
        images
    })
}

/// The numbers of an image.
fn legend_of<'l, 'a>(
    job: &Job<'a>,
    legends: &'l [Numbers<'a>],
    image: &Image,
) -> Option<&'l Numbers<'a>> {
    let path = job.figures.get(&image.path.span)?;
    let mut legends = legends.iter();
    legends.find(|numbers| numbers.legend.picture.as_deref() == Some(*path))
}

/// The parts, valves and controls that a step touches.
fn touched<'s>(step: &'s JobStep<'_>) -> impl Iterator<Item = ThingId> + 's {
    step.all_actions().filter_map(drawn)
}

/// The part, valve or control that an action touches.
pub(crate) fn drawn(action: &Action<'_>) -> Option<ThingId> {
    if action.verb == Verb::See {
        return None;
    }
    match action.thing {
        Thing::Part(part) => Some(ThingId::Part(part.id)),
        Thing::Valve(valve) => Some(ThingId::Valve(valve.id)),
        Thing::Control(control) => Some(ThingId::Control(control.id)),
        // The dimension of a part.
        Thing::Reading(reading) => {
            let dimension = reading.dimension.as_ref()?;
            Some(ThingId::Part(dimension.part))
        }
        _ => None,
    }
}
