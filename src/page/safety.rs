//! Safety messages and signs.

use super::LinkTarget;
use serde::Serialize;

/// A sign after ISO 7010.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Sign {
    /// Its number: `W021`.
    pub(crate) number: String,
    /// What it stands for, and its text alternative: "Flammable material".
    pub(crate) referent: String,
}

/// A signal word with what it warns of, after ANSI Z535.6 and ISO 3864-2.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SafetyMessage {
    /// The caution's id, the same wherever it is shown.
    pub(crate) id: String,
    /// The place that it is, on the list of all cautions, which has it once.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) place: Option<LinkTarget>,
    /// The word that sets its look.
    pub(crate) word: SignalWord,
    /// What can hurt: "Petrol vapour catches fire".
    pub(crate) hazard: String,
    /// What happens then.
    pub(crate) consequence: String,
    /// How to stay clear of it.
    pub(crate) avoid: Vec<String>,
    /// Its signs.
    pub(crate) signs: Vec<Sign>,
}

/// Signal words by falling severity. The safety alert symbol goes with the
/// first three; NOTICE is about damage without injury (ANSI Z535.4).
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
