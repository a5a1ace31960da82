//! What lies over the parts of a machine, in the order in which it comes off.

use super::details::fastener;
use super::machine::MachineWriter;
use crate::drawing::{Removal, Removals, removals};
use crate::page::{Block, Drawing, DrawingKind, TitledDrawing, Topic};
use crate::shop::{Part, PartId, PerRecord, Records, capitalised};

/// With fewer parts over it, a part is reached without a drawing. With more, the drawing is no longer read.
const DRAWN: std::ops::RangeInclusive<usize> = 3..=16;

impl MachineWriter<'_, '_> {
    /// The way to each part that several others lie over, unless it is on the way to another such part.
    pub(super) fn access(&self) -> Option<Block> {
        let parts = &self.machine.parts;
        let mut is_on_way = PerRecord::new(parts, |_| false);
        let mut ways: Vec<Vec<PartId>> = Vec::new();
        // The fasteners of a part are beside it in the drawing.
        for part in parts.values().filter(|part| !part.is_fastener()) {
            let way = way_to(parts, part.id);
            let Some((_, over)) = way.split_last() else {
                continue;
            };
            if DRAWN.contains(&over.len()) {
                for part in over {
                    is_on_way[*part] = true;
                }
                ways.push(way);
            }
        }
        let mut drawings: Vec<TitledDrawing> = ways
            .iter()
            .filter_map(|way| {
                let (target, over) = way.split_last()?;
                let target = &parts[*target];
                (!is_on_way[target.id]).then(|| TitledDrawing {
                    title: capitalised(&target.name),
                    drawing: self.way(target, over),
                })
            })
            .collect();
        // Those that are beside each other are alike in height.
        drawings.sort_by_key(|titled| std::cmp::Reverse(titled.drawing.height));
        if drawings.is_empty() {
            return None;
        }
        let block = Block::Drawings { drawings };
        Some(self.context.section(Topic::Access, vec![block]))
    }

    fn way(&self, target: &Part, over: &[PartId]) -> Drawing {
        let (parts, words) = (&self.machine.parts, self.context.words());
        let mut is_released = PerRecord::new(parts, |_| false);
        let mut released = |part: &Part| -> Vec<String> {
            is_released[part.id] = true;
            let mut notes = Vec::new();
            for holder in &part.held_by {
                let is_new = !std::mem::replace(&mut is_released[holder.value], true);
                notes.extend(is_new.then(|| fastener(&parts[holder.value])));
            }
            notes
        };
        let steps: Vec<Removal> = over
            .iter()
            .map(|part| {
                let part = &parts[*part];
                let is_fastener = part.is_fastener();
                Removal {
                    name: if is_fastener {
                        fastener(part)
                    } else {
                        part.name.clone()
                    },
                    notes: released(part),
                    is_numbered: true,
                }
            })
            .collect();
        let names: Vec<&str> = steps.iter().map(|step| step.name.as_str()).collect();
        let names = names.join(", ");
        let values = [("part", target.name.as_str()), ("parts", &names)];
        removals(&Removals {
            kind: DrawingKind::Access,
            steps: &steps,
            target: Some((&target.name, &released(target))),
            alt: &words.format("access-alt", &values),
        })
    }
}

/// What comes off before a part, in its order, and the part.
fn way_to(parts: &Records<Part>, target: PartId) -> Vec<PartId> {
    let mut is_seen = PerRecord::new(parts, |_| false);
    let mut way = Vec::new();
    // Not a recursion: a chain of parts can be as long as a file. A part comes back when all before it are in the way.
    let mut open = vec![(target, false)];
    while let Some((id, is_clear)) = open.pop() {
        if is_clear {
            way.push(id);
            continue;
        }
        if std::mem::replace(&mut is_seen[id], true) {
            continue;
        }
        open.push((id, true));
        let part = &parts[id];
        let holders = part.held_by.iter().map(|holder| &parts[holder.value]);
        let before = part
            .behind
            .iter()
            .chain(holders.flat_map(|holder| &holder.behind));
        let mut before: Vec<(PartId, bool)> = before.map(|part| (part.value, false)).collect();
        before.reverse();
        open.extend(before);
    }
    way
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tree::Memory;

    #[test]
    fn what_lies_over_a_fastener_comes_off_first() {
        let machine = "name = \"Mower\"\n\
            [part.cover]\nname = \"cover\"\n\
            [part.bolt]\nname = \"bolt\"\nthread = \"M6\"\nbehind = [\"cover\"]\n\
            [part.housing]\nname = \"housing\"\nheld-by = [\"bolt\"]\n\
            [part.hose]\nname = \"hose\"\n\
            [part.wheel]\nname = \"wheel\"\nbehind = [\"hose\", \"housing\"]\n";
        let world = Memory::new([
            ("shop.toml", "name = \"Elmbrook workshop\""),
            ("machines/mower.toml", machine),
        ]);
        let sources = crate::read(&world);
        let machine = sources.shop.machines.values().next().unwrap();
        let of = |key: &str| {
            let part = machine.parts.get(key).unwrap();
            let way = way_to(&machine.parts, part.id);
            let keys = way.iter().map(|id| machine.parts[*id].key.as_str());
            keys.collect::<Vec<_>>()
        };
        assert_eq!(of("wheel"), ["hose", "cover", "housing", "wheel"]);
        assert_eq!(of("hose"), ["hose"]);
    }
}
