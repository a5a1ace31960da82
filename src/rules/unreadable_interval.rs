//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use crate::finding::{Finding, Findings, Located, nearest, rule};
use crate::words::{MAX_COUNT, UnreadInterval, Words};

rule! {
    /// A text that says when a job or an inspection is due is none that can be read.
    ///
    /// Charts are sorted by intervals, and `benchleaf due` counts with them. An interval has these parts, in the language
    /// of the shop's text. Of several with *or* between them, the first to come is meant.
    ///
    /// - running hours, `every 50 h`, or a time on the calendar: `daily`, `every 6 weeks`, `every 12 months`, `yearly`;
    /// - a month of the year: `yearly, in October`;
    /// - another first time: `first after 5 h, then every 50 h`. What is done only then is `once after 5 h`;
    /// - a use of the machine: `before each use`, `during each use`, `after each use`, `every day of use`;
    /// - a condition, in any words: `when needed: the tips are round`.
    ///
    /// ## At the bench
    ///
    /// A job whose interval nobody can count is on no list of what is due.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// interval = "before winter"
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. Look at the plate.
    /// ```
    ///
    /// ## Fix
    ///
    /// Write it in one of these forms. Where only the state of a thing says that it is due, write `when needed:` and what
    /// to see.
    "unreadable-interval", Reading, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    let Some(procedure) = scene.procedure else {
        return;
    };
    let words = scene.author_words();
    let headings = procedure.inspections().map(|section| Located {
        value: section.title.clone(),
        span: section.span,
    });
    for interval in procedure.interval.iter().cloned().chain(headings) {
        if let Err(error) = words.read_interval(&interval.value) {
            findings.push(unreadable(words, &interval, &error));
        }
    }
}

/// The finding of an interval that can't be read.
fn unreadable(words: &Words, text: &Located<String>, error: &UnreadInterval) -> Finding {
    let example = |count: u32| {
        words
            .interval_forms(count)
            .into_iter()
            .next()
            .unwrap_or_default()
    };
    let (part, message, help) = match error {
        UnreadInterval::Unknown(part) => (part, format!("`{part}` is not an interval"), None),
        UnreadInterval::OutOfRange(part) => (
            part,
            format!("the number in `{part}` is not from 1 to {MAX_COUNT}"),
            Some(format!(
                "write a whole number in this range, such as `{}`",
                example(50)
            )),
        ),
        UnreadInterval::Twice(part) => (
            part,
            format!("`{part}` is a second interval of the same kind"),
            Some("keep one of them: the first to come is meant".to_owned()),
        ),
        UnreadInterval::MonthWithoutYear(part) => (
            part,
            format!("`{part}` does not follow an interval of one year"),
            Some("a month goes with what is done once a year; otherwise leave it out".to_owned()),
        ),
        UnreadInterval::OnlyFirst(part) => (
            part,
            format!("`{part}` says when it is due first, and not how often after that"),
            Some(words.only_first_help()),
        ),
        UnreadInterval::NoCondition(part) => (
            part,
            format!("`{part}` does not say what has to be found"),
            Some("write the condition after the colon".to_owned()),
        ),
    };
    let finding = Finding::new(&RULE, message).primary(text.span, "");
    if let Some(help) = help {
        return finding.help(help);
    }
    let digits = part.split(|letter: char| !letter.is_ascii_digit());
    let count = digits
        .filter_map(|digits| digits.parse().ok())
        .find(|count| *count > 0);
    let forms = words.interval_forms(count.unwrap_or(50));
    let near = nearest(&part.to_lowercase(), forms.iter().map(String::as_str));
    let place = text.value.find(part.as_str());
    let place = place.filter(|_| text.span.len() == text.value.len() && !part.is_empty());
    let edit = near.filter(|near| near.is_certain).zip(place);
    let finding = finding.suggest(near, words.interval_help());
    match edit {
        Some((near, at)) => finding.edit(text.span.part(at..at + part.len()), near.name),
        None => finding,
    }
}
