//! The instruction that the compiler writes for an action without text, and
//! the runs of text that has actions in it.

use super::writer::Writer;
use crate::job::{Action, ReferenceTarget, Thing};
use crate::page::author_words;
use crate::page::text::uncapitalised;
use crate::page::{LinkTarget, TextRun};
use crate::prose::{self, ActionLink, Inline, Verb};
use crate::verbs::DefaultInstruction;

impl Writer<'_, '_> {
    /// Prose as runs. `actions` has the actions of the prose, each found by its span.
    pub(crate) fn runs(&self, inlines: &[Inline], actions: &[Action<'_>]) -> Vec<TextRun> {
        let mut runs = Vec::new();
        self.push_runs(inlines, actions, &mut runs);
        // An instruction that the compiler wrote at the end is the end of a sentence.
        if let Some(Inline::Action(link, text)) = inlines.last()
            && text.is_empty()
            && link.verb != Verb::See
        {
            end_sentence(&mut runs);
        }
        runs
    }

    fn push_runs(&self, inlines: &[Inline], actions: &[Action<'_>], runs: &mut Vec<TextRun>) {
        for inline in inlines {
            let run = match inline {
                Inline::Text(text) => TextRun::text(text),
                Inline::Code(text) => TextRun::Code { text: text.clone() },
                Inline::Break => TextRun::Break,
                Inline::Image(_) => continue,
                Inline::Strong(parts) => {
                    let mut inner = Vec::new();
                    self.push_runs(parts, actions, &mut inner);
                    TextRun::Strong { runs: inner }
                }
                Inline::Emphasis(parts) => {
                    let mut inner = Vec::new();
                    self.push_runs(parts, actions, &mut inner);
                    TextRun::Emphasis { runs: inner }
                }
                Inline::Link(address, parts) => {
                    let mut inner = Vec::new();
                    self.push_runs(parts, actions, &mut inner);
                    web_link(&address.value, inner)
                }
                Inline::Action(link, parts) => {
                    self.push_action(link, parts, actions, runs);
                    continue;
                }
            };
            runs.push(run);
        }
    }

    fn push_action(
        &self,
        link: &ActionLink,
        parts: &[Inline],
        actions: &[Action<'_>],
        runs: &mut Vec<TextRun>,
    ) {
        if link.verb == Verb::See {
            let mut text = Vec::new();
            self.push_runs(parts, actions, &mut text);
            let see = self.see(link, text, runs);
            runs.extend(see);
            return;
        }
        if !parts.is_empty() {
            self.push_runs(parts, actions, runs);
            return;
        }
        let Some(action) = actions.iter().find(|action| action.span == link.span) else {
            return;
        };
        let instruction = self.instruct(action);
        let instruction = if starts_sentence(runs) {
            instruction
        } else {
            let small = uncapitalised(&instruction);
            small.trim_end_matches('.').to_owned()
        };
        runs.push(TextRun::text(instruction));
    }

    /// A reference's own words, or "step 4", and its link.
    fn see(&self, link: &ActionLink, text: Vec<TextRun>, before: &[TextRun]) -> Vec<TextRun> {
        let Some(place) = self.job.places.get(&link.span) else {
            return text;
        };
        // Authors write both "as in [](…)" and "as in step [](…)".
        let author = author_words(self.desk.shop);
        let words = self.desk.words();
        let says_step =
            matches!(before.last(), Some(TextRun::Text { text }) if author.ends_with_step(text));
        let own = match place {
            ReferenceTarget::Step(number) if says_step => number.to_string(),
            ReferenceTarget::Step(number) => self.step_name(*number),
            ReferenceTarget::Procedure(procedure) | ReferenceTarget::Fault(procedure) => {
                words.say("quoted", &[("title", &procedure.title.value)])
            }
            ReferenceTarget::Figure(path) => {
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
            let name = matches!(place, ReferenceTarget::Step(_)).then_some(own);
            return self.link(*place, text, name);
        }
        let mut runs = Vec::new();
        if starts_sentence(before) {
            runs.push(TextRun::text(words.get("see")));
        }
        runs.extend(self.link(*place, vec![TextRun::text(own)], None));
        runs
    }
}

impl Writer<'_, '_> {
    /// The instruction for an action without text, as a sentence without its full stop.
    fn instruct(&self, action: &Action<'_>) -> String {
        let key = match (action.verb.spec().instruction, action.thing) {
            (DefaultInstruction::OfEnergy(text), Thing::Energy(energy)) => {
                return prose::plain(text(energy));
            }
            (DefaultInstruction::OfPart(key), Thing::Part(part)) => key(part, action.stage),
            (DefaultInstruction::Words(key), _) => key,
            _ => return action.thing.key().to_owned(),
        };
        let words = self.desk.words();
        let Thing::Part(part) = action.thing else {
            return words.say(key, &[("thing", action.thing.name())]);
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
            .stage_name(action.stage.unwrap_or(1), part.stages.len());
        let places = [
            ("thing", name.as_str()),
            ("seats", &words.choice(&seats)),
            ("stage", &stage),
        ];
        words.say(key, &places)
    }
}

fn web_link(address: &str, runs: Vec<TextRun>) -> TextRun {
    let is_web = ["http:", "https:", "mailto:", "tel:"]
        .iter()
        .any(|scheme| address.starts_with(scheme));
    if is_web {
        return TextRun::link(LinkTarget::Web(address.to_owned()), runs);
    }
    // A relative address means nothing once the text has moved to a page.
    TextRun::Emphasis { runs }
}

/// Whether what comes next begins a sentence.
fn starts_sentence(runs: &[TextRun]) -> bool {
    match runs.last() {
        None | Some(TextRun::Break) => true,
        Some(TextRun::Text { text }) => {
            let text = text.trim_end();
            text.is_empty() || text.ends_with(['.', '!', '?'])
        }
        Some(_) => false,
    }
}

pub(crate) fn end_sentence(runs: &mut Vec<TextRun>) {
    match runs.last_mut() {
        Some(TextRun::Text { text }) if !text.ends_with(['.', '!', '?']) => text.push('.'),
        Some(TextRun::Link { name: Some(_), .. }) => runs.push(TextRun::text(".")),
        _ => {}
    }
}
