//! Findings: what is wrong at a place in the sources.
//!
//! In: nothing. Out: [`Finding`], the value in which every stage reports, and
//! [`Rule`], the manual page behind it. This stage never prints and knows no
//! format: `report` does.
//!
//! The wording of a finding: lower case, no full stop, names and values in
//! backticks. The message says what is wrong and can be read by itself. A label
//! points, and the help says how to fix it.

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
    /// The file that it is in.
    pub file: FileId,
    // A tree has many spans: `u32` takes half the memory of `usize`.
    start: u32,
    end: u32,
}

impl Span {
    /// A range of a file's bytes.
    #[must_use]
    pub fn new(file: FileId, range: Range<usize>) -> Span {
        // `tree` reads no longer file.
        let offset = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        Span {
            file,
            start: offset(range.start),
            end: offset(range.end),
        }
    }

    /// The offset of its first byte.
    #[must_use]
    pub fn start(self) -> usize {
        self.start as usize
    }

    /// The offset after its last byte.
    #[must_use]
    pub fn end(self) -> usize {
        self.end as usize
    }

    /// Its offsets.
    #[must_use]
    pub fn range(self) -> Range<usize> {
        self.start()..self.end()
    }

    /// Its length in bytes.
    #[must_use]
    pub fn len(self) -> usize {
        self.range().len()
    }

    /// Whether it has no bytes: it is a position between two.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.start == self.end
    }

    /// Whether it contains all of another span.
    #[must_use]
    pub fn holds(self, other: Span) -> bool {
        self.file == other.file && self.start <= other.start && other.end <= self.end
    }

    /// A part of this span. The range counts from the span's start.
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
    pub fn with<U>(&self, value: U) -> Located<U> {
        Located {
            value,
            span: self.span,
        }
    }
}

/// How serious a finding is. Errors are the greatest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// The page is right, and could be better.
    Advice,
    /// The page may be wrong.
    Warning,
    /// The page would be wrong, and is not made.
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

/// What a rule is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Family {
    /// Files, syntax, keys.
    Reading,
    /// References from one record to another.
    Names,
    /// Values and units.
    Quantities,
    /// The trade's arithmetic against what the files say.
    Trade,
    /// What goes wrong when the job is rehearsed.
    Rehearsal,
    /// Making the leaves.
    Printing,
}

/// A kind of fault, with its manual page.
///
/// The page has what the rule finds, why it matters at the bench, an example and the fix, under the
/// headings in [`Rule::PARTS`]. The example is the rule's test.
#[derive(Debug)]
pub struct Rule {
    /// A short phrase for the fault: `unknown-key`.
    pub name: &'static str,
    /// What it is about.
    pub family: Family,
    /// The level, unless the shop sets another.
    pub level: Level,
    /// Its manual page, Markdown.
    pub page: &'static str,
}

impl Rule {
    /// The headings that every page has, after a first paragraph about what the rule finds.
    pub const PARTS: [&'static str; 3] = ["## At the bench", "## Example", "## Mend"];
}

/// Declares a [`Rule`] whose manual page is its own doc comment.
macro_rules! rule {
    ($(#[doc = $line:literal])+ $name:literal, $family:ident, $level:ident => $vis:vis $ident:ident) => {
        $(#[doc = $line])+
        $vis static $ident: $crate::finding::Rule = $crate::finding::Rule {
            name: $name,
            family: $crate::finding::Family::$family,
            level: $crate::finding::Level::$level,
            page: concat!($($line, "\n"),+),
        };
    };
}
pub(crate) use rule;

/// A span of a finding, with a label.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// The narrowest span that shows the fault.
    pub span: Span,
    /// What happens there. May be empty.
    pub label: String,
}

/// A fault in the sources.
#[derive(Clone, Debug)]
pub struct Finding {
    /// The rule that found it.
    pub rule: &'static Rule,
    /// Its level, after the shop's settings.
    pub level: Level,
    /// What is wrong. It can be read without the spans.
    pub message: String,
    /// Where it is. None when it is not in any one file.
    pub primary: Option<Mark>,
    /// Other places that are part of it.
    pub others: Vec<Mark>,
    /// How to fix it.
    pub help: Option<String>,
    /// The jobs it was found in, if it is about jobs.
    pub jobs: Vec<String>,
}

impl Finding {
    /// A finding at its rule's level, without any span.
    pub fn new(rule: &'static Rule, message: impl Into<String>) -> Finding {
        Finding {
            rule,
            level: rule.level,
            message: message.into(),
            primary: None,
            others: Vec::new(),
            help: None,
            jobs: Vec::new(),
        }
    }

    /// Sets where it is, with a label, which may be empty.
    #[must_use]
    pub fn primary(mut self, span: Span, label: impl Into<String>) -> Finding {
        self.primary = Some(Mark {
            span,
            label: label.into(),
        });
        self
    }

    /// Adds another place that is part of it.
    #[must_use]
    pub fn secondary(mut self, span: Span, label: impl Into<String>) -> Finding {
        self.others.push(Mark {
            span,
            label: label.into(),
        });
        self
    }

    /// Sets how to fix it.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Finding {
        self.help = Some(help.into());
        self
    }

    /// Adds the job it was found in. The same fault in several jobs becomes one finding.
    #[must_use]
    pub fn in_job(mut self, job: String) -> Finding {
        self.jobs.push(job);
        self
    }

    /// The message with the jobs it was found in.
    #[must_use]
    pub fn whole_message(&self) -> String {
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

    /// Suggests a similar name, if there is one.
    #[must_use]
    pub fn suggest(self, near: Option<&str>) -> Finding {
        match near {
            Some(name) => self.help(format!("did you mean `{name}`?")),
            None => self,
        }
    }
}

/// A list of findings. They are in no order until [`Findings::sort`].
#[derive(Clone, Debug, Default)]
pub struct Findings(Vec<Finding>);

impl Findings {
    /// An empty list.
    #[must_use]
    pub fn new() -> Findings {
        Findings::default()
    }

    /// Adds a finding.
    pub fn push(&mut self, finding: Finding) {
        self.0.push(finding);
    }

    /// Adds all findings of another list.
    pub fn extend(&mut self, other: Findings) {
        self.0.extend(other.0);
    }

    /// The findings, in order.
    pub fn iter(&self) -> std::slice::Iter<'_, Finding> {
        self.0.iter()
    }

    /// Whether it has no findings.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The number of findings of a level.
    #[must_use]
    pub fn count(&self, level: Level) -> usize {
        self.iter().filter(|found| found.level == level).count()
    }

    /// Sets the level of each finding. A finding without a level is removed.
    pub fn set_levels(&mut self, mut level_of: impl FnMut(&Finding) -> Option<Level>) {
        self.0
            .retain_mut(|found| level_of(found).map(|level| found.level = level).is_some());
    }

    /// Sorts by file, place, rule and message, and merges equal findings: a fault in a shared
    /// procedure is found in every job that uses it.
    pub fn sort(&mut self) {
        fn key(found: &Finding) -> (Option<Span>, &'static str, &str) {
            let place = found.primary.as_ref().map(|mark| mark.span);
            (place, found.rule.name, &found.message)
        }
        self.0.sort_by(|a, b| key(a).cmp(&key(b)));
        self.0.dedup_by(|later, first| {
            let is_same = key(later) == key(first);
            if is_same {
                first.jobs.append(&mut later.jobs);
            }
            is_same
        });
    }
}

impl<'a> IntoIterator for &'a Findings {
    type Item = &'a Finding;
    type IntoIter = std::slice::Iter<'a, Finding>;
    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

/// The known name that is most similar to a mistyped one. None when no name is similar.
///
/// ```
/// use benchleaf::finding::nearest;
/// assert_eq!(nearest("torqe", ["torque", "thread"]), Some("torque"));
/// assert_eq!(nearest("weight", ["torque", "thread"]), None);
/// ```
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // A third of the letters may differ, and at least one, as in "nut" for "nuts".
    let limit = (name.chars().count() / 3).max(1);
    known
        .into_iter()
        .map(|candidate| (strsim::damerau_levenshtein(name, candidate), candidate))
        .filter(|(distance, _)| *distance <= limit)
        .min()
        .map(|(_, candidate)| candidate)
}
