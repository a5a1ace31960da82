//! The names in the legend of a figure: machines, and the parts, valves and controls that have numbers.

use super::name::{NameKind, Scope, has_thing};
use super::toml_names::{Reader, as_table, headers};
use crate::prose::ThingKind;
use crate::shop::{Legend, MachineId};
use std::collections::BTreeSet;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The kinds of things that have numbers.
const DRAWN: [ThingKind; 3] = [ThingKind::Part, ThingKind::Valve, ThingKind::Control];

impl Reader<'_> {
    pub(super) fn legend(&mut self, top: &DeTable<'_>) {
        let mut legends = self.sources.shop.legends.values();
        let Some(legend) = legends.find(|legend| legend.file == self.file.id) else {
            return;
        };
        for (field, value) in top {
            match &**field.get_ref() {
                "machines" => self.each(value, &mut |reader, text, range| {
                    reader.machine_name(text, range);
                }),
                "assembly" => self.each(value, &mut |reader, text, range| {
                    reader.drawn(legend, &[ThingKind::Part], text, range);
                }),
                "callout" => {
                    if let DeValue::Table(callouts) = value.get_ref() {
                        self.callouts(legend, callouts);
                    }
                }
                _ => {}
            }
        }
    }

    fn callouts(&mut self, legend: &Legend, callouts: &DeTable<'_>) {
        let mut places: BTreeSet<(usize, usize, String)> = headers(&self.file.text, "callout")
            .map(|(range, key)| (range.start, range.end, key))
            .collect();
        for (key, fields) in callouts {
            let text = key.get_ref().to_string();
            if let Some(range) = self.plain(key.span(), &text) {
                places.insert((range.start, range.end, text));
            }
            let machines = as_table(fields).and_then(|fields| fields.get("machines"));
            if let Some(machines) = machines {
                self.each(machines, &mut |reader, text, range| {
                    reader.machine_name(text, range);
                });
            }
        }
        for (start, end, key) in places {
            self.drawn(legend, &DRAWN, &key, start..end);
        }
    }

    /// Calls a function for each text of a list, with its place without quotes.
    fn each(
        &mut self,
        value: &Spanned<DeValue<'_>>,
        take: &mut dyn FnMut(&mut Self, &str, Range<usize>),
    ) {
        let items = match value.get_ref() {
            DeValue::Array(items) => items.iter().collect(),
            _ => vec![value],
        };
        for item in items {
            if let DeValue::String(text) = item.get_ref()
                && let Some(range) = self.plain(item.span(), text)
            {
                take(self, text, range);
            }
        }
    }

    fn machine_name(&mut self, text: &str, range: Range<usize>) {
        let span = self.file.span(range);
        self.push_span(NameKind::Machine, text, Scope::Shop, span, false);
    }

    /// Adds the name of a thing that some of the figure's machines have.
    fn drawn(&mut self, legend: &Legend, kinds: &[ThingKind], key: &str, range: Range<usize>) {
        let shop = &self.sources.shop;
        for kind in kinds {
            let machines = legend.machines.iter().map(|id| id.value);
            let machines = machines.filter(|id| has_thing(shop, &shop.machines[*id], *kind, key));
            let machines: Vec<MachineId> = machines.collect();
            if !machines.is_empty() {
                let scope = Scope::Machines(machines);
                self.push(*kind, key, scope, range.clone(), false);
            }
        }
    }
}
