//! Reads TOML sources into records.

mod calculated;
mod chapters;
mod condition;
mod dimension;
mod fields;
mod fleet;
mod flow;
mod keys;
mod kit;
mod legend;
mod machine;
#[cfg(test)]
mod name_tests;
mod order;
mod part;
mod reading;
mod shop_file;
mod stock;
mod tool;
mod variant;
mod wires;

use super::fields::{cautions, glossary, log, supplies, tools};
use super::{Machine, MachineId, Paper, Records, Shop, rules};
use crate::finding::{Finding, Findings, FindingsByFile};
use crate::prose::ThingKind;
use crate::quantity::{Gallons, UnitOrder};
use crate::record::Keys;
use crate::trade::DroopOf;
use crate::tree::{Source, SourceKind, Tree};
use crate::words::DEFAULT_LANGUAGE;
use fields::read_file;
use fleet::read_unit;
use keys::{Known, ShopKeys};
use legend::read_legends;
use machine::read_machine;
use shop_file::read_shop;
use std::collections::BTreeMap;
use stock::{check_container, check_term_names, read_caution, read_supply, read_term, read_waste};
use tool::read_tool;
use variant::{MachineFiles, machine_files};

/// Reads all TOML sources of a tree. A file that is missing sheets its records empty.
pub(crate) fn read(tree: &Tree, by_file: &mut FindingsByFile) -> Shop {
    let findings = by_file.general();
    let mut shop = Shop {
        name: String::new(),
        languages: vec![DEFAULT_LANGUAGE.to_owned()],
        address: None,
        paper: Paper::default(),
        accent: None,
        data_note: None,
        notices: Vec::new(),
        currency: String::new(),
        gallons: Gallons::default(),
        units: UnitOrder::default(),
        droop_of: DroopOf::default(),
        initials_per_step: false,
        roles: Records::default(),
        chapters: Vec::new(),
        systems: Records::default(),
        levels: Vec::new(),
        tools: Records::default(),
        waste: BTreeMap::new(),
        protective: Vec::new(),
        supplies: Records::default(),
        cautions: Records::default(),
        terms: Records::default(),
        machines: Records::default(),
        legends: Records::default(),
        fleet: Records::default(),
        incomplete_kinds: Vec::new(),
    };
    // Records name records of their own file and of files read before it, so this order matters.
    let file_of = |kind: &SourceKind| tree.files.iter().find(|file| file.kind == *kind);
    let shop_file = file_of(&SourceKind::Shop);
    let mut waste_names = Vec::new();
    if let Some(file) = shop_file {
        let is_complete = read_file(file, findings, |top, findings| {
            waste_names = read_shop(&mut shop, tree, top, findings);
        });
        note_incomplete_kind(&mut shop, is_complete, ThingKind::Role);
    }
    if let Some(file) = file_of(&SourceKind::Tools) {
        let gallons = shop.gallons;
        let is_complete = read_file(file, findings, |top, findings| {
            top.set_gallons(gallons);
            shop.tools = top.records(tools::TOOL, findings, read_tool);
        });
        let protective = shop.tools.values().filter(|tool| !tool.protects.is_empty());
        shop.protective = protective.map(|tool| tool.id).collect();
        note_incomplete_kind(&mut shop, is_complete, ThingKind::Tool);
    }
    shop.waste = read_waste(&shop, &waste_names, findings);
    if let Some(file) = file_of(&SourceKind::Cautions) {
        let known_tools = Known::of_shop(&shop, ThingKind::Tool, &shop.tools);
        let mut cautions = Records::default();
        let is_complete = read_file(file, findings, |top, findings| {
            cautions = top.records(cautions::CAUTION, findings, |id, caution, findings| {
                read_caution(id, caution, &known_tools, findings)
            });
        });
        shop.cautions = cautions;
        note_incomplete_kind(&mut shop, is_complete, ThingKind::Caution);
    }
    if let Some(file) = file_of(&SourceKind::Supplies) {
        read_supplies(file, &mut shop, findings);
    }
    if let Some(file) = file_of(&SourceKind::Glossary) {
        read_file(file, findings, |top, findings| {
            let mut names = Vec::new();
            shop.terms = top.records(glossary::TERM, findings, |_, term, findings| {
                read_term(term, &mut names, findings)
            });
            check_term_names(names, findings);
        });
    }
    if shop_file.is_none() && !tree.files.is_empty() {
        findings.push(
            Finding::new(
                &rules::NO_SHOP_FILE,
                format!("`{}` has no `shop.toml`", tree.name),
            )
            .help("write one with at least the shop's name: `name = \"Elmbrook workshop\"`"),
        );
    }
    shop.machines = read_machines(tree, &shop, by_file);
    shop.legends = read_legends(tree, &shop.machines, by_file.general());
    if let Some(file) = file_of(&SourceKind::Log) {
        let machines = &shop.machines;
        let mut units = Records::default();
        read_file(file, by_file.general(), |top, findings| {
            units = top.records(log::UNIT, findings, |_, unit, findings| {
                read_unit(unit, machines, findings)
            });
        });
        shop.fleet = units;
    }
    shop
}

/// Reads `supplies.toml` into the shop, whose tools and cautions have been read.
fn read_supplies(file: &Source, shop: &mut Shop, findings: &mut Findings) {
    let cautions = Known::of_shop(shop, ThingKind::Caution, &shop.cautions);
    let tools = Known::of_shop(shop, ThingKind::Tool, &shop.tools);
    let mut supplies = Records::default();
    let is_complete = read_file(file, findings, |top, findings| {
        top.set_gallons(shop.gallons);
        supplies = top.records(supplies::SUPPLY, findings, |id, supply, findings| {
            let supply = read_supply(id, supply, &cautions, &tools, findings);
            if let Some(container) = &supply.container {
                let of = format!("supply `{}`", supply.key);
                check_container(shop, container, &of, findings);
            }
            supply
        });
    });
    shop.supplies = supplies;
    note_incomplete_kind(shop, is_complete, ThingKind::Supply);
}

/// Reads a machine again, after the text of one of its files has changed. Returns the findings of reading it.
pub(crate) fn read_machine_again(tree: &Tree, shop: &mut Shop, machine: MachineId) -> Findings {
    let files = MachineFiles::new(tree);
    let mut findings = Findings::new();
    if let Some(file) = files.of(shop.machines[machine].file) {
        let keys = ShopKeys::new(shop);
        let read = read_machine(file, files.chain(file), machine, shop, &keys, &mut findings);
        *shop.machines.get_mut(machine) = read;
    }
    findings
}

fn read_machines(tree: &Tree, shop: &Shop, by_file: &mut FindingsByFile) -> Records<Machine> {
    let keys = ShopKeys::new(shop);
    let files = MachineFiles::new(tree);
    let mut machines = Records::default();
    for file in files.all() {
        machines.add(file.key.to_owned(), |id| {
            let mut findings = Findings::new();
            let machine = read_machine(file, files.chain(file), id, shop, &keys, &mut findings);
            by_file.set(file.file.id, findings);
            machine
        });
    }
    machines
}

/// The keys of a tree's machines. They come from the files' names, so no file has to be read.
pub(crate) fn machine_keys(tree: &Tree) -> Keys<'_, Machine> {
    machine_files(tree).map(|(_, key)| key).collect()
}

/// Records that the file of a kind could not be read in full.
fn note_incomplete_kind(shop: &mut Shop, is_complete: bool, kind: ThingKind) {
    if !is_complete {
        shop.incomplete_kinds.push(kind);
    }
}
