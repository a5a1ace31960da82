//! Files with the right keys, and marks where the author has to write something.

use super::mark::{MISSING, markdown, toml_text};
use crate::shop::capitalised;
use crate::words::Words;

/// The name that an id suggests: "Rotary tiller" for `rotary-tiller`.
fn name(id: &str) -> String {
    capitalised(&id.replace('-', " "))
}

/// The text of a machine's file.
#[must_use]
pub(crate) fn machine(words: &Words, id: &str) -> String {
    words.source("machine-file", &[("name", &toml_text(&name(id)))])
}

/// The text of the file of a machine that is a variant of another one.
#[must_use]
pub(crate) fn variant(words: &Words, id: &str, like: &str) -> String {
    let (name, like) = (toml_text(&name(id)), toml_text(like));
    words.source("variant-file", &[("name", &name), ("like", &like)])
}

/// What a procedure or fault table is for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Subject<'a> {
    pub(crate) id: &'a str,
    /// The ids of the machines.
    pub(crate) machines: &'a [&'a str],
    /// The procedures that are usually done before and after others on these machines.
    pub(crate) begin: &'a [&'a str],
    pub(crate) finish: &'a [&'a str],
}

/// The text of a procedure's file.
#[must_use]
pub(crate) fn procedure(words: &Words, subject: Subject<'_>) -> String {
    let line = |field: &str, ids: &[&str]| match ids {
        [] => String::new(),
        ids => format!("{field} = [{}]\n", list(ids)),
    };
    let around = [line("begin", subject.begin), line("finish", subject.finish)].concat();
    fill(words, "procedure-file", subject, &around)
}

/// The text of a fault table's file.
#[must_use]
pub(crate) fn fault(words: &Words, subject: Subject<'_>) -> String {
    fill(words, "fault-file", subject, "")
}

fn fill(words: &Words, key: &str, subject: Subject<'_>, around: &str) -> String {
    let machines = list(subject.machines);
    let values = [
        ("title", toml_text(&name(subject.id))),
        ("machines", machines),
        ("around", around.to_owned()),
    ];
    let values = values
        .each_ref()
        .map(|(name, value)| (*name, value.as_str()));
    words.source(key, &values)
}

fn list(ids: &[&str]) -> String {
    let quoted: Vec<String> = ids.iter().map(|id| toml_text(id)).collect();
    quoted.join(", ")
}

/// The mark of a gap, and what is missing.
pub(super) fn gap(what: &str) -> String {
    format!("{MISSING} {}", markdown(what))
}
