//! Reads a machine's file.

use super::super::fields::{
    Endangered, TakenOver, Things, energy, engine, generator, machine, run,
};
use super::super::{
    Endings, Energy, EnergyId, EnergyKind, Engine, EngineRun, Generator, Instruction, Machine,
    MachineId, NamedBy, PartId, Records, SerialNumber, SerialRange, Shop, ThingId, rules,
};
use super::condition::{check_conditions, read_condition};
use super::dimension::add_dimensions;
use super::fields::{Bases, choice, no_actions, prose, spec, values};
use super::flow::{read_control, read_fluid, read_valve};
use super::keys::{MachineKeys, ShopKeys};
use super::kit::read_kit;
use super::order::{drop_circles, expand_stacks};
use super::part::read_part;
use super::reading::read_reading;
use super::variant::{Chain, MachineFile};
use crate::finding::{Finding, Findings, Located, Span, nearest};
use crate::prose::{ThingKind, Verb, actions};
use crate::record::{Field, Parsed, Record, Text, check_file_id};
use crate::tree::Source;

/// Reads a machine. `chain` are the machines that it is like.
pub(super) fn read_machine(
    machine_file: &MachineFile<'_>,
    chain: Chain<'_, '_>,
    id: MachineId,
    shop: &Shop,
    shop_keys: &ShopKeys<'_>,
    findings: &mut Findings,
) -> Machine {
    let (file, key) = (machine_file.file, machine_file.key);
    check_file_id(key, file.span(0..0), findings);
    let mut machine = empty(file, id, key);
    findings.extend(machine_file.findings.clone());
    if let Some(finding) = chain.finding {
        findings.push(finding);
    }
    let below = chain.below;
    machine
        .files
        .extend(below.iter().map(|below| below.file.id));
    let layers: Vec<&Parsed<'_>> = below.iter().map(|below| &below.parsed).collect();
    // Without the rest of the machine, whatever its file names would be unknown.
    let is_known = chain.is_complete && layers.iter().all(|below| below.is_well_formed());
    let (what, mut read) = (format!("`{}`", file.path), Findings::new());
    let parsed = &machine_file.parsed;
    let is_well_formed =
        parsed.read_over(&layers, machine::LACKS, &what, &mut read, |top, read| {
            top.set_gallons(shop.gallons);
            read_top(&mut machine, top, shop_keys, read);
        });
    machine.is_complete = is_known && is_well_formed;
    if is_known {
        findings.extend(read);
    }
    let parts: Vec<PartId> = machine.parts.values().map(|part| part.id).collect();
    for part in parts {
        let part = machine.parts.get_mut(part);
        part.torque_tool = shop.choose_torque_tool(None, part);
    }
    settle_positions(&mut machine);
    report_reserved_key(&machine, shop, findings);
    machine
}

/// Gives each linkage the position that the limits of its reading decide on, unless the file gives one. If none or several
/// are for these limits, a rule says so.
fn settle_positions(machine: &mut Machine) {
    let parts: Vec<PartId> = machine.parts.values().map(|part| part.id).collect();
    for id in parts {
        let part = &machine.parts[id];
        let Some(reading) = part
            .position_by
            .as_ref()
            .filter(|_| part.position.is_none())
        else {
            continue;
        };
        let limits = machine.readings[reading.value].limits.as_ref();
        let position = limits.and_then(|limits| {
            match part.positions_for(limits.spec.value.limits()).as_slice() {
                [position] => Some((*position).clone()),
                _ => None,
            }
        });
        machine.parts.get_mut(id).position = position;
    }
}

/// A machine of which nothing was read.
fn empty(file: &Source, id: MachineId, key: &str) -> Machine {
    Machine {
        index: id,
        id: key.to_owned(),
        name: Located {
            value: key.to_owned(),
            span: file.span(0..0),
        },
        like: None,
        serials: SerialRange::default(),
        fitted: Vec::new(),
        engine: None,
        generator: None,
        basis: None,
        note: None,
        picture: None,
        wiring: None,
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
        kits: Records::default(),
        run: EngineRun::default(),
        file: file.id,
        files: vec![file.id],
        is_complete: true,
    }
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
    let mut keys = MachineKeys::new(shop_keys, top);
    let own = top.own();
    if let Some(name) = own.text(machine::NAME, findings) {
        machine.name = name;
    }
    read_like(machine, top, &mut keys, findings);
    machine.serials = read_serials(&own, findings);
    machine.fitted = values(top.texts(machine::FITTED, findings));
    machine.basis = top.text(machine::BASIS, findings).map(|basis| basis.value);
    machine.note = top.text(machine::NOTE, findings).map(|note| note.value);
    machine.picture = top.text(machine::PICTURE, findings);
    machine.wiring = top.text(machine::WIRING, findings);
    let bases = Bases::of_files(top, &machine.files);
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
        read_fluid(id, fluid, &keys, &bases, findings)
    });
    machine.parts = top.records(machine::PART, findings, |id, part, findings| {
        read_part(id, part, &keys, &bases, findings)
    });
    expand_stacks(&mut machine.parts, findings);
    drop_circles(&mut machine.parts, findings);
    machine.named_by = NamedBy::of(&machine.parts);
    let has_engine = machine.has_engine();
    machine.readings = top.records(machine::READING, findings, |id, reading, findings| {
        read_reading(id, reading, &keys, &bases, has_engine, findings)
    });
    let changed = machine.readings.values();
    let changed = changed.filter(|reading| !reading.changed_by.is_empty());
    machine.changed_readings = changed.map(|reading| reading.id).collect();
    add_dimensions(machine, findings);
    machine.kits = top.records(machine::KIT, findings, |_, kit, findings| {
        read_kit(kit, &keys, findings)
    });
    machine.conditions = top.records(machine::CONDITION, findings, |id, condition, findings| {
        read_condition(id, condition, &keys, has_engine, findings)
    });
    check_conditions(machine, findings);
    machine.endings = Endings::of(&machine.conditions);
}

/// Reads the serial numbers that a machine's file is for. They are never taken over.
fn read_serials(own: &Record<'_, Machine>, findings: &mut Findings) -> SerialRange {
    let from = serial(own, machine::FROM, findings);
    let to = serial(own, machine::TO, findings);
    let Some((first, last)) = from.as_ref().zip(to.as_ref()) else {
        return SerialRange { from, to };
    };
    let is_ordered =
        first.value.is_comparable(&last.value) && first.value.number() <= last.value.number();
    if !is_ordered {
        let message = format!(
            "no serial number is from `{}` to `{}`",
            first.value.text(),
            last.value.text()
        );
        let finding = Finding::new(&rules::CONFLICTING_FIELDS, message)
            .primary(last.span, "")
            .secondary(first.span, "the first one");
        findings.push(finding.help(
            "write the same letters before the digits of both, and the lower number in `from`",
        ));
        return SerialRange::default();
    }
    SerialRange { from, to }
}

fn serial(
    own: &Record<'_, Machine>,
    field: &Field<Machine, Text>,
    findings: &mut Findings,
) -> Option<Located<SerialNumber>> {
    let text = own.text(field, findings)?;
    let serial = SerialNumber::parse(&text.value);
    if serial.is_none() {
        let message = format!("`{}` is no serial number", text.value);
        let finding = Finding::new(&rules::ILL_FORMED_VALUE, message).primary(text.span, "");
        findings.push(finding.help("write one that ends in up to 18 digits, such as `TR-2400`"));
    }
    Some(text.with(serial?))
}

/// Reads which machine it is like, and what it does not take over from it.
fn read_like(
    machine: &mut Machine,
    top: &Record<'_, Machine>,
    keys: &mut MachineKeys<'_>,
    findings: &mut Findings,
) {
    let own = top.own();
    // The files of the chain were found by it.
    machine.like = own.text(machine::LIKE, findings);
    let lacks = own.texts(machine::LACKS, findings);
    let Some(below) = top.below() else {
        // An unknown machine is reported by itself.
        if let Some(first) = lacks.first().filter(|_| machine.like.is_none()) {
            let message = "`lacks` is given without `like`";
            findings.push(
                Finding::new(&rules::CONFLICTING_FIELDS, message)
                    .primary(first.span, "")
                    .help("name in `like` the machine that this one is a variant of"),
            );
        }
        return;
    };
    let known = MachineKeys::new(keys.shop, &below);
    for name in &lacks {
        let kinds = TakenOver::KINDS;
        let is_known = |kind: &ThingKind| known.find(*kind, &name.value).is_some();
        if kinds.iter().any(is_known) {
            continue;
        }
        let message = format!("`lacks` names an unknown thing `{}`", name.value);
        let names = kinds.iter().flat_map(|kind| known.names(*kind));
        let near = nearest(&name.value, names);
        let finding = Finding::new(&rules::UNKNOWN_NAME, message).primary(name.span, "");
        let finding = finding.suggest(near, "use the id of a thing of the machine that it is like");
        findings.push(finding.corrected(&name.value, near));
    }
    keys.lacks = lacks;
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
    let mut engine_run = EngineRun {
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
    for text in [&mut engine_run.start, &mut engine_run.stop] {
        drop_left_behind(text, &of, keys, findings);
    }
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

/// Reports an instruction that was taken over with an action on what was not, and drops it: every run would report it
/// again.
fn drop_left_behind(
    text: &mut Option<Instruction>,
    of: &str,
    keys: &MachineKeys<'_>,
    findings: &mut Findings,
) {
    let mut actions = text.iter().flat_map(|text| actions(text));
    let left_behind =
        actions.find(|action| keys.is_left_behind(action.verb.takes(), &action.thing));
    let Some(action) = left_behind else {
        return;
    };
    let key = &action.thing.value;
    let message = format!("{of} names `{key}`, which this machine lacks");
    let lack = keys.lacks.iter().find(|lack| lack.value == *key);
    let finding = Finding::new(&rules::UNKNOWN_NAME, message);
    let finding = match lack {
        Some(lack) => finding
            .primary(lack.span, "")
            .secondary(action.span, "taken over"),
        None => finding.primary(action.span, ""),
    };
    findings.push(finding.help("write the instruction of this machine in the `[run]` of its file"));
    *text = None;
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
    let names = energy.optional_texts(field, &mut Findings::new());
    let names = names.unwrap_or_default();
    if things.is_empty()
        && let Some(lack) = keys.lack_of_all(&names, Endangered::KINDS)
    {
        let message =
            format!("{of} endangers nothing on this machine, which lacks what it endangers");
        let finding = Finding::new(&rules::DANGER_NOT_NAMED, message)
            .primary(lack.span, "")
            .secondary(energy.span(), "the energy");
        findings.push(finding.help(
            "name what it endangers here in a table of this file, or put the energy in `lacks` as well",
        ));
    }
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
