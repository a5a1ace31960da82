//! Reads a machine's repair kits.

use super::super::fields::kit;
use super::super::{RepairKit, rules};
use super::fields::{owned, price};
use super::keys::MachineKeys;
use crate::finding::{Finding, Findings};
use crate::record::Record;

pub(super) fn read_kit(
    kit: &Record<'_, RepairKit>,
    keys: &MachineKeys<'_>,
    findings: &mut Findings,
) -> RepairKit {
    let of = kit.what().to_owned();
    let mut holds = keys.parts.all_named(kit, kit::HOLDS, &of, findings);
    let mut seen = Vec::new();
    holds.retain(|part| {
        let is_new = !seen.contains(&part.value);
        if is_new {
            seen.push(part.value);
        } else {
            findings.push(
                Finding::new(
                    &rules::CONFLICTING_FIELDS,
                    format!("{of} holds a part twice"),
                )
                .primary(part.span, "")
                .help("name each part once: a kit holds as many of it as its `count` says"),
            );
        }
        is_new
    });
    RepairKit {
        name: owned(kit.text(kit::NAME, findings)),
        holds,
        number: kit.text(kit::NUMBER, findings).map(|number| number.value),
        bin: kit.text(kit::BIN, findings).map(|bin| bin.value),
        price: price(kit, kit::PRICE, findings),
    }
}
