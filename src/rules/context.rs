//! The input of a check: an action ([`Scene`]), the end of a job or a file's text. Also how a check reports.

use super::kit_names::KitNames;
use crate::finding::{Cause, Finding, Rule, Span};
use crate::job::{Job, JobSection, Thing};
use crate::procedure::Procedure;
use crate::prose::Verb;
use crate::quantity::{self, Found, Limits, Quantity, Refused, Spec};
use crate::rehearsal::{Moment, Move, Scene, State};
use crate::shop::{ConditionId, Legend, Machine, Part, Shop, Sourced, ToolId};
use crate::trade::{self, Plausibility, PlausibleTorque};
use crate::tree::{Source, Tree};
use crate::words::Words;
use indexmap::IndexSet;

/// The end of a rehearsed job.
pub(super) struct Ending<'r, 'a> {
    pub(super) job: &'r Job<'a>,
    /// The actions on parts, in order.
    pub(super) moves: &'r [Move<'a>],
    /// The machine's state when the job ends.
    pub(super) end: &'r State<'a>,
}

/// A fastener whose thread is given, and for which torques can be calculated or are published.
pub(super) struct Joint<'s> {
    pub(super) machine: &'s Machine,
    pub(super) part: &'s Part,
    /// Why the class does not go with the thread.
    pub(super) mismatch: Option<&'s trade::Error>,
    /// The first of its torques that is implausible.
    pub(super) implausible: Option<ImplausibleTorque<'s>>,
}

impl<'s> Joint<'s> {
    /// A joint with its plausible torques.
    ///
    /// Every stage has to be below the ceiling. Only the last can be too low: a stage before another one, or
    /// a torque before an angle, is low on purpose. So is any torque if the part says why.
    pub(super) fn new(
        machine: &'s Machine,
        part: &'s Part,
        plausible: &'s Result<PlausibleTorque, trade::Error>,
    ) -> Joint<'s> {
        let judge = |(index, stage): (usize, &'s Sourced)| {
            let plausible = plausible.as_ref().ok()?;
            let limits = stage.spec.value.limits();
            let is_full = index + 1 == part.stages.len() && stage.spec.value.then_turn().is_none();
            let is_high = match plausible.judge(limits) {
                Plausibility::TooHigh => true,
                Plausibility::TooLow if is_full && part.low_torque.is_none() => false,
                _ => return None,
            };
            Some(ImplausibleTorque {
                limits,
                span: stage.spec.span,
                is_high,
                plausible,
            })
        };
        Joint {
            machine,
            part,
            mismatch: plausible.as_ref().err(),
            implausible: part.stages.iter().enumerate().find_map(judge),
        }
    }
}

/// A torque that is implausible for its fastener.
pub(super) struct ImplausibleTorque<'s> {
    pub(super) limits: &'s Limits,
    pub(super) span: Span,
    /// Whether it is too high; otherwise it is too low.
    pub(super) is_high: bool,
    pub(super) plausible: &'s PlausibleTorque,
}

impl ImplausibleTorque<'_> {
    /// The same number in other units, where they are likely.
    pub(super) fn in_other_units(&self) -> Vec<Quantity> {
        self.plausible.in_other_units(self.limits)
    }

    /// The question whether the decimal point is misplaced, if the value would be likely then.
    pub(super) fn misplaced_point(&self) -> &'static str {
        if self.plausible.has_misplaced_point(self.limits) {
            "is the decimal point misplaced? "
        } else {
            ""
        }
    }

    /// What the bounds follow from, for the help of a finding.
    pub(super) fn because(&self) -> String {
        self.plausible.because().join("; ")
    }
}

/// A source file and the values typed in it.
pub(super) struct TextScene<'t> {
    pub(super) tree: &'t Tree,
    pub(super) shop: &'t Shop,
    /// The names of the shop's tools and supplies.
    pub(super) kit_names: &'t KitNames<'t>,
    pub(super) file: &'t Source,
    /// The procedure or fault table that the file contains, if any.
    pub(super) procedure: Option<&'t Procedure>,
    /// All procedures, by their ids.
    pub(super) procedures: &'t [Procedure],
    /// The quantities in its prose.
    pub(super) found: Vec<Found>,
    /// Text that is certainly a quantity, but can be read in two ways or can't exist.
    pub(super) refused: Vec<Refused>,
}

/// The words of the language that a shop's text is in.
pub(super) fn author_words(shop: &Shop) -> &'static Words {
    let language = shop.languages.first();
    let words = language.and_then(|language| Words::of(language));
    words.unwrap_or_else(|| Words::english())
}

/// The legend that a file contains, if it is one of a figure.
pub(super) fn legend_of<'t>(scene: &TextScene<'t>) -> Option<&'t Legend> {
    let mut legends = scene.shop.legends.values();
    legends.find(|legend| legend.file == scene.file.id)
}

impl TextScene<'_> {
    /// The words of the language that the shop's text is in.
    pub(super) fn author_words(&self) -> &'static Words {
        author_words(self.shop)
    }

    /// The error of the field that has the value at a byte as its whole text. `None` if the value is in
    /// running text, or if the field can be read. The reader of the file reports the error.
    pub(super) fn field_error(&self, at: usize) -> Option<quantity::Error> {
        if self.procedure.is_some() {
            return None;
        }
        let text = self.file.text.as_str();
        let start = text[..at].rfind(['"', '\n'])? + 1;
        let field = &text[start..];
        let field = &field[..field.find('"')?];
        Spec::parse_with(field, self.shop.gallons).err()
    }
}

impl Scene<'_, '_> {
    /// A finding in this job, with its primary span at this action. The label may be empty.
    pub(super) fn finding(
        &self,
        rule: &'static Rule,
        message: impl Into<String>,
        label: &str,
    ) -> Finding {
        Finding::new(rule, message)
            .in_job(self.job.to_string())
            .primary(self.moment.span, label)
    }

    /// Whether the action is the first that the author wrote in its step: what is true of the step is judged there, once.
    pub(super) fn is_first_of_step(&self) -> bool {
        let first = self.step.actions.first();
        first.is_some_and(|first| std::ptr::eq(first, self.action))
    }

    /// Whether a tool was called for in an earlier step, or is in this one.
    pub(super) fn is_at_hand(&self, tool: ToolId) -> bool {
        let mut actions = self.step.all_actions();
        self.before.account().was_done(Verb::Use, tool)
            || actions.any(|action| matches!(action.thing, Thing::Tool(here) if here.id == tool))
    }

    /// What a finding says of a condition that does not hold: that it was not confirmed yet, or what ended it.
    pub(super) fn unmet(&self, id: ConditionId) -> String {
        let key = &self.machine.conditions[id].key;
        match self.before.condition_lost(id) {
            Some(lost) => {
                let thing = lost.thing.key(self.shop, self.machine);
                format!("after `{}:{thing}` ended `{key}`", lost.verb.word())
            }
            None => format!("before `{key}` is confirmed"),
        }
    }
}

impl<'r, 'a> Ending<'r, 'a> {
    /// The sections of the job's own procedure that are inspections.
    pub(super) fn inspections(&self) -> impl Iterator<Item = &'r JobSection<'a>> {
        let job: &'r Job<'a> = self.job;
        let sections = job.sections.iter().map(|section| &**section);
        sections.filter(|section| section.is_inspection && section.origin.id == job.procedure.id)
    }

    /// A finding in this job, with its primary span at the action that caused the state, if any.
    pub(super) fn finding(
        &self,
        rule: &'static Rule,
        message: impl Into<String>,
        since: Option<Moment>,
        label: &str,
    ) -> Finding {
        let finding = Finding::new(rule, message).in_job(self.job.name().to_string());
        match since {
            Some(moment) => finding.primary(moment.span, label),
            None => finding,
        }
    }
}

/// A thing that a finding blames, with its key.
#[derive(Clone, Copy)]
pub(super) enum Blamed<'k> {
    Part(&'k str),
    Valve(&'k str),
    Fluid(&'k str),
    Control(&'k str),
    Energy(&'k str),
    Condition(&'k str),
    /// The inspection of a part.
    Inspection(&'k str),
    /// A signature of a role.
    Signature(&'k str),
    /// A tool that nobody has laid ready.
    Equipment(&'k str),
    Engine,
}

/// Things joined to a phrase, each with backticks, and the verb that goes with them: "`a` and `b`", "are". `None`
/// without things.
pub(super) fn named(keys: &[&str]) -> Option<(String, &'static str)> {
    let quoted: Vec<String> = keys.iter().map(|key| format!("`{key}`")).collect();
    let quoted: Vec<&str> = quoted.iter().map(String::as_str).collect();
    let verb = match quoted.len() {
        0 => return None,
        1 => "is",
        _ => "are",
    };
    Some((all_of(&quoted), verb))
}

/// The help of several things as one, without repetitions.
pub(super) fn all_helps(helps: impl Iterator<Item = String>) -> String {
    let helps: IndexSet<String> = helps.collect();
    let helps: Vec<&str> = helps.iter().map(String::as_str).collect();
    helps.join("; ")
}

/// Items joined to a phrase: "a", "a and b", "a, b and c".
pub(super) fn all_of(items: &[&str]) -> String {
    match items {
        [] => String::new(),
        [item] => (*item).to_owned(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

impl Finding {
    /// Names a thing whose state is the cause, and the action that brought it into that state. Findings with the same
    /// cause are reported once.
    pub(super) fn because_of(mut self, blamed: Blamed<'_>, since: Option<Moment>) -> Finding {
        let (kind, key) = match blamed {
            Blamed::Part(key) => ("part", key),
            Blamed::Valve(key) => ("valve", key),
            Blamed::Fluid(key) => ("fluid", key),
            Blamed::Control(key) => ("control", key),
            Blamed::Energy(key) => ("energy", key),
            Blamed::Condition(key) => ("condition", key),
            Blamed::Inspection(key) => ("inspection of", key),
            Blamed::Signature(key) => ("signature of", key),
            Blamed::Equipment(key) => ("equipment", key),
            Blamed::Engine => ("engine", ""),
        };
        self.causes.push(Cause {
            thing: format!("{kind} {key}"),
            since: since.map(|moment| moment.span),
            // Jobs share the steps that make a machine safe.
            is_shared: matches!(
                blamed,
                Blamed::Energy(_)
                    | Blamed::Condition(_)
                    | Blamed::Signature(_)
                    | Blamed::Equipment(_)
            ),
        });
        self
    }

    /// Names a thing whose state is the cause, as [`Finding::because_of`] does, and adds a secondary span at the action
    /// that brought it into that state, if any.
    pub(super) fn blame(self, blamed: Blamed<'_>, since: Option<Moment>, label: &str) -> Finding {
        self.because_of(blamed, since).since(since, label)
    }

    /// Blames a condition that does not hold, and adds a secondary span at the action that ended it, if any.
    pub(super) fn blame_condition(self, scene: &Scene<'_, '_>, id: ConditionId) -> Finding {
        let lost = scene.before.condition_lost(id).map(|lost| lost.at);
        let key = &scene.machine.conditions[id].key;
        self.blame(Blamed::Condition(key), lost, "lost here")
    }

    /// Adds a secondary span at the action that caused the state, if any.
    pub(super) fn since(self, since: Option<Moment>, label: &str) -> Finding {
        match since {
            Some(moment) => self.secondary(moment.span, label),
            None => self,
        }
    }
}

impl Joint<'_> {
    /// How to say that a torque is low on purpose, for a finding's help.
    pub(super) fn low_on_purpose(&self) -> String {
        let reason = "; if it is low on purpose, give the reason in `low-torque`";
        let thread = self.part.thread.as_ref().map(|thread| thread.value);
        let is_plug_thread = thread.is_some_and(|thread| trade::plug_threads().contains(&thread));
        if is_plug_thread && self.part.spark_plug.is_none() {
            format!("{reason}; a spark plug has `spark-plug = \"gasket seat\"` or `\"taper seat\"`")
        } else {
            reason.to_owned()
        }
    }
}
