//! Figures with numbers: at the head of a section, and beside the steps.

use super::section::SectionFigure;
use super::writer::Writer;
use crate::callout::{self, Numbered, PrintSpace};
use crate::job::{self, Action, FirstPlace, drawn};
use crate::page::{
    Figure, FigureId, FigureSize, Marked, MarkedPart, OutputContext, ShapeGroup, TextRun,
};
use crate::prose::Image;
use crate::shop::{Legend, Machine, ThingId};
use std::collections::BTreeSet;
use std::sync::Arc;

impl Writer<'_, '_> {
    /// A figure's number on the job's shop sheet, from 1.
    pub(crate) fn figure_number(&self, path: &str) -> Option<u32> {
        let mut figures = self.job.shown.whole.iter();
        let index = figures.position(|(figure, _)| *figure == path)?;
        u32::try_from(index + 1).ok()
    }

    /// A figure that the author put there.
    pub(crate) fn figure(&self, image: &Image, size: FigureSize) -> Option<Figure> {
        let path = self.job.figures.get(&image.path.span)?;
        let id = FigureId((*path).to_owned());
        let facts = self.context.output.figure(&id)?;
        let mut legends = self.job.shop.legends.values();
        let legend = legends.find(|legend| {
            legend.picture.as_deref() == Some(*path) && legend.is_for(self.job.machine.index)
        });
        let marked = legend.and_then(|legend| {
            marked(self.context.output, legend, self.job.machine, None, size).map(Box::new)
        });
        let place = FirstPlace::Image(image.path.span);
        Some(Figure {
            content: facts.content.clone(),
            least_width: facts.least_width,
            size: facts.size(),
            id,
            number: self.figure_number(path)?,
            again: !self.job.shown.whole.contains(&(*path, place)),
            optional: false,
            alt: image.alt.clone(),
            caption: image.caption.clone(),
            marked,
        })
    }

    /// A figure that the author put between steps.
    pub(crate) fn section_figure(&self, image: &Image) -> Option<SectionFigure> {
        Some(SectionFigure {
            full: self.figure(image, FigureSize::Reading)?,
            checklist: self.figure(image, FigureSize::List),
        })
    }

    /// The whole figures at the head of a section. A checklist, which is read step by step, does without them.
    pub(crate) fn head_figures(&self, section: usize) -> Vec<SectionFigure> {
        let heads = self.job.shown.heads.get(&section);
        let heads = heads.into_iter().flatten();
        let figures = heads.filter_map(|legend| {
            Some(SectionFigure {
                full: self.legend_figure(legend, None, FigureSize::Reading)?,
                checklist: None,
            })
        });
        figures.collect()
    }

    /// The figures of a step: those that the author put there, or the one that shows what it touches.
    pub(crate) fn figures_of(&self, step: &job::JobStep<'_>, size: FigureSize) -> Vec<Figure> {
        let written = step.figures.iter();
        let written = written.filter_map(|image| self.figure(image, size));
        written.chain(self.step_figure(step, size)).collect()
    }

    /// The figure beside a step.
    fn step_figure(&self, step: &job::JobStep<'_>, size: FigureSize) -> Option<Figure> {
        let figure = self.job.shown.steps.get(&step.number)?;
        figure
            .is_beside
            .then(|| self.legend_figure(figure.legend, Some(&figure.touched), size))
            .flatten()
    }

    /// A figure: all of it, or what a step touches.
    fn legend_figure(
        &self,
        legend: &Legend,
        touched: Option<&BTreeSet<ThingId>>,
        size: FigureSize,
    ) -> Option<Figure> {
        let marked = marked(self.context.output, legend, self.job.machine, touched, size)?;
        let path = legend.picture.as_ref()?;
        let number = self.whole_on(size, path);
        let id = FigureId(path.clone());
        let facts = self.context.output.figure(&id)?;
        Some(Figure {
            content: facts.content.clone(),
            least_width: None,
            size: facts.size(),
            id,
            number: number.unwrap_or_default(),
            again: touched.is_some(),
            optional: true,
            alt: legend.title.clone(),
            caption: touched.is_none().then(|| legend.title.clone()),
            marked: Some(Box::new(marked)),
        })
    }

    /// The number of a figure, if all of it is on a sheet.
    fn whole_on(&self, size: FigureSize, path: &str) -> Option<u32> {
        let figures = &self.job.shown.whole;
        let index = figures.iter().position(|(figure, _)| *figure == path)?;
        let is_there =
            size == FigureSize::Reading || matches!(figures[index].1, FirstPlace::Image(_));
        u32::try_from(index + 1).ok().filter(|_| is_there)
    }

    /// The number that follows the name of what an action touches, in the figure of its step.
    pub(crate) fn callout(&self, action: &Action<'_>) -> Option<TextRun> {
        if !self.has_figures {
            return None;
        }
        let (step, size) = self.at_step?;
        let figure = self.job.shown.steps.get(&step)?;
        let thing = drawn(action)?;
        if !figure.touched.contains(&thing) {
            return None;
        }
        let mut callouts = figure.legend.callouts_on(self.job.machine);
        let (callout, _) = callouts.find(|(_, other)| *other == thing)?;
        Some(TextRun::Callout {
            number: callout.number.as_ref()?.value,
            part: callout.key.value.clone(),
            figure: self.whole_on(size, figure.legend.picture.as_ref()?),
        })
    }
}

/// What is shown of a figure on a machine: all of it, or some things. `None` if it can't be drawn, which is reported.
pub(crate) fn marked(
    output: &OutputContext,
    legend: &Legend,
    machine: &Machine,
    only: Option<&BTreeSet<ThingId>>,
    size: FigureSize,
) -> Option<Marked> {
    let id = FigureId(legend.picture.clone()?);
    let drawing = output.figure(&id)?.drawing.as_ref()?;
    let mut groups = Vec::new();
    let mut parts = Vec::new();
    let mut numbered = Vec::new();
    for (callout, thing) in legend.callouts_on(machine) {
        let (Some(number), Some(name)) = (&callout.number, machine.drawn_name(thing)) else {
            continue;
        };
        let places = callout.places.iter();
        let places: Vec<_> = places
            .filter_map(|place| drawing.place(&place.value))
            .collect();
        if places.is_empty() {
            continue;
        }
        if drawing.shapes.is_some() {
            groups.push(ShapeGroup {
                number: number.value,
                shapes: places.iter().map(|place| place.shapes.clone()).collect(),
            });
        }
        if only.is_some_and(|only| !only.contains(&thing)) {
            continue;
        }
        let is_ringed = drawing.shapes.is_none();
        let rings = places.iter().filter(|_| is_ringed).map(|place| place.area);
        parts.push(MarkedPart {
            number: number.value,
            part: callout.key.value.clone(),
            name: name.to_owned(),
            rings: rings.collect(),
        });
        numbered.push(Numbered {
            number: number.value,
            places,
        });
    }
    let layout = match (only, size) {
        (None, FigureSize::Reading) => callout::whole(drawing, &numbered, PrintSpace::WHOLE),
        (None, FigureSize::List) => callout::whole(drawing, &numbered, PrintSpace::WHOLE_ON_LIST),
        (Some(_), FigureSize::Reading) => callout::crop(drawing, &numbered, PrintSpace::STEP),
        (Some(_), FigureSize::List) => callout::crop(drawing, &numbered, PrintSpace::STEP_ON_LIST),
    };
    Some(Marked {
        drawing: Arc::clone(drawing),
        layout,
        is_whole: only.is_none(),
        has_legend: only.is_none(),
        parts,
        groups: groups.into(),
    })
}
