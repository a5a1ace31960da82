//! Reads what flows in a machine, what shuts it, and the machine's switches and levers.

use super::super::{
    Control, ControlId, EngineNeed, Fluid, FluidId, FluidState, Sourced, Valve, ValveId,
    ValveState, rules, slug,
};
use super::fields::{choice, owned, spec};
use super::keys::MachineKeys;
use super::name_fields as names;
use crate::finding::{Finding, Findings, Located, nearest};
use crate::quantity::Kind as Quantity;
use crate::record::Record;

pub(super) fn read_valve(
    id: ValveId,
    valve: &mut Record<'_>,
    keys: &MachineKeys<'_>,
    findings: &mut Findings,
) -> Valve {
    let states = [("open", ValveState::Open), ("closed", ValveState::Closed)];
    let of = valve.what().to_owned();
    let shuts = keys.fluids.named(valve, &names::VALVE_SHUTS, &of, findings);
    let running = choice(valve, "running", &states, findings).map(|running| running.value);
    Valve {
        id,
        key: valve.key().to_owned(),
        name: owned(valve.need_text("name", findings)),
        running: running.or_else(|| shuts.is_some().then_some(ValveState::Open)),
        shuts,
        initial: choice(valve, "found", &states, findings)
            .map_or(ValveState::Open, |found| found.value),
    }
}

pub(super) fn read_control(
    id: ControlId,
    control: &mut Record<'_>,
    findings: &mut Findings,
) -> Control {
    control.need("positions", findings);
    control.need("found", findings);
    let positions = control.texts("positions", findings);
    let found = control.text("found", findings);
    let running = control.text("running", findings);
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
        name: owned(control.need_text("name", findings)),
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
    fluid: &mut Record<'_>,
    keys: &MachineKeys<'_>,
    basis: Option<&str>,
    findings: &mut Findings,
) -> Fluid {
    let states = [("full", FluidState::Full), ("empty", FluidState::Empty)];
    let engine = [
        ("running", EngineNeed::Running),
        ("stopped", EngineNeed::Stopped),
    ];
    let of = fluid.what().to_owned();
    let own_basis = fluid.text("basis", findings).map(|basis| basis.value);
    let basis = own_basis.or_else(|| basis.map(str::to_owned));
    let name = fluid.text("name", findings).map(|name| name.value);
    let capacity = spec(
        fluid,
        "capacity",
        &[Quantity::Volume, Quantity::Mass],
        findings,
    );
    fluid.need(names::FLUID_SUPPLY.key, findings);
    let (shop, conditions) = (keys.shop, &keys.conditions);
    Fluid {
        id,
        key: fluid.key().to_owned(),
        name: name.unwrap_or_else(|| fluid.key().replace('-', " ")),
        capacity: capacity.map(|spec| Sourced { spec, basis }),
        initial: choice(fluid, "found", &states, findings)
            .map_or(FluidState::Full, |found| found.value),
        leak_check: choice(fluid, "leak-check", &engine, findings)
            .map_or(EngineNeed::Stopped, |engine| engine.value),
        needs: conditions.all_named(fluid, &names::FLUID_NEEDS, &of, findings),
        through: keys
            .parts
            .named(fluid, &names::FLUID_THROUGH, &of, findings),
        signed_by: shop
            .roles
            .named(fluid, &names::FLUID_SIGNED_BY, &of, findings),
        cautions: shop
            .cautions
            .all_named(fluid, &names::FLUID_CAUTIONS, &of, findings),
        supply: shop
            .supplies
            .named(fluid, &names::FLUID_SUPPLY, &of, findings),
    }
}
