//! From TOML sources to records.

use super::{
    Caution, Energy, EnergyKind, Engine, EngineNeed, Fluid, FluidState, Generator, Instruction,
    LevelSetting, Machine, Paper, Part, Price, Reading, Records, Role, Run, RunCondition, Shop,
    Sourced, Supply, System, Term, Tool, Turned, Valve, ValveState, Word, check, rules,
};
use crate::finding::{Finding, Findings, Level, Located, Span, nearest};
use crate::prose::{self, ThingKind, Verb};
use crate::quantity::{Kind as Quantity, Spec, Unit, UnitOrder};
use crate::record::{Record, check_id, read_toml};
use crate::trade::{
    self, Class, Condition, Day, Drive, Head, Material, Meter, Tapped, Thread, TorqueTool,
};
use crate::tree::{Kind, Source, Tree};
use crate::words::{self, Words};

/// Reads all TOML sources of a tree.
pub fn read(tree: &Tree, findings: &mut Findings) -> Shop {
    let mut shop = Shop {
        name: String::new(),
        languages: vec!["en".to_owned()],
        address: None,
        paper: Paper::default(),
        data_note: None,
        notices: Vec::new(),
        currency: String::new(),
        units: UnitOrder::default(),
        roles: Records::default(),
        systems: Records::default(),
        levels: Vec::new(),
        tools: Records::default(),
        supplies: Records::default(),
        cautions: Records::default(),
        terms: Records::default(),
        machines: Records::default(),
        half_read: Vec::new(),
    };
    let mut has_shop = false;
    for file in &tree.files {
        match &file.kind {
            Kind::Shop => {
                has_shop = true;
                let is_whole = whole(file, findings, |top, findings| {
                    read_shop(&mut shop, top, findings);
                });
                note_half_read(&mut shop, is_whole, ThingKind::Role);
            }
            Kind::Tools => {
                let is_whole = whole(file, findings, |top, findings| {
                    shop.tools = top.records("tool", findings, |tool, findings| {
                        Some(read_tool(tool, findings))
                    });
                });
                note_half_read(&mut shop, is_whole, ThingKind::Tool);
            }
            Kind::Supplies => {
                let is_whole = whole(file, findings, |top, findings| {
                    shop.supplies = top.records("supply", findings, |supply, findings| {
                        Some(read_supply(supply, findings))
                    });
                });
                note_half_read(&mut shop, is_whole, ThingKind::Supply);
            }
            Kind::Cautions => {
                let is_whole = whole(file, findings, |top, findings| {
                    shop.cautions = top.records("caution", findings, |caution, findings| {
                        Some(read_caution(caution, findings))
                    });
                });
                note_half_read(&mut shop, is_whole, ThingKind::Caution);
            }
            Kind::Glossary => {
                whole(file, findings, |top, findings| {
                    shop.terms = top.records("term", findings, |term, findings| {
                        Some(read_term(term, findings))
                    });
                });
            }
            Kind::Machine { id } => {
                let machine = read_machine(file, id, findings);
                shop.machines.insert(id.clone(), machine);
            }
            Kind::Procedure { .. } | Kind::Fault { .. } => {}
        }
    }
    if !has_shop && !tree.files.is_empty() {
        findings.push(
            Finding::new(
                &rules::NO_SHOP_FILE,
                format!("`{}` has no `shop.toml`", tree.name),
            )
            .help("write one with at least the shop's name: `name = \"Elmbrook workshop\"`"),
        );
    }
    check::references(&shop, findings);
    shop
}

fn note_half_read(shop: &mut Shop, is_whole: bool, kind: ThingKind) {
    if !is_whole {
        shop.half_read.push(kind);
    }
}

fn whole(
    file: &Source,
    findings: &mut Findings,
    read: impl FnOnce(&mut Record<'_>, &mut Findings),
) -> bool {
    let what = format!("`{}`", file.path);
    read_toml(&file.text, file.whole(), &what, findings, read)
}

fn read_shop(shop: &mut Shop, top: &mut Record<'_>, findings: &mut Findings) {
    shop.name = owned(top.need_text("name", findings));
    let languages = read_languages(top, findings);
    if !languages.is_empty() {
        shop.languages = languages;
    }
    shop.address = read_address(top, findings);
    if let Some(paper) = choice(
        top,
        "paper",
        &[("A4", Paper::A4), ("Letter", Paper::Letter)],
        findings,
    ) {
        shop.paper = paper.value;
    }
    shop.data_note = top.text("data-note", findings).map(|note| note.value);
    shop.notices = values(top.texts("notices", findings));
    if let Some(currency) = top.text("currency", findings) {
        shop.currency = currency.value;
    }
    shop.units = read_units(top, findings);
    shop.roles = top.records("role", findings, |role, findings| {
        Some(Role {
            id: role.key().to_owned(),
            name: owned(role.need_text("name", findings)),
        })
    });
    if shop.roles.is_empty() {
        // Somebody signs even where the shop has not said who.
        let id = "mechanic".to_owned();
        let name = "Mechanic".to_owned();
        shop.roles.insert(id.clone(), Role { id, name });
    }
    shop.systems = top.records("system", findings, |system, findings| {
        let title = owned(system.need_text("title", findings));
        Some(System { title })
    });
    for (rule, level) in top.pairs("levels", findings) {
        let level = match level.value.as_str() {
            "off" => None,
            "advice" => Some(Level::Advice),
            "warning" => Some(Level::Warning),
            "error" => Some(Level::Error),
            other => {
                findings.push(
                    Finding::new(&rules::NOT_A_CHOICE, format!("`{other}` is not a level"))
                        .at(level.span, "")
                        .help("it is one of `error`, `warning`, `advice`, `off`"),
                );
                continue;
            }
        };
        shop.levels.push(LevelSetting { rule, level });
    }
}

fn read_units(top: &mut Record<'_>, findings: &mut Findings) -> UnitOrder {
    let mut order = UnitOrder::default();
    for (kind_name, symbols) in top.lists("units", findings) {
        let Some(kind) = Quantity::from_name(&kind_name.value) else {
            let known = Quantity::ALL.iter().map(|kind| kind.name());
            let message = format!("`{}` is not a kind of quantity", kind_name.value);
            findings.push(
                Finding::new(&rules::NOT_A_CHOICE, message)
                    .at(kind_name.span, "")
                    .near(nearest(&kind_name.value, known)),
            );
            continue;
        };
        let mut units = Vec::new();
        for symbol in symbols {
            match Unit::parse(&symbol.value) {
                Ok(unit) if unit.kind() == kind => units.push(unit),
                Ok(unit) => {
                    let message = format!(
                        "`{}` is a unit of {}, not of {}",
                        symbol.value,
                        unit.kind().name(),
                        kind.name()
                    );
                    findings
                        .push(Finding::new(&rules::ILL_FORMED_VALUE, message).at(symbol.span, ""));
                }
                Err(error) => findings.push(ill_formed(&symbol, &error)),
            }
        }
        if !units.is_empty()
            && let Err(error) = order.set(kind, units)
        {
            let finding = Finding::new(&rules::ILL_FORMED_VALUE, error.to_string());
            findings.push(finding.at(kind_name.span, ""));
        }
    }
    order
}

fn read_tool(tool: &mut Record<'_>, findings: &mut Findings) -> Tool {
    let range = spec(tool, "range", &[], findings);
    let tolerance = spec(tool, "tolerance", &[Quantity::Percent], findings);
    let resolution = spec(tool, "resolution", &[], findings);
    let accuracy = spec(tool, "accuracy", &[], findings);
    let single = |spec: &Option<Located<Spec>>| spec.as_ref()?.value.limits().nominal();
    let torque_range = range
        .as_ref()
        .filter(|range| range.value.limits().kind() == Quantity::Torque);
    let torque = torque_range.and_then(|range| {
        let made = TorqueTool::new(range.value.limits(), single(&tolerance).as_ref());
        trade_value(made, range.span, findings)
    });
    let meter = resolution.as_ref().or(accuracy.as_ref()).and_then(|part| {
        let made = Meter::new(single(&resolution), single(&accuracy));
        trade_value(made, part.span, findings)
    });
    Tool {
        id: tool.key().to_owned(),
        name: owned(tool.need_text("name", findings)),
        size: spec(tool, "size", &[], findings),
        torque,
        meter,
        range,
        graduation: spec(tool, "graduation", &[], findings),
        length: spec(tool, "length", &[Quantity::Length], findings),
        extends: spec(tool, "extends", &[Quantity::Length], findings),
        turned_out: spec(tool, "turned-out", &[Quantity::Angle], findings),
        pulse_settings: tool.numbers("pulse-settings", findings),
        calibrated: day(tool, "calibrated", findings),
        due: day(tool, "due", findings),
        note: tool.text("note", findings).map(|note| note.value),
        span: tool.span(),
    }
}

fn day(
    record: &mut Record<'_>,
    key: &'static str,
    findings: &mut Findings,
) -> Option<Located<Day>> {
    let text = record.date(key, findings)?;
    let day = trade_value(Day::parse(&text.value), text.span, findings)?;
    Some(text.with(day))
}

/// Text that the trade reads: a thread, a class, a head.
fn parsed<T>(
    record: &mut Record<'_>,
    key: &'static str,
    parse: impl FnOnce(&str) -> Result<T, trade::Error>,
    findings: &mut Findings,
) -> Option<Located<T>> {
    let text = record.text(key, findings)?;
    let value = trade_value(parse(&text.value), text.span, findings)?;
    Some(text.with(value))
}

fn trade_value<T>(made: Result<T, trade::Error>, span: Span, findings: &mut Findings) -> Option<T> {
    made.inspect_err(|error| {
        let finding = Finding::new(&rules::ILL_FORMED_VALUE, error.to_string()).at(span, "");
        findings.push(match error.help() {
            Some(help) => finding.help(help),
            None => finding,
        });
    })
    .ok()
}

/// A hex with its size, or anything else in words: a slot is turned, too.
fn turned(text: &str) -> Result<Turned, trade::Error> {
    let starts_as_hex =
        text.starts_with("hex") || text.starts_with(|letter: char| letter.is_ascii_digit());
    if starts_as_hex {
        Drive::parse(text).map(Turned::Hex)
    } else {
        Ok(Turned::Other(text.to_owned()))
    }
}

fn read_tapped(part: &mut Record<'_>, findings: &mut Findings) -> Option<Tapped> {
    let materials = [
        ("steel", None),
        ("aluminium", Some(Material::Aluminium)),
        ("plastic", Some(Material::Plastic)),
    ];
    let into = choice(part, "into", &materials, findings);
    let engagement = spec(part, "engagement", &[Quantity::Length], findings);
    // Without its length nothing can be said of a hole; with steel the fastener is the weaker.
    let (material, length) = (into?.value?, engagement?);
    let made = match length.value.limits().nominal() {
        Some(nominal) => Tapped::new(material, nominal),
        None => return None,
    };
    trade_value(made, length.span, findings)
}

fn read_supply(supply: &mut Record<'_>, findings: &mut Findings) -> Supply {
    Supply {
        id: supply.key().to_owned(),
        name: owned(supply.need_text("name", findings)),
        price: price(supply, findings),
        each: spec(
            supply,
            "each",
            &[Quantity::Volume, Quantity::Mass, Quantity::Length],
            findings,
        ),
        mix: spec(supply, "mix", &[Quantity::Ratio], findings),
        brings: supply.texts("brings", findings),
        note: supply.text("note", findings).map(|note| note.value),
        span: supply.span(),
    }
}

fn read_caution(caution: &mut Record<'_>, findings: &mut Findings) -> Caution {
    let words = [
        ("danger", Word::Danger),
        ("warning", Word::Warning),
        ("caution", Word::Caution),
        ("notice", Word::Notice),
    ];
    caution.need("word", findings);
    let word = choice(caution, "word", &words, findings);
    Caution {
        id: caution.key().to_owned(),
        word: word.map_or(Word::Warning, |word| word.value),
        hazard: owned(caution.need_text("hazard", findings)),
        consequence: owned(caution.need_text("consequence", findings)),
        avoid: values(caution.need_texts("avoid", findings)),
        signs: read_signs(caution, findings),
        before: values(caution.texts("before", findings)),
        at: read_verbs(caution, findings),
        span: caution.span(),
    }
}

fn read_term(term: &mut Record<'_>, findings: &mut Findings) -> Term {
    Term {
        id: term.key().to_owned(),
        name: owned(term.need_text("name", findings)),
        also: values(term.texts("also", findings)),
        means: owned(term.need_text("means", findings)),
        span: term.span(),
    }
}

/// Languages that there are words for; each once.
fn read_languages(top: &mut Record<'_>, findings: &mut Findings) -> Vec<String> {
    let mut languages: Vec<String> = Vec::new();
    for language in top.texts("language", findings) {
        let is_tag = language.value.split('-').all(|part| {
            (1..=8).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_alphanumeric())
        });
        let words = Words::of(&language.value);
        let is_new = words.is_some_and(|words| {
            let mut others = languages.iter().filter_map(|other| Words::of(other));
            others.all(|other| other.language() != words.language())
        });
        let message = if !is_tag {
            format!("`{}` is not a language tag", language.value)
        } else if words.is_none() {
            format!("there are no words in the language `{}`", language.value)
        } else if !is_new {
            format!("the words of `{}` come twice", language.value)
        } else {
            languages.push(language.value);
            continue;
        };
        let known = words::LANGUAGES
            .map(|known| format!("`{known}`"))
            .join(", ");
        findings.push(
            Finding::new(&rules::NOT_A_CHOICE, message)
                .at(language.span, "")
                .help(format!(
                    "there are {known}, each with a region if you like: `en-GB`"
                )),
        );
    }
    languages
}

/// An address that a browser opens.
fn read_address(top: &mut Record<'_>, findings: &mut Findings) -> Option<String> {
    let address = top.text("address", findings)?;
    let is_web = ["http://", "https://"].iter().any(|scheme| {
        address
            .value
            .strip_prefix(scheme)
            .is_some_and(|rest| !rest.is_empty() && !rest.contains(char::is_whitespace))
    });
    if is_web {
        return Some(address.value);
    }
    let message = format!("`{}` is not a web address", address.value);
    findings.push(
        Finding::new(&rules::NOT_A_CHOICE, message)
            .at(address.span, "")
            .help("it is one such as `https://leaves.example/`, where the output is served"),
    );
    None
}

/// Signs that are in the table.
fn read_signs(caution: &mut Record<'_>, findings: &mut Findings) -> Vec<Located<String>> {
    let mut signs = caution.texts("signs", findings);
    signs.retain(|sign| {
        let is_known = Words::sign("en", &sign.value).is_some();
        if !is_known {
            let message = format!("there is no sign `{}`", sign.value);
            findings.push(
                Finding::new(&rules::NOT_A_CHOICE, message)
                    .at(sign.span, "")
                    .near(nearest(&sign.value, Words::signs())),
            );
        }
        is_known
    });
    signs
}

fn read_verbs(caution: &mut Record<'_>, findings: &mut Findings) -> Vec<Verb> {
    let mut verbs = Vec::new();
    for text in caution.texts("at", findings) {
        if let Some(verb) = Verb::find(&text.value) {
            verbs.push(verb);
            continue;
        }
        let known = Verb::ALL.iter().map(|verb| verb.word());
        let message = format!("`{}` is not a verb", text.value);
        findings.push(
            Finding::new(&rules::NOT_A_CHOICE, message)
                .at(text.span, "")
                .near(nearest(&text.value, known)),
        );
    }
    verbs
}

fn read_machine(file: &Source, id: &str, findings: &mut Findings) -> Machine {
    check_id(id, file.span(0..0), findings);
    let mut machine = Machine {
        id: id.to_owned(),
        name: Located {
            value: id.to_owned(),
            span: file.span(0..0),
        },
        engine: None,
        generator: None,
        basis: None,
        note: None,
        energies: Records::default(),
        valves: Records::default(),
        fluids: Records::default(),
        parts: Records::default(),
        readings: Records::default(),
        conditions: Records::default(),
        run: Run::default(),
        file: file.id,
        whole: true,
    };
    machine.whole = whole(file, findings, |top, findings| {
        if let Some(name) = top.need_text("name", findings) {
            machine.name = name;
        }
        top.record("engine", findings, |engine, findings| {
            machine.engine = Some(Engine {
                kind: engine.text("kind", findings).map(|kind| kind.value),
                pulses: engine.number("ignition-pulses-per-turn", findings),
            });
        });
        top.record("generator", findings, |generator, findings| {
            machine.generator = read_generator(generator, findings);
        });
        machine.basis = top.text("basis", findings).map(|basis| basis.value);
        machine.note = top.text("note", findings).map(|note| note.value);
        let basis = machine.basis.clone();
        machine.energies = top.records("energy", findings, |energy, findings| {
            Some(read_energy(energy, findings))
        });
        machine.valves = top.records("valve", findings, |valve, findings| {
            Some(read_valve(valve, findings))
        });
        machine.fluids = top.records("fluid", findings, |fluid, findings| {
            read_fluid(fluid, basis.as_deref(), findings)
        });
        machine.parts = top.records("part", findings, |part, findings| {
            Some(read_part(part, basis.as_deref(), findings))
        });
        for (place, part) in machine.parts.values_mut().enumerate() {
            part.place = place;
        }
        machine.readings = top.records("reading", findings, |reading, findings| {
            Some(read_reading(reading, basis.as_deref(), findings))
        });
        machine.conditions = top.records("condition", findings, |condition, findings| {
            Some(RunCondition {
                id: condition.key().to_owned(),
                lost_by: condition.texts("lost-by", findings),
                after: condition.texts("after", findings),
                name: owned(condition.need_text("name", findings)),
                span: condition.span(),
            })
        });
        top.record("run", findings, |run, findings| {
            machine.run = Run {
                needs: run.texts("needs", findings),
                may_lack: run.texts("may-lack", findings),
                looks: run.texts("looks", findings),
                measure: run.texts("measure", findings),
                signed_by: run.text("signed-by", findings),
                start: prose(run, "start", findings),
                stop: prose(run, "stop", findings),
            };
        });
    });
    machine
}

fn read_generator(generator: &mut Record<'_>, findings: &mut Findings) -> Option<Generator> {
    generator.need("poles", findings);
    generator.need("frequency", findings);
    let poles = generator.count("poles", findings);
    if let Some(odd) = poles.as_ref().filter(|poles| poles.value % 2 == 1) {
        let message = "a generator has an even number of poles";
        findings.push(Finding::new(&rules::ILL_FORMED_VALUE, message).at(odd.span, ""));
    }
    let frequency = spec(generator, "frequency", &[Quantity::Frequency], findings);
    let droop = spec(generator, "droop", &[Quantity::Percent], findings);
    let speed = generator.text("speed", findings);
    Some(Generator {
        poles: poles?,
        frequency: frequency?,
        droop,
        speed,
    })
}

fn read_energy(energy: &mut Record<'_>, findings: &mut Findings) -> Energy {
    let kinds = [
        ("ignition", EnergyKind::Ignition),
        ("electrical", EnergyKind::Electrical),
        ("motion", EnergyKind::Motion),
        ("spring", EnergyKind::Spring),
        ("pressure", EnergyKind::Pressure),
        ("heat", EnergyKind::Heat),
    ];
    let name = energy.text("name", findings).map(|name| name.value);
    Energy {
        id: energy.key().to_owned(),
        name: name.unwrap_or_else(|| energy.key().replace('-', " ")),
        kind: choice(energy, "kind", &kinds, findings).map(|kind| kind.value),
        endangers: energy.optional_texts("endangers", findings),
        isolate: need_prose(energy, "isolate", findings),
        prove: need_prose(energy, "prove", findings),
        restore: need_prose(energy, "restore", findings),
        brings: energy.texts("brings", findings),
        span: energy.span(),
    }
}

fn read_valve(valve: &mut Record<'_>, findings: &mut Findings) -> Valve {
    let states = [("open", ValveState::Open), ("closed", ValveState::Closed)];
    Valve {
        id: valve.key().to_owned(),
        name: owned(valve.need_text("name", findings)),
        shuts: valve.text("shuts", findings),
        found: choice(valve, "found", &states, findings)
            .map_or(ValveState::Open, |found| found.value),
        span: valve.span(),
    }
}

fn read_fluid(
    fluid: &mut Record<'_>,
    basis: Option<&str>,
    findings: &mut Findings,
) -> Option<Fluid> {
    let states = [("full", FluidState::Full), ("empty", FluidState::Empty)];
    let own_basis = fluid.text("basis", findings).map(|basis| basis.value);
    let basis = own_basis.or_else(|| basis.map(str::to_owned));
    let name = fluid.text("name", findings).map(|name| name.value);
    let capacity = spec(
        fluid,
        "capacity",
        &[Quantity::Volume, Quantity::Mass],
        findings,
    );
    let supply = fluid.need_text("supply", findings);
    Some(Fluid {
        id: fluid.key().to_owned(),
        name: name.unwrap_or_else(|| fluid.key().replace('-', " ")),
        capacity: capacity.map(|spec| Sourced { spec, basis }),
        found: choice(fluid, "found", &states, findings)
            .map_or(FluidState::Full, |found| found.value),
        needs: fluid.texts("needs", findings),
        through: fluid.text("through", findings),
        signed_by: fluid.text("signed-by", findings),
        brings: fluid.texts("brings", findings),
        span: fluid.span(),
        supply: supply?,
    })
}

fn read_part(part: &mut Record<'_>, basis: Option<&str>, findings: &mut Findings) -> Part {
    let own_basis = part.text("basis", findings).map(|basis| basis.value);
    let basis = own_basis.or_else(|| basis.map(str::to_owned));
    let sourced = |spec: Located<Spec>| Sourced {
        spec,
        basis: basis.clone(),
    };
    let torque = spec(part, "torque", &[Quantity::Torque], findings);
    let mut stages: Vec<Sourced> = Vec::new();
    for text in part.texts("stages", findings) {
        let expected = [Quantity::Torque, Quantity::Angle];
        stages.extend(parse_spec(part, "stages", &text, &expected, findings).map(sourced));
    }
    if let Some(torque) = torque {
        if stages.is_empty() {
            stages.push(sourced(torque));
        } else {
            let message = format!("{} has both `torque` and `stages`", part.what());
            findings.push(
                Finding::new(&rules::CONTRADICTING_FIELDS, message)
                    .at(torque.span, "")
                    .and(stages[0].spec.span, "the first stage")
                    .help("keep `stages`; the last of them is the torque"),
            );
        }
    }
    let limits = spec(part, "limits", &[], findings);
    let tip_speed = spec(part, "tip-speed", &[Quantity::LinearSpeed], findings);
    let assembled: Vec<(&str, Condition)> = Condition::ALL
        .iter()
        .map(|one| (one.name(), *one))
        .collect();
    let heads: Vec<(&str, Head)> = Head::ALL.iter().map(|one| (one.name(), *one)).collect();
    let tapped = read_tapped(part, findings);
    Part {
        id: part.key().to_owned(),
        place: 0,
        name: owned(part.need_text("name", findings)),
        number: part.text("number", findings).map(|number| number.value),
        price: price(part, findings),
        count: part.count("count", findings).map_or(1, |count| count.value),
        behind: part.texts("behind", findings),
        held_by: part.texts("held-by", findings),
        carries: part.text("carries", findings),
        drains: part.text("drains", findings),
        renew: part.flag("renew", findings),
        seals: part.texts("seals", findings),
        clean: part.flag("clean", findings),
        laid_open_by: part.texts("laid-open-by", findings),
        signed_by: part.text("signed-by", findings),
        faces: values(part.texts("faces", findings)),
        brings: part.texts("brings", findings),
        seats: part.texts("seats", findings),
        seat: part.text("seat", findings),
        facing: part.text("facing", findings).map(|facing| facing.value),
        thread: parsed(part, "thread", Thread::parse, findings),
        class: parsed(part, "class", Class::parse, findings),
        drive: parsed(part, "drive", turned, findings),
        stages,
        pattern: part.text("pattern", findings).map(|pattern| pattern.value),
        assembled: choice(part, "assembled", &assembled, findings).map(|one| one.value),
        tapped,
        head: choice(part, "head", &heads, findings),
        diameter: spec(part, "diameter", &[Quantity::Length], findings),
        turns_with: part.text("turns-with", findings),
        through: part.text("through", findings),
        tip_speed: tip_speed.map(sourced),
        driver: spec(part, "driver", &[Quantity::Length], findings),
        driven: spec(part, "driven", &[Quantity::Length], findings),
        reuse: prose(part, "reuse", findings),
        limits: limits.map(sourced),
        note: part.text("note", findings).map(|note| note.value),
        span: part.span(),
    }
}

fn read_reading(reading: &mut Record<'_>, basis: Option<&str>, findings: &mut Findings) -> Reading {
    let own_basis = reading.text("basis", findings).map(|basis| basis.value);
    let basis = own_basis.or_else(|| basis.map(str::to_owned));
    let name = owned(reading.need_text("name", findings));
    let engines = [
        ("running", EngineNeed::Running),
        ("stopped", EngineNeed::Stopped),
    ];
    let limits = reading
        .need_text("limits", findings)
        .and_then(|text| parse_spec(reading, "limits", &text, &[], findings))
        .map(|spec| Sourced { spec, basis });
    Reading {
        id: reading.key().to_owned(),
        name,
        limits,
        needs: reading.texts("needs", findings),
        engine: choice(reading, "engine", &engines, findings),
        with: reading.texts("with", findings),
        without: reading.texts("without", findings),
        locked_by: reading.texts("locked-by", findings),
        signed_by: reading.text("signed-by", findings),
        brings: reading.texts("brings", findings),
        tool: reading.text("tool", findings),
        over: prose(reading, "over", findings),
        under: prose(reading, "under", findings),
        span: reading.span(),
    }
}

fn price(record: &mut Record<'_>, findings: &mut Findings) -> Option<Price> {
    let text = record.text("price", findings)?;
    let price = Price::parse(&text.value);
    if price.is_none() {
        let message = format!("`price` of {} can't be read", record.what());
        findings.push(
            Finding::new(&rules::ILL_FORMED_VALUE, message)
                .at(text.span, "")
                .help("write a plain number with up to two decimals: `\"4.50\"`"),
        );
    }
    price
}

fn owned(text: Option<Located<String>>) -> String {
    text.map(|text| text.value).unwrap_or_default()
}

fn values(texts: Vec<Located<String>>) -> Vec<String> {
    texts.into_iter().map(|text| text.value).collect()
}

fn prose(
    record: &mut Record<'_>,
    key: &'static str,
    findings: &mut Findings,
) -> Option<Instruction> {
    let text = record.text(key, findings)?;
    Some(prose::read_inline(&text, findings))
}

fn need_prose(record: &mut Record<'_>, key: &'static str, findings: &mut Findings) -> Instruction {
    match record.need_text(key, findings) {
        Some(text) => prose::read_inline(&text, findings),
        None => Instruction::new(),
    }
}

fn choice<T: Copy>(
    record: &mut Record<'_>,
    key: &'static str,
    choices: &[(&str, T)],
    findings: &mut Findings,
) -> Option<Located<T>> {
    let text = record.text(key, findings)?;
    if let Some((_, value)) = choices.iter().find(|(word, _)| *word == text.value) {
        return Some(text.with(*value));
    }
    let words: Vec<String> = choices
        .iter()
        .map(|(word, _)| format!("`{word}`"))
        .collect();
    let message = format!("`{key}` of {} can't be `{}`", record.what(), text.value);
    findings.push(
        Finding::new(&rules::NOT_A_CHOICE, message)
            .at(text.span, "")
            .help(format!("it is one of {}", words.join(", "))),
    );
    None
}

/// A value; `expected` says of which kinds it may be, any where it is empty.
fn spec(
    record: &mut Record<'_>,
    key: &'static str,
    expected: &[Quantity],
    findings: &mut Findings,
) -> Option<Located<Spec>> {
    let text = record.text(key, findings)?;
    parse_spec(record, key, &text, expected, findings)
}

fn parse_spec(
    record: &Record<'_>,
    key: &str,
    text: &Located<String>,
    expected: &[Quantity],
    findings: &mut Findings,
) -> Option<Located<Spec>> {
    let spec = match Spec::parse(&text.value) {
        Ok(spec) => spec,
        Err(error) => {
            findings.push(ill_formed(text, &error));
            return None;
        }
    };
    let kind = spec.limits().kind();
    if !expected.is_empty() && !expected.contains(&kind) {
        let names: Vec<&str> = expected.iter().map(|kind| kind.name()).collect();
        let message = format!(
            "`{key}` of {} should be a {}, not a {}",
            record.what(),
            names.join(" or "),
            kind.name()
        );
        findings.push(Finding::new(&rules::ILL_FORMED_VALUE, message).at(text.span, ""));
        return None;
    }
    Some(text.with(spec))
}

fn ill_formed(text: &Located<String>, error: &crate::quantity::Error) -> Finding {
    let narrow = text.span.len() == text.value.len();
    let span: Span = if narrow {
        text.span.part(error.range())
    } else {
        text.span
    };
    let finding = Finding::new(&rules::ILL_FORMED_VALUE, error.to_string()).at(span, "");
    match error.help() {
        Some(help) => finding.help(help),
        None => finding,
    }
}
