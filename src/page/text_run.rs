//! Text, links and printed values.

use super::LinkTarget;
use serde::Serialize;

/// A stretch of text.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "run", rename_all = "kebab-case")]
pub(crate) enum TextRun {
    /// Plain text.
    Text {
        /// The text.
        text: String,
    },
    /// Strongly stressed.
    Strong {
        /// What is stressed.
        runs: Vec<TextRun>,
    },
    /// Stressed.
    Emphasis {
        /// What is stressed.
        runs: Vec<TextRun>,
    },
    /// As typed or engraved: a part number, a mark on a casting.
    Code {
        /// The text.
        text: String,
    },
    /// A cross-reference or a web address.
    Link {
        /// Where it leads.
        target: LinkTarget,
        /// What it says.
        runs: Vec<TextRun>,
        /// What the target is called, where the link has words of its own: printed in brackets
        /// behind them, since the words alone don't say where to look on paper.
        #[serde(skip_serializing_if = "Option::is_none")]
        name: Option<String>,
    },
    /// The number of the page that a place is on. Only a manual has it.
    PageNumber {
        /// The place.
        target: LinkTarget,
    },
    /// A line break the author asked for.
    Break,
}

impl TextRun {
    /// Plain text as a run.
    pub(crate) fn text(text: impl Into<String>) -> TextRun {
        TextRun::Text { text: text.into() }
    }

    /// A link that says no more than its runs.
    pub(crate) fn link(target: LinkTarget, runs: Vec<TextRun>) -> TextRun {
        TextRun::Link {
            target,
            runs,
            name: None,
        }
    }
}

/// The text of runs, without their dress.
pub(crate) fn plain(runs: &[TextRun]) -> String {
    let mut text = String::new();
    push_plain(runs, &mut text);
    text
}

fn push_plain(runs: &[TextRun], text: &mut String) {
    for run in runs {
        match run {
            TextRun::Text { text: own } | TextRun::Code { text: own } => text.push_str(own),
            TextRun::Strong { runs } | TextRun::Emphasis { runs } => push_plain(runs, text),
            TextRun::Link { runs, name, .. } => {
                push_plain(runs, text);
                if let Some(name) = name {
                    text.push_str(" (");
                    text.push_str(name);
                    text.push(')');
                }
            }
            TextRun::Break => text.push(' '),
            TextRun::PageNumber { .. } => {}
        }
    }
}

/// A value in one or two units, printed.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Value {
    /// In the shop's first unit: "9 N·m ± 1 N·m".
    pub(crate) first: String,
    /// In its second, rounded so that it allows nothing the first forbids.
    pub(crate) second: Option<String>,
    /// True where nobody said where the value comes from; printed as *unverified*.
    pub(crate) unverified: bool,
}
