//! Rules: the kinds of problems, with their manual pages.

use super::Level;

/// The subject of a rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    /// Files, syntax and keys.
    Reading,
    /// Records, and references from one to another.
    Names,
    /// Values and units.
    Quantities,
    /// Values that contradict the trade's arithmetic.
    Trade,
    /// Problems that the rehearsal of a job shows.
    Rehearsal,
    /// Making the sheets.
    Printing,
}

impl Family {
    /// All families, in the order in which sources are read, checked and printed.
    pub const ALL: [Family; 6] = [
        Family::Reading,
        Family::Names,
        Family::Quantities,
        Family::Trade,
        Family::Rehearsal,
        Family::Printing,
    ];

    /// The name in lower case, for addresses and data: `rehearsal`.
    ///
    /// ```
    /// use benchleaf::finding::Family;
    ///
    /// assert_eq!(Family::Rehearsal.name(), "rehearsal");
    /// ```
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Family::Reading => "reading",
            Family::Names => "names",
            Family::Quantities => "quantities",
            Family::Trade => "trade",
            Family::Rehearsal => "rehearsal",
            Family::Printing => "printing",
        }
    }
}

/// A kind of problem, with its manual page.
///
/// The page says what the rule finds, why it matters at the bench, and how to fix it, and has an
/// example. The headings are in [`Rule::PARTS`]. The example is also the rule's test.
#[derive(Debug)]
pub struct Rule {
    /// A short phrase for the problem, such as `unknown-field`.
    pub name: &'static str,
    /// The subject.
    pub family: Family,
    /// The level, unless the shop sets another.
    pub level: Level,
    /// The manual page in Markdown. It is a doc comment, so each line begins with a space.
    pub page: &'static str,
}

impl Rule {
    /// The headings of every page. They follow a first paragraph about what the rule finds.
    pub const PARTS: [&'static str; 3] = ["## At the bench", "## Example", "## Fix"];

    /// The manual page in Markdown, without the space that begins each line of a doc comment.
    #[must_use]
    pub fn markdown(&self) -> String {
        let lines = self.page.lines();
        let lines: Vec<&str> = lines
            .map(|line| line.strip_prefix(' ').unwrap_or(line))
            .collect();
        lines.join("\n").trim().to_owned()
    }

    /// What the rule finds, in one sentence: the first line of its page.
    #[must_use]
    pub fn summary(&self) -> &'static str {
        let first = self.page.trim_start().lines().next();
        first.unwrap_or_default().trim_end()
    }
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
