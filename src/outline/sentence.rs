//! The shop's own sentences: the steps of its procedures that do one thing.
//!
//! Where a shop has written how something is done on a machine, such as which spanner undoes a bolt, a new procedure
//! for the machine says it in the same words.

use crate::job::is_on;
use crate::procedure::{Procedure, Step};
use crate::prose::{ActionLink, Verb};
use crate::shop::{Machine, PartId, Shop};
use crate::tree::Tree;
use std::collections::{BTreeMap, BTreeSet};

/// The sentences of a machine, by the action that they do.
#[derive(Clone, Debug, Default)]
pub(super) struct Sentences {
    by_action: BTreeMap<String, String>,
}

/// The verbs whose sentences make sense in another procedure. What goes back is derived instead.
const VERBS: [Verb; 9] = [
    Verb::Remove,
    Verb::Slacken,
    Verb::Note,
    Verb::Clean,
    Verb::Inspect,
    Verb::Drain,
    Verb::Fill,
    Verb::Use,
    Verb::Close,
];

impl Sentences {
    /// The sentences of the procedures that are for a machine.
    pub(super) fn of_machine(
        tree: &Tree,
        shop: &Shop,
        procedures: &[Procedure],
        machine: &Machine,
    ) -> Sentences {
        let mut sentences = Sentences::default();
        for procedure in procedures.iter().filter(|it| it.is_for(machine.index)) {
            for step in procedure.steps().filter(|step| step.is_for(machine.index)) {
                let Some(action) = only_action(step, shop, machine) else {
                    continue;
                };
                if !has_context(procedure, machine, action) {
                    continue;
                }
                if let Some(sentence) = sentence(tree.text(step.span)) {
                    let key = format!("{}:{}", action.verb.word(), action.thing.value);
                    sentences.by_action.entry(key).or_insert(sentence);
                }
            }
        }
        sentences
    }

    pub(super) fn of(&self, action: &str) -> Option<&str> {
        self.by_action.get(action).map(String::as_str)
    }
}

/// The action of a step that does one thing, and may name the tools and supplies for it. `None` if it does more, or if
/// its text could refer to something that another procedure lacks.
fn only_action<'p>(step: &'p Step, shop: &Shop, machine: &Machine) -> Option<&'p ActionLink> {
    let is_plain = step.waivers.is_empty() && step.notes.is_empty();
    if step.id.is_some() || !is_plain {
        return None;
    }
    let mut actions: Vec<&ActionLink> = step.actions().collect();
    let is_for_kit = |link: &&ActionLink| matches!(link.verb, Verb::Use | Verb::Apply);
    if actions.len() > 1 {
        actions.retain(|link| !is_for_kit(link));
    }
    let [action] = actions.as_slice() else {
        return None;
    };
    let is_known = |link: &ActionLink| is_on(shop, machine, link.verb.takes(), &link.thing.value);
    let fits = VERBS.contains(&action.verb) && step.actions().all(is_known);
    fits.then_some(*action)
}

/// Whether a procedure does an action in the course of taking something apart. A part that is inspected after it was
/// fitted is looked at for leaks, which is said in other words.
fn has_context(procedure: &Procedure, machine: &Machine, action: &ActionLink) -> bool {
    let Some(part) = machine.parts.get(&action.thing.value) else {
        return true;
    };
    if !matches!(action.verb, Verb::Clean | Verb::Inspect) {
        return true;
    }
    let open = part
        .laid_open_by
        .iter()
        .map(|by| &machine.parts[by.value].key);
    let keys: Vec<&String> = open.chain([&part.key]).collect();
    let steps = procedure.steps().filter(|step| step.is_for(machine.index));
    let mut actions = steps.flat_map(Step::actions);
    actions.any(|link| link.verb == Verb::Remove && keys.contains(&&link.thing.value))
}

/// The sentences with links of a step's first paragraph, on one line, without the step's number and marks. The others may
/// speak of what another step has done. `None` if there are none.
fn sentence(item: &str) -> Option<String> {
    let item = item.trim_start();
    let number = item.bytes().take_while(u8::is_ascii_digit).count();
    let text = item[number..].strip_prefix(['.', ')'])?;
    let mut lines = Vec::new();
    for line in text.lines() {
        let line = line.trim();
        let is_other_block = ["- ", "* ", "+ ", ">", "!["]
            .iter()
            .any(|start| line.starts_with(start));
        if line.is_empty() || (is_other_block && !lines.is_empty()) {
            break;
        }
        lines.push(line);
    }
    let mut text = lines.join(" ");
    // Marks, such as `{if-fitted}`, are those of a step for several machines.
    while text.ends_with('}') {
        let at = text.rfind('{')?;
        text.truncate(at);
        text.truncate(text.trim_end().len());
    }
    if text.contains(['{', '}']) {
        return None;
    }
    let linked = sentences(&text).into_iter();
    let linked: Vec<&str> = linked.filter(|part| part.contains("](")).collect();
    (!linked.is_empty()).then(|| linked.join(" "))
}

/// Splits a text after each full stop that is followed by a space.
fn sentences(text: &str) -> Vec<&str> {
    let (mut parts, mut start) = (Vec::new(), 0);
    for (end, _) in text.match_indices(". ") {
        parts.push(&text[start..=end]);
        start = end + 2;
    }
    parts.push(&text[start..]);
    parts
}

/// The fasteners and clips that the shop's procedures slacken on a machine and never take off.
pub(super) fn only_slackened(procedures: &[Procedure], machine: &Machine) -> BTreeSet<PartId> {
    let (mut slackened, mut removed) = (BTreeSet::new(), BTreeSet::new());
    for procedure in procedures.iter().filter(|it| it.is_for(machine.index)) {
        for step in procedure.steps().filter(|step| step.is_for(machine.index)) {
            for link in step.actions() {
                let Some(part) = machine.parts.find(&link.thing.value) else {
                    continue;
                };
                match link.verb {
                    Verb::Slacken => slackened.insert(part),
                    Verb::Remove => removed.insert(part),
                    _ => false,
                };
            }
        }
    }
    &slackened - &removed
}

#[cfg(test)]
mod tests {
    use super::sentence;

    #[test]
    fn a_sentence_has_neither_number_nor_marks() {
        for (item, wanted) in [
            ("1. [](remove:lid)", Some("[](remove:lid)")),
            (
                "12) Lift\n   it [off](remove:lid). {if-fitted}",
                Some("Lift it [off](remove:lid)."),
            ),
            (
                "1. [Off](remove:lid).\n   - a point\n",
                Some("[Off](remove:lid)."),
            ),
            (
                "1. Hold it. [Off](remove:lid). It drips. {only=\"a b\"} {#id}\n\n   More.\n",
                Some("[Off](remove:lid)."),
            ),
            ("1. Nothing is done.", None),
            ("1. A {brace} inside", None),
            ("no number", None),
            ("1.", None),
        ] {
            assert_eq!(sentence(item).as_deref(), wanted, "{item:?}");
        }
    }
}
