//! Resolves names in records to ids.

use super::super::fields::{Things, machine};
use super::super::{
    Caution, Control, Energy, Fluid, Machine, MachineAction, Part, Reading, Role, RunCondition,
    Shop, Supply, ThingId, Tool, Valve, rules,
};
use crate::finding::{FileId, Finding, Findings, Located, nearest};
use crate::prose::{ThingKind, Verb};
use crate::record::{ById, Field, Id, Keys, Many, Name, Named, Record, Records};

/// The keys of all records of one kind, for resolving names.
pub(super) struct Known<'k, T> {
    kind: ThingKind,
    keys: Keys<'k, T>,
    /// The keys of records that the machine does not take over from the one that it is like.
    without: Vec<&'k str>,
    /// The machine's own file.
    own: Option<FileId>,
    /// Whether the records' file could be read in full. If not, a name that is not found is not reported,
    /// because its record may be in the unread part.
    is_complete: bool,
}

impl<'k, T> Known<'k, T> {
    pub(super) fn of_shop(shop: &Shop, kind: ThingKind, records: &'k Records<T>) -> Known<'k, T> {
        Known {
            kind,
            keys: records.keys().collect(),
            without: Vec::new(),
            own: None,
            is_complete: !shop.incomplete_kinds.contains(&kind),
        }
    }

    fn of_machine(
        top: &Record<'k, Machine>,
        kind: ThingKind,
        table: &Field<Machine, ById<T>>,
    ) -> Known<'k, T> {
        Known {
            kind,
            keys: top.keys(table),
            without: top.keys_without(table).collect(),
            own: Some(top.file()),
            // If a machine's file can't be read in full, its other findings are dropped anyway.
            is_complete: true,
        }
    }

    fn find(&self, key: &str) -> Option<Id<T>> {
        self.keys.find(key)
    }

    /// Whether a name was taken over from another machine, and means a record that was not.
    fn is_left_behind(&self, name: &Located<String>) -> bool {
        self.own != Some(name.span.file) && self.without.contains(&name.value.as_str())
    }

    fn report_unknown(&self, name: &Located<String>, of: &str, findings: &mut Findings) {
        if !self.is_complete || self.is_left_behind(name) {
            return;
        }
        let kind = self.kind.word();
        let message = format!("{of} names an unknown {kind} `{}`", name.value);
        let finding = Finding::new(&rules::UNKNOWN_NAME, message).primary(name.span, "");
        if self.without.contains(&name.value.as_str()) {
            let help = format!("this machine's `lacks` has `{}`", name.value);
            findings.push(finding.help(help));
            return;
        }
        let near = nearest(&name.value, self.keys.iter());
        findings.push(
            finding
                .suggest(
                    near,
                    format!("use the id of an existing {kind}, or add its record"),
                )
                .corrected(&name.value, near),
        );
    }

    /// The record that a text names.
    pub(super) fn resolve(
        &self,
        name: &Located<String>,
        of: &str,
        findings: &mut Findings,
    ) -> Option<Located<Id<T>>> {
        let id = self.find(&name.value);
        if id.is_none() {
            self.report_unknown(name, of, findings);
        }
        Some(name.with(id?))
    }

    fn thing(&self, name: &Located<String>, of: &str, findings: &mut Findings) -> Option<ThingId>
    where
        Id<T>: Into<ThingId>,
    {
        let id = self.resolve(name, of, findings)?;
        Some(id.value.into())
    }

    /// Reads a field that names at most one record. `of` is what findings call the record with the field.
    pub(super) fn named<K>(
        &self,
        record: &Record<'_, K>,
        field: &Field<K, Name<T>>,
        of: &str,
        findings: &mut Findings,
    ) -> Option<Located<Id<T>>>
    where
        T: Named,
    {
        let name = record.text(field, findings)?;
        self.resolve(&name, of, findings)
    }

    /// Reads a field that names any number of records. Names that are not found are left out.
    pub(super) fn all_named<K>(
        &self,
        record: &Record<'_, K>,
        field: &Field<K, Many<Name<T>>>,
        of: &str,
        findings: &mut Findings,
    ) -> Vec<Located<Id<T>>>
    where
        T: Named,
    {
        let names = record.texts(field, findings);
        let ids = names.iter().map(|name| self.resolve(name, of, findings));
        ids.flatten().collect()
    }
}

pub(super) struct ShopKeys<'k> {
    pub(super) roles: Known<'k, Role>,
    pub(super) tools: Known<'k, Tool>,
    pub(super) supplies: Known<'k, Supply>,
    pub(super) cautions: Known<'k, Caution>,
}

impl<'k> ShopKeys<'k> {
    pub(super) fn new(shop: &'k Shop) -> ShopKeys<'k> {
        ShopKeys {
            roles: Known::of_shop(shop, ThingKind::Role, &shop.roles),
            tools: Known::of_shop(shop, ThingKind::Tool, &shop.tools),
            supplies: Known::of_shop(shop, ThingKind::Supply, &shop.supplies),
            cautions: Known::of_shop(shop, ThingKind::Caution, &shop.cautions),
        }
    }
}

/// The keys of a machine's records, with those of the shop.
pub(super) struct MachineKeys<'k> {
    pub(super) shop: &'k ShopKeys<'k>,
    pub(super) energies: Known<'k, Energy>,
    pub(super) valves: Known<'k, Valve>,
    pub(super) controls: Known<'k, Control>,
    pub(super) fluids: Known<'k, Fluid>,
    pub(super) parts: Known<'k, Part>,
    pub(super) readings: Known<'k, Reading>,
    pub(super) conditions: Known<'k, RunCondition>,
    /// What the machine does not take over from the one that it is like, as its file names it.
    pub(super) lacks: Vec<Located<String>>,
}

impl<'k> MachineKeys<'k> {
    /// Collects the keys from `top`, the top table of the machine's file.
    pub(super) fn new(shop: &'k ShopKeys<'k>, top: &Record<'k, Machine>) -> MachineKeys<'k> {
        MachineKeys {
            shop,
            energies: Known::of_machine(top, ThingKind::Energy, machine::ENERGY),
            valves: Known::of_machine(top, ThingKind::Valve, machine::VALVE),
            controls: Known::of_machine(top, ThingKind::Control, machine::CONTROL),
            fluids: Known::of_machine(top, ThingKind::Fluid, machine::FLUID),
            parts: Known::of_machine(top, ThingKind::Part, machine::PART),
            readings: Known::of_machine(top, ThingKind::Reading, machine::READING),
            conditions: Known::of_machine(top, ThingKind::Condition, machine::CONDITION),
            lacks: Vec::new(),
        }
    }

    /// Reads a field that names things of some kinds. A name that several of them have stands for all of these.
    /// `None` if the field is missing.
    pub(super) fn things<K, T: Things>(
        &self,
        record: &Record<'_, K>,
        field: &Field<K, Many<Name<T>>>,
        of: &str,
        findings: &mut Findings,
    ) -> Option<Vec<Located<ThingId>>> {
        let names = record.optional_texts(field, findings)?;
        let kinds = T::KINDS;
        let mut things = Vec::new();
        for name in names {
            let found = kinds
                .iter()
                .filter_map(|kind| self.find(*kind, &name.value));
            let first = things.len();
            things.extend(found.map(|thing| name.with(thing)));
            let is_left_behind = kinds.iter().any(|kind| self.is_left_behind(*kind, &name));
            if things.len() == first && !is_left_behind {
                let known = kinds.iter().flat_map(|kind| self.names(*kind));
                let message = format!("{of} names an unknown thing `{}`", name.value);
                let finding = Finding::new(&rules::UNKNOWN_NAME, message).primary(name.span, "");
                let near = nearest(&name.value, known);
                let finding = finding.suggest(near, "use the id of a thing of this machine");
                findings.push(finding.corrected(&name.value, near));
            }
        }
        Some(things)
    }

    /// The thing of a kind that has this key. `None` also for kinds that are not of a machine.
    pub(super) fn find(&self, kind: ThingKind, key: &str) -> Option<ThingId> {
        match kind {
            ThingKind::Part => self.parts.find(key).map(ThingId::Part),
            ThingKind::Valve => self.valves.find(key).map(ThingId::Valve),
            ThingKind::Control => self.controls.find(key).map(ThingId::Control),
            ThingKind::Fluid => self.fluids.find(key).map(ThingId::Fluid),
            ThingKind::Energy => self.energies.find(key).map(ThingId::Energy),
            ThingKind::Condition => self.conditions.find(key).map(ThingId::Condition),
            ThingKind::Reading => self.readings.find(key).map(ThingId::Reading),
            _ => None,
        }
    }

    /// If all of some names were taken over and mean things of these kinds that were not: what the machine lacks.
    pub(super) fn lack_of_all(
        &self,
        names: &[Located<String>],
        kinds: &[ThingKind],
    ) -> Option<&Located<String>> {
        let is_left_behind = |name: &Located<String>| {
            let mut kinds = kinds.iter();
            kinds.any(|kind| self.is_left_behind(*kind, name))
        };
        let first = names.first().filter(|_| names.iter().all(is_left_behind))?;
        self.lacks.iter().find(|lack| lack.value == first.value)
    }

    /// Whether a name was taken over from another machine, and means a thing of a kind that was not.
    pub(super) fn is_left_behind(&self, kind: ThingKind, name: &Located<String>) -> bool {
        match kind {
            ThingKind::Part => self.parts.is_left_behind(name),
            ThingKind::Valve => self.valves.is_left_behind(name),
            ThingKind::Control => self.controls.is_left_behind(name),
            ThingKind::Fluid => self.fluids.is_left_behind(name),
            ThingKind::Energy => self.energies.is_left_behind(name),
            ThingKind::Condition => self.conditions.is_left_behind(name),
            ThingKind::Reading => self.readings.is_left_behind(name),
            _ => false,
        }
    }

    /// The keys of all things of a kind. Empty for kinds that are not of a machine.
    pub(super) fn names(&self, kind: ThingKind) -> Vec<&'k str> {
        match kind {
            ThingKind::Part => self.parts.keys.iter().collect(),
            ThingKind::Valve => self.valves.keys.iter().collect(),
            ThingKind::Control => self.controls.keys.iter().collect(),
            ThingKind::Fluid => self.fluids.keys.iter().collect(),
            ThingKind::Energy => self.energies.keys.iter().collect(),
            ThingKind::Condition => self.conditions.keys.iter().collect(),
            ThingKind::Reading => self.readings.keys.iter().collect(),
            _ => Vec::new(),
        }
    }

    /// The kind of the thing that has this key, if the wanted kind has none.
    fn other_kind(&self, wanted: ThingKind, key: &str) -> Option<ThingKind> {
        let kinds = [
            ThingKind::Part,
            ThingKind::Valve,
            ThingKind::Control,
            ThingKind::Fluid,
            ThingKind::Energy,
            ThingKind::Condition,
            ThingKind::Reading,
        ];
        let has = |kind: ThingKind| self.find(kind, key).is_some();
        let is_other = |kind: &ThingKind| !has(wanted) && has(*kind);
        kinds.into_iter().find(is_other)
    }

    /// Resolves an action written as `close:fuel-tap`.
    pub(super) fn action(
        &self,
        text: &Located<String>,
        has_engine: bool,
        of: &str,
        findings: &mut Findings,
    ) -> Option<Located<MachineAction>> {
        let not_an_action = |message, near| {
            let finding = Finding::new(&rules::UNKNOWN_CHOICE, message);
            let help = "write a verb and a thing of this machine, such as `run:engine`";
            finding.primary(text.span, "").suggest(near, help)
        };
        let (word, key) = text.value.split_once(':').unwrap_or((&text.value, ""));
        let verb = Verb::find(word).filter(|_| text.value.contains(':'));
        let Some(verb) = verb else {
            let known = Verb::ALL.iter().map(|verb| verb.word());
            let message = format!("`{}` is not an action", text.value);
            // A verb alone is near to itself.
            let near = nearest(word, known).filter(|near| near.name != word);
            findings.push(not_an_action(message, near));
            return None;
        };
        if verb.takes().is_of_machine()
            && let Some((thing, _)) = key.split_once('/')
        {
            findings.push(qualified(verb, thing, text, of));
            return None;
        }
        let name = text.with(key.to_owned());
        let shop = self.shop;
        let is_of_machine = verb.takes().is_of_machine() && verb.takes() != ThingKind::Engine;
        if is_of_machine && let Some(actual) = self.other_kind(verb.takes(), key) {
            let (wanted, actual) = (verb.takes().word(), actual.with_article());
            let message = format!("{of} names an unknown {wanted} `{key}`");
            let finding = Finding::new(&rules::UNKNOWN_NAME, message).primary(text.span, "");
            findings.push(finding.help(format!("`{key}` is {actual}, which takes other verbs")));
            return None;
        }
        let thing = match verb.takes() {
            ThingKind::Part => self.parts.thing(&name, of, findings),
            ThingKind::Valve => self.valves.thing(&name, of, findings),
            ThingKind::Control => self.controls.thing(&name, of, findings),
            ThingKind::Fluid => self.fluids.thing(&name, of, findings),
            ThingKind::Energy => self.energies.thing(&name, of, findings),
            ThingKind::Condition => self.conditions.thing(&name, of, findings),
            ThingKind::Reading => self.readings.thing(&name, of, findings),
            ThingKind::Role => shop.roles.thing(&name, of, findings),
            ThingKind::Tool => shop.tools.thing(&name, of, findings),
            ThingKind::Supply => shop.supplies.thing(&name, of, findings),
            ThingKind::Engine if has_engine && key == "engine" => Some(ThingId::Engine),
            ThingKind::Engine => {
                let message = format!("{of} names an unknown engine `{key}`");
                let near = has_engine.then_some("engine");
                let finding = Finding::new(&rules::UNKNOWN_NAME, message).primary(text.span, "");
                findings.push(finding.suggest(
                    near,
                    "this machine has no `engine`: add its table, or leave this action out",
                ));
                None
            }
            // A wait until a condition holds is its confirmation.
            ThingKind::Time if self.conditions.find(key).is_some() => {
                let bare = format!("confirm:{key}");
                findings.push(
                    Finding::new(
                        &rules::IMPOSSIBLE_ACTION,
                        format!(
                            "{of} names `{}`, which is performed as `{bare}`",
                            text.value
                        ),
                    )
                    .primary(text.span, "")
                    .help(format!(
                        "write `{bare}`: it also stands for `{}`",
                        text.value
                    ))
                    .corrected(&text.value, Some(bare.as_str())),
                );
                None
            }
            // These only refer to something; a step performs nothing by them.
            ThingKind::Procedure | ThingKind::Place | ThingKind::Caution | ThingKind::Time => {
                let message = format!("no step can perform `{}`", text.value);
                findings.push(
                    Finding::new(&rules::IMPOSSIBLE_ACTION, message)
                        .primary(text.span, "")
                        .help("name the action itself, such as `run:engine`"),
                );
                None
            }
        };
        let thing = thing?;
        Some(text.with(MachineAction { verb, thing }))
    }
}

/// The finding about an action with something after its thing: `tighten:nut/2`.
fn qualified(verb: Verb, thing: &str, text: &Located<String>, of: &str) -> Finding {
    if verb.takes() == ThingKind::Reading {
        let message = format!("{of} names a dimension of a part in `{}`", text.value);
        let help = format!(
            "name a reading here, or `inspect:{thing}`, which measures all dimensions of the part"
        );
        let finding = Finding::new(&rules::UNKNOWN_NAME, message).primary(text.span, "");
        return finding.help(help);
    }
    let bare = format!("{}:{thing}", verb.word());
    let message = format!("{of} names a position, stage or amount in `{}`", text.value);
    Finding::new(&rules::UNKNOWN_NAME, message)
        .primary(text.span, "")
        .help(format!("write `{bare}`, which stands for all of them"))
        .corrected(&text.value, Some(bare.as_str()))
}
