//! Safety messages: at the front of a sheet, before a step, on a sheet of their own.

use super::writer::Writer;
use crate::job::Job;
use crate::page::{Block, PageContext, SafetyMessage, Sign, SignalWord, Topic};
use crate::shop::{Caution, Word};

impl Writer<'_, '_> {
    /// What is worn and seen to before the first step.
    pub(crate) fn protection(&self) -> Option<Block> {
        self.desk.protection(&cautions([self.job]))
    }

    /// All messages of the job, grouped, with what is worn and seen to first (ANSI Z535.6: grouped
    /// safety messages).
    pub(crate) fn safety(&self) -> Option<Block> {
        let blocks = self.desk.messages(&cautions([self.job]));
        (!blocks.is_empty()).then(|| self.desk.section(Topic::Safety, blocks))
    }
}

/// The cautions that any of some jobs meets, each once, the most severe first.
pub(crate) fn cautions<'a, 'j>(jobs: impl IntoIterator<Item = &'j Job<'a>>) -> Vec<&'a Caution>
where
    'a: 'j,
{
    let jobs = jobs.into_iter();
    let steps = jobs.flat_map(Job::steps);
    by_severity(steps.flat_map(|step| step.cautions.iter().copied()))
}

/// Cautions, each once, the most severe first.
pub(crate) fn by_severity<'a>(all: impl Iterator<Item = &'a Caution>) -> Vec<&'a Caution> {
    let mut cautions: Vec<&Caution> = Vec::new();
    for caution in all {
        if !cautions.iter().any(|one| one.id == caution.id) {
            cautions.push(caution);
        }
    }
    cautions.sort_by_key(|caution| caution.word);
    cautions
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
    /// What is worn and seen to first, then each message in full.
    pub(crate) fn messages(self, cautions: &[&Caution]) -> Vec<Block> {
        let mut blocks: Vec<Block> = self.protection(cautions).into_iter().collect();
        let messages = cautions.iter().map(|caution| self.message(caution));
        blocks.extend(messages.map(Block::Safety));
        blocks
    }

    /// What some cautions ask to be worn and seen to, each once.
    pub(crate) fn protection(self, cautions: &[&Caution]) -> Option<Block> {
        let mut signs: Vec<Sign> = Vec::new();
        let mut notes: Vec<String> = Vec::new();
        for caution in cautions {
            // Mandatory signs say what to wear and to see to; the others belong to their message.
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
        signs.sort_by(|a, b| a.number.cmp(&b.number));
        let is_empty = signs.is_empty() && notes.is_empty();
        (!is_empty).then_some(Block::Protection { signs, notes })
    }

    /// A caution as a message on a page.
    pub(crate) fn message(self, caution: &Caution) -> SafetyMessage {
        SafetyMessage {
            id: caution.key.clone(),
            place: None,
            word: caution.word.into(),
            hazard: caution.hazard.clone(),
            consequence: caution.consequence.clone(),
            avoid: caution.avoid.clone(),
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
