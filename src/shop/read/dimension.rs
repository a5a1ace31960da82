//! Reads the dimensions of a machine's parts, and makes readings of them.

use super::super::fields::{dimension, part};
use super::super::{Dimension, DimensionId, Machine, OfPart, Part, PartId, Reading, Sourced};
use super::fields::{Bases, no_actions, owned, prose, spec};
use super::keys::MachineKeys;
use crate::finding::{Finding, Findings};
use crate::record::{MAX_RECORDS, Record};
use crate::tree::OVER_LIMIT;

/// Reads a dimension of a part. A value without a source of its own has that of the part's values.
pub(super) fn read_dimension(
    id: DimensionId,
    dimension: &Record<'_, Dimension>,
    part: &Record<'_, Part>,
    keys: &MachineKeys<'_>,
    bases: &Bases,
    findings: &mut Findings,
) -> Dimension {
    let of = dimension.what();
    dimension.text(dimension::BASIS, findings);
    let sourced = |field| {
        let spec = spec(dimension, field, findings)?;
        let file = spec.span.file;
        let own = dimension.text_in(file, dimension::BASIS, &mut Findings::new());
        Some(match own {
            Some(own) => Sourced {
                spec,
                basis: Some(own.value),
            },
            None => bases.source(part, part::BASIS, spec),
        })
    };
    let [new, desired, wear_limit] =
        [dimension::NEW, dimension::DESIRED, dimension::WEAR_LIMIT].map(sourced);
    let beyond = prose(dimension, dimension::BEYOND, findings);
    if let Some(text) = &beyond {
        no_actions(text, of, findings);
    }
    let place = dimension.text(dimension::WHERE, findings);
    Dimension {
        id,
        key: dimension.key().to_owned(),
        name: owned(dimension.text(dimension::NAME, findings)),
        new,
        desired,
        wear_limit,
        place: place.map(|place| place.value),
        tool: keys
            .shop
            .tools
            .named(dimension, dimension::TOOL, of, findings),
        beyond,
        span: dimension.span(),
    }
}

/// Adds a reading for each dimension of the machine's parts, after all other readings. Whoever measures the dimension
/// handles the part, so it has the part's cautions, and the energies that may be live.
pub(super) fn add_dimensions(machine: &mut Machine, findings: &mut Findings) {
    let all_parts: Vec<PartId> = machine.parts.values().map(|part| part.id).collect();
    let Machine {
        parts, readings, ..
    } = machine;
    let mut count = 0;
    for part in all_parts {
        let part = parts.get_mut(part);
        for dimension in part.dimensions.values() {
            if count == MAX_RECORDS {
                let message =
                    format!("the parts of a machine have more than {MAX_RECORDS} dimensions");
                findings.push(
                    Finding::new(&OVER_LIMIT, message)
                        .primary(dimension.span, "not read from here on")
                        .help("leave out those that no procedure measures"),
                );
                return;
            }
            count += 1;
            let key = part.reading_key(dimension);
            readings.add(key.clone(), |id| {
                part.dimension_readings.push(id);
                Reading {
                    id,
                    key,
                    name: dimension.name.clone(),
                    limits: dimension.wear_limit.clone(),
                    calculated: None,
                    needs: Vec::new(),
                    engine: None,
                    may_be_live: part.may_be_live.clone(),
                    with: Vec::new(),
                    without: Vec::new(),
                    locked_by: Vec::new(),
                    changed_by: Vec::new(),
                    signed_by: None,
                    tool: dimension.tool,
                    cautions: part.cautions.clone(),
                    setting: None,
                    level: None,
                    fluid: None,
                    over: None,
                    under: None,
                    dimension: Some(OfPart {
                        part: part.id,
                        dimension: dimension.id,
                        title: format!("{}, {}", part.name, dimension.name),
                    }),
                }
            });
        }
    }
}
