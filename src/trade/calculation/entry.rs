//! What the table of calculations says of each of them.

use super::given::Given;
use super::input::Input;
use super::worked::Worked;
use crate::quantity::Kind;
use crate::trade::error::Error;

/// A calculation of the bench: a row of the table of calculations.
///
/// The command `benchleaf calculate`, the page of the documentation, and the limits that a reading takes from a
/// calculation all follow from it.
///
/// ```
/// use benchleaf::quantity::Gallons;
/// use benchleaf::trade::Calculation;
///
/// let calculation = Calculation::named("ring-gap").unwrap();
/// let bore = calculation.input("bore").unwrap();
/// let given = [bore.parse("66 mm", Gallons::Unstated).unwrap()];
/// let answer = calculation.answer(&given)?;
/// assert_eq!(answer.results[0].text(), "0.264\u{a0}mm");
/// assert_eq!(answer.lines, ["gap = 0.004 × 66\u{a0}mm = 0.264\u{a0}mm"]);
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
#[derive(Debug)]
#[non_exhaustive]
pub struct Calculation {
    /// Its name: lower-case words, joined by hyphens.
    pub name: &'static str,
    /// What it calculates, to follow "calculates".
    pub title: &'static str,
    /// How its results are defined, in sentences.
    pub definition: &'static str,
    /// Where the definition and the figures come from.
    pub sources: &'static [Source],
    /// What it needs to know, in the order of its help.
    pub inputs: &'static [Input],
    /// What it gives, the main result first.
    pub results: &'static [Outcome],
    /// What can hurt somebody at this work, in sentences.
    pub caution: Option<&'static str>,
    /// Inputs of an example, by name.
    pub example: &'static [(&'static str, &'static str)],
    /// The arithmetic.
    pub(super) work: fn(&Given<'_>) -> Result<Worked, Error>,
}

impl Calculation {
    /// The input of a name.
    #[must_use]
    pub fn input(&self, name: &str) -> Option<&'static Input> {
        self.inputs.iter().find(|input| input.name == name)
    }

    /// The result of a name.
    #[must_use]
    pub fn result(&self, name: &str) -> Option<&'static Outcome> {
        self.results.iter().find(|result| result.name == name)
    }
}

/// Where a definition, a figure or an example comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Source {
    /// The publication, with the place in it.
    pub title: &'static str,
    /// How far this was verified.
    pub verified: Verified,
}

/// How far a source was verified.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Verified {
    /// The publication, or a copy of the part that is used, was read.
    Read,
    /// The publication is well known, and was cited from memory.
    Memory,
    /// The trade does it so; there is no source.
    CommonPractice,
}

impl Source {
    pub(super) const fn read(title: &'static str) -> Self {
        Self {
            title,
            verified: Verified::Read,
        }
    }

    pub(super) const fn from_memory(title: &'static str) -> Self {
        Self {
            title,
            verified: Verified::Memory,
        }
    }

    pub(super) const fn common_practice(title: &'static str) -> Self {
        Self {
            title,
            verified: Verified::CommonPractice,
        }
    }
}

impl Verified {
    /// In words, to follow the title in brackets.
    #[must_use]
    pub fn text(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Memory => "from memory",
            Self::CommonPractice => "common practice, no source",
        }
    }
}

/// What a calculation gives.
#[derive(Debug)]
pub struct Outcome {
    /// Its name: lower-case words, joined by hyphens.
    pub name: &'static str,
    /// What it is, to be followed by the value.
    pub about: &'static str,
    /// The kind of value. `None` for a plain number.
    pub kind: Option<Kind>,
    /// How many significant figures it has at least.
    pub figures: u8,
    /// To which side it is rounded.
    pub rounding: Rounding,
    /// Why to this side, to follow "rounded up".
    pub because: &'static str,
    /// How it bounds a reading that takes its limits from it, unless the reading says otherwise.
    pub bound: Bound,
}

/// To which side a result is rounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Rounding {
    /// To the next greater step.
    Up,
    /// To the next lesser step.
    Down,
    /// To the nearest step, because neither side is the safe one.
    Nearest,
}

impl Rounding {
    /// In words: "up".
    #[must_use]
    pub fn text(self) -> &'static str {
        match self {
            Self::Up => "up",
            Self::Down => "down",
            Self::Nearest => "to the nearest",
        }
    }
}

/// How a result bounds a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Bound {
    /// Between the least and the greatest result for any inputs within their tolerances.
    Within,
    /// Not below the greatest result for any inputs within their tolerances.
    AtLeast,
    /// Not above the least result for any inputs within their tolerances.
    AtMost,
}

impl Bound {
    /// All, each with its word in the sources.
    pub const ALL: [(&'static str, Self); 3] = [
        ("within", Self::Within),
        ("at-least", Self::AtLeast),
        ("at-most", Self::AtMost),
    ];

    /// Its word in the sources.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Within => "within",
            Self::AtLeast => "at-least",
            Self::AtMost => "at-most",
        }
    }
}

impl Outcome {
    pub(super) const fn of(name: &'static str, kind: Kind, about: &'static str) -> Self {
        Self {
            name,
            about,
            kind: Some(kind),
            figures: 3,
            rounding: Rounding::Nearest,
            because: "",
            bound: Bound::Within,
        }
    }

    pub(super) const fn number(name: &'static str, about: &'static str) -> Self {
        let mut outcome = Self::of(name, Kind::Ratio, about);
        outcome.kind = None;
        outcome
    }

    pub(super) const fn up(mut self, because: &'static str) -> Self {
        self.rounding = Rounding::Up;
        self.because = because;
        self
    }

    pub(super) const fn down(mut self, because: &'static str) -> Self {
        self.rounding = Rounding::Down;
        self.because = because;
        self
    }

    pub(super) const fn figures(mut self, figures: u8) -> Self {
        self.figures = figures;
        self
    }

    pub(super) const fn bounds(mut self, bound: Bound) -> Self {
        self.bound = bound;
        self
    }

    /// "rounded up, so that the ring never closes".
    #[must_use]
    pub fn rounded(&self) -> String {
        let how = self.rounding.text();
        if self.because.is_empty() {
            format!("rounded {how}")
        } else {
            format!("rounded {how}, {}", self.because)
        }
    }
}
