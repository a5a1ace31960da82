//! Makes the drawings of a job's steps from the machine's records.

use super::pattern::pattern_drawing;
use super::writer::Writer;
use crate::drawing::{Gauge, GaugeEnd, Positions, gauge, positions};
use crate::job::{self, Action, Thing};
use crate::page::Drawing;
use crate::prose::Verb;
use crate::quantity::Quantity;
use crate::shop::{Part, Sourced, slug};
use num_traits::ToPrimitive as _;

impl Writer<'_, '_> {
    /// The drawings of a step, in the order of its actions. `to_fill` says whether they have space to mark what is found.
    pub(crate) fn drawings(&self, step: &job::JobStep<'_>, to_fill: bool) -> Vec<Drawing> {
        let actions = step.actions.iter();
        let own = actions.filter_map(|action| self.drawing(action, to_fill));
        let all = own
            .chain(self.joint(step))
            .chain(self.line(step))
            .chain(self.circuit(step));
        all.map(|drawing| Drawing {
            // A checklist on paper has space for what is marked on it. The shop sheet has the others.
            unprinted: to_fill && !drawing.kind.is_small(),
            ..drawing
        })
        .collect()
    }

    fn drawing(&self, action: &Action<'_>, to_fill: bool) -> Option<Drawing> {
        match (action.verb, action.thing) {
            // A dimension is in the table of its part.
            (Verb::Measure, Thing::Reading(reading)) if reading.dimension.is_none() => {
                self.gauge(&reading.name, reading.limits.as_ref()?, to_fill)
            }
            (Verb::Inspect, Thing::Part(part)) => {
                self.gauge(&part.name, part.limits.as_ref()?, to_fill)
            }
            (Verb::Note, Thing::Part(part)) if part.is_linkage() => Some(self.lever(part, None)),
            (Verb::Fit | Verb::Renew, Thing::Part(part)) if part.is_linkage() => {
                let known = part.position.as_ref();
                let position = action
                    .position
                    .or_else(|| known.map(|position| position.value.as_str()))?;
                let mut names = part.positions.iter();
                let index = names.position(|name| slug(&name.value) == slug(position))?;
                Some(self.lever(part, Some(index)))
            }
            (Verb::Tighten, Thing::Part(part)) if part.count > 2 => {
                let stages = self.stages(action, part);
                pattern_drawing(self.context.words(), part, &stages)
            }
            _ => None,
        }
    }

    /// What each stage of an action brings a fastener to. Empty if there is one stage, which the step says.
    fn stages(&self, action: &Action<'_>, part: &Part) -> Vec<String> {
        let count = part.stages.len();
        if count < 2 {
            return Vec::new();
        }
        let numbered = (1..).zip(&part.stages);
        let done = numbered.filter(|(number, _)| action.stage.is_none_or(|stage| stage == *number));
        done.map(|(number, stage)| {
            let name = self.context.stage_name(number, count);
            format!("{name}: {}", self.context.value(stage).first)
        })
        .collect()
    }

    /// The holes that a part can sit in. With `filled`, the one that it goes into.
    fn lever(&self, part: &Part, filled: Option<usize>) -> Drawing {
        let words = self.context.words();
        let names = part.positions.iter().map(|position| position.value.clone());
        let names: Vec<String> = names.collect();
        let list = names.join(", ");
        let values = [("part", part.name.as_str()), ("positions", &list)];
        let alt = match filled {
            Some(index) => {
                let position = ("position", names[index].as_str());
                words.format("position-alt", &[values[0], values[1], position])
            }
            None => words.format("positions-alt", &values),
        };
        positions(&Positions {
            names: &names,
            filled,
            alt: &alt,
        })
    }

    /// The limits of a reading as a scale.
    fn gauge(&self, name: &str, limits: &Sourced, to_fill: bool) -> Option<Drawing> {
        let words = self.context.words();
        // The limits that the page prints: in another unit they are rounded inwards.
        let shown = self.job.shop.units.show(&limits.spec.value).first;
        let printed = shown.limits();
        let number = |value: Option<Quantity>| {
            let value = value?;
            let (top, bottom) = (
                value.value().numer().to_f64()?,
                value.value().denom().to_f64()?,
            );
            Some((top / bottom, words.number(&value)))
        };
        let (least, most) = (number(printed.lower()), number(printed.upper()));
        let [least, most] = [&least, &most].map(|end| {
            end.as_ref().map(|(value, text)| GaugeEnd {
                value: *value,
                text,
            })
        });
        let values = [
            ("reading", name),
            ("limits", &self.context.value(limits).first),
        ];
        gauge(&Gauge {
            least,
            most,
            unit: printed.unit().symbol(),
            to_fill,
            alt: &words.format("gauge-alt", &values),
        })
    }
}
