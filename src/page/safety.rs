//! Safety messages and signs.

use super::LinkTarget;
use serde::Serialize;

/// A safety sign of ISO 7010.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Sign {
    /// The sign's number: `W021`.
    pub(crate) number: String,
    /// The sign's referent, also its text alternative: "Flammable material".
    pub(crate) referent: String,
}

/// A safety message after ANSI Z535.6 and ISO 3864-2.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SafetyMessage {
    /// The caution's id, the same on every page.
    pub(crate) id: String,
    /// The link target that the message is, set only on the list of all cautions, where each
    /// message appears once.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) place: Option<LinkTarget>,
    pub(crate) word: SignalWord,
    /// What causes harm: "Petrol vapour catches fire".
    pub(crate) hazard: String,
    pub(crate) consequence: String,
    /// How to avoid the hazard.
    pub(crate) avoid: Vec<String>,
    /// How to avoid it in one line, for wherever the message was already given in full.
    pub(crate) reminder: String,
    pub(crate) signs: Vec<Sign>,
}

/// A safety message above a step.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct StepMessage {
    #[serde(flatten)]
    pub(crate) message: SafetyMessage,
    /// Whether the sheet has already given it in full. Then only its reminder is printed.
    pub(crate) again: bool,
}

/// Signal words, the most severe first. The safety alert symbol accompanies the first three; NOTICE
/// is about damage without injury (ANSI Z535.4).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum SignalWord {
    /// Death or serious injury will follow.
    Danger,
    /// Death or serious injury could follow.
    Warning,
    /// Minor or moderate injury could follow.
    Caution,
    /// Damage without injury.
    Notice,
}

impl SignalWord {
    /// The key of the word in the texts of pages.
    pub(crate) fn key(self) -> &'static str {
        match self {
            SignalWord::Danger => "danger",
            SignalWord::Warning => "warning",
            SignalWord::Caution => "caution",
            SignalWord::Notice => "notice",
        }
    }
}
