//! The courses that a job can take, as far as its steps depend on what is found.

use crate::job::{Job, JobStep, When};
use crate::procedure::Found;
use crate::shop::ThingId;

/// One course of a job: what is found in it, and whether steps are repeated.
#[derive(Clone, Debug, Default)]
pub(crate) struct Course<'a> {
    /// What is found of each thing that steps depend on, with a step's mark that says so. Of any other thing, nothing is
    /// wrong: a reading is within its limits, and a part is used again.
    found: Vec<(When<'a>, Found)>,
    /// Whether the steps that can be repeated are done twice.
    repeats: bool,
}

/// A thing that steps depend on, with the outcomes that make a difference. The first is the one in which nothing is wrong.
struct Subject<'a> {
    when: When<'a>,
    others: Vec<Found>,
}

impl<'a> Course<'a> {
    /// The courses of a job: nothing is wrong; each thing that can be wrong alone; and all of them together. So steps that
    /// depend on outcomes are rehearsed each alone and all at once.
    pub(crate) fn of(job: &Job<'a>) -> Vec<Course<'a>> {
        let steps = || job.earlier_steps().chain(job.steps());
        let mut subjects: Vec<Subject<'a>> = Vec::new();
        for when in steps().filter_map(|step| step.when) {
            let index = subjects
                .iter()
                .position(|subject| subject.when.thing.id() == when.thing.id());
            let index = index.unwrap_or_else(|| {
                let others = Vec::new();
                subjects.push(Subject { when, others });
                subjects.len() - 1
            });
            // Whatever is not an outcome of the step makes a difference as well.
            let ways = [Some(when.outcome), when.outcome.otherwise()];
            for way in ways.into_iter().flatten() {
                let others = &mut subjects[index].others;
                let is_good = Found::GOOD.into_iter().any(|good| way.has(good));
                if !is_good && !others.iter().any(|known| way.has(*known)) {
                    others.extend(way.each().next());
                }
            }
        }
        let mut courses = vec![Course::default()];
        for subject in &subjects {
            courses.extend(subject.others.iter().map(|found| Course {
                found: vec![(subject.when, *found)],
                repeats: false,
            }));
        }
        let has_loop = steps().any(|step| step.repeat.is_some());
        let together = subjects.iter().map(|subject| subject.others.len()).max();
        let is_several = subjects.len() > 1 || has_loop;
        for turn in 0..together.unwrap_or_default().max(usize::from(has_loop)) {
            if !is_several {
                break;
            }
            let found = subjects.iter().filter_map(|subject| {
                let count = subject.others.len();
                let found = subject.others.get(turn % count.max(1))?;
                Some((subject.when, *found))
            });
            courses.push(Course {
                found: found.collect(),
                repeats: has_loop,
            });
        }
        courses
    }

    /// Whether it is the course in which nothing is wrong.
    pub(crate) fn is_plain(&self) -> bool {
        self.found.is_empty() && !self.repeats
    }

    /// Whether a step is done.
    pub(crate) fn has(&self, step: &JobStep<'_>) -> bool {
        step.when.is_none_or(|when| {
            let found = self.found_of(when.thing.id());
            found.map_or_else(
                || Found::GOOD.into_iter().any(|good| when.outcome.has(good)),
                |found| when.outcome.has(found),
            )
        })
    }

    fn found_of(&self, thing: Option<ThingId>) -> Option<Found> {
        let mut found = self.found.iter();
        found
            .find(|(when, _)| when.thing.id() == thing)
            .map(|(_, found)| *found)
    }

    /// What is found in it, as in marks: "`float-height.over` and `needle.renew`". Empty if nothing is wrong.
    pub(crate) fn words(&self) -> String {
        let found = self.found.iter();
        let mut names: Vec<String> = found
            .map(|(when, found)| format!("`{}.{}`", when.thing.key(), found.word()))
            .collect();
        if self.repeats {
            names.push("a repetition".to_owned());
        }
        match names.split_last() {
            None => String::new(),
            Some((last, [])) => last.clone(),
            Some((last, others)) => format!("{} and {last}", others.join(", ")),
        }
    }

    /// The steps of a course, in the order in which they are done.
    pub(crate) fn steps<'s>(
        &self,
        steps: impl Iterator<Item = &'s JobStep<'a>>,
    ) -> Vec<&'s JobStep<'a>>
    where
        'a: 's,
    {
        let mut done: Vec<&JobStep<'a>> = Vec::new();
        for step in steps.filter(|step| self.has(step)) {
            done.push(step);
            let Some(repeat) = step.repeat.filter(|_| self.repeats) else {
                continue;
            };
            let is_first = |first: &&JobStep<'_>| {
                first.id == Some(repeat.back_to) && first.origin.file == step.origin.file
            };
            if let Some(first) = done.iter().rposition(is_first) {
                done.extend_from_within(first..);
            }
        }
        done
    }
}
