//! What is said about a place in the sources.
//!
//! Comes in: nothing; this is the lowest module. Goes out: [`Finding`], the one
//! value in which every stage says what can't be right, and [`Rule`], the
//! manual page behind each. It never prints, exits or knows a format: that is
//! `report`'s.
//!
//! A finding's wording: lower case, no full stop, names and values in
//! backticks; the message says what is wrong and stands alone, a label points,
//! the help says how to mend it.

use std::fmt;
use std::ops::Range;

/// A source file of a tree, by its place in the tree's sorted list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FileId(pub(crate) u32);

/// A stretch of bytes of one source file.
///
/// Invariant: `start <= end`, both on character boundaries of the file's text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span {
    /// The file.
    pub file: FileId,
    /// A tree holds very many: half as wide as a length, they take half the room and the time.
    start: u32,
    end: u32,
}

impl Span {
    /// The bytes of a file that `range` names.
    #[must_use]
    pub fn new(file: FileId, range: Range<usize>) -> Span {
        // No source is as long as that: see `tree`.
        let place = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        Span {
            file,
            start: place(range.start),
            end: place(range.end),
        }
    }

    /// Its first byte.
    #[must_use]
    pub fn start(self) -> usize {
        self.start as usize
    }

    /// The byte after its last.
    #[must_use]
    pub fn end(self) -> usize {
        self.end as usize
    }

    /// Its bytes.
    #[must_use]
    pub fn range(self) -> Range<usize> {
        self.start()..self.end()
    }

    /// How many bytes it has.
    #[must_use]
    pub fn len(self) -> usize {
        self.range().len()
    }

    /// Whether it is a place between two bytes.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.start == self.end
    }

    /// Whether all of another stands in it.
    #[must_use]
    pub fn holds(self, other: Span) -> bool {
        self.file == other.file && self.start <= other.start && other.end <= self.end
    }

    /// The part of this span that `range` names, counted from its start.
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

/// A value and where it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Located<T> {
    /// The value.
    pub value: T,
    /// Where it was written.
    pub span: Span,
}

impl<T> Located<T> {
    /// The same place with another value.
    pub fn with<U>(&self, value: U) -> Located<U> {
        Located {
            value,
            span: self.span,
        }
    }
}

/// How much a finding matters, from least to most.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// The page would be right, and could be better.
    Advice,
    /// The page may be wrong: someone should look.
    Warning,
    /// The page would be wrong: it is not printed.
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
    DryRun,
    /// Making the leaves.
    Printing,
}

/// A rule: one thing that can be wrong, with its manual page.
///
/// The page says what the rule finds, why it matters at the bench, an example
/// that trips it and the mend, under the headings that [`Rule::PARTS`] lists.
/// The example is the rule's test.
#[derive(Debug)]
pub struct Rule {
    /// Its name, a short phrase for the fault: `unknown-key`.
    pub name: &'static str,
    /// What it is about.
    pub family: Family,
    /// The level where the shop sets no other.
    pub level: Level,
    /// Its manual page, Markdown.
    pub page: &'static str,
}

impl Rule {
    /// The headings every page has, after a first paragraph that says what the rule finds.
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

/// A place that plays a part in a finding, with a word on which.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// The place, as narrow as still shows the fault.
    pub span: Span,
    /// The word on it; may be empty.
    pub label: String,
}

/// One thing that can't be right, or could be better.
#[derive(Clone, Debug)]
pub struct Finding {
    /// The rule it breaks.
    pub rule: &'static Rule,
    /// Its level here, after the shop's own settings.
    pub level: Level,
    /// What is wrong, whole without its marks.
    pub message: String,
    /// Where; none for a fault of no single file.
    pub primary: Option<Mark>,
    /// The other places that played a part.
    pub others: Vec<Mark>,
    /// How to mend it.
    pub help: Option<String>,
    /// The jobs it was found in, where it is about jobs.
    pub jobs: Vec<String>,
}

impl Finding {
    /// A finding at its rule's own level, of no place yet.
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

    /// Says where, with a word on it (which may be empty).
    #[must_use]
    pub fn at(mut self, span: Span, label: impl Into<String>) -> Finding {
        self.primary = Some(Mark {
            span,
            label: label.into(),
        });
        self
    }

    /// Adds another place that played a part.
    #[must_use]
    pub fn and(mut self, span: Span, label: impl Into<String>) -> Finding {
        self.others.push(Mark {
            span,
            label: label.into(),
        });
        self
    }

    /// Says how to mend it.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Finding {
        self.help = Some(help.into());
        self
    }

    /// Says in which job it was found; the same fault of several jobs is said once.
    #[must_use]
    pub fn in_job(mut self, job: String) -> Finding {
        self.jobs.push(job);
        self
    }

    /// What is wrong, and in which jobs where it is about jobs.
    #[must_use]
    pub fn whole_message(&self) -> String {
        match self.jobs.as_slice() {
            [] => self.message.clone(),
            [one] => format!("{} in {one}", self.message),
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

    /// Offers the near name, where there is one.
    #[must_use]
    pub fn near(self, near: Option<&str>) -> Finding {
        match near {
            Some(name) => self.help(format!("did you mean `{name}`?")),
            None => self,
        }
    }
}

/// Everything that was found, in any order until [`Findings::sort`].
#[derive(Clone, Debug, Default)]
pub struct Findings(Vec<Finding>);

impl Findings {
    /// None yet.
    #[must_use]
    pub fn new() -> Findings {
        Findings::default()
    }

    /// Adds one.
    pub fn push(&mut self, finding: Finding) {
        self.0.push(finding);
    }

    /// Adds all of another list.
    pub fn extend(&mut self, other: Findings) {
        self.0.extend(other.0);
    }

    /// Each in turn.
    pub fn iter(&self) -> std::slice::Iter<'_, Finding> {
        self.0.iter()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// How many are of a level.
    #[must_use]
    pub fn count(&self, level: Level) -> usize {
        self.iter().filter(|found| found.level == level).count()
    }

    /// Sets each finding's level, or drops it where `level_of` gives none.
    pub fn set_levels(&mut self, mut level_of: impl FnMut(&Finding) -> Option<Level>) {
        self.0
            .retain_mut(|found| level_of(found).map(|level| found.level = level).is_some());
    }

    /// Puts them in order of file, place, rule and message, and says each only once:
    /// a shared procedure's fault is found in every job that uses it.
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

/// The known name nearest to a mistyped one, or none where all are far:
/// a wild guess is never offered.
///
/// ```
/// use benchleaf::finding::nearest;
/// assert_eq!(nearest("torqe", ["torque", "thread"]), Some("torque"));
/// assert_eq!(nearest("weight", ["torque", "thread"]), None);
/// ```
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // A third of the letters may be off, and at least one, as in "nut" for "nuts".
    let limit = (name.chars().count() / 3).max(1);
    known
        .into_iter()
        .map(|candidate| (strsim::damerau_levenshtein(name, candidate), candidate))
        .filter(|(distance, _)| *distance <= limit)
        .min()
        .map(|(_, candidate)| candidate)
}
