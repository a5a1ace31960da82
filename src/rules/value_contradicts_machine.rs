//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use super::typed_value::{Typed, TypedStep, is_in_paragraph, link_text, typed_steps};
use crate::finding::{Finding, Findings, Span, rule};
use crate::prose::{ActionLink, ThingKind, Verb};
use crate::quantity::{Agreement, Found, Kind, Limits, Quantity};
use crate::shop::{Machine, Part};
use crate::trade::Thread;
use crate::words::{TypedCount, Words};
use std::collections::BTreeMap;

rule! {
    /// A step gives another value than the machine's file.
    ///
    /// Checked are, in a step that acts on the thing: a torque where it is tightened, the limits where it is
    /// measured, adjusted or inspected, the ratio of a mixture and a volume above the capacity where it is
    /// filled, the size of the spanner, and in the text of the action its thread and its count. Pounds
    /// alone are no torque: they can be inches or feet. `two bolts` can be two of four, but `the two bolts`,
    /// `both bolts` and `six bolts` can't.
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
    let words = scene.author_words();
    for step in typed_steps(scene) {
        for found in &step.values {
            if let Some(finding) = contradicted(scene, &step, found) {
                findings.push(finding);
            }
        }
        for action in step.step.actions() {
            check_threads(scene, &step, action, findings);
            check_counts(scene, &step, action, words, findings);
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

/// Compares the threads in the text of an action with its part.
fn check_threads(
    scene: &TextScene<'_>,
    step: &TypedStep<'_>,
    action: &ActionLink,
    findings: &mut Findings,
) {
    let Some(text) = link_text(scene.tree.text(action.span), action) else {
        return;
    };
    // Most texts have no thread, so this is checked first.
    if !text.bytes().any(|byte| byte.is_ascii_digit()) {
        return;
    }
    for (at, word) in words(text).filter(|(_, word)| looks_like_thread(word)) {
        let Ok(thread) = Thread::parse(word) else {
            continue;
        };
        for machine in step.machines() {
            let Some(part) = machine.parts.get(TypedStep::thing(action)) else {
                continue;
            };
            let own = part.thread.as_ref().map(|own| own.value);
            let Some(own) = own.filter(|own| !is_same_thread(word, &thread, own)) else {
                continue;
            };
            let span = action.span.part(1 + at..1 + at + word.len());
            findings.push(contradicted_part(
                span,
                "thread",
                machine,
                part,
                word,
                format!("it is {own}"),
            ));
            return;
        }
    }
}

fn looks_like_thread(word: &str) -> bool {
    match word.as_bytes() {
        [b'M', digit, ..] => digit.is_ascii_digit(),
        [first, ..] => (first.is_ascii_digit() || *first == b'#') && word.contains('-'),
        [] => false,
    }
}

/// Whether a thread that is typed as `word` is the part's own. A metric thread is often named without its pitch.
fn is_same_thread(word: &str, typed: &Thread, own: &Thread) -> bool {
    typed == own
        || (!word.contains(['x', 'X', '×'])
            && typed.is_metric()
            && own.is_metric()
            && typed.diameter() == own.diameter())
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

/// Compares the counts of an action's part, in its text and directly before it, with the part.
fn check_counts(
    scene: &TextScene<'_>,
    step: &TypedStep<'_>,
    action: &ActionLink,
    words: &Words,
    findings: &mut Findings,
) {
    if action.verb.takes() != ThingKind::Part {
        return;
    }
    let Some(link) = link_text(scene.tree.text(action.span), action) else {
        return;
    };
    let link_at = action.span.start() + "[".len();
    let before = scene
        .file
        .text
        .get(step.step.span.start()..action.span.start());
    let before = before.map_or(0, |before| before.len() - last_clause(before).len());
    let start = step.step.span.start() + before;
    let Some(text) = scene.file.text.get(start..link_at + link.len()) else {
        return;
    };
    if !words.may_count(text) {
        return;
    }
    // A part has one name on nearly all machines.
    let mut last: Option<(&str, Vec<TypedCount<'_>>)> = None;
    for machine in step.machines() {
        let Some(part) = machine.parts.get(TypedStep::thing(action)) else {
            continue;
        };
        let name = part.name.as_str();
        let (_, counts) = match last.take().filter(|(known, _)| *known == name) {
            Some(known) => last.insert(known),
            None => last.insert((name, words.counts_of(text, name))),
        };
        for count in counts.iter() {
            // "4 bar screws" is no pressure where there are bar screws.
            let is_value = || {
                let at = start + count.at;
                let mut values = step.values.iter();
                let value = values.find(|value| value.range.contains(&at));
                let value = value.and_then(|value| scene.file.text.get(value.range.clone()));
                let unit = value.and_then(|value| value.split_whitespace().nth(1));
                value.is_some() && !part.name.split_whitespace().any(|word| unit == Some(word))
            };
            let is_right = count.number == part.count
                || (count.number < part.count && count.may_be_some)
                || count.number == count_with_others(step, machine, words, text, count);
            if is_right || start + count.noun_at < link_at || is_value() {
                continue;
            }
            let at = start + count.at;
            let span = scene.file.span(at..at + count.word.len());
            let own = format!("its count is {}", part.count);
            findings.push(contradicted_part(
                span, "count", machine, part, count.word, own,
            ));
            return;
        }
    }
}

/// The end of a text after its last punctuation, link or empty line.
fn last_clause(text: &str) -> &str {
    let marks = ['.', ',', ';', ':', '!', '?', '(', ')', '[', ']'];
    let clause = text.rsplit(marks).next().unwrap_or_default();
    clause.rsplit("\n\n").next().unwrap_or_default()
}

/// The number of all parts that a step acts on and a count can mean: "the six bolts" can be four long and two short ones.
fn count_with_others(
    step: &TypedStep<'_>,
    machine: &Machine,
    words: &Words,
    text: &str,
    count: &TypedCount<'_>,
) -> u32 {
    let parts = step.step.actions();
    let parts = parts.filter_map(|action| machine.parts.get(TypedStep::thing(action)));
    let parts: BTreeMap<_, u32> = parts.map(|part| (part.id, part.count)).collect();
    let meant = parts.iter().filter(|(id, _)| {
        let mut counts = words.counts_of(text, &machine.parts[**id].name).into_iter();
        counts.any(|other| other.at == count.at)
    });
    meant.map(|(_, count)| *count).sum()
}

/// A finding about a thread or a count in the text of an action. `own` is what is true of the part.
fn contradicted_part(
    span: Span,
    what: &str,
    machine: &Machine,
    part: &Part,
    word: &str,
    own: String,
) -> Finding {
    let message = format!(
        "`{word}` contradicts the {what} of `{}` of `{}`",
        part.key, machine.id
    );
    Finding::new(&RULE, message)
        .primary(span, "")
        .secondary(part.span, "the part")
        .help(own)
}
