//! The instruction that the compiler writes for an action without text, and
//! the runs of text that has actions in it.

use super::writer::Writer;
use crate::job::{Act, Place, Thing};
use crate::page::author_words;
use crate::page::text::uncapitalised;
use crate::page::{LinkTarget, Run};
use crate::prose::{self, Action, Inline, Verb};
use crate::verbs::Instruction;

impl Writer<'_, '_> {
    /// Prose as runs. `acts` has the actions of the prose, each found by its span.
    pub(crate) fn runs(&self, inlines: &[Inline], acts: &[Act<'_>]) -> Vec<Run> {
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

    fn push_runs(&self, inlines: &[Inline], acts: &[Act<'_>], runs: &mut Vec<Run>) {
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

    fn push_action(
        &self,
        action: &Action,
        parts: &[Inline],
        acts: &[Act<'_>],
        runs: &mut Vec<Run>,
    ) {
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
        let Some(act) = acts.iter().find(|act| act.span == action.span) else {
            return;
        };
        let instruction = self.instruct(act);
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
        let author = author_words(self.desk.shop);
        let words = self.desk.words();
        let says_step =
            matches!(before.last(), Some(Run::Text { text }) if author.ends_with_step(text));
        let own = match place {
            Place::Step(number) if says_step => number.to_string(),
            Place::Step(number) => self.step_name(*number),
            Place::Procedure(procedure) | Place::Fault(procedure) => {
                words.say("quoted", &[("title", &procedure.title.value)])
            }
            Place::Figure(path) => {
                let figure = match self.figure_number(path) {
                    Some(number) => words.say("figure-number", &[("number", &number.to_string())]),
                    None => words.get("the-figure").to_owned(),
                };
                if self.has_figures {
                    figure
                } else {
                    // A checklist is a line a step and has no figures of its own.
                    words.say("of-the-shop-sheet", &[("figure", &figure)])
                }
            }
        };
        if !text.is_empty() {
            // In print the words alone don't say where to look.
            let name = matches!(place, Place::Step(_)).then_some(own);
            return self.link(*place, text, name);
        }
        let mut runs = Vec::new();
        if starts_sentence(before) {
            runs.push(Run::text(words.get("see")));
        }
        runs.extend(self.link(*place, vec![Run::text(own)], None));
        runs
    }
}

impl Writer<'_, '_> {
    /// The instruction for an action without text, as a sentence without its full stop.
    fn instruct(&self, act: &Act<'_>) -> String {
        let key = match (act.verb.spec().instruction, act.thing) {
            (Instruction::OfEnergy(text), Thing::Energy(energy)) => {
                return prose::plain(text(energy));
            }
            (Instruction::OfPart(key), Thing::Part(part)) => key(part, act.stage),
            (Instruction::Words(key), _) => key,
            _ => return act.thing.key().to_owned(),
        };
        let words = self.desk.words();
        let Thing::Part(part) = act.thing else {
            return words.say(key, &[("thing", act.thing.name())]);
        };
        let name = words.counted(&part.name, part.count);
        let name = if part.count > 1 {
            format!("{name} ({})", part.count)
        } else {
            name.into_owned()
        };
        let seats: Vec<String> = part.seats.iter().map(|seat| seat.value.clone()).collect();
        let stage = self
            .desk
            .stage_of(act.stage.unwrap_or(1), part.stages.len());
        let places = [
            ("thing", name.as_str()),
            ("seats", &words.choice(&seats)),
            ("stage", &stage),
        ];
        words.say(key, &places)
    }
}

fn web_link(address: &str, runs: Vec<Run>) -> Run {
    let is_web = ["http:", "https:", "mailto:", "tel:"]
        .iter()
        .any(|scheme| address.starts_with(scheme));
    if is_web {
        return Run::link(LinkTarget::Web(address.to_owned()), runs);
    }
    // A relative address means nothing once the text has moved to a page.
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

pub(crate) fn end_sentence(runs: &mut Vec<Run>) {
    match runs.last_mut() {
        Some(Run::Text { text }) if !text.ends_with(['.', '!', '?']) => text.push('.'),
        Some(Run::Link { name: Some(_), .. }) => runs.push(Run::text(".")),
        _ => {}
    }
}
