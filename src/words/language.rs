//! The format of a language file, such as `templates/words/en-GB.toml`.
//!
//! A language is data only. Its file has these tables:
//!
//! | table | contents |
//! | --- | --- |
//! | `[numbers]` | `decimal-mark`: one character |
//! | `[plural]` | `endings`: pairs of an ending of a name and its plural ending; the first ending that fits is replaced, and `""` fits every name. Without a fitting pair, a name is not changed |
//! | `[lists]` | `separator` between the items of a list. `and` and `or`: exceptions from the words of the same keys in `[texts]`, each with the beginnings of the next word (`before`) and the word to use there (`say`); the first that fits is used |
//! | `[authors]` | words that authors write. `step`: words for a step before its number; after one of them, a reference prints the number only. `pronouns`: words that stand for what an action is done to. `articles`: words that may stand before a name. `not-ready-if`: how a point begins that says when a machine is not ready. `before-places`: words that a place follows, without those that belong to a verb, as in "take off the cover" |
//! | `[counts]` | how authors count parts, see [`counts_of`](super::Words::counts_of). `numbers`: the words for one, two and so on. `both`: words for two that are all. `all`: words before the number of all, as in "the four bolts". `some`: words beside the number of some, as in "the other two bolts". `ends`: words that end what is counted, as in "two hands on the bolts". `noun-first`: whether the noun of a part's name is its first word, and not its last. `plural`: the endings of nouns, if they are others than those of names |
//! | `[intervals]` | how intervals are written, see [`Interval`](super::Interval): `separators` between two intervals, and for each unit of time the phrases for one (`month`) and for several (`months`, with `{count}`). `in-month` and `month-names`: the month of what is done once a year. `first`, `then` and `once`, around `{interval}`: the first time, if it differs. `before-use`, `during-use`, `after-use` and `day-of-use`: the uses of a machine. `when-needed`, before `{condition}`. `bare`: numbers of hours and periods. The first phrase of a list is the one that is printed |
//! | `[search]` | `ignored`: words that a search leaves out, such as articles. `endings`: endings of words, the longest first, so that a search for *leaking* finds *leaks*. `synonyms`: lists of words and phrases of the trade with the same meaning; a search for one finds the others |
//! | `[units]` | optional: for a kind of quantity the units to print, as in a shop's own `[units]`, which takes precedence |
//! | `[signs]` | the referents of the safety signs, by their number in ISO 7010 |
//! | `[sources]` | the texts of the sources that `benchleaf start` and `benchleaf outline` write, see [`source`](super::Words::source). A text that is not there is the first language's |
//! | `[texts]` | all other texts by their keys. `{names}` are placeholders for values |
//!
//! Every language file has the same keys in `[signs]` and `[texts]`, and a text has the
//! same placeholders in all of them.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::quantity::{Kind, Unit, UnitOrder};

/// The contents of a language file.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Language {
    pub(super) numbers: Numbers,
    pub(super) plural: Plural,
    pub(super) lists: Lists,
    pub(super) authors: Authors,
    pub(super) counts: Counts,
    pub(super) intervals: Phrases,
    pub(super) search: SearchWords,
    #[serde(default)]
    pub(super) units: BTreeMap<String, Vec<String>>,
    pub(super) signs: BTreeMap<String, String>,
    #[serde(default)]
    pub(super) sources: BTreeMap<String, String>,
    pub(super) texts: BTreeMap<String, String>,
}

#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Numbers {
    pub(super) decimal_mark: char,
}

#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Plural {
    pub(super) endings: Vec<(String, String)>,
}

impl Plural {
    /// The plural of a name; `None` if the name does not change.
    pub(super) fn of(&self, name: &str) -> Option<String> {
        let (ending, plural) = self
            .endings
            .iter()
            .find(|(ending, _)| name.ends_with(ending))?;
        let stem = name.strip_suffix(ending.as_str())?;
        (ending != plural).then(|| format!("{stem}{plural}"))
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Lists {
    pub(super) separator: String,
    #[serde(default)]
    pub(super) and: Vec<Exception>,
    #[serde(default)]
    pub(super) or: Vec<Exception>,
}

/// A word to use before words with certain beginnings.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Exception {
    before: Vec<String>,
    say: String,
}

impl Exception {
    /// The word of the first exception that applies before `next`.
    pub(super) fn before<'e>(exceptions: &'e [Exception], next: &str) -> Option<&'e str> {
        let next = next.to_lowercase();
        exceptions
            .iter()
            .find(|exception| {
                let mut beginnings = exception.before.iter();
                beginnings.any(|beginning| next.starts_with(beginning))
            })
            .map(|exception| exception.say.as_str())
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Authors {
    pub(super) step: Vec<String>,
    pub(super) pronouns: Vec<String>,
    pub(super) articles: Vec<String>,
    pub(super) not_ready_if: Vec<String>,
    pub(super) before_places: Vec<String>,
}

/// How authors count parts.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Counts {
    pub(super) numbers: Vec<String>,
    pub(super) both: Vec<String>,
    pub(super) all: Vec<String>,
    pub(super) some: Vec<String>,
    pub(super) ends: Vec<String>,
    #[serde(default)]
    pub(super) noun_first: bool,
    pub(super) plural: Option<Plural>,
}

/// A word that means a number, by its index in the language's data.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum CountWord {
    Both(usize),
    Number(usize),
}

/// The phrases for intervals. `{count}` is the number. The first of a list is the one that is printed.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Phrases {
    pub(super) separators: Vec<String>,
    pub(super) hours: Vec<String>,
    pub(super) days: Vec<String>,
    pub(super) weeks: Vec<String>,
    pub(super) months: Vec<String>,
    pub(super) years: Vec<String>,
    pub(super) day: Vec<String>,
    pub(super) week: Vec<String>,
    pub(super) month: Vec<String>,
    pub(super) year: Vec<String>,
    pub(super) in_month: Vec<String>,
    pub(super) month_names: Vec<String>,
    pub(super) first: Vec<String>,
    pub(super) then: Vec<String>,
    pub(super) once: Vec<String>,
    pub(super) before_use: Vec<String>,
    pub(super) during_use: Vec<String>,
    pub(super) after_use: Vec<String>,
    pub(super) day_of_use: Vec<String>,
    pub(super) when_needed: Vec<String>,
    pub(super) bare: Bare,
}

/// A number of hours or periods without a word such as "every".
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Bare {
    pub(super) hours: String,
    pub(super) day: String,
    pub(super) days: String,
    pub(super) week: String,
    pub(super) weeks: String,
    pub(super) month: String,
    pub(super) months: String,
    pub(super) year: String,
    pub(super) years: String,
}

/// What a search has to know of a language.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SearchWords {
    pub(crate) ignored: Vec<String>,
    pub(crate) endings: Vec<String>,
    pub(crate) synonyms: Vec<Vec<String>>,
}

impl Language {
    /// This language with the same form of a word everywhere.
    pub(super) fn without_inflection(&self) -> Language {
        let mut language = self.clone();
        language.plural.endings.clear();
        language.lists.and.clear();
        language.lists.or.clear();
        language
    }

    /// The order of units: the default one with the kinds of `[units]` replaced.
    ///
    /// # Errors
    ///
    /// If a kind or a unit is unknown, or a unit is of another kind or listed twice. The error is the
    /// message.
    pub(super) fn unit_order(&self) -> Result<UnitOrder, String> {
        let mut order = UnitOrder::default();
        for (name, symbols) in &self.units {
            let kind = Kind::from_name(name).ok_or_else(|| format!("`{name}` is not a kind"))?;
            let units = symbols.iter().map(|symbol| Unit::parse(symbol));
            let units: Vec<Unit> = units
                .collect::<Result<_, _>>()
                .map_err(|error| error.to_string())?;
            order.set(kind, units).map_err(|error| error.to_string())?;
        }
        Ok(order)
    }
}
