//! Findings: what is wrong at a place in the sources.
//!
//! In: nothing. Out: [`Finding`], the type in which every stage reports problems,
//! and [`Rule`], which has the manual page of a finding. This stage never prints
//! and knows no output format; `report` does both.
//!
//! Wording of a finding: lower case, no full stop, names and values in backticks.
//! The message says what is wrong and can be read alone. A label says what is at
//! its span. The help says how to fix the problem; every finding has one. It never
//! says to leave out a step that protects somebody. Where the fix is a change of the
//! text, the finding has it as [`Edit`]s.

mod by_file;
mod edit;
mod near;
mod rule;

pub(crate) use by_file::FindingsByFile;
pub use edit::Edit;
pub(crate) use edit::{Place, Proposal};
pub(crate) use near::{Near, nearest};
pub(crate) use rule::rule;
pub use rule::{Family, Rule};
use std::collections::BTreeMap;
use std::fmt;
use std::ops::Range;

/// A source file, by its index in the tree.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FileId(pub(crate) u32);

/// A range of bytes in one source file.
///
/// Invariant: `start <= end`, and both are character boundaries of the file's text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span {
    /// The file that the range is in.
    pub file: FileId,
    // A tree has many spans, and `u32` needs half the memory of `usize`.
    start: u32,
    end: u32,
}

impl Span {
    /// A range of a file's bytes.
    #[must_use]
    pub fn new(file: FileId, range: Range<usize>) -> Span {
        // Does not overflow: `tree` reads no file that long.
        let to_u32 = |offset: usize| u32::try_from(offset).unwrap_or(u32::MAX);
        Span {
            file,
            start: to_u32(range.start),
            end: to_u32(range.end),
        }
    }

    /// Byte offset of the start.
    #[must_use]
    pub fn start(self) -> usize {
        self.start as usize
    }

    /// Byte offset of the end, exclusive.
    #[must_use]
    pub fn end(self) -> usize {
        self.end as usize
    }

    /// The byte offsets as a range.
    #[must_use]
    pub fn range(self) -> Range<usize> {
        self.start()..self.end()
    }

    /// Length in bytes.
    #[must_use]
    pub fn len(self) -> usize {
        self.range().len()
    }

    /// Whether the span is a position between two bytes.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.start == self.end
    }

    /// Whether it contains all of another span.
    #[must_use]
    pub fn contains(self, other: Span) -> bool {
        self.file == other.file && self.start <= other.start && other.end <= self.end
    }

    /// A part of this span. The range is relative to the span's start, and is cut at the span's end.
    ///
    /// ```
    /// # use benchleaf::tree::Memory;
    /// # let tree = benchleaf::tree::read(&Memory::new([("shop.toml", "name")]));
    /// let span = tree.files[0].whole().part(1..3);
    /// assert_eq!(tree.text(span), "am");
    /// ```
    #[must_use]
    pub fn part(self, range: Range<usize>) -> Span {
        let end = (self.start() + range.end).min(self.end());
        let start = (self.start() + range.start).min(end);
        Span::new(self.file, start..end)
    }
}

/// A value with its span in the sources.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Located<T> {
    /// The value.
    pub value: T,
    /// Its span.
    pub span: Span,
}

impl<T> Located<T> {
    /// Another value with the same span.
    pub(crate) fn with<U>(&self, value: U) -> Located<U> {
        Located {
            value,
            span: self.span,
        }
    }
}

/// The severity of a finding, in rising order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// The page is right but could be better.
    Advice,
    /// The page may be wrong.
    Warning,
    /// The page would be wrong, so it is not made.
    Error,
}

impl fmt::Display for Level {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Level::Advice => "advice",
            Level::Warning => "warning",
            Level::Error => "error",
        })
    }
}

/// A span of a finding, with a label.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// The narrowest span that shows the problem.
    pub span: Span,
    /// What is at the span. Can be empty.
    pub label: String,
}

/// What a finding blames: a state of a thing, and the action that brought the thing into it.
///
/// Findings with the same cause have one fault. The first of them is reported, and the others, its
/// consequences, are not.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Cause {
    /// The thing, such as "part cover".
    pub(crate) thing: String,
    /// The action. `None` if the thing has been in that state since the job began.
    pub(crate) since: Option<Span>,
    /// Whether one missing step, in text that several jobs share, can be the cause in all of them.
    pub(crate) is_shared: bool,
}

/// A problem in the sources.
#[derive(Clone, Debug)]
pub struct Finding {
    /// The rule that was violated.
    pub rule: &'static Rule,
    /// The severity, with the shop's settings applied.
    pub level: Level,
    /// What is wrong. Understandable without the spans.
    pub message: String,
    /// The main location. None if the problem is not in a particular file.
    pub primary: Option<Mark>,
    /// Further locations.
    pub others: Vec<Mark>,
    /// How to fix it. Every finding of a check has it.
    pub help: Option<String>,
    /// The changes that fix it, to be applied together. Empty if the fix is not known exactly.
    pub edits: Vec<Edit>,
    /// The jobs that have the problem. Empty if it is not about jobs.
    pub jobs: Vec<String>,
    /// The steps that may fix it. They become edits if the rehearsal shows that they do.
    pub(crate) proposals: Vec<Proposal>,
    /// Empty if no other finding can have the same cause.
    pub(crate) causes: Vec<Cause>,
}

impl Finding {
    /// A finding with the rule's default level and no location.
    pub(crate) fn new(rule: &'static Rule, message: impl Into<String>) -> Finding {
        Finding {
            rule,
            level: rule.level,
            message: message.into(),
            primary: None,
            others: Vec::new(),
            help: None,
            edits: Vec::new(),
            jobs: Vec::new(),
            proposals: Vec::new(),
            causes: Vec::new(),
        }
    }

    /// Sets the main location, with a label that can be empty.
    #[must_use]
    pub(crate) fn primary(mut self, span: Span, label: impl Into<String>) -> Finding {
        self.primary = Some(Mark {
            span,
            label: label.into(),
        });
        self
    }

    /// Adds a further location.
    #[must_use]
    pub(crate) fn secondary(mut self, span: Span, label: impl Into<String>) -> Finding {
        self.others.push(Mark {
            span,
            label: label.into(),
        });
        self
    }

    /// Sets the help: how to fix the problem.
    #[must_use]
    pub(crate) fn help(mut self, help: impl Into<String>) -> Finding {
        self.help = Some(help.into());
        self
    }

    /// Adds a job that has the problem. `Findings::sort` merges the same finding in several jobs.
    #[must_use]
    pub(crate) fn in_job(mut self, job: String) -> Finding {
        self.jobs.push(job);
        self
    }

    /// Its main location and its further ones.
    pub(crate) fn marks(&self) -> impl Iterator<Item = &Mark> {
        self.primary.iter().chain(&self.others)
    }

    /// Adds the jobs that it does not have yet.
    pub(crate) fn add_jobs(&mut self, jobs: &mut Vec<String>) {
        jobs.retain(|job| !self.jobs.contains(job));
        self.jobs.append(jobs);
    }

    /// The message, followed by the jobs that have the problem.
    #[must_use]
    pub(crate) fn whole_message(&self) -> String {
        match self.jobs.as_slice() {
            [] => self.message.clone(),
            [job] => format!("{} in {job}", self.message),
            [first, rest @ ..] => {
                let jobs = if rest.len() == 1 { "job" } else { "jobs" };
                format!(
                    "{} in {first} and {} other {jobs}",
                    self.message,
                    rest.len()
                )
            }
        }
    }

    /// Adds an edit.
    #[must_use]
    pub(crate) fn edit(mut self, span: Span, replacement: impl Into<String>) -> Finding {
        self.edits.push(Edit {
            span,
            replacement: replacement.into(),
        });
        self
    }

    /// Sets the help to suggest this name, if there is one, or else to another text.
    #[must_use]
    pub(crate) fn suggest<'n>(
        self,
        similar: Option<impl Into<Near<'n>>>,
        otherwise: impl Into<String>,
    ) -> Finding {
        match similar.map(Into::into) {
            Some(Near { name, .. }) => self.help(format!("did you mean `{name}`?")),
            None => self.help(otherwise),
        }
    }

    /// Adds the edit that writes a name in place of the mistyped one, if there is a name that is certain. `typed` is the
    /// text at the main location. Does nothing if the location is longer, as that of a text with escapes.
    #[must_use]
    pub(crate) fn corrected<'n>(
        self,
        typed: &str,
        similar: Option<impl Into<Near<'n>>>,
    ) -> Finding {
        let place = self.primary.as_ref().map(|mark| mark.span);
        let similar = similar.map(Into::into).filter(|near| near.is_certain);
        match (similar, place.filter(|span| span.len() == typed.len())) {
            (Some(near), Some(span)) => self.edit(span, near.name),
            _ => self,
        }
    }
}

/// A list of findings. Those of a check are in order of file and position.
#[derive(Clone, Debug, Default)]
pub struct Findings(Vec<Finding>);

impl Findings {
    /// An empty list.
    #[must_use]
    pub(crate) fn new() -> Findings {
        Findings::default()
    }

    /// Adds a finding. It must have help.
    pub(crate) fn push(&mut self, finding: Finding) {
        let help = finding.help.as_deref().unwrap_or_default();
        debug_assert!(
            !help.is_empty(),
            "a finding of `{}` has no help: {}",
            finding.rule.name,
            finding.message
        );
        self.0.push(finding);
    }

    /// Adds all findings of another list.
    pub(crate) fn extend(&mut self, other: Findings) {
        self.0.extend(other.0);
    }

    /// All findings, which may be changed.
    pub(crate) fn all_mut(&mut self) -> &mut [Finding] {
        &mut self.0
    }

    /// Iterates over the findings.
    pub fn iter(&self) -> std::slice::Iter<'_, Finding> {
        self.0.iter()
    }

    /// Whether there are no findings.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The number of findings of a level.
    #[must_use]
    pub fn count(&self, level: Level) -> usize {
        self.iter().filter(|finding| finding.level == level).count()
    }

    /// The findings to show if not all can be: at most `most` in all and `most_of_rule` of each rule, those of the worst
    /// level first, otherwise in their order. All of them in their order if there are no more.
    pub(crate) fn to_show(&self, most: usize, most_of_rule: usize) -> Vec<&Finding> {
        if self.0.len() <= most {
            return self.0.iter().collect();
        }
        let mut of_rule: BTreeMap<&str, usize> = BTreeMap::new();
        let mut shown: Vec<&Finding> = self.0.iter().collect();
        shown.sort_by_key(|finding| std::cmp::Reverse(finding.level));
        shown.retain(|finding| {
            let count = of_rule.entry(finding.rule.name).or_default();
            *count += 1;
            *count <= most_of_rule
        });
        shown.truncate(most);
        shown
    }

    /// Removes the findings for which `keep` is false.
    pub(crate) fn retain(&mut self, keep: impl FnMut(&Finding) -> bool) {
        self.0.retain(keep);
    }

    /// Sets the level of each finding to the result of a function. Removes the finding if the result is
    /// None.
    pub(crate) fn set_levels(&mut self, mut level_of: impl FnMut(&Finding) -> Option<Level>) {
        self.0.retain_mut(|finding| {
            let level = level_of(finding);
            level.map(|level| finding.level = level).is_some()
        });
    }

    /// Sorts by file, position, rule and message. Merges equal findings, because a problem in a shared
    /// procedure is found in every job that uses it.
    pub(crate) fn sort(&mut self) {
        fn key(finding: &Finding) -> (Option<Span>, &'static str, &str) {
            let span = finding.primary.as_ref().map(|mark| mark.span);
            (span, finding.rule.name, &finding.message)
        }
        self.0.sort_by(|a, b| key(a).cmp(&key(b)));
        self.0.dedup_by(|later, first| {
            let is_same = key(later) == key(first);
            if is_same {
                first.add_jobs(&mut later.jobs);
                // An edit that fixes only some of the jobs is no fix.
                if first.edits != later.edits {
                    first.edits.clear();
                }
            }
            is_same
        });
    }
}

impl FromIterator<Finding> for Findings {
    fn from_iter<I: IntoIterator<Item = Finding>>(findings: I) -> Findings {
        Findings(findings.into_iter().collect())
    }
}

impl IntoIterator for Findings {
    type Item = Finding;
    type IntoIter = std::vec::IntoIter<Finding>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}

impl<'a> IntoIterator for &'a Findings {
    type Item = &'a Finding;
    type IntoIter = std::slice::Iter<'a, Finding>;
    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}
