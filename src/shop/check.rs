//! References among a shop's own records.

use super::{Machine, Part, Records, Shop, WORK, rules};
use crate::finding::{Finding, Findings, Located, nearest};
use crate::prose::{Inline, ThingKind, Verb, actions};

/// Checks that whatever a record names exists.
pub(super) fn references(shop: &Shop, findings: &mut Findings) {
    let mut check = Check { shop, findings };
    for (id, supply) in &shop.supplies {
        let of = format!("supply `{id}`");
        check.known(ThingKind::Caution, &supply.brings, &shop.cautions, &of);
    }
    for machine in shop.machines.values() {
        check.reserved(machine);
        if machine.whole {
            check.machine(machine, shop);
        }
    }
}

/// Folders of the output that are no machine's.
const RESERVED: [&str; 4] = ["figures", "kits", "procedure", "site"];

struct Check<'s, 'f> {
    shop: &'s Shop,
    findings: &'f mut Findings,
}

impl Check<'_, '_> {
    fn known<'n, T>(
        &mut self,
        kind: ThingKind,
        names: impl IntoIterator<Item = &'n Located<String>>,
        among: &Records<T>,
        of: &str,
    ) {
        if self.shop.half_read.contains(&kind) {
            return;
        }
        let kind = kind.word();
        for name in names {
            if !among.contains_key(&name.value) {
                let message = format!("{of} names an unknown {kind} `{}`", name.value);
                self.findings.push(
                    Finding::new(&rules::UNKNOWN_NAME, message)
                        .at(name.span, "")
                        .near(nearest(&name.value, among.keys().map(String::as_str))),
                );
            }
        }
    }

    /// A machine's pages stand in a folder of its id.
    fn reserved(&mut self, machine: &Machine) {
        let id = machine.id.as_str();
        // The pages of each further language stand in a folder, too.
        let mut languages = self.shop.languages.iter().skip(1);
        let is_language = languages.any(|language| language.to_lowercase() == id);
        if is_language || RESERVED.contains(&id) {
            let message =
                format!("a machine can't be called `{id}`: the output has a folder of that name");
            let finding = Finding::new(&rules::RESERVED_ID, message).at(machine.name.span, "");
            self.findings
                .push(finding.help("give the machine's file another name"));
        }
    }

    fn machine(&mut self, machine: &Machine, shop: &Shop) {
        for (id, energy) in &machine.energies {
            let of = format!("energy `{id}`");
            self.known(ThingKind::Caution, &energy.brings, &shop.cautions, &of);
            for name in energy.endangers.iter().flatten() {
                let (parts, energies) = (&machine.parts, &machine.energies);
                if !parts.contains_key(&name.value) && !energies.contains_key(&name.value) {
                    self.known(ThingKind::Fluid, [name], &machine.fluids, &of);
                }
            }
            for text in [&energy.isolate, &energy.prove, &energy.restore] {
                self.no_actions(text, &of);
            }
        }
        for (id, valve) in &machine.valves {
            let of = format!("valve `{id}`");
            self.known(ThingKind::Fluid, &valve.shuts, &machine.fluids, &of);
        }
        for (id, fluid) in &machine.fluids {
            let of = format!("fluid `{id}`");
            self.known(ThingKind::Supply, [&fluid.supply], &shop.supplies, &of);
            self.known(ThingKind::Condition, &fluid.needs, &machine.conditions, &of);
            self.known(ThingKind::Part, &fluid.through, &machine.parts, &of);
            self.known(ThingKind::Role, &fluid.signed_by, &shop.roles, &of);
            self.known(ThingKind::Caution, &fluid.brings, &shop.cautions, &of);
        }
        for condition in machine.conditions.values() {
            let lost_by = condition.lost_by.iter().filter(|one| one.value != WORK);
            for action in lost_by.chain(&condition.after) {
                let (verb, _) = action.value.split_once(':').unwrap_or((&action.value, ""));
                if Verb::find(verb).is_none() || !action.value.contains(':') {
                    let known = Verb::ALL.iter().map(|verb| verb.word());
                    let message = format!("`{}` is not an action", action.value);
                    self.findings.push(
                        Finding::new(&rules::NOT_A_CHOICE, message)
                            .at(action.span, "")
                            .near(nearest(verb, known)),
                    );
                }
            }
        }
        for part in machine.parts.values() {
            self.part(part, machine, shop);
        }
        for (id, reading) in &machine.readings {
            let of = format!("reading `{id}`");
            self.known(ThingKind::Caution, &reading.brings, &shop.cautions, &of);
            self.known(ThingKind::Tool, &reading.tool, &shop.tools, &of);
            let parts = [&reading.with, &reading.without, &reading.locked_by];
            self.known(
                ThingKind::Part,
                parts.into_iter().flatten(),
                &machine.parts,
                &of,
            );
            self.known(ThingKind::Role, &reading.signed_by, &shop.roles, &of);
            self.known(
                ThingKind::Condition,
                &reading.needs,
                &machine.conditions,
                &of,
            );
            for text in [&reading.over, &reading.under].into_iter().flatten() {
                self.no_actions(text, &of);
            }
        }
        if let Some(generator) = &machine.generator {
            let of = format!("the generator of machine `{}`", machine.id);
            self.known(ThingKind::Reading, &generator.speed, &machine.readings, &of);
        }
        let of = format!("`run` of machine `{}`", machine.id);
        for text in [&machine.run.start, &machine.run.stop]
            .into_iter()
            .flatten()
        {
            for action in actions(text) {
                let is_rehearsed = matches!(
                    action.verb,
                    Verb::Open | Verb::Close | Verb::Confirm | Verb::End | Verb::Use | Verb::Apply
                );
                if !is_rehearsed {
                    let message = format!("`{}:` has no place in {of}", action.verb.word());
                    self.findings.push(
                        Finding::new(&rules::STRAY_ACTION, message)
                            .at(action.span, "")
                            .help("valves are opened and closed and conditions confirmed there; the rest is for steps"),
                    );
                }
            }
        }
        let run = &machine.run;
        let parts = run.may_lack.iter().chain(&run.looks);
        self.known(ThingKind::Part, parts, &machine.parts, &of);
        self.known(ThingKind::Reading, &run.measure, &machine.readings, &of);
        self.known(ThingKind::Role, &run.signed_by, &shop.roles, &of);
        self.known(
            ThingKind::Condition,
            &machine.run.needs,
            &machine.conditions,
            &of,
        );
    }

    fn part(&mut self, part: &Part, machine: &Machine, shop: &Shop) {
        let id = &part.id;
        let of = format!("part `{id}`");
        self.known(ThingKind::Part, &part.behind, &machine.parts, &of);
        self.known(ThingKind::Part, &part.held_by, &machine.parts, &of);
        self.known(ThingKind::Part, &part.seals, &machine.parts, &of);
        self.known(ThingKind::Part, &part.laid_open_by, &machine.parts, &of);
        self.known(ThingKind::Role, &part.signed_by, &shop.roles, &of);
        self.known(ThingKind::Fluid, &part.drains, &machine.fluids, &of);
        for name in part.behind.iter().chain(&part.held_by) {
            if name.value == *id {
                let message = format!("{of} is behind itself, or held by itself");
                self.findings
                    .push(Finding::new(&rules::UNKNOWN_NAME, message).at(name.span, ""));
            }
        }
        for stage in &part.stages {
            let limits = stage.spec.value.limits();
            let least = limits
                .lower()
                .or_else(|| limits.nominal())
                .or_else(|| limits.upper());
            let zero = crate::quantity::Rational::from_integer(0.into());
            if least.is_some_and(|least| *least.value() <= zero) {
                let message = format!("the torque of {of} is not above zero");
                self.findings
                    .push(Finding::new(&rules::ILL_FORMED_VALUE, message).at(stage.spec.span, ""));
            }
        }
        self.known(ThingKind::Fluid, &part.carries, &machine.fluids, &of);
        self.known(ThingKind::Caution, &part.brings, &shop.cautions, &of);
        self.known(ThingKind::Reading, &part.turns_with, &machine.readings, &of);
        self.known(ThingKind::Part, &part.through, &machine.parts, &of);
        if let Some(seat) = &part.seat {
            let seats: Vec<&str> = part.seats.iter().map(|seat| seat.value.as_str()).collect();
            if !seats.is_empty() && !seats.contains(&seat.value.as_str()) {
                let message = format!("{of} has no seat `{}`", seat.value);
                self.findings.push(
                    Finding::new(&rules::UNKNOWN_NAME, message)
                        .at(seat.span, "")
                        .near(nearest(&seat.value, seats)),
                );
            }
        }
    }

    /// Only `run` is rehearsed; an action elsewhere would be printed and never done.
    fn no_actions(&mut self, text: &[Inline], of: &str) {
        for action in actions(text) {
            let message = format!("an instruction of {of} has an action in it");
            self.findings.push(
                Finding::new(&rules::STRAY_ACTION, message)
                    .at(action.span, "")
                    .help("say it in words; actions belong in steps"),
            );
        }
    }
}
