//! What finds the things of a shop's records: their names, their values, and what else pages say of them.

use super::super::rule_text::summary;
use super::words::{fold, words_in};
use crate::finding::{Located, Rule};
use crate::page::PageContext;
use crate::prose;
use crate::quantity::Spec;
use crate::sheet::{SearchPiece, machine_facts};
use crate::shop::{Caution, Fluid, Machine, Part, Reading, Sourced, Supply, Tool};
use crate::words::Words;

/// A glossary term.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SearchTerm<'t> {
    pub(crate) id: &'t str,
    pub(crate) name: &'t str,
    pub(crate) meaning: &'t str,
}

/// A thing with the texts that find it.
#[derive(Clone, Debug, Default)]
pub(super) struct Described {
    pub(super) name: String,
    /// Texts that are always shown with a result.
    pub(super) shown: Vec<String>,
    /// Texts that are shown if they are why the thing is a result.
    pub(super) others: Vec<String>,
    /// Values, each with the index of the text that prints it among `shown` and `others`.
    pub(super) values: Vec<(usize, SearchValue)>,
}

/// A value in one unit. At least one of its limits is there.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct SearchValue {
    /// The unit as a folded word, such as `nm`.
    pub(crate) unit: String,
    /// In decimal digits, with a point. Empty if there is none.
    pub(crate) lower: String,
    pub(crate) upper: String,
}

impl Described {
    fn new(name: &str) -> Described {
        Described {
            name: name.to_owned(),
            ..Described::default()
        }
    }

    /// Adds a text with a label and values, which is always shown.
    fn show_values(&mut self, context: PageContext<'_>, label: &str, specs: &[&Spec]) {
        if specs.is_empty() {
            return;
        }
        let texts: Vec<String> = specs.iter().map(|spec| text_of(context, spec)).collect();
        let label = context.words().get(label);
        let text = self.shown.len();
        self.shown.push(format!("{label}: {}", texts.join("; ")));
        let values = specs.iter().flat_map(|spec| values_of(context, spec));
        self.values.extend(values.map(|value| (text, value)));
    }

    pub(super) fn piece(piece: &SearchPiece) -> Described {
        Described {
            shown: piece.shown.clone(),
            others: piece.texts.clone(),
            ..Described::new(&piece.title)
        }
    }

    pub(super) fn machine(context: PageContext<'_>, machine: &Machine) -> Described {
        let facts = machine_facts(context, machine).into_iter();
        let facts = facts
            .filter(|(label, _)| *label != "basis")
            .map(|(_, text)| text);
        Described {
            others: facts.chain(machine.note.clone()).collect(),
            ..Described::new(&machine.name.value)
        }
    }

    pub(super) fn part(context: PageContext<'_>, part: &Part) -> Described {
        let mut described = Described::new(&part.name);
        let number = part.number.iter();
        let label = context.words().get("number");
        described
            .shown
            .extend(number.map(|number| format!("{label}: {number}")));
        let old: Vec<&str> = part
            .supersedes
            .iter()
            .map(|old| old.value.as_str())
            .collect();
        if !old.is_empty() {
            let values = [("numbers", old.join(", "))];
            let values = values.each_ref().map(|(key, text)| (*key, text.as_str()));
            described
                .shown
                .push(context.words().format("replaces", &values));
        }
        let thread = part.thread.as_ref().map(|thread| thread.value.to_string());
        let head: Vec<String> = thread.into_iter().chain(context.drive_text(part)).collect();
        if !head.is_empty() {
            described.shown.push(head.join(", "));
        }
        let stages: Vec<&Spec> = part.stages.iter().map(spec_of).collect();
        described.show_values(context, "torque", &stages);
        let limits: Vec<&Spec> = part.limits.iter().map(spec_of).collect();
        described.show_values(context, "limits-head", &limits);
        let reuse = part.reuse.as_ref().map(|text| prose::plain(text));
        let positions: Vec<String> = part
            .positions
            .iter()
            .map(|position| position.value.clone())
            .collect();
        let words = context.words();
        let positions = (!positions.is_empty())
            .then(|| format!("{}: {}", words.get("position"), words.choice(&positions)));
        let orientation = part.orientation.clone();
        let note = part.note.clone();
        let others = [reuse, positions, orientation, note];
        described.others.extend(others.into_iter().flatten());
        described
    }

    pub(super) fn reading(context: PageContext<'_>, reading: &Reading) -> Described {
        let mut described = Described::new(reading.title());
        let limits: Vec<&Spec> = reading.limits.iter().map(spec_of).collect();
        let label = match reading.dimension {
            Some(_) => "wear-limit-head",
            None => "limits-head",
        };
        described.show_values(context, label, &limits);
        let tool = context.shop.tool_of(reading);
        described.others.extend(tool.map(|tool| tool.name.clone()));
        described
    }

    pub(super) fn fluid(context: PageContext<'_>, fluid: &Fluid) -> Described {
        let mut described = Described::new(&fluid.name);
        let capacity: Vec<&Spec> = fluid.capacity.iter().map(spec_of).collect();
        described.show_values(context, "capacity", &capacity);
        let supply = context.shop.supply_of(fluid);
        described
            .others
            .extend(supply.map(|supply| supply.name.clone()));
        described
    }

    pub(super) fn tool(context: PageContext<'_>, tool: &Tool) -> Described {
        let range = tool
            .range
            .iter()
            .map(|range| text_of(context, &range.value));
        Described {
            others: range.chain(tool.note.clone()).collect(),
            ..Described::new(&tool.name)
        }
    }

    pub(super) fn supply(context: PageContext<'_>, supply: &Supply) -> Described {
        let mix = |mix: &Located<Spec>| {
            let ratio = text_of(context, &mix.value);
            context.words().format("mixed", &[("ratio", &ratio)])
        };
        let mix = supply.mix.iter().map(mix);
        Described {
            others: mix.chain(supply.note.clone()).collect(),
            ..Described::new(&supply.name)
        }
    }

    pub(super) fn caution(caution: &Caution) -> Described {
        let consequence = std::iter::once(&caution.consequence);
        Described {
            others: consequence.chain(&caution.avoid).cloned().collect(),
            ..Described::new(&caution.hazard)
        }
    }

    pub(super) fn rule(rule: &Rule) -> Described {
        Described {
            shown: vec![summary(rule)],
            ..Described::new(rule.name)
        }
    }

    pub(super) fn term(term: &SearchTerm<'_>) -> Described {
        Described {
            others: vec![term.meaning.to_owned()],
            ..Described::new(term.name)
        }
    }
}

fn spec_of(value: &Sourced) -> &Spec {
    &value.spec.value
}

/// A value in the units that pages print it in: `5 N·m ± 0.5 N·m [44 in·lbf ± 4 in·lbf]`.
fn text_of(context: PageContext<'_>, spec: &Spec) -> String {
    let value = context.spec(spec, false);
    match value.second {
        Some(second) => format!("{} [{second}]", value.first),
        None => value.first,
    }
}

/// A value in the units that pages print it in.
fn values_of(context: PageContext<'_>, spec: &Spec) -> Vec<SearchValue> {
    let shown = context.shop.units.show(spec);
    let specs = std::iter::once(shown.first).chain(shown.others);
    let values = specs.map(|spec| {
        let limits = spec.limits();
        // The number as a language with a decimal point prints it, without the spaces between digits.
        let number = |quantity| {
            Words::english()
                .number(&quantity)
                .replace('\u{202f}', "")
                .replace('−', "-")
        };
        SearchValue {
            unit: words_in(&fold(&limits.unit().to_string())).collect(),
            lower: limits.lower().map(number).unwrap_or_default(),
            upper: limits.upper().map(number).unwrap_or_default(),
        }
    });
    values.collect()
}
