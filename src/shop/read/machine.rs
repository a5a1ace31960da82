//! Reads a machine's file.

use super::super::fields::{energy, engine, generator, machine, run};
use super::super::{
    Endings, Energy, EnergyId, EnergyKind, Engine, EngineRun, Generator, Machine, MachineId,
    NamedBy, PartId, Records, Shop, ThingId, rules,
};
use super::condition::{check_conditions, read_condition};
use super::fields::{choice, no_actions, prose, read_file, spec};
use super::flow::{read_control, read_fluid, read_valve};
use super::keys::{MachineKeys, ShopKeys};
use super::order::{drop_circles, expand_stacks};
use super::part::read_part;
use super::reading::read_reading;
use crate::finding::{Finding, Findings, Located, Span};
use crate::prose::{Verb, actions};
use crate::record::{Record, check_file_id};
use crate::tree::Source;

pub(super) fn read_machine(
    file: &Source,
    id: MachineId,
    key: &str,
    shop: &Shop,
    shop_keys: &ShopKeys<'_>,
    findings: &mut Findings,
) -> Machine {
    check_file_id(key, file.span(0..0), findings);
    let mut machine = Machine {
        index: id,
        id: key.to_owned(),
        name: Located {
            value: key.to_owned(),
            span: file.span(0..0),
        },
        engine: None,
        generator: None,
        basis: None,
        note: None,
        picture: None,
        energies: Records::default(),
        valves: Records::default(),
        controls: Records::default(),
        fluids: Records::default(),
        parts: Records::default(),
        named_by: NamedBy::of(&Records::default()),
        readings: Records::default(),
        changed_readings: Vec::new(),
        endings: Endings::default(),
        conditions: Records::default(),
        run: EngineRun::default(),
        file: file.id,
        is_complete: true,
    };
    machine.is_complete = read_file(file, findings, |top, findings| {
        top.set_gallons(shop.gallons);
        read_top(&mut machine, top, shop_keys, findings);
    });
    let parts: Vec<PartId> = machine.parts.values().map(|part| part.id).collect();
    for part in parts {
        let part = machine.parts.get_mut(part);
        part.torque_tool = shop.choose_torque_tool(None, part);
    }
    report_reserved_key(&machine, shop, findings);
    machine
}

/// Folders of the output that are not named after a machine.
const RESERVED: [&str; 6] = ["figures", "kits", "procedure", "rules", "site", "system"];

/// Reports a machine whose key is the name of another folder of the output: its pages go to a folder of its key.
fn report_reserved_key(machine: &Machine, shop: &Shop, findings: &mut Findings) {
    let key = machine.id.as_str();
    // The pages of each language after the first have a folder, too.
    let mut languages = shop.languages.iter().skip(1);
    let is_language = languages.any(|language| language.to_lowercase() == key);
    if is_language || RESERVED.contains(&key) {
        let message =
            format!("a machine can't be called `{key}`: the output has a folder of that name");
        let finding = Finding::new(&rules::RESERVED_ID, message).primary(machine.name.span, "");
        findings.push(finding.help("give the machine's file another name"));
    }
}

fn read_top(
    machine: &mut Machine,
    top: &Record<'_, Machine>,
    shop_keys: &ShopKeys<'_>,
    findings: &mut Findings,
) {
    let keys = MachineKeys::new(shop_keys, top);
    if let Some(name) = top.text(machine::NAME, findings) {
        machine.name = name;
    }
    machine.basis = top.text(machine::BASIS, findings).map(|basis| basis.value);
    machine.note = top.text(machine::NOTE, findings).map(|note| note.value);
    machine.picture = top.text(machine::PICTURE, findings);
    let basis = machine.basis.as_deref();
    top.record(machine::ENGINE, findings, |engine, findings| {
        machine.engine = Some(Engine {
            kind: engine.text(engine::KIND, findings).map(|kind| kind.value),
            pulses: engine.number(engine::IGNITION_PULSES_PER_TURN, findings),
        });
    });
    top.record(machine::GENERATOR, findings, |generator, findings| {
        machine.generator = read_generator(generator, &machine.id, &keys, findings);
    });
    top.record(machine::RUN, findings, |run, findings| {
        machine.run = read_run(run, &machine.id, &keys, findings);
    });
    machine.energies = top.records(machine::ENERGY, findings, |id, energy, findings| {
        read_energy(id, energy, &keys, findings)
    });
    machine.valves = top.records(machine::VALVE, findings, |id, valve, findings| {
        read_valve(id, valve, &keys, findings)
    });
    machine.controls = top.records(machine::CONTROL, findings, read_control);
    machine.fluids = top.records(machine::FLUID, findings, |id, fluid, findings| {
        read_fluid(id, fluid, &keys, basis, findings)
    });
    machine.parts = top.records(machine::PART, findings, |id, part, findings| {
        read_part(id, part, &keys, basis, findings)
    });
    expand_stacks(&mut machine.parts, findings);
    drop_circles(&mut machine.parts, findings);
    machine.named_by = NamedBy::of(&machine.parts);
    let has_engine = machine.has_engine();
    machine.readings = top.records(machine::READING, findings, |id, reading, findings| {
        read_reading(id, reading, &keys, basis, has_engine, findings)
    });
    let changed = machine.readings.values();
    let changed = changed.filter(|reading| !reading.changed_by.is_empty());
    machine.changed_readings = changed.map(|reading| reading.id).collect();
    machine.conditions = top.records(machine::CONDITION, findings, |id, condition, findings| {
        read_condition(id, condition, &keys, has_engine, findings)
    });
    check_conditions(machine, findings);
    machine.endings = Endings::of(&machine.conditions);
}

fn read_generator(
    generator: &Record<'_, Generator>,
    machine: &str,
    keys: &MachineKeys<'_>,
    findings: &mut Findings,
) -> Option<Generator> {
    let poles = generator.count(generator::POLES, findings);
    if let Some(poles) = poles.as_ref().filter(|poles| poles.value % 2 == 1) {
        let message = "the number of poles of a generator must be even";
        findings.push(
            Finding::new(&rules::ILL_FORMED_VALUE, message)
                .primary(poles.span, "")
                .help("count the poles, not the pairs: 2 at 3000 rpm and 4 at 1500 rpm give 50 Hz"),
        );
    }
    let frequency = spec(generator, generator::FREQUENCY, findings);
    let droop = spec(generator, generator::DROOP, findings);
    let of = format!("the generator of machine `{machine}`");
    let readings = &keys.readings;
    let speed = readings.named(generator, generator::SPEED, &of, findings);
    Some(Generator {
        poles: poles?,
        frequency: frequency?,
        droop,
        speed,
    })
}

/// Verbs allowed in an engine's instructions. They are rehearsed as part of `run:` and `stop:`.
const RUN_VERBS: [Verb; 7] = [
    Verb::Open,
    Verb::Close,
    Verb::Set,
    Verb::Confirm,
    Verb::End,
    Verb::Use,
    Verb::Apply,
];

fn read_run(
    run: &Record<'_, EngineRun>,
    machine: &str,
    keys: &MachineKeys<'_>,
    findings: &mut Findings,
) -> EngineRun {
    let of = format!("`run` of machine `{machine}`");
    let (parts, conditions) = (&keys.parts, &keys.conditions);
    let measure = run::MEASURE;
    let signer = run::SIGNED_BY;
    let engine_run = EngineRun {
        needs: conditions.all_named(run, run::NEEDS, &of, findings),
        may_lack: keys
            .things(run, run::MAY_LACK, &of, findings)
            .unwrap_or_default(),
        inspect: parts.all_named(run, run::LOOKS, &of, findings),
        measure: keys.readings.all_named(run, measure, &of, findings),
        signed_by: keys.shop.roles.named(run, signer, &of, findings),
        start: prose(run, run::START, findings),
        stop: prose(run, run::STOP, findings),
    };
    for action in [&engine_run.start, &engine_run.stop]
        .into_iter()
        .flatten()
        .flat_map(|text| actions(text))
    {
        if !RUN_VERBS.contains(&action.verb) {
            let message = format!("`{}:` is not allowed in {of}", action.verb.word());
            findings.push(
                Finding::new(&rules::ACTION_IN_TEXT_FIELD, message)
                    .primary(action.span, "")
                    .help(
                        "only valves, controls and conditions can be used there; put other actions in steps",
                    ),
            );
        }
    }
    engine_run
}

fn read_energy(
    id: EnergyId,
    energy: &Record<'_, Energy>,
    keys: &MachineKeys<'_>,
    findings: &mut Findings,
) -> Energy {
    let of = energy.what().to_owned();
    let name = energy.text(energy::NAME, findings).map(|name| name.value);
    let (tools, cautions) = (&keys.shop.tools, &keys.shop.cautions);
    let kind = choice(energy, energy::KIND, findings);
    let is_heat = kind
        .as_ref()
        .is_some_and(|kind| kind.value == EnergyKind::Heat);
    let endangers = read_endangers(energy, keys, &of, findings);
    let is_general = kind.as_ref().is_some_and(|kind| {
        matches!(
            kind.value,
            EnergyKind::Ignition | EnergyKind::Electrical | EnergyKind::Motion
        )
    });
    if let Some(kind) = kind.as_ref().filter(|_| endangers.is_none() && !is_general) {
        report_no_endangers(kind.span, energy, findings);
    }
    let restore = if is_heat {
        if let Some(text) = energy.text(energy::RESTORE, findings) {
            let message = format!("heat cools by itself, but {of} has `restore`");
            findings.push(
                Finding::new(&rules::CONFLICTING_FIELDS, message)
                    .primary(text.span, "")
                    .help("leave `restore` out: the next run of the engine makes it hot again"),
            );
        }
        Vec::new()
    } else {
        energy.need(energy::RESTORE, findings);
        prose(energy, energy::RESTORE, findings).unwrap_or_default()
    };
    let source = Energy {
        id,
        key: energy.key().to_owned(),
        name: name.unwrap_or_else(|| energy.key().replace('-', " ")),
        kind: kind.map(|kind| kind.value),
        endangers,
        isolate: prose(energy, energy::ISOLATE, findings).unwrap_or_default(),
        prove: prose(energy, energy::PROVE, findings).unwrap_or_default(),
        restore,
        secured_by: tools.all_named(energy, energy::SECURED_BY, &of, findings),
        cautions: cautions.all_named(energy, energy::CAUTIONS, &of, findings),
        span: energy.span(),
    };
    for text in [&source.isolate, &source.prove, &source.restore] {
        no_actions(text, &of, findings);
    }
    source
}

/// Reads what an energy endangers. An empty list is reported: it would say that the energy endangers nothing.
fn read_endangers(
    energy: &Record<'_, Energy>,
    keys: &MachineKeys<'_>,
    of: &str,
    findings: &mut Findings,
) -> Option<Vec<ThingId>> {
    let field = energy::ENDANGERS;
    if energy.is_empty_list(field) {
        let message = format!("`{}` of {of} is empty", field.description.key);
        let finding = Finding::new(&rules::DANGER_NOT_NAMED, message).primary(energy.span(), "");
        findings.push(finding.help("name what it endangers"));
    }
    let things = keys.things(energy, field, of, findings)?;
    Some(things.iter().map(|thing| thing.value).collect())
}

/// Reports an energy of a kind that does not endanger every part, and that does not say what it endangers.
fn report_no_endangers(kind: Span, energy: &Record<'_, Energy>, findings: &mut Findings) {
    let message = format!("{} does not say what it endangers", energy.what());
    let finding = Finding::new(&rules::DANGER_NOT_NAMED, message)
        .primary(energy.span(), "needs `endangers`")
        .secondary(kind, "a kind that does not endanger every part")
        .help(
            "name in `endangers` the parts, fluids, valves, readings and energies that nobody may put hands on while \
             it is live",
        );
    findings.push(finding);
}
