//! The figures that a job shows, as data. `shown` chooses them.

use crate::finding::Span;
use crate::shop::{Legend, ThingId};
use std::collections::{BTreeMap, BTreeSet};

/// The figures of a job that have numbers for its parts.
#[derive(Clone, Debug, Default)]
pub(crate) struct Shown<'a> {
    /// By the numbers of the steps.
    pub(crate) steps: BTreeMap<u32, StepFigure<'a>>,
    /// The whole figures at the heads of sections, by the indices of the sections.
    pub(crate) heads: BTreeMap<usize, Vec<&'a Legend>>,
    /// The paths of the figures that the shop sheet shows in full, each once, in order, and where each one stands first.
    pub(crate) whole: Vec<(&'a str, FirstPlace)>,
}

/// Where a figure stands first on a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FirstPlace {
    /// Where the author put it.
    Image(Span),
    /// At the head of the section with this index.
    Head(usize),
}

/// The figure that shows what a step touches.
#[derive(Clone, Debug)]
pub(crate) struct StepFigure<'a> {
    pub(crate) legend: &'a Legend,
    /// What the step touches and the figure has a number for.
    pub(crate) touched: BTreeSet<ThingId>,
    /// Whether it stands beside the step. Otherwise the step has it in full, the step above has the same, or the step is the
    /// row of a table.
    pub(crate) is_beside: bool,
}

impl StepFigure<'_> {
    pub(super) fn is_same(&self, legend: &Legend, touched: &BTreeSet<ThingId>) -> bool {
        self.legend.key == legend.key && self.touched == *touched
    }
}

impl<'a> Shown<'a> {
    /// The figures, each as often as it is used.
    pub(crate) fn legends(&self) -> impl Iterator<Item = &'a Legend> {
        let of_steps = self.steps.values().map(|figure| figure.legend);
        of_steps.chain(self.heads.values().flatten().copied())
    }
}
