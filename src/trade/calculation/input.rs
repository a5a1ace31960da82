//! What a calculation needs to know.

use crate::quantity::Kind;

/// What a calculation needs to know.
#[derive(Debug)]
pub struct Input {
    /// Its name: lower-case words, joined by hyphens.
    pub name: &'static str,
    /// What can be written for it.
    pub takes: InputKind,
    /// What it is, to follow its name.
    pub about: &'static str,
    /// Whether it must be given.
    pub need: Need,
    /// Whether it may have a tolerance. Where it may, each result only grows or only falls as the input grows, whatever
    /// the other inputs are, so that the extreme results are at the ends of the tolerances.
    pub may_vary: bool,
}

/// What can be written for an input.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum InputKind {
    /// A value of one of these kinds.
    Quantity(&'static [Kind]),
    /// A plain number, not below zero. The text is its unit, or empty.
    Number(&'static str),
    /// A whole number from one.
    Count,
    /// One of these words.
    Word(&'static [&'static str]),
}

impl InputKind {
    /// What is expected, with its article: "a length", "an area or a wire gauge", "`open` or `crossed`".
    #[must_use]
    pub fn expected(self) -> String {
        let joined = |items: Vec<String>| items.join(" or ");
        match self {
            Self::Quantity(kinds) => joined(kinds.iter().map(|kind| with_article(*kind)).collect()),
            Self::Number(_) => "a plain number".to_owned(),
            Self::Count => "a whole number above zero".to_owned(),
            Self::Word(words) => joined(words.iter().map(|word| format!("`{word}`")).collect()),
        }
    }
}

fn with_article(kind: Kind) -> String {
    let name = kind.name();
    let article = if name.starts_with(['a', 'e', 'i', 'o', 'u']) {
        "an"
    } else {
        "a"
    };
    format!("{article} {name}")
}

/// Whether an input must be given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Need {
    /// It must.
    Required,
    /// This is taken if it is not given.
    Default(&'static str),
    /// It can be left out. The calculation says what that means.
    Optional,
}

impl Input {
    const fn new(name: &'static str, takes: InputKind, about: &'static str) -> Self {
        Self {
            name,
            takes,
            about,
            need: Need::Required,
            may_vary: true,
        }
    }

    pub(super) const fn of(
        name: &'static str,
        kinds: &'static [Kind],
        about: &'static str,
    ) -> Self {
        Self::new(name, InputKind::Quantity(kinds), about)
    }

    pub(super) const fn length(name: &'static str, about: &'static str) -> Self {
        Self::of(name, &[Kind::Length], about)
    }

    pub(super) const fn number(
        name: &'static str,
        unit: &'static str,
        about: &'static str,
    ) -> Self {
        Self::new(name, InputKind::Number(unit), about)
    }

    pub(super) const fn count(name: &'static str, about: &'static str) -> Self {
        Self::new(name, InputKind::Count, about).single()
    }

    pub(super) const fn word(
        name: &'static str,
        words: &'static [&'static str],
        about: &'static str,
    ) -> Self {
        Self::new(name, InputKind::Word(words), about).single()
    }

    pub(super) const fn or(mut self, default: &'static str) -> Self {
        self.need = Need::Default(default);
        self
    }

    pub(super) const fn optional(mut self) -> Self {
        self.need = Need::Optional;
        self
    }

    /// Without a tolerance.
    pub(super) const fn single(mut self) -> Self {
        self.may_vary = false;
        self
    }
}
