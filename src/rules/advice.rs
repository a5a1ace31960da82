//! The help of several rules: how a step is done so that no other rule is broken by it.

use super::context::all_of;
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene, State};
use crate::shop::{ConditionId, Energy, EngineNeed, Machine, Part, ReadingId};

/// The actions that put a part back: "`[](fit:nut)` and `[](tighten:nut)`".
pub(super) fn refit(part: &Part) -> String {
    let verb = if part.single_use { "renew" } else { "fit" };
    let key = &part.key;
    if part.is_fastener() {
        format!("`[]({verb}:{key})` and `[](tighten:{key})`")
    } else {
        format!("`[]({verb}:{key})`")
    }
}

/// How to put a part on before a step, which is off or loose.
pub(super) fn closing(part: &Part, place: PartPlace) -> String {
    if place == PartPlace::Loose {
        return format!("add `[](tighten:{})` before this step", part.key);
    }
    let holders = if part.held_by.is_empty() {
        ""
    } else {
        ", and tighten what holds it"
    };
    format!("add {} before this step{holders}", refit(part))
}

/// The most parts of a fix. A fix with more is not proposed: nobody could read it, and the chain of parts in front of
/// each other in a hostile file can be deeper than the stack.
const MOST_PARTS: usize = 64;

/// The actions that put a part on and tighten it. What is behind it or held by it, and off as well, is put on first.
/// Empty if they are too many.
pub(super) fn actions_of_closing(state: &State<'_>, machine: &Machine, part: &Part) -> Vec<String> {
    if state.part(part.id).place == PartPlace::Loose {
        return vec![format!("tighten:{}", part.key)];
    }
    let mut parts = Vec::new();
    put_on(state, machine, &machine.parts[part.id], &mut parts);
    if parts.len() > MOST_PARTS {
        return Vec::new();
    }
    let actions = parts.iter().flat_map(|part| {
        let verb = if part.single_use { "renew" } else { "fit" };
        let tighten = part.is_fastener().then(|| format!("tighten:{}", part.key));
        std::iter::once(format!("{verb}:{}", part.key)).chain(tighten)
    });
    actions.collect()
}

/// Lists a part that is off, after those that have to be on before it.
fn put_on<'a>(state: &State<'_>, machine: &'a Machine, part: &'a Part, parts: &mut Vec<&'a Part>) {
    let is_listed = parts.iter().any(|listed| listed.id == part.id);
    if is_listed || parts.len() > MOST_PARTS || state.part(part.id).place != PartPlace::Off {
        return;
    }
    // It is listed first, so that parts in front of each other end the recursion.
    parts.push(part);
    let at = parts.len() - 1;
    let named_by = &machine.named_by[part.id];
    for under in named_by.behind.iter().chain(&named_by.holds) {
        put_on(state, machine, &machine.parts[under.value], parts);
    }
    parts[at..].rotate_left(1);
}

/// The actions of [`clearing`]. Empty if they are too many.
pub(super) fn actions_of_clearing(scene: &Scene<'_, '_>, part: &Part) -> Vec<String> {
    taking_off(scene.before, scene.machine, part).unwrap_or_default()
}

/// The most actions that a help lists.
const MOST_LISTED: usize = 4;

/// How to take a part off before a step, with what is in front of it and what holds it.
pub(super) fn clearing(scene: &Scene<'_, '_>, part: &Part) -> String {
    let actions = taking_off(scene.before, scene.machine, part);
    let listed = actions.filter(|actions| (1..=MOST_LISTED).contains(&actions.len()));
    let Some(actions) = listed else {
        return format!(
            "remove `{}` before this step, and before it what is in front of it and what holds it",
            part.key
        );
    };
    let links: Vec<String> = actions
        .iter()
        .map(|action| format!("`[]({action})`"))
        .collect();
    let links: Vec<&str> = links.iter().map(String::as_str).collect();
    format!("add {} before this step", all_of(&links))
}

/// The actions that take a part off: first what is in front of it and what holds it, and where it sits is noted. Parts
/// that are off are left out. `None` if they are too many.
fn taking_off(state: &State<'_>, machine: &Machine, part: &Part) -> Option<Vec<String>> {
    let mut actions = Vec::new();
    take_off(state, machine, &machine.parts[part.id], &mut actions);
    if actions.len() > MOST_PARTS {
        return None;
    }
    let written = |(verb, part): &(Verb, &Part)| format!("{}:{}", verb.word(), part.key);
    Some(actions.iter().map(written).collect())
}

fn take_off<'a>(
    state: &State<'_>,
    machine: &'a Machine,
    part: &'a Part,
    actions: &mut Vec<(Verb, &'a Part)>,
) {
    let is_listed = actions.iter().any(|(_, listed)| listed.id == part.id);
    let now = state.part(part.id);
    if is_listed || actions.len() > MOST_PARTS || now.place == PartPlace::Off {
        return;
    }
    // It is listed first, so that parts in front of each other end the recursion.
    actions.push((Verb::Remove, part));
    let at = actions.len() - 1;
    for other in part.behind.iter().chain(&part.held_by) {
        take_off(state, machine, &machine.parts[other.value], actions);
    }
    if part.is_linkage() && part.position.is_none() && now.noted.is_none() {
        actions.push((Verb::Note, part));
    }
    actions[at..].rotate_left(1);
}

/// How to make an energy safe for a step.
pub(super) fn making_safe(energy: &Energy) -> String {
    let key = &energy.key;
    let safe = format!("add `[](isolate:{key})` and `[](prove:{key})` before this step");
    if energy.is_heat() {
        safe
    } else {
        format!("{safe}, and `[](restore:{key})` once all parts are back")
    }
}

/// How to confirm a condition before a step.
pub(super) fn confirming(scene: &Scene<'_, '_>, id: ConditionId) -> String {
    let condition = &scene.machine.conditions[id];
    let account = scene.before.account();
    let mut after = condition.after.iter().map(|action| action.value);
    let missing = after.find(|action| !account.was_done(action.verb, action.thing));
    let after = missing.map_or(String::new(), |action| {
        let written = action.written(scene.shop, scene.machine);
        format!(" and `{written}` is done")
    });
    format!(
        "add `[](confirm:{})` before this step, once it holds{after}",
        condition.key
    )
}

/// When to take a reading: "add `[](measure:speed)` once the engine is running".
/// `after` is where it is taken, such as " after this step", or empty.
pub(super) fn measuring(machine: &Machine, id: ReadingId, after: &str) -> String {
    let reading = &machine.readings[id];
    let mut states = Vec::new();
    for (parts, state) in [
        (&reading.locked_by, "tight"),
        (&reading.with, "on and tight"),
        (&reading.without, "off"),
    ] {
        let keys = parts.iter().map(|part| &machine.parts[part.value].key);
        states.extend(keys.map(|key| format!("`{key}` is {state}")));
    }
    states.extend(reading.engine.as_ref().map(|engine| match engine.value {
        EngineNeed::Running => "the engine is running".to_owned(),
        EngineNeed::Stopped => "the engine is stopped".to_owned(),
    }));
    let needs = reading.needs.iter();
    states.extend(needs.map(|need| {
        let key = &machine.conditions[need.value].key;
        format!("`{key}` is confirmed")
    }));
    let states: Vec<&str> = states.iter().map(String::as_str).collect();
    let when = match all_of(&states) {
        states if states.is_empty() => states,
        states => format!(" once {states}"),
    };
    let comma = if after.is_empty() || when.is_empty() {
        ""
    } else {
        ","
    };
    format!("add `[](measure:{})`{after}{comma}{when}", reading.key)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tree::{self, Memory};
    use std::fmt::Write as _;

    #[test]
    fn what_holds_a_part_comes_off_before_it() {
        let machine = "name = \"T\"\nbasis = \"invented\"\n\
            [part.plate]\nname = \"plate\"\nbehind = [\"lid\"]\nheld-by = [\"screw\"]\n\
            [part.lid]\nname = \"lid\"\nheld-by = [\"nut\"]\n\
            [part.nut]\nname = \"nut\"\n[part.screw]\nname = \"screw\"\n\
            [part.rod]\nname = \"rod\"\npositions = [\"in\", \"out\"]\nbehind = [\"plate\"]\n";
        let files = [
            ("shop.toml", "name = \"S\"\n"),
            ("machines/t.toml", machine),
        ];
        let tree = tree::read(&Memory::new(files));
        let shop = crate::shop::read(&tree, &mut crate::finding::FindingsByFile::default());
        let machine = shop.machines.get("t").unwrap();
        let state = State::initial(&shop, machine);
        let rod = machine.parts.get("rod").unwrap();
        let actions = taking_off(&state, machine, rod);
        assert_eq!(
            actions.unwrap().join(" "),
            "remove:nut remove:lid remove:screw remove:plate note:rod remove:rod"
        );
    }

    #[test]
    fn a_chain_of_parts_may_be_deeper_than_the_stack() {
        let mut machine = "name = \"T\"\nbasis = \"invented\"\n".to_owned();
        // The most that a machine may have.
        let count = 1_999;
        for index in 0..count {
            let front = index + 1;
            let behind = format!("behind = [\"p{front}\"]\n");
            let behind = if front < count { behind.as_str() } else { "" };
            let _ = write!(machine, "[part.p{index}]\nname = \"p\"\n{behind}");
        }
        let files = [
            ("shop.toml", "name = \"S\"\n".to_owned()),
            ("machines/t.toml", machine),
        ];
        let tree = tree::read(&Memory::new(files));
        let shop = crate::shop::read(&tree, &mut crate::finding::FindingsByFile::default());
        let machine = shop.machines.get("t").unwrap();
        let state = State::initial(&shop, machine);
        let part = |key: &str| machine.parts.get(key).unwrap();
        assert_eq!(taking_off(&state, machine, part("p0")), None);
        let near = count - MOST_PARTS;
        let all = taking_off(&state, machine, part(&format!("p{near}")));
        assert_eq!(all.unwrap().len(), MOST_PARTS);
    }
}
