//! The values and facts that the actions of a step need.

use super::mix::{capacity_of, mix_text};
use super::pattern::pattern_text;
use super::setting::{meter_setting_text, setting_text};
use super::steps::has_own_text;
use super::wires::connection_facts;
use super::writer::Writer;
use crate::finding::Located;
use crate::job::{self, Action, Thing};
use crate::model::SupplyAmount;
use crate::page::{Detail, Value};
use crate::prose::{self, Verb};
use crate::quantity::{Quantity, Rational, Unit};
use crate::shop::{Fluid, Part, PartId, Reading, WaitTime};
use crate::trade::Condition;
use crate::words::Words;

impl Writer<'_, '_> {
    /// The details to print for an action of a step.
    pub(crate) fn details(&self, action: &Action<'_>, step: &job::JobStep<'_>) -> Vec<Detail> {
        match (action.verb, action.thing) {
            (Verb::Tighten, Thing::Part(part)) => self.tightening(action, part, step),
            (Verb::Remove | Verb::Slacken, Thing::Part(part)) => {
                let mut more: Vec<String> = self.context.drive_text(part).into_iter().collect();
                if action.verb == Verb::Remove {
                    more.extend(self.stack_text("sets-free", part));
                }
                more.extend(part.place.clone());
                more.extend(connection_facts(self.context, part));
                more.extend(self.first_off_text(part));
                let has_facts = !more.is_empty();
                let detail = Detail {
                    label: fastener(part),
                    value: None,
                    more,
                    noted: None,
                };
                has_facts.then_some(detail).into_iter().collect()
            }
            (Verb::Fit | Verb::Renew, Thing::Part(part)) => self.fitting(action, part),
            // The default instruction has the position.
            (Verb::Turn, Thing::Part(part)) if has_own_text(action, step) => {
                let position = action.position.map(|position| Detail {
                    label: part.name.clone(),
                    value: None,
                    more: vec![position.to_owned()],
                    noted: None,
                });
                position.into_iter().collect()
            }
            (Verb::Inspect, Thing::Part(part)) => {
                let reuse = part.reuse.as_ref().map(|reuse| Detail {
                    label: self
                        .context
                        .words()
                        .format("reuse-if", &[("part", &part.name)]),
                    value: None,
                    more: vec![prose::plain(reuse)],
                    noted: None,
                });
                reuse.into_iter().collect()
            }
            (Verb::Measure, Thing::Reading(reading)) => {
                let settings = [
                    self.meter_setting(reading),
                    self.tachometer_setting(reading),
                ];
                settings.into_iter().flatten().collect()
            }
            (Verb::Drain, Thing::Fluid(fluid)) => {
                let container = self.container_text(action.verb, fluid, step);
                let detail = container.map(|container| Detail {
                    label: fluid.name.clone(),
                    value: None,
                    more: vec![container],
                    noted: None,
                });
                detail.into_iter().collect()
            }
            (Verb::Fill, Thing::Fluid(fluid)) => {
                let supply = self.job.shop.supply_of(fluid);
                // What is missing from a fluid that is not drained is known only at the bench.
                let is_top_up = self.is_top_up(action);
                let filled = fluid.capacity.as_ref().filter(|_| !is_top_up);
                let capacity = filled.and_then(capacity_of);
                let mix = supply.and_then(|supply| mix_text(self.context, supply, capacity));
                let container = self.container_text(action.verb, fluid, step);
                let top_up = is_top_up.then(|| self.context.words().get("top-up").to_owned());
                vec![Detail {
                    label: supply.map_or_else(|| fluid.name.clone(), |supply| supply.name.clone()),
                    value: filled.map(|capacity| self.context.value(capacity)),
                    more: top_up.into_iter().chain(mix).chain(container).collect(),
                    noted: None,
                }]
            }
            (Verb::Apply, Thing::Supply(supply)) => {
                let value = action.amount.as_deref().map(|amount| self.amount(amount));
                let detail = value.map(|value| Detail {
                    label: supply.name.clone(),
                    value: Some(value),
                    more: Vec::new(),
                    noted: None,
                });
                detail.into_iter().collect()
            }
            (Verb::Wait, Thing::Time(time)) => vec![Detail {
                label: self.context.words().get("wait").to_owned(),
                value: Some(self.time(time)),
                more: Vec::new(),
                noted: None,
            }],
            _ => Vec::new(),
        }
    }

    /// The container that a fluid goes into or comes from. `None` if the step names one.
    fn container_text(&self, verb: Verb, fluid: &Fluid, step: &job::JobStep<'_>) -> Option<String> {
        let container = step.container_for(self.job.shop, verb, fluid)?;
        let key = match verb {
            Verb::Drain => "goes-into",
            _ => "comes-from",
        };
        let words = self.context.words();
        Some(words.format(key, &[("container", &container.name)]))
    }

    /// An amount of a supply as the page prints it.
    fn amount(&self, amount: &SupplyAmount) -> Value {
        let words = self.context.words();
        match amount {
            SupplyAmount::Quantity(quantity) => self.context.spec(&quantity.clone().into(), false),
            SupplyAmount::Pieces(count) => Value {
                first: match count {
                    1 => count.to_string(),
                    _ => words.format("pieces", &[("count", &count.to_string())]),
                },
                second: None,
                unverified: false,
                bare: None,
            },
        }
    }

    /// A time as the page prints it.
    pub(crate) fn time(&self, time: WaitTime) -> Value {
        Value {
            first: self.context.words().value(&time.quantity().parts()),
            second: None,
            unverified: false,
            bare: None,
        }
    }

    fn tightening(&self, action: &Action<'_>, part: &Part, step: &job::JobStep<'_>) -> Vec<Detail> {
        let words = self.context.words();
        let mut more: Vec<String> = Vec::new();
        more.extend(self.context.drive_text(part));
        more.extend(pattern_text(words, part));
        more.extend(part.assembled.map(|assembled| match assembled {
            Condition::Threadlocker => words.get("threadlocker").to_owned(),
            condition => words.format("thread-state", &[("state", words.get(condition.name()))]),
        }));
        let reason = part.low_torque.as_ref();
        more.extend(reason.map(|reason| words.format("low-torque", &[("reason", reason)])));
        let stages = part.stages.len();
        let (shop, extension) = (self.job.shop, step.extension());
        let wrench = step.torque_tool_for(shop, part);
        more.extend(wrench.map(|tool| tool.name.clone()));
        if stages == 0 && more.is_empty() {
            return Vec::new();
        }
        if stages == 0 {
            return vec![Detail {
                label: fastener(part),
                value: None,
                more,
                noted: None,
            }];
        }
        let numbered = part.stages.iter().enumerate();
        let printed =
            numbered.filter(|(index, _)| action.stage.is_none_or(|stage| stage == index + 1));
        printed
            .map(|(index, stage)| Detail {
                label: match (index, stages) {
                    (_, 1) => fastener(part),
                    (index, _) if index == 0 || action.stage.is_some() => {
                        format!(
                            "{}, {}",
                            fastener(part),
                            self.context.stage_name(index + 1, stages)
                        )
                    }
                    _ => self.context.stage_name(index + 1, stages),
                },
                value: Some(self.context.value(stage)),
                more: {
                    let is_first = index == 0 || action.stage.is_some();
                    let mut more = if is_first { more.clone() } else { Vec::new() };
                    let limits = stage.spec.value.limits();
                    more.extend(
                        wrench.and_then(|tool| setting_text(words, tool, extension, limits)),
                    );
                    more
                },
                noted: None,
            })
            .collect()
    }

    /// The setting of a meter with several functions and ranges.
    fn meter_setting(&self, reading: &Reading) -> Option<Detail> {
        let setting = meter_setting_text(self.context, reading)?;
        let tool = self.job.shop.tool_of(reading)?;
        Some(Detail {
            label: tool.name.clone(),
            value: None,
            more: vec![setting],
            noted: None,
        })
    }

    /// The setting of a tachometer that counts sparks. `None` unless the tool has a setting for
    /// this engine's number of sparks a turn.
    fn tachometer_setting(&self, reading: &Reading) -> Option<Detail> {
        let tool = self.job.shop.tool_of(reading)?;
        let pulses = self.job.machine.engine.as_ref()?.pulses.as_ref()?;
        let setting = tool
            .pulse_settings
            .iter()
            .find(|setting| setting.value == pulses.value)?;
        let words = self.context.words();
        let count = sparks_a_turn(&setting.value, words);
        Some(Detail {
            label: tool.name.clone(),
            value: None,
            more: vec![words.format("sparks-per-turn", &[("count", &count)])],
            noted: None,
        })
    }

    fn fitting(&self, action: &Action<'_>, part: &Part) -> Vec<Detail> {
        let words = self.context.words();
        let mut more = Vec::new();
        if action.verb == Verb::Renew {
            let number = part.number.as_ref();
            more.extend(number.map(|number| words.format("part-number", &[("number", number)])));
        }
        if !part.faces.is_empty() {
            more.push(words.format("clean-first", &[("faces", &words.list(&part.faces))]));
        }
        let named = action.position.map(str::to_owned);
        let position = named.or_else(|| {
            part.position
                .as_ref()
                .map(|position| position.value.clone())
        });
        let noted_at = self.noted_at(part);
        match (&position, noted_at) {
            (Some(position), _) => {
                more.push(words.format("fit-in-position", &[("position", position)]));
            }
            (None, Some(noted)) => {
                let values = [("step", &*self.step_at(noted))];
                more.push(words.format("fit-where-noted", &values));
            }
            (None, None) if part.is_linkage() => {
                more.push(words.get("fit-where-it-was").to_owned());
            }
            (None, None) => {}
        }
        more.extend(self.position_by(action, part));
        more.extend(part.orientation.clone());
        more.extend(connection_facts(self.context, part));
        more.extend(self.neighbours_text(part));
        more.extend(self.stack_text("passes-through", part));
        more.extend(self.first_off_text(part));
        if more.is_empty() {
            return Vec::new();
        }
        vec![Detail {
            label: words.counted(&part.name, part.count).into_owned(),
            value: None,
            more,
            // What was noted on another sheet is not in this one's record.
            noted: noted_at
                .filter(|noted| !self.is_earlier(*noted))
                .map(|_| part.key.clone()),
        }]
    }
}

impl Writer<'_, '_> {
    /// The value that decides on the position of a linkage: "by the governed speed, 3,150 rpm".
    fn position_by(&self, action: &Action<'_>, part: &Part) -> Option<String> {
        let reading = part
            .position_by
            .as_ref()
            .filter(|_| action.position.is_none())?;
        let reading = &self.job.machine.readings[reading.value];
        part.position.as_ref()?;
        let limits = self.context.value(reading.limits.as_ref()?).first;
        let values = [("reading", reading.name.as_str()), ("value", &limits)];
        Some(self.context.words().format("position-by", &values))
    }

    /// Whether an action fills a fluid that is already in.
    pub(crate) fn is_top_up(&self, action: &Action<'_>) -> bool {
        let mut fillings = self.job.fillings();
        fillings.any(|filling| filling.action.span == action.span && filling.is_top_up)
    }
}

/// What the sheets say of an order that the machine's file gives.
impl Writer<'_, '_> {
    /// The parts that a fastener passes through, in their order. `None` for a fastener without a stack.
    fn stack_text(&self, key: &str, fastener: &Part) -> Option<String> {
        let names: Vec<String> = self.part_names(&fastener.stack);
        let words = self.context.words();
        (!names.is_empty()).then(|| words.format(key, &[("parts", &words.list(&names))]))
    }

    /// Between which parts of a stack a part lies, if it is in one.
    fn neighbours_text(&self, part: &Part) -> Option<String> {
        let machine = self.job.machine;
        let mut stacks = part
            .held_by
            .iter()
            .map(|holder| &machine.parts[holder.value].stack);
        let (stack, index) = stacks.find_map(|stack| {
            let index = stack.iter().position(|member| member.value == part.id)?;
            Some((stack, index))
        })?;
        let end = stack.len().min(index + 2);
        let around = &stack[index.saturating_sub(1)..end];
        let names: Vec<String> = around
            .iter()
            .filter(|member| member.value != part.id)
            .map(|member| machine.parts[member.value].name.clone())
            .collect();
        let key = match names.len() {
            0 => return None,
            1 => "lies-against",
            _ => "lies-between",
        };
        let words = self.context.words();
        Some(words.format(key, &[("parts", &words.list(&names))]))
    }

    /// That a part is first off and last on.
    fn first_off_text(&self, part: &Part) -> Option<String> {
        let words = self.context.words();
        (!part.off_first.is_empty()).then(|| words.get("first-off").to_owned())
    }

    fn part_names(&self, parts: &[Located<PartId>]) -> Vec<String> {
        let parts = parts.iter().map(|part| &self.job.machine.parts[part.value]);
        parts.map(|part| part.name.clone()).collect()
    }
}

/// "manifold nut, 2 × M6".
pub(crate) fn fastener(part: &Part) -> String {
    match (&part.thread, part.count) {
        (Some(thread), 1) => format!("{}, {}", part.name, thread.value),
        (Some(thread), count) => format!("{}, {count}\u{a0}×\u{a0}{}", part.name, thread.value),
        (None, 1) => part.name.clone(),
        (None, count) => format!("{count}\u{a0}×\u{a0}{}", part.name),
    }
}

/// Sparks per turn of the crankshaft, with one decimal place if the number is not whole.
pub(crate) fn sparks_a_turn(count: &Rational, words: &Words) -> String {
    let decimals = u8::from(!count.is_integer());
    words.number(&Quantity::new(count.clone(), Unit::TO_ONE, decimals))
}
