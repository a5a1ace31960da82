//! Text with inline markup, links and printed values.

use super::LinkTarget;
use serde::Serialize;
use std::fmt::Write;

/// A run of text with the same inline markup.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "run", rename_all = "kebab-case")]
pub(crate) enum TextRun {
    Text {
        text: String,
    },
    /// Strong emphasis.
    Strong {
        runs: Vec<TextRun>,
    },
    Emphasis {
        runs: Vec<TextRun>,
    },
    /// Text in another language than that of the page and of the shop's text.
    Foreign {
        /// A BCP 47 tag.
        language: String,
        runs: Vec<TextRun>,
    },
    /// Literal text, as typed or engraved: a part number, a mark on a casting.
    Code {
        text: String,
    },
    /// A cross-reference or a URL.
    Link {
        target: LinkTarget,
        runs: Vec<TextRun>,
        /// The target's name, if the author gave the link its own text. It is printed in brackets
        /// after the text, because on paper the text alone does not say where to look.
        #[serde(skip_serializing_if = "Option::is_none")]
        name: Option<String>,
    },
    /// The number of a part in a figure. It follows the part's name, after a space.
    Callout {
        number: u32,
        /// The id of the part.
        part: String,
        /// The number of the figure, if all of it is on the sheet.
        #[serde(skip_serializing_if = "Option::is_none")]
        figure: Option<u32>,
    },
    /// The number of the page that a target is on. Only a manual has it.
    PageNumber {
        target: LinkTarget,
    },
    /// A line break that the author wrote.
    Break,
}

impl TextRun {
    pub(crate) fn text(text: impl Into<String>) -> TextRun {
        TextRun::Text { text: text.into() }
    }

    /// A link without a name.
    pub(crate) fn link(target: LinkTarget, runs: Vec<TextRun>) -> TextRun {
        TextRun::Link {
            target,
            runs,
            name: None,
        }
    }
}

/// The text of runs without markup. A link's name follows in brackets.
pub(crate) fn plain(runs: &[TextRun]) -> String {
    let mut text = String::new();
    push_plain(runs, &mut text);
    text
}

fn push_plain(runs: &[TextRun], text: &mut String) {
    for run in runs {
        match run {
            TextRun::Text { text: part } | TextRun::Code { text: part } => text.push_str(part),
            TextRun::Strong { runs }
            | TextRun::Emphasis { runs }
            | TextRun::Foreign { runs, .. } => push_plain(runs, text),
            TextRun::Link { runs, name, .. } => {
                push_plain(runs, text);
                if let Some(name) = name {
                    text.push_str(" (");
                    text.push_str(name);
                    text.push(')');
                }
            }
            TextRun::Callout { number, .. } => {
                // Writing into a string can't fail.
                let _ = write!(text, "\u{a0}({number})");
            }
            TextRun::Break => text.push(' '),
            TextRun::PageNumber { .. } => {}
        }
    }
}

/// A printed value, in one or two units.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Value {
    /// In the shop's first unit: "9 N·m ± 1 N·m".
    pub(crate) first: String,
    /// In the shop's second unit, rounded so that it permits nothing that the first unit forbids.
    pub(crate) second: Option<String>,
    /// Whether the source names no basis for the value. It is then printed as *unverified*.
    pub(crate) unverified: bool,
    /// What a column of a table prints instead of `first` if all its values have one unit.
    #[serde(skip)]
    pub(crate) bare: Option<BareValue>,
}

/// A value without its unit.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) struct BareValue {
    /// "9 ± 1".
    pub(crate) numbers: String,
    /// "N·m".
    pub(crate) unit: String,
}
