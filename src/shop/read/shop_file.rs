//! Reads `shop.toml`.

use super::super::fields::{Initials, role, shop, waste};
use super::super::{Colour, LevelSetting, Role, Shop, SupplyKind, rules};
use super::chapters::{Folders, read_chapters, read_system};
use super::fields::{choice, ill_formed, owned, values};
use crate::finding::{Finding, Findings, Level, Located, nearest};
use crate::quantity::{Gallons, Kind as Quantity, Unit, UnitOrder};
use crate::record::{Choice, Record};
use crate::tree::{OVER_LIMIT, Tree};
use crate::words::{self, Words};

/// The containers for waste, by their names: the tools are read after this file.
pub(super) type WasteNames = Vec<(SupplyKind, Located<String>)>;

/// Reads the fields of the file into the shop. Of the tree, only the paths are looked at. Returns the containers for waste.
pub(super) fn read_shop(
    shop: &mut Shop,
    tree: &Tree,
    top: &Record<'_, Shop>,
    findings: &mut Findings,
) -> WasteNames {
    shop.name = owned(top.text(shop::NAME, findings));
    let languages = read_languages(top, findings);
    if !languages.is_empty() {
        shop.languages = languages;
    }
    shop.address = read_address(top, findings);
    if let Some(paper) = choice(top, shop::PAPER, findings) {
        shop.paper = paper.value;
    }
    shop.accent = read_accent(top, findings);
    shop.data_note = top.text(shop::DATA_NOTE, findings).map(|note| note.value);
    shop.notices = values(top.texts(shop::NOTICES, findings));
    if let Some(currency) = top.text(shop::CURRENCY, findings) {
        shop.currency = currency.value;
    }
    let words = shop.languages.first().and_then(|tag| Words::of(tag));
    let words = words.unwrap_or_else(|| Words::english());
    shop.units = read_units(top, words.units().clone(), findings);
    read_gallons(shop, top, findings);
    if let Some(of) = choice(top, shop::DROOP_OF, findings) {
        shop.droop_of = of.value;
    }
    if let Some(initials) = choice(top, shop::INITIALS, findings) {
        shop.initials_per_step = initials.value == Initials::PerStep;
    }
    shop.roles = top.records(shop::ROLE, findings, |id, role, findings| Role {
        id,
        key: role.key().to_owned(),
        name: owned(role.text(role::NAME, findings)),
    });
    if shop.roles.is_empty() {
        // Groups of steps are signed even if the shop declares no role.
        let key = "mechanic".to_owned();
        let name = "Mechanic".to_owned();
        shop.roles.add(key.clone(), |id| Role { id, key, name });
    }
    let folders = Folders::of(tree);
    shop.chapters = read_chapters(top, &folders, findings);
    shop.systems = top.records(shop::SYSTEM, findings, |_, system, findings| {
        read_system(system, &folders, findings)
    });
    for (rule, setting) in top.pairs(shop::LEVELS, findings) {
        let (level, reason) = match setting.value.split_once(':') {
            Some((level, reason)) => (level.trim(), Some(reason.trim().to_owned())),
            None => (setting.value.trim(), None),
        };
        let level = match level {
            "off" => None,
            "advice" => Some(Level::Advice),
            "warning" => Some(Level::Warning),
            "error" => Some(Level::Error),
            unknown => {
                findings.push(
                    Finding::new(
                        &rules::UNKNOWN_CHOICE,
                        format!("`{unknown}` is not a level"),
                    )
                    .primary(setting.span, "")
                    .help("use one of `error`, `warning`, `advice`, `off`"),
                );
                continue;
            }
        };
        shop.levels.push(LevelSetting {
            rule,
            level,
            reason: reason.filter(|reason| !reason.is_empty()),
        });
    }
    read_waste(top, findings)
}

fn read_waste(top: &Record<'_, Shop>, findings: &mut Findings) -> WasteNames {
    let mut names = Vec::new();
    top.record(shop::WASTE, findings, |waste, findings| {
        let fields = [
            (SupplyKind::Fuel, waste::FUEL),
            (SupplyKind::Oil, waste::OIL),
            (SupplyKind::Coolant, waste::COOLANT),
            (SupplyKind::Cleaner, waste::CLEANER),
            (SupplyKind::Sealant, waste::SEALANT),
            (SupplyKind::Grease, waste::GREASE),
        ];
        for (kind, field) in fields {
            let name = waste.text(field, findings);
            names.extend(name.map(|name| (kind, name)));
        }
    });
    names
}

/// `order` with the units of the kinds that the shop sets replaced.
fn read_units(top: &Record<'_, Shop>, mut order: UnitOrder, findings: &mut Findings) -> UnitOrder {
    for (kind_name, symbols) in top.lists(shop::UNITS, findings) {
        let Some(kind) = Quantity::from_name(&kind_name.value) else {
            let known = Quantity::ALL.iter().map(|kind| kind.name());
            let message = format!("`{}` is not a kind of quantity", kind_name.value);
            let all: Vec<String> = known.map(|name| format!("`{name}`")).collect();
            let near = nearest(
                &kind_name.value,
                Quantity::ALL.iter().map(|kind| kind.name()),
            );
            findings.push(
                Finding::new(&rules::UNKNOWN_CHOICE, message)
                    .primary(kind_name.span, "")
                    .suggest(near, format!("the kinds are {}", all.join(", ")))
                    .corrected(&kind_name.value, near),
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
                    findings.push(
                        Finding::new(&rules::ILL_FORMED_VALUE, message)
                            .primary(symbol.span, "")
                            .help(format!("name a unit of {} here", kind.name())),
                    );
                }
                Err(error) => findings.push(ill_formed(&symbol, &error)),
            }
        }
        if !units.is_empty()
            && let Err(error) = order.set(kind, units)
        {
            let finding = Finding::new(&rules::ILL_FORMED_VALUE, error.to_string());
            let finding = finding.primary(kind_name.span, "");
            findings.push(finding.help("name each unit once"));
        }
    }
    order
}

/// Reads what a gallon is: one system, or both, the first of which is meant by `gal` alone. Then volumes are printed
/// in both.
fn read_gallons(shop: &mut Shop, top: &Record<'_, Shop>, findings: &mut Findings) {
    let mut systems = Vec::new();
    for text in top.texts(shop::GALLONS, findings) {
        let mut known = Gallons::all().into_iter();
        match known.find(|(word, _)| *word == text.value) {
            Some((_, system)) => systems.push(system),
            None => findings.push(
                Finding::new(
                    &rules::UNKNOWN_CHOICE,
                    format!("`gallons` can't be `{}`", text.value),
                )
                .primary(text.span, "")
                .help("use `us` or `imperial`, or a list of both to print volumes in both"),
            ),
        }
    }
    if let Some(meant) = systems.first() {
        shop.gallons = *meant;
        shop.units
            .set_both_gallons(systems.iter().any(|system| system != meant));
    }
}

/// Reads the language tags. A tag that no file of words serves, or whose words an earlier tag has, is a finding.
fn read_languages(top: &Record<'_, Shop>, findings: &mut Findings) -> Vec<String> {
    let mut languages: Vec<String> = Vec::new();
    for language in top.texts(shop::LANGUAGE, findings) {
        let is_tag = language.value.split('-').all(|part| {
            (1..=8).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_alphanumeric())
        });
        let words = Words::of(&language.value);
        let is_new = words.is_some_and(|words| {
            let mut earlier = languages.iter().filter_map(|tag| Words::of(tag));
            earlier.all(|earlier| earlier.language() != words.language())
        });
        let message = if !is_tag {
            format!("`{}` is not a language tag", language.value)
        } else if words.is_none() {
            format!("the language `{}` is not supported", language.value)
        } else if !is_new {
            format!("the language of `{}` is listed twice", language.value)
        } else {
            languages.push(language.value);
            continue;
        };
        let known: Vec<String> = words::languages().map(|tag| format!("`{tag}`")).collect();
        let known = known.join(", ");
        findings.push(
            Finding::new(&rules::UNKNOWN_CHOICE, message)
                .primary(language.span, "")
                .help(format!(
                    "use one of {known}; a region can be added, as in `en-GB`"
                )),
        );
    }
    languages
}

fn read_accent(top: &Record<'_, Shop>, findings: &mut Findings) -> Option<Colour> {
    let text = top.text(shop::ACCENT, findings)?;
    let accent = Colour::parse(&text.value);
    if accent.is_none() {
        let message = format!("`{}` is not a colour", text.value);
        findings.push(
            Finding::new(&rules::UNKNOWN_CHOICE, message)
                .primary(text.span, "")
                .help("write six hexadecimal digits after `#`: `\"#14505c\"`"),
        );
    }
    accent
}

/// The longest base URL, in bytes. With the path of a sheet, which has at most 250, it is far below what a QR code of
/// medium error correction holds, 2,331 bytes (ISO/IEC 18004, table 7).
const MAX_ADDRESS: usize = 500;

/// Reads the base URL. Only `http` and `https` are accepted.
fn read_address(top: &Record<'_, Shop>, findings: &mut Findings) -> Option<String> {
    let address = top.text(shop::ADDRESS, findings)?;
    let is_web = ["http://", "https://"].iter().any(|scheme| {
        address
            .value
            .strip_prefix(scheme)
            .is_some_and(|rest| !rest.is_empty() && !rest.contains(char::is_whitespace))
    });
    if is_web && address.value.len() > MAX_ADDRESS {
        let message = format!("the address is longer than {MAX_ADDRESS} characters");
        findings.push(
            Finding::new(&OVER_LIMIT, message)
                .primary(address.span, "")
                .help("serve the output at a shorter address: each sheet carries its own as a QR code"),
        );
        return None;
    }
    if is_web {
        return Some(address.value);
    }
    let message = format!("`{}` is not a web address", address.value);
    findings.push(
        Finding::new(&rules::UNKNOWN_CHOICE, message)
            .primary(address.span, "")
            .help(
                "write the address where the output is served, such as `https://sheets.example/`",
            ),
    );
    None
}
