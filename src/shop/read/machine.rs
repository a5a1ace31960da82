//! Reads a machine's file.

use super::super::{
    Endings, Energy, EnergyId, EnergyKind, Engine, EngineRun, Generator, Machine, MachineId,
    NamedBy, PartId, Records, Shop, ThingId, rules,
};
use super::condition::{check_conditions, read_condition};
use super::fields::{choice, need_prose, no_actions, prose, read_file, spec};
use super::flow::{read_control, read_fluid, read_valve};
use super::keys::{MachineKeys, ShopKeys};
use super::name_fields as names;
use super::order::{drop_circles, expand_stacks};
use super::part::read_part;
use super::reading::read_reading;
use crate::finding::{Finding, Findings, Located, Span};
use crate::prose::{ThingKind, Verb, actions};
use crate::quantity::Kind as Quantity;
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
const RESERVED: [&str; 5] = ["figures", "kits", "procedure", "site", "system"];

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
    top: &mut Record<'_>,
    shop_keys: &ShopKeys<'_>,
    findings: &mut Findings,
) {
    let keys = MachineKeys::new(shop_keys, top);
    if let Some(name) = top.need_text("name", findings) {
        machine.name = name;
    }
    machine.basis = top.text("basis", findings).map(|basis| basis.value);
    machine.note = top.text("note", findings).map(|note| note.value);
    machine.picture = top.text("picture", findings);
    let basis = machine.basis.as_deref();
    top.record("engine", findings, |engine, findings| {
        machine.engine = Some(Engine {
            kind: engine.text("kind", findings).map(|kind| kind.value),
            pulses: engine.number("ignition-pulses-per-turn", findings),
        });
    });
    top.record("generator", findings, |generator, findings| {
        machine.generator = read_generator(generator, &machine.id, &keys, findings);
    });
    top.record("run", findings, |run, findings| {
        machine.run = read_run(run, &machine.id, &keys, findings);
    });
    machine.energies = top.records("energy", findings, |id, energy, findings| {
        read_energy(id, energy, &keys, findings)
    });
    machine.valves = top.records("valve", findings, |id, valve, findings| {
        read_valve(id, valve, &keys, findings)
    });
    machine.controls = top.records("control", findings, read_control);
    machine.fluids = top.records("fluid", findings, |id, fluid, findings| {
        read_fluid(id, fluid, &keys, basis, findings)
    });
    machine.parts = top.records("part", findings, |id, part, findings| {
        read_part(id, part, &keys, basis, findings)
    });
    expand_stacks(&mut machine.parts, findings);
    drop_circles(&mut machine.parts, findings);
    machine.named_by = NamedBy::of(&machine.parts);
    let has_engine = machine.has_engine();
    machine.readings = top.records("reading", findings, |id, reading, findings| {
        read_reading(id, reading, &keys, basis, has_engine, findings)
    });
    let changed = machine.readings.values();
    let changed = changed.filter(|reading| !reading.changed_by.is_empty());
    machine.changed_readings = changed.map(|reading| reading.id).collect();
    machine.conditions = top.records("condition", findings, |id, condition, findings| {
        read_condition(id, condition, &keys, has_engine, findings)
    });
    check_conditions(machine, findings);
    machine.endings = Endings::of(&machine.conditions);
}

fn read_generator(
    generator: &mut Record<'_>,
    machine: &str,
    keys: &MachineKeys<'_>,
    findings: &mut Findings,
) -> Option<Generator> {
    generator.need("poles", findings);
    generator.need("frequency", findings);
    let poles = generator.count("poles", findings);
    if let Some(poles) = poles.as_ref().filter(|poles| poles.value % 2 == 1) {
        let message = "the number of poles of a generator must be even";
        findings.push(
            Finding::new(&rules::ILL_FORMED_VALUE, message)
                .primary(poles.span, "")
                .help("count the poles, not the pairs: 2 at 3000 rpm and 4 at 1500 rpm give 50 Hz"),
        );
    }
    let frequency = spec(generator, "frequency", &[Quantity::Frequency], findings);
    let droop = spec(generator, "droop", &[Quantity::Percent], findings);
    let of = format!("the generator of machine `{machine}`");
    let readings = &keys.readings;
    let speed = readings.named(generator, &names::GENERATOR_SPEED, &of, findings);
    Some(Generator {
        poles: poles?,
        frequency: frequency?,
        droop,
        speed,
    })
}

/// Kinds of things without which an engine can be run: parts that are off, fluids that are empty, valves that are shut,
/// energies that are isolated.
const LACKED: [ThingKind; 4] = [
    ThingKind::Part,
    ThingKind::Fluid,
    ThingKind::Valve,
    ThingKind::Energy,
];

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
    run: &mut Record<'_>,
    machine: &str,
    keys: &MachineKeys<'_>,
    findings: &mut Findings,
) -> EngineRun {
    let of = format!("`run` of machine `{machine}`");
    let (parts, conditions) = (&keys.parts, &keys.conditions);
    let measure = &names::RUN_MEASURE;
    let signer = &names::RUN_SIGNED_BY;
    let engine_run = EngineRun {
        needs: conditions.all_named(run, &names::RUN_NEEDS, &of, findings),
        may_lack: keys
            .things(run, &names::RUN_MAY_LACK, &LACKED, &of, findings)
            .unwrap_or_default(),
        inspect: parts.all_named(run, &names::RUN_LOOKS, &of, findings),
        measure: keys.readings.all_named(run, measure, &of, findings),
        signed_by: keys.shop.roles.named(run, signer, &of, findings),
        start: prose(run, "start", findings),
        stop: prose(run, "stop", findings),
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
    energy: &mut Record<'_>,
    keys: &MachineKeys<'_>,
    findings: &mut Findings,
) -> Energy {
    let kinds = [
        ("ignition", EnergyKind::Ignition),
        ("electrical", EnergyKind::Electrical),
        ("motion", EnergyKind::Motion),
        ("spring", EnergyKind::Spring),
        ("pressure", EnergyKind::Pressure),
        ("heat", EnergyKind::Heat),
        ("gravity", EnergyKind::Gravity),
    ];
    let of = energy.what().to_owned();
    let name = energy.text("name", findings).map(|name| name.value);
    let (tools, cautions) = (&keys.shop.tools, &keys.shop.cautions);
    energy.need("kind", findings);
    let kind = choice(energy, "kind", &kinds, findings);
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
        if let Some(text) = energy.text("restore", findings) {
            let message = format!("heat cools by itself, but {of} has `restore`");
            findings.push(
                Finding::new(&rules::CONFLICTING_FIELDS, message)
                    .primary(text.span, "")
                    .help("leave `restore` out: the next run of the engine makes it hot again"),
            );
        }
        Vec::new()
    } else {
        need_prose(energy, "restore", findings)
    };
    let source = Energy {
        id,
        key: energy.key().to_owned(),
        name: name.unwrap_or_else(|| energy.key().replace('-', " ")),
        kind: kind.map(|kind| kind.value),
        endangers,
        isolate: need_prose(energy, "isolate", findings),
        prove: need_prose(energy, "prove", findings),
        restore,
        secured_by: tools.all_named(energy, &names::ENERGY_SECURED_BY, &of, findings),
        cautions: cautions.all_named(energy, &names::ENERGY_CAUTIONS, &of, findings),
        span: energy.span(),
    };
    for text in [&source.isolate, &source.prove, &source.restore] {
        no_actions(text, &of, findings);
    }
    source
}

/// Kinds of things that an energy can endanger.
const ENDANGERED: [ThingKind; 6] = [
    ThingKind::Part,
    ThingKind::Energy,
    ThingKind::Fluid,
    ThingKind::Valve,
    ThingKind::Control,
    ThingKind::Reading,
];

/// Reads what an energy endangers. An empty list is reported: it would say that the energy endangers nothing.
fn read_endangers(
    energy: &mut Record<'_>,
    keys: &MachineKeys<'_>,
    of: &str,
    findings: &mut Findings,
) -> Option<Vec<ThingId>> {
    let field = &names::ENERGY_ENDANGERS;
    let is_empty = energy
        .optional_texts(field.key, findings)
        .is_some_and(|names| names.is_empty());
    if is_empty {
        let message = format!("`{}` of {of} is empty", field.key);
        let finding = Finding::new(&rules::DANGER_NOT_NAMED, message).primary(energy.span(), "");
        findings.push(finding.help("name what it endangers"));
    }
    let things = keys.things(energy, field, &ENDANGERED, of, findings)?;
    Some(things.iter().map(|thing| thing.value).collect())
}

/// Reports an energy of a kind that does not endanger every part, and that does not say what it endangers.
fn report_no_endangers(kind: Span, energy: &Record<'_>, findings: &mut Findings) {
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
