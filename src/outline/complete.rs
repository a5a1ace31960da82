//! Completes a draft: it is rehearsed, and what the rules propose is added, until they find nothing more.
//!
//! A rule knows what has to be done before or after an action, and says so in its proposals: isolate and prove an
//! energy, confirm a condition, put on gloves, have somebody sign. So nothing of that is repeated here. Each proposal
//! is tried at the places where it may belong, and the place with the fewest findings is kept.

use super::bench::{self, Bench, ERROR, Problem};
use super::changes::Changes;
use super::draft::Draft;

/// The most changes to a draft. A procedure of the demonstration needs about ten.
const MOST_CHANGES: usize = 80;

/// The most rehearsals for one draft. A procedure of the demonstration needs about twenty.
const MOST_REHEARSALS: usize = 1_000;

/// How much worse a draft may become by a change that solves a problem.
const SLACK: usize = 2 * ERROR;

/// Completes a draft. Returns the problems that are left.
pub(super) fn complete(bench: &mut Bench<'_>, draft: &mut Draft) -> Vec<Problem> {
    let mut rehearsals = 0;
    let mut problems = bench.problems(draft);
    let mut given_up: Vec<(&str, String)> = Vec::new();
    for _ in 0..MOST_CHANGES {
        let open = problems.iter().find(|problem| {
            let finding = &problem.finding;
            !given_up
                .iter()
                .any(|(rule, message)| *rule == finding.rule.name && *message == finding.message)
        });
        let Some(open) = open.cloned() else { break };
        match best(bench, draft, &open, &problems, &mut rehearsals) {
            Some((better, left)) => {
                *draft = better;
                problems = left;
            }
            None => given_up.push((open.finding.rule.name, open.finding.message)),
        }
    }
    problems
}

/// The best of the changes that solve a problem: the draft, and the problems that it still has.
fn best(
    bench: &mut Bench<'_>,
    draft: &Draft,
    problem: &Problem,
    before: &[Problem],
    rehearsals: &mut usize,
) -> Option<(Draft, Vec<Problem>)> {
    let changes = Changes {
        sources: bench.sources,
        machine: bench.machine,
    };
    let mut best: Option<(usize, Draft, Vec<Problem>)> = None;
    for changed in changes.of(draft, problem) {
        if *rehearsals >= MOST_REHEARSALS {
            break;
        }
        *rehearsals += 1;
        let left = bench.problems(&changed);
        let is_solved = !left.iter().any(|other| is_same(other, problem));
        let weight = bench::weight(&left);
        // A change may lead to another one, such as a note of the position to a part in front.
        let is_allowed = is_solved && weight <= bench::weight(before) + SLACK;
        if is_allowed && best.as_ref().is_none_or(|(least, ..)| weight < *least) {
            let is_perfect = left.is_empty() || weight + ERROR <= bench::weight(before);
            best = Some((weight, changed, left));
            if is_perfect {
                break;
            }
        }
    }
    best.map(|(_, draft, left)| (draft, left))
}

fn is_same(other: &Problem, problem: &Problem) -> bool {
    other.finding.rule.name == problem.finding.rule.name
        && other.finding.message == problem.finding.message
}
