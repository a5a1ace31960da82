//! Safety messages: before a sheet's steps, before a single step, and on a machine's caution sheet.

use super::writer::Writer;
use crate::job::Job;
use crate::page::{Block, PageContext, SafetyMessage, Sign, SignalWord, Topic};
use crate::shop::{Caution, Word};

impl Writer<'_, '_> {
    /// What to wear and to prepare before the first step.
    pub(crate) fn protection(&self) -> Option<Block> {
        self.context.protection(&cautions([self.job]))
    }

    /// All safety messages of the job as one group, after what to wear and to prepare (ANSI Z535.6:
    /// grouped safety messages).
    pub(crate) fn safety(&self) -> Option<Block> {
        let blocks = self.context.messages(&cautions([self.job]));
        (!blocks.is_empty()).then(|| self.context.section(Topic::Safety, blocks))
    }
}

/// The cautions that apply to any of the jobs, each once, the most severe first.
pub(crate) fn cautions<'a, 'j>(jobs: impl IntoIterator<Item = &'j Job<'a>>) -> Vec<&'a Caution>
where
    'a: 'j,
{
    let jobs = jobs.into_iter();
    let steps = jobs.flat_map(Job::steps);
    by_severity(steps.flat_map(|step| step.cautions.iter().copied()))
}

/// Removes duplicates and sorts the most severe first. Cautions of the same severity keep their
/// order.
pub(crate) fn by_severity<'a>(cautions: impl Iterator<Item = &'a Caution>) -> Vec<&'a Caution> {
    let mut unique: Vec<&Caution> = Vec::new();
    for caution in cautions {
        if !unique.iter().any(|known| known.id == caution.id) {
            unique.push(caution);
        }
    }
    unique.sort_by_key(|caution| caution.signal_word);
    unique
}

impl From<Word> for SignalWord {
    fn from(word: Word) -> SignalWord {
        match word {
            Word::Danger => SignalWord::Danger,
            Word::Warning => SignalWord::Warning,
            Word::Caution => SignalWord::Caution,
            Word::Notice => SignalWord::Notice,
        }
    }
}

impl PageContext<'_> {
    /// What to wear and to prepare, then each message in full.
    pub(crate) fn messages(self, cautions: &[&Caution]) -> Vec<Block> {
        let mut blocks: Vec<Block> = self.protection(cautions).into_iter().collect();
        let messages = cautions.iter().map(|caution| self.message(caution));
        blocks.extend(messages.map(Block::Safety));
        blocks
    }

    /// What the cautions ask to wear and to prepare, each once. `None` if there is nothing.
    pub(crate) fn protection(self, cautions: &[&Caution]) -> Option<Block> {
        let mut signs: Vec<Sign> = Vec::new();
        let mut notes: Vec<String> = Vec::new();
        for caution in cautions {
            // Only mandatory signs (M) say what to wear or do; other signs belong to their message.
            for sign in self.signs(caution) {
                if sign.number.starts_with('M') && !signs.contains(&sign) {
                    signs.push(sign);
                }
            }
            for note in &caution.before {
                if !notes.contains(note) {
                    notes.push(note.clone());
                }
            }
        }
        signs.sort_by(|left, right| left.number.cmp(&right.number));
        let is_empty = signs.is_empty() && notes.is_empty();
        (!is_empty).then_some(Block::Protection { signs, notes })
    }

    /// A caution as a safety message, without a link target.
    pub(crate) fn message(self, caution: &Caution) -> SafetyMessage {
        SafetyMessage {
            id: caution.key.clone(),
            place: None,
            word: caution.signal_word.into(),
            hazard: caution.hazard.clone(),
            consequence: caution.consequence.clone(),
            avoid: caution.avoid.clone(),
            reminder: match &caution.reminder {
                Some(reminder) => reminder.clone(),
                None => caution.avoid.join(". "),
            },
            signs: self.signs(caution),
        }
    }

    fn signs(self, caution: &Caution) -> Vec<Sign> {
        let signs = caution.signs.iter();
        signs
            .map(|number| Sign {
                number: number.value.clone(),
                referent: self
                    .words()
                    .sign(&number.value)
                    .unwrap_or_default()
                    .to_owned(),
            })
            .collect()
    }
}
