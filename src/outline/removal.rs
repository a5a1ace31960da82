//! Writes the procedure that takes a part off a machine, cleans and inspects it, and puts it back.
//!
//! What comes off, and in which order, is planned on the model of the machine (`strip`). What is cleaned and inspected
//! follows from the records of the parts, and the reassembly is derived by the compiler. The procedures that make the
//! machine safe and test it are those of the shop's other procedures for the machine. What is still missing is added by
//! rehearsing the draft (`complete`).

use super::bench::{Bench, weight};
use super::blank::gap;
use super::complete::complete;
use super::draft::{Chapter, Draft};
use super::mark::markdown;
use super::sentence::{Sentences, only_slackened};
use super::strip::{Obstacle, Stripped};
use crate::Sources;
use crate::finding::Located;
use crate::procedure::{Procedure, ProcedureId, Step};
use crate::prose::Verb;
use crate::shop::{Machine, Part, capitalised};
use crate::words::Words;
use std::collections::{BTreeMap, BTreeSet};

/// The most pairs of procedures before and after the work that are tried.
const MOST_PAIRS: usize = 6;

/// What is to be written.
#[derive(Clone, Copy)]
pub(crate) struct Request<'s> {
    pub(crate) sources: &'s Sources,
    pub(crate) machine: &'s Machine,
    pub(crate) part: &'s Part,
}

/// A procedure that was written.
#[derive(Debug)]
pub(crate) struct Outlined {
    pub(crate) text: String,
    /// The parts that come off.
    pub(crate) removed: usize,
    /// The procedures that are done before and after it.
    pub(crate) begin: Vec<String>,
    pub(crate) finish: Vec<String>,
}

/// The procedures before and after a job, by their ids.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
struct Around {
    begin: Vec<String>,
    finish: Vec<String>,
}

/// Writes the procedure that takes a part off. `path` is that of its file.
///
/// # Errors
///
/// If the part can't come off by the model.
pub(crate) fn removal(request: Request<'_>, path: &str) -> Result<Outlined, Obstacle> {
    let Request {
        sources, machine, ..
    } = request;
    let language = sources.shop.languages.first();
    let words = language.and_then(|language| Words::of(language));
    let words = words.unwrap_or_else(|| Words::english());
    let sentences =
        Sentences::of_machine(&sources.tree, &sources.shop, &sources.procedures, machine);
    let slackened = only_slackened(&sources.procedures, machine);
    let bench = Bench::new(sources, machine, words, &sentences, path);
    let Some(mut bench) = bench else {
        return Err(Obstacle::NoPath);
    };
    let mut best: Option<(usize, Draft, usize)> = None;
    let mut obstacle = None;
    for around in request.around() {
        let mut draft = request.empty(words, path, around);
        let known = bench.remember_known(&draft);
        let stripped = match bench.strip(&draft, request.part.id, &slackened) {
            Some(Ok(stripped)) => stripped,
            Some(Err(why)) => {
                obstacle = Some(why);
                continue;
            }
            None => continue,
        };
        draft.why = request.why(words, &stripped);
        request.fill(&mut draft, &stripped, &sentences);
        let problems = complete(&mut bench, &mut draft);
        request.set_again(&mut draft, &stripped, words);
        request.describe_holds(&mut draft, &stripped, words);
        request.mark_gaps(&mut draft, &sentences, words);
        // What the procedures around it lack, the job lacks. The shop's own way to make a machine safe is preferred.
        let is_alone = draft.begin.is_empty() && draft.finish.is_empty();
        let missing = draft.steps.iter().filter(|step| step.has_gap()).count();
        let weight = weight(&problems) + known + 4 * missing + usize::from(is_alone);
        if best.as_ref().is_none_or(|(least, ..)| weight < *least) {
            best = Some((weight, draft, stripped.removed.len()));
            if weight == 0 {
                break;
            }
        }
    }
    let Some((_, draft, removed)) = best else {
        return Err(obstacle.unwrap_or(Obstacle::NoPath));
    };
    let text = draft.text(words, &sentences);
    Ok(Outlined {
        text,
        removed,
        begin: draft.begin,
        finish: draft.finish,
    })
}

/// The procedures that are usually done before and after others on a machine.
pub(crate) fn usual(sources: &Sources, machine: &Machine) -> (Vec<String>, Vec<String>) {
    let first = pairs(sources, machine, |_| false).into_iter().next();
    let Around { begin, finish } = first.unwrap_or_default();
    (begin, finish)
}

fn find<'s>(sources: &'s Sources, id: &str) -> Option<&'s Procedure> {
    sources
        .procedures
        .iter()
        .find(|procedure| procedure.id == id)
}

/// The pairs of procedures that the machine's procedures are done between: those of procedures that `is_like` this one
/// first, then the most usual.
fn pairs(
    sources: &Sources,
    machine: &Machine,
    is_like: impl Fn(&Procedure) -> bool,
) -> Vec<Around> {
    let mut usual: BTreeMap<Around, (bool, usize)> = BTreeMap::new();
    let procedures = &sources.procedures;
    let ids = |list: &[Located<ProcedureId>]| -> Vec<String> {
        let ids = list.iter().map(|id| &procedures[id.value.index()]);
        ids.map(|procedure| procedure.id.clone()).collect()
    };
    let on_machine =
        |procedure: &&Procedure| procedure.is_complete && procedure.is_for(machine.index);
    for procedure in procedures.iter().filter(on_machine) {
        let mut parts = procedure.begin.iter().chain(&procedure.finish);
        let are_usable = parts.all(|part| on_machine(&&procedures[part.value.index()]));
        let is_alone = procedure.begin.is_empty() && procedure.finish.is_empty();
        if procedure.has_all_parts && are_usable && !is_alone {
            let around = Around {
                begin: ids(&procedure.begin),
                finish: ids(&procedure.finish),
            };
            let (is_of_like, count) = usual.entry(around).or_default();
            *is_of_like |= is_like(procedure);
            *count += 1;
        }
    }
    let mut pairs: Vec<_> = usual.into_iter().collect();
    pairs.sort_by(|(left, a), (right, b)| b.cmp(a).then_with(|| left.cmp(right)));
    pairs.into_iter().map(|(around, _)| around).collect()
}

impl Request<'_> {
    /// The folder that the procedure belongs to: that of the procedures which take the part off, or else do something to
    /// it or to what is next to it. `None` if there are none.
    #[must_use]
    pub(crate) fn folder(&self) -> Option<&str> {
        let part = self.part;
        let named_by = &self.machine.named_by[part.id];
        let near = part.behind.iter().chain(&part.held_by);
        let near = near.chain(&named_by.behind).chain(&named_by.holds);
        let near: BTreeSet<&str> = near
            .map(|part| self.machine.parts[part.value].key.as_str())
            .collect();
        let mut scores: BTreeMap<&str, usize> = BTreeMap::new();
        let procedures = self.sources.procedures.iter();
        for procedure in procedures.filter(|it| it.is_for(self.machine.index)) {
            let steps = procedure
                .steps()
                .filter(|step| step.is_for(self.machine.index));
            for link in steps.flat_map(Step::actions) {
                let key = link.thing.value.as_str();
                let score = match link.verb {
                    Verb::Remove if key == part.key => 1000,
                    _ if key == part.key => 30,
                    Verb::Remove if near.contains(key) => 1,
                    _ => 0,
                };
                *scores.entry(&procedure.system).or_default() += score;
            }
        }
        let best = scores.into_iter().rev().max_by_key(|(_, score)| *score);
        best.filter(|(_, score)| *score > 0)
            .map(|(system, _)| system)
    }

    /// The procedures that take the part off already.
    pub(crate) fn others(&self) -> impl Iterator<Item = &str> {
        let procedures = self.sources.procedures.iter();
        let others = procedures
            .filter(|procedure| procedure.is_for(self.machine.index) && self.takes_off(procedure));
        others.map(|procedure| procedure.id.as_str())
    }

    /// The pairs to try, those of procedures that take the part off first. Last comes none at all.
    fn around(&self) -> Vec<Around> {
        let mut pairs = pairs(self.sources, self.machine, |procedure| {
            self.takes_off(procedure)
        });
        // What comes off before the work can't come off in it.
        let is_off = |around: &Around| {
            let begin = around.begin.iter();
            let mut begin = begin.filter_map(|id| find(self.sources, id));
            begin.any(|procedure| self.takes_off(procedure))
        };
        pairs.retain(|around| !is_off(around));
        pairs.truncate(MOST_PAIRS);
        pairs.push(Around::default());
        pairs
    }

    /// Whether a procedure takes the part off.
    fn takes_off(&self, procedure: &Procedure) -> bool {
        let steps = procedure
            .steps()
            .filter(|step| step.is_for(self.machine.index));
        let mut actions = steps.flat_map(Step::actions);
        actions.any(|link| link.verb == Verb::Remove && link.thing.value == self.part.key)
    }

    /// A draft without steps.
    fn empty(&self, words: &Words, path: &str, around: Around) -> Draft {
        let part = capitalised(&self.part.name);
        let key = if self.part.single_use {
            "removal-title-renew"
        } else {
            "removal-title"
        };
        let mut title = words.source(key, &[("part", &part)]);
        let mut others = self.sources.procedures.iter();
        let is_taken = others.any(|other| {
            other.is_for(self.machine.index)
                && other.title.value.to_lowercase() == title.to_lowercase()
        });
        if is_taken {
            let id = path.rsplit('/').next().unwrap_or(path);
            title = format!("{title} ({})", id.trim_end_matches(".md"));
        }
        Draft {
            title,
            machine: self.machine.id.clone(),
            begin: around.begin,
            finish: around.finish,
            why: String::new(),
            steps: Vec::new(),
        }
    }

    /// The reason for the job, as far as it is known.
    fn why(&self, words: &Words, stripped: &Stripped) -> String {
        let key = match (self.part.single_use, stripped.removed.len()) {
            (true, _) => "removal-why-renew",
            (false, 0 | 1) => "removal-why-alone",
            (false, _) => "removal-why",
        };
        markdown(&words.source(key, &[("part", &self.part.name)]))
    }

    /// Adds the steps that follow from the model.
    fn fill(&self, draft: &mut Draft, stripped: &Stripped, sentences: &Sentences) {
        for planned in &stripped.planned {
            draft.push(planned.chapter, planned.action.as_str());
        }
        let mut inspected = BTreeSet::new();
        for id in &stripped.removed {
            let part = &self.machine.parts[*id];
            if part.clean {
                draft.push(Chapter::Clean, format!("clean:{}", part.key));
            }
            if part.is_judged() && !part.single_use && inspected.insert(*id) {
                draft.push(Chapter::Clean, format!("inspect:{}", part.key));
            }
        }
        for id in &stripped.removed {
            for exposed in &self.machine.named_by[*id].laid_open {
                if inspected.insert(exposed.value) {
                    let part = &self.machine.parts[exposed.value];
                    draft.push(Chapter::Clean, format!("inspect:{}", part.key));
                }
            }
        }
        // A shop says where a fluid comes from, and where it goes.
        for fluid in self.machine.fluids.values() {
            let fill = format!("fill:{}", fluid.key);
            if draft.has(&format!("drain:{}", fluid.key)) && sentences.of(&fill).is_some() {
                draft.push(Chapter::Refit, fill);
            }
        }
    }

    /// Writes below each stop what is signed for.
    fn describe_holds(&self, draft: &mut Draft, stripped: &Stripped, words: &Words) {
        let shop = &self.sources.shop;
        for step in &mut draft.steps {
            let Some(role) = step.action.strip_prefix("hold:") else {
                continue;
            };
            let parts = stripped.removed.iter().map(|id| &self.machine.parts[*id]);
            let signed = parts.filter(|part| {
                let signer = part.signed_by.as_ref().map(|signer| signer.value);
                signer.is_some_and(|signer| shop.roles[signer].key == role)
            });
            let names: Vec<String> = signed.map(|part| part.name.clone()).collect();
            let note = if names.is_empty() {
                words.source("removal-signs", &[])
            } else {
                words.source("removal-signs-for", &[("things", &words.list(&names))])
            };
            step.notes = vec![markdown(&note)];
        }
    }

    /// Says that the settings which the removed fasteners lock are set again.
    fn set_again(&self, draft: &mut Draft, stripped: &Stripped, words: &Words) {
        for reading in self.machine.readings.values() {
            let mut locks = reading.locked_by.iter();
            if !locks.any(|lock| stripped.removed.contains(&lock.value)) {
                continue;
            }
            let mut setting = self.sources.procedures.iter().filter(|procedure| {
                let mut steps = procedure
                    .steps()
                    .filter(|step| step.is_for(self.machine.index));
                procedure.is_for(self.machine.index)
                    && steps.any(|step| {
                        let mut actions = step.actions();
                        actions.any(|link| {
                            link.verb == Verb::Adjust && link.thing.value == reading.key
                        })
                    })
            });
            let text = match setting.next() {
                Some(procedure) => {
                    let link = format!("[](see:procedure/{})", procedure.id);
                    let name = markdown(&reading.name);
                    words.source("removal-set-again", &[("reading", &name), ("place", &link)])
                }
                None => gap(&words.source("removal-set-how", &[("reading", &reading.name)])),
            };
            let at = draft.push(Chapter::Check, "");
            draft.steps[at].text = Some(text);
        }
    }

    /// Marks what the records do not say.
    fn mark_gaps(&self, draft: &mut Draft, sentences: &Sentences, words: &Words) {
        for step in &mut draft.steps {
            let Some(key) = step.action.strip_prefix("drain:") else {
                continue;
            };
            if sentences.of(&step.action).is_none() || step.is_plain {
                let name = self
                    .machine
                    .fluids
                    .get(key)
                    .map_or(key, |fluid| &fluid.name);
                let what = words.source("removal-drained-into", &[("fluid", name)]);
                step.notes.push(gap(&what));
            }
        }
        if draft.finish.is_empty() && self.machine.has_engine() {
            let at = draft.push(Chapter::Check, "");
            draft.steps[at].text = Some(gap(&words.source("removal-tested", &[])));
        }
    }
}
