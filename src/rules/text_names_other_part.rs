//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use super::typed_value::{TypedStep, link_text};
use crate::finding::{Finding, Findings, rule};
use crate::shop::{Machine, Part};
use crate::words::Words;

rule! {
    /// The text of an action names another part than its address.
    ///
    /// Reported is a text that has the whole name of another part of the machine and no word of the name of
    /// its own. A part that is only a place is not meant: `unscrew it from the carburettor`.
    ///
    /// ## At the bench
    ///
    /// The sheet says to take off one part, and lists the bolts, torques and gaskets of another.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/rod.md
    /// +++
    /// title = "Pump rod: look"
    /// machines = ["hand-pump"]
    /// +++
    /// It wears.
    ///
    /// ## Look
    ///
    /// 1. [Wipe the pump rod](clean:cover).
    /// ```
    ///
    /// ## Fix
    ///
    /// Correct the address or the text. Without a text, the sheet writes the instruction with the part's
    /// name.
    "text-names-other-part", Names, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    let Some(procedure) = scene.procedure else {
        return;
    };
    let words = scene.author_words();
    for step in procedure.steps() {
        for action in step.actions() {
            let Some(text) = link_text(scene.tree.text(action.span), action) else {
                continue;
            };
            let machines = procedure.machines.iter().filter(|id| step.is_for(id.value));
            let mut machines = machines.map(|id| &scene.shop.machines[id.value]);
            // A part has one name on nearly all machines, so the first that has it is looked at.
            let own = machines
                .find_map(|machine| Some((machine, machine.parts.get(TypedStep::thing(action))?)));
            let named = own.and_then(|(machine, part)| {
                Some((machine, part, other_part(words, machine, part, text)?))
            });
            if let Some((machine, part, other)) = named {
                let message = format!(
                    "the text names `{}` of `{}`, and the address `{}`",
                    other.key, machine.id, part.key
                );
                findings.push(
                    Finding::new(&RULE, message)
                        .primary(action.span, "")
                        .help(format!(
                            "write `{}:{}` if that is meant",
                            action.verb.word(),
                            other.key
                        )),
                );
            }
        }
    }
}

/// The part that a text names instead of its own.
fn other_part<'m>(words: &Words, machine: &'m Machine, own: &Part, text: &str) -> Option<&'m Part> {
    let names_own = |word: &str| word.len() > 2 && has_words(text, word);
    let mut own_words = own.name.split(|letter: char| !letter.is_alphanumeric());
    if own_words.any(names_own) || own.key.split('-').any(names_own) {
        return None;
    }
    let letters = first_letters(text);
    machine.parts.values().find(|part| {
        // Most names begin as no word of the text does.
        let first = part.name.bytes().next();
        if first.is_none_or(|first| letters & letter_bit(first) == 0) {
            return false;
        }
        // Remarks follow a comma: "blade bolt, left-hand thread".
        let name = part
            .name
            .split([',', '('])
            .next()
            .unwrap_or_default()
            .trim();
        let mut places = places(text, name);
        part.id != own.id && name.len() > 2 && places.any(|at| words.leads_to_object(&text[..at]))
    })
}

/// The letters that the words of a text begin with, as bits.
fn first_letters(text: &str) -> u64 {
    let mut letters = 0;
    let mut is_start = true;
    for byte in text.bytes() {
        if is_start {
            letters |= letter_bit(byte);
        }
        is_start = !byte.is_ascii_alphanumeric() && byte.is_ascii();
    }
    letters
}

/// The bit of a letter in either case. Some bytes share one.
fn letter_bit(byte: u8) -> u64 {
    1 << (byte.to_ascii_lowercase() & 63)
}

/// Whether a text has some words as a whole, or their plural, in any case.
pub(super) fn has_words(text: &str, words: &str) -> bool {
    places(text, words).next().is_some()
}

/// Where a text has some words as a whole, or their plural, in any case.
fn places<'t>(text: &'t str, words: &'t str) -> impl Iterator<Item = usize> + 't {
    let (text, words) = (text.as_bytes(), words.as_bytes());
    let is_letter = |byte: Option<&u8>| {
        byte.is_some_and(|byte| byte.is_ascii_alphanumeric() || !byte.is_ascii())
    };
    // The name of a part is empty if it is missing, which is reported.
    let first = words.first().copied().into_iter();
    let starts = first.flat_map(|first| {
        memchr::memchr2_iter(first.to_ascii_lowercase(), first.to_ascii_uppercase(), text)
    });
    starts.filter(move |at| {
        let at = *at;
        let end = at + words.len();
        let is_same = text
            .get(at..end)
            .is_some_and(|found| found.eq_ignore_ascii_case(words));
        let end = if text.get(end) == Some(&b's') {
            end + 1
        } else {
            end
        };
        is_same
            && !is_letter(at.checked_sub(1).and_then(|at| text.get(at)))
            && !is_letter(text.get(end))
    })
}

#[cfg(test)]
mod tests {
    use super::has_words;

    #[test]
    fn no_text_has_an_empty_name() {
        assert!(!has_words("Take off the cover", ""));
        assert!(has_words("Take off the cover", "cover"));
    }
}
