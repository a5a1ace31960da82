//! Inline prose as text runs, with the default instruction for an action that the author gave no
//! text.

use super::writer::Writer;
use crate::job::{Action, ReferenceTarget, Thing};
use crate::page::author_words;
use crate::page::text::uncapitalised;
use crate::page::{LinkTarget, TextRun};
use crate::prose::{self, ActionLink, Inline, Verb};
use crate::verbs::DefaultInstruction;
use crate::words::marks::is_mark;

/// Marks the end of a part's name in an instruction, where its number in a figure follows. It is in no source: characters
/// that can't be seen are errors there.
const END_OF_NAME: char = '\u{e010}';

impl Writer<'_, '_> {
    /// Renders inlines as runs. An action in the prose is looked up in `actions` by its span.
    pub(crate) fn runs(&self, inlines: &[Inline], actions: &[Action<'_>]) -> Vec<TextRun> {
        let mut runs = Vec::new();
        self.push_runs(inlines, actions, &mut runs);
        // A default instruction in last position ends the sentence.
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
            let reference = self.reference(link, text, runs);
            runs.extend(reference);
            return;
        }
        let action = actions.iter().find(|action| action.span == link.span);
        let callout = action.and_then(|action| self.callout(action));
        // A part has its number where it is named first.
        let callout = callout.filter(|callout| !runs.contains(callout));
        if !parts.is_empty() {
            self.push_runs(parts, actions, runs);
            runs.extend(callout);
            return;
        }
        let Some(action) = action else {
            return;
        };
        let instruction = self.default_instruction(action, link.verb);
        let instruction = if starts_sentence(runs) {
            instruction
        } else {
            let continued = uncapitalised(&instruction);
            continued.trim_end_matches('.').to_owned()
        };
        match (callout, instruction.split_once(END_OF_NAME)) {
            (Some(callout), Some((before, after))) => {
                runs.extend([TextRun::text(before), callout]);
                let after = after.replace(END_OF_NAME, "");
                runs.extend((!after.is_empty()).then(|| TextRun::text(after)));
            }
            _ => runs.push(TextRun::text(instruction.replace(END_OF_NAME, ""))),
        }
    }

    /// The runs of a reference: the author's text, or a default such as "step 4", with a link.
    fn reference(&self, link: &ActionLink, text: Vec<TextRun>, before: &[TextRun]) -> Vec<TextRun> {
        let Some(place) = self.job.places.get(&link.span) else {
            return text;
        };
        // Authors write both "as in [](…)" and "as in step [](…)".
        let author = author_words(self.context.shop);
        let words = self.context.words();
        let says_step =
            matches!(before.last(), Some(TextRun::Text { text }) if author.ends_with_step(text));
        let default = match place {
            ReferenceTarget::Step(number) if says_step => {
                words.format("step-number", &[("number", &number.to_string())])
            }
            ReferenceTarget::Step(number) => self.step_name(*number),
            ReferenceTarget::Procedure(procedure) | ReferenceTarget::Fault(procedure) => {
                words.format("quoted", &[("title", &procedure.title.value)])
            }
            ReferenceTarget::Figure(path) => {
                let figure = match self.figure_number(path) {
                    Some(number) => {
                        words.format("figure-number", &[("number", &number.to_string())])
                    }
                    None => words.get("the-figure").to_owned(),
                };
                if self.has_figures {
                    figure
                } else {
                    // A checklist has no figures.
                    words.format("of-the-shop-sheet", &[("figure", &figure)])
                }
            }
        };
        if !text.is_empty() {
            // On paper, the text alone does not say where to look.
            let name = matches!(place, ReferenceTarget::Step(_)).then_some(default);
            return self.link(*place, text, name);
        }
        let mut runs = Vec::new();
        if starts_sentence(before) {
            runs.push(TextRun::text(words.get("see")));
        }
        runs.extend(self.link(*place, vec![TextRun::text(default)], None));
        runs
    }
}

impl Writer<'_, '_> {
    /// The default instruction for an action that is written with a verb: a sentence without a full stop.
    fn default_instruction(&self, action: &Action<'_>, written: Verb) -> String {
        let key = match (action.verb.spec().instruction, action.thing) {
            (DefaultInstruction::OfEnergy(text), Thing::Energy(energy)) => {
                return prose::plain(text(energy));
            }
            (DefaultInstruction::OfPart(key), Thing::Part(part)) => key(part, action.stage),
            (DefaultInstruction::Words(_), Thing::Fluid(_)) if self.is_top_up(action) => {
                "do-top-up"
            }
            (DefaultInstruction::Words(_), Thing::Condition(_)) if written == Verb::Wait => {
                "do-wait-until"
            }
            (DefaultInstruction::Words(_), Thing::Part(_))
                if action.verb == Verb::Turn && action.position.is_some() =>
            {
                "do-turn-to"
            }
            (DefaultInstruction::Words(key), _) => key,
            _ => return action.thing.key().to_owned(),
        };
        let words = self.context.words();
        if let Thing::Time(time) = action.thing {
            return words.format(key, &[("time", &self.time(time).first)]);
        }
        if let (Verb::Measure, Thing::Reading(reading)) = (action.verb, action.thing)
            && let Some(of) = &reading.dimension
        {
            let part = &self.job.machine.parts[of.part];
            let name = format!("{}{END_OF_NAME}", part.name);
            let values = [("thing", &*reading.name), ("part", &name)];
            return words.format("do-measure-dimension", &values);
        }
        let Thing::Part(part) = action.thing else {
            let position = action.position.unwrap_or_default();
            let name = format!("{}{END_OF_NAME}", action.thing.name());
            let values = [("thing", name.as_str()), ("position", position)];
            // Only a control has a position.
            let values = &values[..if action.position.is_some() { 2 } else { 1 }];
            return words.format(key, values);
        };
        let name = words.counted(&part.name, part.count);
        let name = if part.count > 1 {
            format!("{name}{END_OF_NAME} ({}\u{a0}×)", part.count)
        } else {
            format!("{name}{END_OF_NAME}")
        };
        let positions: Vec<String> = part
            .positions
            .iter()
            .map(|position| position.value.clone())
            .collect();
        let stage = self
            .context
            .stage_name(action.stage.unwrap_or(1), part.stages.len());
        let values = [
            ("thing", name.as_str()),
            ("positions", &words.choice(&positions)),
            ("stage", &stage),
            ("position", action.position.unwrap_or_default()),
        ];
        words.format(key, &values)
    }
}

fn web_link(address: &str, runs: Vec<TextRun>) -> TextRun {
    let is_web = ["http:", "https:", "mailto:", "tel:"]
        .iter()
        .any(|scheme| address.starts_with(scheme));
    if is_web {
        return TextRun::link(LinkTarget::Web(address.to_owned()), runs);
    }
    // A relative link has no meaning on another page.
    TextRun::Emphasis { runs }
}

/// Whether text after these runs begins a sentence.
fn starts_sentence(runs: &[TextRun]) -> bool {
    match runs.last() {
        None | Some(TextRun::Break) => true,
        Some(TextRun::Text { text }) => {
            let text = text.trim_end_matches(|letter| is_mark(letter) || letter.is_whitespace());
            text.is_empty() || text.ends_with(['.', '!', '?'])
        }
        Some(_) => false,
    }
}

pub(crate) fn end_sentence(runs: &mut Vec<TextRun>) {
    match runs.last_mut() {
        Some(TextRun::Text { text })
            if !text.trim_end_matches(is_mark).ends_with(['.', '!', '?']) =>
        {
            text.push('.');
        }
        Some(TextRun::Link { name: Some(_), .. } | TextRun::Callout { .. }) => {
            runs.push(TextRun::text("."));
        }
        _ => {}
    }
}
