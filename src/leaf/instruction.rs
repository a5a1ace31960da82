//! The instruction that the compiler writes for an action without text, and
//! the runs of text that has actions in it.

use super::words::{counted, list, uncapitalised};
use super::{LeafKind, Run, Target, Writer};
use crate::job::{Act, Place, Thing};
use crate::prose::{self, Action, Inline, Verb};
use crate::shop::Part;

impl Writer<'_, '_> {
    /// Prose as runs. `acts` are the actions of the prose in reading order.
    pub(super) fn runs<'i>(
        &self,
        inlines: &[Inline],
        acts: &mut dyn Iterator<Item = &'i Act<'i>>,
    ) -> Vec<Run> {
        let mut runs = Vec::new();
        self.push_runs(inlines, acts, &mut runs);
        // An instruction that the compiler wrote at the end is the end of a sentence.
        if let Some(Inline::Action(action, text)) = inlines.last()
            && text.is_empty()
            && action.verb != Verb::See
        {
            end_sentence(&mut runs);
        }
        runs
    }

    fn push_runs<'i>(
        &self,
        inlines: &[Inline],
        acts: &mut dyn Iterator<Item = &'i Act<'i>>,
        runs: &mut Vec<Run>,
    ) {
        for inline in inlines {
            let run = match inline {
                Inline::Text(text) => Run::text(text),
                Inline::Code(text) => Run::Code { text: text.clone() },
                Inline::Break => Run::Break,
                Inline::Image(_) => continue,
                Inline::Strong(parts) => {
                    let mut inner = Vec::new();
                    self.push_runs(parts, acts, &mut inner);
                    Run::Strong { runs: inner }
                }
                Inline::Emphasis(parts) => {
                    let mut inner = Vec::new();
                    self.push_runs(parts, acts, &mut inner);
                    Run::Emphasis { runs: inner }
                }
                Inline::Link(address, parts) => {
                    let mut inner = Vec::new();
                    self.push_runs(parts, acts, &mut inner);
                    web_link(&address.value, inner)
                }
                Inline::Action(action, parts) => {
                    self.push_action(action, parts, acts, runs);
                    continue;
                }
            };
            runs.push(run);
        }
    }

    fn push_action<'i>(
        &self,
        action: &Action,
        parts: &[Inline],
        acts: &mut dyn Iterator<Item = &'i Act<'i>>,
        runs: &mut Vec<Run>,
    ) {
        let act = acts.next();
        if action.verb == Verb::See {
            let mut text = Vec::new();
            self.push_runs(parts, acts, &mut text);
            let see = self.see(action, text, runs);
            runs.extend(see);
            return;
        }
        if !parts.is_empty() {
            self.push_runs(parts, acts, runs);
            return;
        }
        let Some(act) = act else { return };
        let instruction = instruct(act);
        let instruction = if starts_sentence(runs) {
            instruction
        } else {
            let small = uncapitalised(&instruction);
            small.trim_end_matches('.').to_owned()
        };
        runs.push(Run::text(instruction));
    }

    /// A reference's own words, or "step 4", and its link.
    fn see(&self, action: &Action, text: Vec<Run>, before: &[Run]) -> Vec<Run> {
        let Some(place) = self.job.places.get(&action.span) else {
            return text;
        };
        // Authors write both "as in [](…)" and "as in step [](…)".
        let says_step =
            matches!(before.last(), Some(Run::Text { text }) if text.ends_with("step "));
        let own = match place {
            Place::Step(number) if says_step => number.to_string(),
            Place::Step(number) => format!("step\u{a0}{number}"),
            Place::Procedure(procedure) => format!("“{}”", procedure.title.value),
            Place::Figure(path) => {
                let figure = match self.figure_number(path) {
                    Some(number) => format!("figure\u{a0}{number}"),
                    None => "the figure".to_owned(),
                };
                match self.kind {
                    LeafKind::ShopSheet => figure,
                    // A checklist is a line a step and has no figures of its own.
                    LeafKind::BenchChecklist => format!("{figure} of the shop sheet"),
                }
            }
        };
        let mut runs = Vec::new();
        if !text.is_empty() {
            runs.push(self.link(*place, text));
            // In print the words alone don't say where to look.
            if matches!(place, Place::Step(_)) {
                runs.push(Run::text(format!(" ({own})")));
            }
            return runs;
        }
        if starts_sentence(before) {
            runs.push(Run::text("See "));
        }
        runs.push(self.link(*place, vec![Run::text(own)]));
        runs
    }
}

/// The instruction for an action without text, as a sentence without its full stop.
fn instruct(act: &Act<'_>) -> String {
    match (act.verb, act.thing) {
        (Verb::Isolate, Thing::Energy(energy)) => prose::plain(&energy.isolate),
        (Verb::Prove, Thing::Energy(energy)) => prose::plain(&energy.prove),
        (Verb::Restore, Thing::Energy(energy)) => prose::plain(&energy.restore),
        (Verb::Tighten, Thing::Part(part)) if act.stage.is_some() => format!(
            "{} to stage {} of {}",
            part_instruction(act.verb, part),
            act.stage.unwrap_or_default(),
            part.stages.len()
        ),
        (verb, Thing::Part(part)) => part_instruction(verb, part),
        (Verb::Open, Thing::Valve(valve)) => format!("Open the {}", valve.name),
        (Verb::Close, Thing::Valve(valve)) => format!("Close the {}", valve.name),
        (Verb::Drain, Thing::Fluid(fluid)) => format!("Drain the {}", fluid.name),
        (Verb::Fill, Thing::Fluid(fluid)) => format!("Fill with {}", fluid.name),
        (Verb::Confirm, Thing::Condition(condition)) => format!("Confirm: {}", condition.name),
        (Verb::End, Thing::Condition(condition)) => format!("No longer: {}", condition.name),
        (Verb::Run, _) => "Start and run the engine".to_owned(),
        (Verb::Stop, _) => "Stop the engine".to_owned(),
        (Verb::Measure, Thing::Reading(reading)) => format!("Measure the {}", reading.name),
        (Verb::Adjust, Thing::Reading(reading)) => format!("Adjust the {}", reading.name),
        // Who signs stands in the panel below.
        (Verb::Hold, _) => "Stop here".to_owned(),
        (Verb::Use, Thing::Tool(tool)) => format!("Use the {}", tool.name),
        (Verb::Apply, Thing::Supply(supply)) => format!("Apply {}", supply.name),
        (Verb::Do, Thing::Procedure(procedure)) => format!("Do “{}”", procedure.title.value),
        (_, thing) => thing.id().to_owned(),
    }
}

fn part_instruction(verb: Verb, part: &Part) -> String {
    let name = counted(&part.name, part.count);
    let several = if part.count > 1 {
        format!(" ({})", part.count)
    } else {
        String::new()
    };
    let the = format!("the {name}{several}");
    match verb {
        Verb::Remove if part.is_fastener() && part.count > 1 => {
            format!("Undo {the} and take them off")
        }
        Verb::Remove if part.is_fastener() => format!("Undo {the} and take it off"),
        Verb::Remove => format!("Take off {the}"),
        Verb::Fit if part.is_fastener() => format!("Start {the} by hand"),
        Verb::Fit => format!("Fit {the}"),
        Verb::Renew if part.count > 1 => format!("Fit new {name}{several}"),
        Verb::Renew => format!("Fit a new {name}"),
        Verb::Slacken => format!("Slacken {the}"),
        // A clip that nothing turns is pushed home.
        Verb::Tighten if !part.is_fastener() => format!("Push {the} home"),
        Verb::Tighten => format!("Tighten {the}"),
        Verb::Note if part.is_linkage() => {
            let seats: Vec<String> = part.seats.iter().map(|seat| seat.value.clone()).collect();
            format!(
                "Note where {the} sits: {}",
                list(&seats).replace(" and ", " or ")
            )
        }
        Verb::Note => format!("Note how {the} sits"),
        Verb::Clean => format!("Clean {the}"),
        Verb::Inspect => format!("Inspect {the}"),
        _ => the,
    }
}

fn web_link(address: &str, runs: Vec<Run>) -> Run {
    let is_web = ["http:", "https:", "mailto:", "tel:"]
        .iter()
        .any(|scheme| address.starts_with(scheme));
    if is_web {
        let target = Target::Web {
            address: address.to_owned(),
        };
        return Run::Link { target, runs };
    }
    // A relative address means nothing once the text has moved to a leaf.
    Run::Emphasis { runs }
}

/// Whether what comes next begins a sentence.
fn starts_sentence(runs: &[Run]) -> bool {
    match runs.last() {
        None | Some(Run::Break) => true,
        Some(Run::Text { text }) => {
            let text = text.trim_end();
            text.is_empty() || text.ends_with(['.', '!', '?'])
        }
        Some(_) => false,
    }
}

fn end_sentence(runs: &mut [Run]) {
    if let Some(Run::Text { text }) = runs.last_mut()
        && !text.ends_with(['.', '!', '?'])
    {
        text.push('.');
    }
}
