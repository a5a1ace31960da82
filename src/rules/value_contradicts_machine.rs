//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use super::typed_value::{Typed, TypedStep, is_in_paragraph, link_text, typed_steps};
use crate::finding::{Finding, Findings, Span, rule};
use crate::prose::{ActionLink, Verb};
use crate::quantity::{Agreement, Found, Kind, Limits, Quantity};
use crate::shop::{Machine, Part};
use crate::trade::Thread;

rule! {
    /// A step gives another value than the machine's file.
    ///
    /// Checked are, in a step that acts on the thing: a torque where it is tightened, the limits where it is
    /// measured, adjusted or inspected, the ratio of a mixture and a volume above the capacity where it is
    /// filled, the size of the spanner, and in the text of the action its thread and its count. Pounds
    /// alone are no torque: they can be inches or feet.
    ///
    /// ## At the bench
    ///
    /// The sheet prints two values, and the mechanic may use the wrong one.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/nuts.md
    /// +++
    /// title = "Cover nuts"
    /// machines = ["hand-pump"]
    /// +++
    /// They work loose.
    ///
    /// ## Check
    ///
    /// 1. [Tighten both nuts](tighten:cover-nut) to 14 N·m.
    /// ```
    ///
    /// ## Fix
    ///
    /// Remove the value from the text: the action prints that of the machine, in both units. If the
    /// machine's value is the wrong one, correct it there.
    "value-contradicts-machine", Quantities, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    for step in typed_steps(scene) {
        for found in &step.values {
            if let Some(finding) = contradicted(scene, &step, found) {
                findings.push(finding);
            }
        }
        for action in step.step.actions() {
            check_link(scene, &step, action, findings);
        }
    }
}

/// The finding about a value that contradicts a machine, if it does.
fn contradicted(scene: &TextScene<'_>, step: &TypedStep<'_>, found: &Found) -> Option<Finding> {
    let span = scene.file.span(found.range.clone());
    if let Some(finding) = pounds(scene, step, found, span) {
        return Some(finding);
    }
    let text = scene.tree.text(span);
    // Most values are about no action, so this is looked up before the machines.
    let is_wrench = found.limits.kind() == Kind::Length && step.is_wrench(scene, found);
    if !is_wrench && !step.is_about_action(found) {
        return None;
    }
    for machine in step.machines() {
        if is_wrench && let Some(finding) = wrong_wrench(scene, step, machine, found, span) {
            return Some(finding);
        }
        for typed in step.facts(scene, machine, found) {
            if !is_contradiction(&typed, found) {
                continue;
            }
            let message = format!(
                "`{text}` contradicts the {} of `{}` of `{}`",
                typed.what, typed.key, machine.id
            );
            let written = typed.value.limits();
            return Some(
                Finding::new(&RULE, message)
                    .primary(span, "")
                    .secondary(typed.span, "the machine's value")
                    .help(format!(
                        "it is {}; remove the value here, and the sheet prints it",
                        written.text()
                    )),
            );
        }
    }
    None
}

fn is_contradiction(typed: &Typed<'_>, found: &Found) -> bool {
    let written = typed.value.limits();
    let values = std::iter::once(&found.limits).chain(found.paired.iter().map(|pair| &pair.limits));
    let mut values = values.filter(|value| value.kind() == written.kind());
    if written.kind() == Kind::Volume {
        // Part of a filling may be poured in first.
        return values.any(|value| is_more_than(value, written));
    }
    values.any(|value| !is_within(value, written))
}

/// Whether a typed value can be the written one. Inside limits it must be, but for its rounding from another
/// unit; without limits it must be equal, as makers round.
fn is_within(typed: &Limits, written: &Limits) -> bool {
    if written.lower().is_none() && written.upper().is_none() {
        return typed.agreement(written) == Agreement::Equal;
    }
    let Some(nominal) = typed.nominal() else {
        return typed.is_inside(written) || typed.agreement(written) == Agreement::Equal;
    };
    let bounds = [written.lower(), written.upper()];
    let is_rounded = |bound: Quantity| {
        typed.unit() != written.unit()
            && bound
                .in_unit(nominal.unit())
                .is_some_and(|bound| bound.agrees_with(&nominal))
    };
    written.contains(&nominal) || bounds.into_iter().flatten().any(is_rounded)
}

fn is_more_than(typed: &Limits, written: &Limits) -> bool {
    let most = |limits: &Limits| limits.upper().or_else(|| limits.nominal());
    let (Some(typed_most), Some(written_most)) = (most(typed), most(written)) else {
        return false;
    };
    typed_most.compare(&written_most) == Some(std::cmp::Ordering::Greater)
        && typed.agreement(written) != Agreement::Equal
}

/// Pounds alone where something is tightened.
fn pounds(
    scene: &TextScene<'_>,
    step: &TypedStep<'_>,
    found: &Found,
    span: Span,
) -> Option<Finding> {
    if !matches!(found.limits.kind(), Kind::Mass | Kind::Force) {
        return None;
    }
    let unit = found.limits.unit().symbol();
    let actions = step.step.actions();
    let mut tightened = actions.filter(|action| action.verb == Verb::Tighten);
    tightened.find(|action| is_in_paragraph(scene, action, found))?;
    if !matches!(unit, "lb" | "lbf") {
        return None;
    }
    let number = scene.tree.text(span);
    let number = number.trim_end_matches(|letter: char| letter.is_alphabetic() || letter == '.');
    let message = format!("`{}` is no torque", scene.tree.text(span));
    Some(Finding::new(&RULE, message).primary(span, "").help(format!(
        "write `{0} in·lbf` or `{0} ft·lbf`, whichever is meant",
        number.trim_end()
    )))
}

/// The size of a spanner that fits no fastener of the step.
fn wrong_wrench(
    scene: &TextScene<'_>,
    step: &TypedStep<'_>,
    machine: &Machine,
    found: &Found,
    span: Span,
) -> Option<Finding> {
    let size = found.limits.nominal()?;
    let turned: Vec<&Part> = step.fasteners(machine).map(|(_, part)| part).collect();
    let sizes: Option<Vec<_>> = turned
        .iter()
        .map(|part| Some((part, part.hex_size()?)))
        .collect();
    // A fastener of unknown size may fit.
    let sizes = sizes.filter(|sizes| !sizes.is_empty())?;
    let fits = |other: &Quantity| crate::trade::is_same_size(&size, other);
    if sizes.iter().any(|(_, known)| fits(known)) {
        return None;
    }
    let needed = sizes
        .iter()
        .map(|(part, known)| format!("`{}` takes {}", part.key, known.text()));
    let message = format!(
        "a spanner of {} fits no fastener in this step on `{}`",
        scene.tree.text(span),
        machine.id
    );
    Some(
        Finding::new(&RULE, message)
            .primary(span, "")
            .help(needed.collect::<Vec<_>>().join(", ")),
    )
}

/// Compares the threads and counts in the text of an action with its part.
fn check_link(
    scene: &TextScene<'_>,
    step: &TypedStep<'_>,
    action: &ActionLink,
    findings: &mut Findings,
) {
    let Some(text) = link_text(scene.tree.text(action.span), action) else {
        return;
    };
    if !may_claim(text) {
        return;
    }
    for claim in claims(text) {
        for machine in step.machines() {
            let Some(part) = machine.parts.get(TypedStep::thing(action)) else {
                continue;
            };
            let Some((what, own)) = claim.contradiction(part) else {
                continue;
            };
            let start = 1 + claim.at;
            let span = action.span.part(start..start + claim.word.len());
            let message = format!(
                "`{}` contradicts the {what} of `{}` of `{}`",
                claim.word, part.key, machine.id
            );
            findings.push(
                Finding::new(&RULE, message)
                    .primary(span, "")
                    .secondary(part.span, "the part")
                    .help(own),
            );
            return;
        }
    }
}

/// Whether a text may have a thread or a count: it has a digit, `#` or the word of a number. Checked first, because
/// most texts have none.
fn may_claim(text: &str) -> bool {
    let bytes = text.as_bytes();
    let mut is_start = true;
    for (at, byte) in bytes.iter().enumerate() {
        let may_be_number = matches!(byte | 0x20, b'b' | b'e' | b'f' | b'n' | b'o' | b's' | b't');
        if byte.is_ascii_digit() || *byte == b'#' {
            return true;
        }
        if is_start && may_be_number {
            let rest = &text[at..];
            let length = rest.bytes().take_while(u8::is_ascii_alphabetic).count();
            let word = &rest[..length];
            if word.eq_ignore_ascii_case("both") || (length <= 6 && count_in(word).is_some()) {
                return true;
            }
        }
        is_start = *byte == b' ';
    }
    false
}

/// A thread or a count in the text of an action.
struct Claim<'s> {
    /// The offset of the word in the text.
    at: usize,
    word: &'s str,
    what: Claimed<'s>,
}

enum Claimed<'s> {
    Thread(Thread),
    /// A count, with the words after it.
    Count(u32, &'s str),
}

const NUMBERS: [&str; 13] = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve",
];

/// The threads and counts in a text: `M6`, `both nuts`, `all four bolts`, `the six bolts`. A number alone may be a
/// part of the count: `two bolts, then the other two`. English only.
fn claims(text: &str) -> Vec<Claim<'_>> {
    let mut found = Vec::new();
    let mut is_all = false;
    for (at, word) in words(text) {
        let count = if word.eq_ignore_ascii_case("both") {
            Some(2)
        } else if is_all {
            count_in(word)
        } else {
            None
        };
        is_all = word.eq_ignore_ascii_case("all") || word.eq_ignore_ascii_case("the");
        let what = match count {
            Some(count) => Some(Claimed::Count(count, &text[at + word.len()..])),
            None if looks_like_thread(word) => Thread::parse(word).ok().map(Claimed::Thread),
            None => None,
        };
        found.extend(what.map(|what| Claim { at, word, what }));
    }
    found
}

fn count_in(word: &str) -> Option<u32> {
    let known = NUMBERS
        .iter()
        .position(|known| word.eq_ignore_ascii_case(known));
    let known = known.and_then(|count| u32::try_from(count).ok());
    known.or_else(|| word.parse().ok().filter(|count| *count <= 100))
}

fn looks_like_thread(word: &str) -> bool {
    match word.as_bytes() {
        [b'M', digit, ..] => digit.is_ascii_digit(),
        [first, ..] => (first.is_ascii_digit() || *first == b'#') && word.contains('-'),
        [] => false,
    }
}

impl Claim<'_> {
    /// What of a part it contradicts, and what is true. `None` if it does not.
    fn contradiction(&self, part: &Part) -> Option<(&'static str, String)> {
        match &self.what {
            Claimed::Thread(thread) => {
                let own = &part.thread.as_ref()?.value;
                // A metric thread is often named without its pitch.
                let is_own = thread == own
                    || (!self.word.contains(['x', 'X', '×'])
                        && thread.is_metric()
                        && own.is_metric()
                        && thread.diameter() == own.diameter());
                (!is_own).then(|| ("thread", format!("it is {own}")))
            }
            Claimed::Count(count, after) => (*count != part.count && is_counted(part, after))
                .then(|| ("count", format!("its count is {}", part.count))),
        }
    }
}

/// Words after a number that make it a part of the count: `the two upper bolts`.
const SOME_OF: &[&str] = &[
    "back",
    "bottom",
    "first",
    "front",
    "inner",
    "last",
    "left",
    "long",
    "longer",
    "lower",
    "more",
    "of",
    "opposite",
    "other",
    "others",
    "outer",
    "rear",
    "remaining",
    "right",
    "short",
    "shorter",
    "side",
    "top",
    "turns",
    "upper",
];

const PREPOSITIONS: [&str; 8] = ["at", "by", "from", "in", "of", "off", "on", "with"];

/// Whether the words after a count name the part, perhaps after an adjective of the trade: `the four M6 bolts`. But
/// `both ends of the hose` counts ends.
fn is_counted(part: &Part, after: &str) -> bool {
    let mut words = words(after).map(|(_, word)| word).peekable();
    let is_some = words
        .peek()
        .is_none_or(|word| SOME_OF.contains(&word.to_lowercase().as_str()));
    !is_some
        && words
            .take_while(|noun| !PREPOSITIONS.contains(noun))
            .any(|noun| is_noun_of(part, noun))
}

/// Whether a word is the last word of the part's name, in the singular or plural.
fn is_noun_of(part: &Part, word: &str) -> bool {
    let stem = |word: &str| {
        let lower = word.to_lowercase();
        lower.strip_suffix('s').map_or(lower.clone(), str::to_owned)
    };
    let noun = part.name.split([',', '(']).next().unwrap_or_default();
    let noun = noun.split_whitespace().last().unwrap_or_default();
    stem(noun) == stem(word)
}

/// The words of a text with their offsets, without the punctuation around them.
fn words(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let is_outer = |letter: char| matches!(letter, ',' | '.' | ';' | ':' | '(' | ')' | '*' | '_');
    text.split(char::is_whitespace).filter_map(move |word| {
        // The offset of a piece of a text in it.
        let inner = word.trim_matches(is_outer);
        let at = inner.as_ptr() as usize - text.as_ptr() as usize;
        (!inner.is_empty()).then_some((at, inner))
    })
}
