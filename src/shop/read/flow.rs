//! Reads what flows in a machine, what shuts it, and the machine's switches and levers.

use super::super::fields::{control, fluid, valve};
use super::super::{
    Control, ControlId, EngineNeed, Fluid, FluidId, FluidState, Valve, ValveId, ValveState, rules,
    slug,
};
use super::fields::{Bases, choice, choices, owned, spec};
use super::keys::MachineKeys;
use crate::finding::{Finding, Findings, Located, nearest};
use crate::record::Record;

pub(super) fn read_valve(
    id: ValveId,
    valve: &Record<'_, Valve>,
    keys: &MachineKeys<'_>,
    findings: &mut Findings,
) -> Valve {
    let of = valve.what().to_owned();
    let shuts = keys.fluids.named(valve, valve::SHUTS, &of, findings);
    let running = choice(valve, valve::RUNNING, findings).map(|running| running.value);
    Valve {
        id,
        key: valve.key().to_owned(),
        name: owned(valve.text(valve::NAME, findings)),
        running: running.or_else(|| shuts.is_some().then_some(ValveState::Open)),
        shuts,
        initial: choice(valve, valve::FOUND, findings)
            .map_or(ValveState::Open, |found| found.value),
    }
}

pub(super) fn read_control(
    id: ControlId,
    control: &Record<'_, Control>,
    findings: &mut Findings,
) -> Control {
    let positions = control.texts(control::POSITIONS, findings);
    let found = control.text(control::FOUND, findings);
    let running = control.text(control::RUNNING, findings);
    let of = control.what().to_owned();
    report_repeated(&positions, &of, findings);
    let mut index = |name: Option<Located<String>>| {
        let name = name?;
        // Too few positions are reported by themselves.
        if positions.len() < 2 {
            return None;
        }
        let index = positions
            .iter()
            .position(|position| slug(&position.value) == slug(&name.value));
        if index.is_none() {
            let known = positions.iter().map(|position| position.value.as_str());
            let near = nearest(&name.value, known);
            let message = format!("{of} has no position `{}`", name.value);
            findings.push(
                Finding::new(&rules::UNKNOWN_NAME, message)
                    .primary(name.span, "")
                    .suggest(near, "name one of its `positions`")
                    .corrected(&name.value, near),
            );
        }
        index
    };
    let (initial, running) = (index(found), index(running));
    if let [only] = positions.as_slice() {
        let message = format!("{of} has a single position");
        let finding = Finding::new(&rules::ILL_FORMED_VALUE, message).primary(only.span, "");
        findings.push(finding.help("give all positions that it can be put into"));
    }
    Control {
        id,
        key: control.key().to_owned(),
        name: owned(control.text(control::NAME, findings)),
        positions,
        initial: initial.unwrap_or(0),
        running,
    }
}

/// Reports positions that an action can't tell apart.
pub(super) fn report_repeated(positions: &[Located<String>], of: &str, findings: &mut Findings) {
    for (index, position) in positions.iter().enumerate() {
        let mut earlier = positions[..index].iter();
        if let Some(first) = earlier.find(|first| slug(&first.value) == slug(&position.value)) {
            let message = format!("{of} has the position `{}` twice", position.value);
            findings.push(
                Finding::new(&rules::CONFLICTING_FIELDS, message)
                    .primary(position.span, "")
                    .secondary(first.span, "the first one")
                    .help("give each position a name of its own"),
            );
        }
    }
}

pub(super) fn read_fluid(
    id: FluidId,
    fluid: &Record<'_, Fluid>,
    keys: &MachineKeys<'_>,
    bases: &Bases,
    findings: &mut Findings,
) -> Fluid {
    let of = fluid.what().to_owned();
    fluid.text(fluid::BASIS, findings);
    let name = fluid.text(fluid::NAME, findings).map(|name| name.value);
    let capacity = spec(fluid, fluid::CAPACITY, findings);
    let (shop, conditions) = (keys.shop, &keys.conditions);
    Fluid {
        id,
        key: fluid.key().to_owned(),
        name: name.unwrap_or_else(|| fluid.key().replace('-', " ")),
        capacity: capacity.map(|spec| bases.source(fluid, fluid::BASIS, spec)),
        initial: choice(fluid, fluid::FOUND, findings)
            .map_or(FluidState::Full, |found| found.value),
        leak_check: choice(fluid, fluid::LEAK_CHECK, findings)
            .map_or(EngineNeed::Stopped, |engine| engine.value),
        needs: conditions.all_named(fluid, fluid::NEEDS, &of, findings),
        through: keys.parts.named(fluid, fluid::THROUGH, &of, findings),
        signed_by: shop.roles.named(fluid, fluid::SIGNED_BY, &of, findings),
        cautions: shop
            .cautions
            .all_named(fluid, fluid::CAUTIONS, &of, findings),
        supply: shop.supplies.named(fluid, fluid::SUPPLY, &of, findings),
        takes: choices(fluid, fluid::TAKES, findings),
    }
}
