//! Text, links and printed values.

use serde::Serialize;

/// A stretch of text.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "run", rename_all = "kebab-case")]
pub enum Run {
    /// Plain text.
    Text {
        /// The text.
        text: String,
    },
    /// Strongly stressed.
    Strong {
        /// What is stressed.
        runs: Vec<Run>,
    },
    /// Stressed.
    Emphasis {
        /// What is stressed.
        runs: Vec<Run>,
    },
    /// As typed or engraved: a part number, a mark on a casting.
    Code {
        /// The text.
        text: String,
    },
    /// A cross-reference or a web address.
    Link {
        /// Where it leads.
        target: Target,
        /// What it says.
        runs: Vec<Run>,
    },
    /// A line break the author asked for.
    Break,
}

impl Run {
    /// Plain text as a run.
    pub fn text(text: impl Into<String>) -> Run {
        Run::Text { text: text.into() }
    }
}

/// Where a link leads.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "to", rename_all = "kebab-case")]
pub enum Target {
    /// A place on this leaf.
    Here {
        /// The place's anchor.
        anchor: String,
    },
    /// Another page of the same output.
    Leaf {
        /// Its [`Head::path`].
        path: String,
        /// The place on it; none for its beginning.
        #[serde(skip_serializing_if = "Option::is_none")]
        anchor: Option<String>,
    },
    /// The page of a place in a bound manual: its number is set between the first and the second
    /// run, and all of it left out where the reader is on that page. Only a manual has it.
    Page {
        /// The place's anchor.
        anchor: String,
    },
    /// An address outside the output.
    Web {
        /// The address, `https:` or `mailto:`.
        address: String,
    },
}

/// A value in one or two units, printed.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Value {
    /// In the shop's first unit: "9 N·m ± 1 N·m".
    pub first: String,
    /// In its second, rounded so that it allows nothing the first forbids.
    pub second: Option<String>,
    /// True where nobody said where the value comes from; printed as *unverified*.
    pub unverified: bool,
}
