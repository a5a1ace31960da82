//! Links and actions at places where none is read, and addresses that lead nowhere.

use super::{Inline, Verb, rules};
use crate::finding::{Finding, Rule, Span, nearest};
use std::ops::Range;

/// A range of text that is not read as its author meant it.
pub(super) struct Unread {
    pub(super) rule: &'static Rule,
    pub(super) range: Range<usize>,
    pub(super) message: String,
    pub(super) help: String,
    /// What is written in place of the range, if that is known.
    pub(super) replacement: Option<String>,
}

impl Unread {
    pub(super) fn link(
        range: Range<usize>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Unread {
        Unread {
            rule: &rules::UNREAD_LINK,
            range,
            message: message.into(),
            help: help.into(),
            replacement: None,
        }
    }

    /// The finding. `is_exact` says whether the span is that of the range; otherwise it is that of all the text.
    pub(super) fn finding(self, span: Span, is_exact: bool) -> Finding {
        let finding = Finding::new(self.rule, self.message)
            .primary(span, "")
            .help(self.help);
        match self.replacement.filter(|_| is_exact) {
            Some(replacement) => finding.edit(span, replacement),
            None => finding,
        }
    }

    /// Adds what is written in place of the range.
    pub(super) fn corrected(self, replacement: impl Into<String>) -> Unread {
        Unread {
            replacement: Some(replacement.into()),
            ..self
        }
    }

    pub(super) fn markdown(range: Range<usize>, message: &str, help: &str) -> Unread {
        Unread {
            rule: &rules::UNSUPPORTED_MARKDOWN,
            ..Unread::link(range, message, help)
        }
    }

    /// Code that is prose or an action by mistake. `typed` is the code with its backticks.
    pub(super) fn code(typed: &str, range: Range<usize>) -> Option<Unread> {
        let code = typed.trim_matches('`');
        if code.contains("](") || has_action(code) {
            return Some(Unread::link(
                range,
                "an action between backticks is printed as typed, not read as an action",
                "remove the backticks around the action",
            ));
        }
        let is_unpaired =
            code.starts_with(char::is_whitespace) != code.ends_with(char::is_whitespace);
        is_unpaired.then(|| {
            Unread::markdown(
                range,
                "text between backticks has a space at one end, as if a backtick were missing",
                "remove the space, or close the backticks where the text to be printed as typed ends",
            )
        })
    }

    /// A link definition, as typed, that no link uses. It is not printed.
    pub(super) fn definition(typed: &str, range: Range<usize>) -> Unread {
        let link = typed.split_once("]:").map_or_else(
            || "[text](address)".to_owned(),
            |(label, address)| format!("{label}]({})", address.trim()),
        );
        Unread::link(
            range,
            "a link definition is used by no link, and is not printed",
            format!("write it as a link: `{link}`"),
        )
    }

    /// An action that is written as a figure.
    pub(super) fn figure(verb: Verb, name: &str, text: &[Inline], range: Range<usize>) -> Unread {
        let text = super::plain(text);
        Unread::link(
            range,
            "an action is written as a figure",
            format!(
                "remove the exclamation mark: `[{text}]({}:{name})`",
                verb.word()
            ),
        )
    }
}

/// A finding about an action in the alternative text of a figure, which is not rehearsed.
pub(super) fn action_in_figure(alt: &[Inline]) -> Option<Finding> {
    let action = super::actions(alt).next()?;
    let message = "an action in the text of a figure is not read as an action";
    let finding = Finding::new(&rules::UNREAD_LINK, message).primary(action.span, "");
    Some(finding.help("write the action outside the figure, before the exclamation mark"))
}

/// A finding about a link without a scheme. `parts` is its text.
pub(super) fn relative_link(address: &str, span: Span, parts: &[Inline]) -> Finding {
    let message = format!("`{address}` is neither an action nor a web address");
    let label = super::plain(parts);
    let meant = meant_by_relative(address, &label);
    Finding::new(&rules::RELATIVE_LINK, message)
        .primary(span, "")
        .help(help_with_relative(address, &label))
        .corrected(address, meant.as_deref())
}

/// A finding about a scheme that is neither a verb nor that of a web address.
pub(super) fn unknown_verb(scheme: &str, span: Span) -> Finding {
    let message = format!("`{scheme}` is not a verb");
    let finding = Finding::new(&rules::UNKNOWN_VERB, message).primary(span, "");
    let known = Verb::ALL.iter().map(|verb| verb.word());
    let near = nearest(&scheme.to_lowercase(), known);
    let help = "begin the address with a verb, as in `remove:nut`, or with `https:`";
    finding.suggest(near, help).corrected(scheme, near)
}

/// Whether text that is printed as typed contains an action.
pub(crate) fn has_action(text: &str) -> bool {
    text.match_indices(':').any(|(at, _)| {
        let (before, after) = (&text[..at], &text[at + 1..]);
        let word = before
            .rsplit(|letter: char| !letter.is_ascii_alphanumeric() && letter != '-')
            .next();
        word.and_then(Verb::find).is_some()
            && after.starts_with(|letter: char| letter.is_ascii_lowercase())
    })
}

/// The verb that a word is or was meant to be.
pub(super) fn verb_meant(word: &str) -> Option<Verb> {
    let word = word.trim().to_ascii_lowercase();
    let near = || {
        let known = Verb::ALL.iter().map(|verb| verb.word());
        // Every word of three letters is near some verb.
        let near = (word.len() > 3).then(|| nearest(&word, known)).flatten();
        near.and_then(|near| Verb::find(near.name))
    };
    Verb::find(&word).or_else(near)
}

/// What to write instead of an address that has neither a verb nor the scheme of a web address. `label` is the text of
/// the link.
/// The address that is certainly meant by one without a verb, or with a mark other than a colon after it.
fn meant_by_relative(address: &str, label: &str) -> Option<String> {
    if address.starts_with("www.") {
        return Some(format!("https://{address}"));
    }
    let is_name = !address.is_empty()
        && address
            .bytes()
            .all(|byte| byte == b'-' || byte.is_ascii_alphanumeric());
    let first = label.split_whitespace().next().unwrap_or_default();
    match Verb::find(&first.to_ascii_lowercase()) {
        Some(verb) if is_name => Some(format!("{}:{address}", verb.word())),
        _ => None,
    }
}

fn help_with_relative(address: &str, label: &str) -> String {
    let path = address.split('#').next().unwrap_or_default();
    let file = path.rsplit('/').next().unwrap_or_default();
    if let Some((id, "md" | "markdown")) = file.rsplit_once('.') {
        return if path.contains("faults/") {
            format!("write `see:fault/{id}` to refer to it")
        } else {
            format!("write `see:procedure/{id}` to refer to it, or `do:{id}` to have it done here")
        };
    }
    let extension = file.rsplit_once('.').map(|(_, extension)| extension);
    if matches!(
        extension,
        Some("svg" | "png" | "jpg" | "jpeg" | "webp" | "gif")
    ) {
        return format!(
            "write `![what it shows]({address})` to print it, or `see:figure/{file}` to refer to it"
        );
    }
    if address.is_empty() {
        return "write the verb and the thing between the parentheses, such as `(inspect:seal)`"
            .to_owned();
    }
    if address.starts_with("www.") {
        return format!("write `https://{address}`");
    }
    if path.is_empty() {
        return "write `see:step/ID` to refer to a step".to_owned();
    }
    let separated = address.split_once(|letter: char| !letter.is_ascii_alphanumeric());
    if let Some((verb, thing)) = separated
        && let Some(verb) = Verb::find(verb)
        && !thing.is_empty()
    {
        return format!("write `{}:{thing}`", verb.word());
    }
    let first = label.split_whitespace().next().unwrap_or_default();
    match Verb::find(&first.to_ascii_lowercase()) {
        Some(verb) => format!("write what is done to it: `{}:{address}`", verb.word()),
        None => format!(
            "write what is done to it, such as `inspect:{address}`, or `see:step/ID` for a step"
        ),
    }
}

/// Whether text is the address of an action: `remove:cover`.
#[must_use]
pub(crate) fn is_action(address: &str) -> bool {
    let scheme = address.split_once(':').map(|(scheme, _)| scheme);
    scheme.and_then(verb_meant).is_some()
}
