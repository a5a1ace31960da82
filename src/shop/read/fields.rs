//! Reads fields of records into typed values. Text that can't be parsed is a finding.

use super::super::fields::machine;
use super::super::{Instruction, Machine, MachineId, Price, Records, Sourced, rules};
use crate::finding::{FileId, Finding, Findings, Located, Span, nearest};
use crate::prose::{self, Inline};
use crate::quantity::Spec;
use crate::record::{
    Choice, Date, Described, Description, Field, Many, Markdown, OneOf, Quantity, Record, Text,
    read_toml,
};
use crate::trade::{self, Day};
use crate::tree::Source;

/// The source of the values of each file of a machine that have no source of their own.
#[derive(Debug, Default)]
pub(super) struct Bases(Vec<(FileId, String)>);

impl Bases {
    /// Those of the files of a machine, from its own down.
    pub(super) fn of_files(top: &Record<'_, Machine>, files: &[FileId]) -> Bases {
        let mut unreported = Findings::new();
        let bases = files.iter().filter_map(|file| {
            let basis = top.text_in(*file, machine::BASIS, &mut unreported)?;
            Some((*file, basis.value))
        });
        Bases(bases.collect())
    }

    /// A value of a record, with its source: the one that the record, or else the file, gives where the value is. A value
    /// that a variant changes does not have the source of the value that it replaces.
    pub(super) fn source<K>(
        &self,
        record: &Record<'_, K>,
        basis: &Field<K, Text>,
        spec: Located<Spec>,
    ) -> Sourced {
        let file = spec.span.file;
        let own = record.text_in(file, basis, &mut Findings::new());
        let mut of_files = self.0.iter();
        let of_file = of_files.find(|(of, _)| *of == file);
        let of_file = of_file.map(|(_, basis)| basis.clone());
        Sourced {
            spec,
            basis: own.map(|own| own.value).or(of_file),
        }
    }
}

/// The text, or an empty one if the field is missing.
pub(super) fn owned(text: Option<Located<String>>) -> String {
    text.map(|text| text.value).unwrap_or_default()
}

pub(super) fn values(texts: Vec<Located<String>>) -> Vec<String> {
    texts.into_iter().map(|text| text.value).collect()
}

/// The machine of a name that `what` gives. Reports one that the shop does not have.
pub(super) fn machine_named(
    name: &Located<String>,
    what: &str,
    machines: &Records<Machine>,
    findings: &mut Findings,
) -> Option<MachineId> {
    let id = machines.find(&name.value);
    if id.is_none() {
        let near = nearest(&name.value, machines.keys());
        let message = format!("{what} names an unknown machine `{}`", name.value);
        findings.push(
            Finding::new(&rules::UNKNOWN_NAME, message)
                .primary(name.span, "")
                .suggest(
                    near,
                    "use the name of a file in `machines`, without `.toml`",
                )
                .corrected(&name.value, near),
        );
    }
    id
}

pub(super) fn price<K>(
    record: &Record<'_, K>,
    field: &Field<K, Text>,
    findings: &mut Findings,
) -> Option<Price> {
    let text = record.text(field, findings)?;
    let price = Price::parse(&text.value);
    if price.is_none() {
        let message = format!("`price` of {} can't be read", record.what());
        findings.push(
            Finding::new(&rules::ILL_FORMED_VALUE, message)
                .primary(text.span, "")
                .help("write a plain number with up to two decimals: `\"4.50\"`"),
        );
    }
    price
}

pub(super) fn prose<K>(
    record: &Record<'_, K>,
    field: &Field<K, Markdown>,
    findings: &mut Findings,
) -> Option<Instruction> {
    let text = record.text(field, findings)?;
    Some(prose::read_inline(&text, findings))
}

/// Reads a field whose text must be one of the words of `T`.
pub(super) fn choice<K, T: Choice + Copy>(
    record: &Record<'_, K>,
    field: &Field<K, OneOf<T>>,
    findings: &mut Findings,
) -> Option<Located<T>> {
    let text = record.text(field, findings)?;
    chosen(record, field.description.key, &text, findings)
}

/// Reads a field with any number of the words of `T`. Others are left out.
pub(super) fn choices<K, T: Choice + Copy>(
    record: &Record<'_, K>,
    field: &Field<K, Many<OneOf<T>>>,
    findings: &mut Findings,
) -> Vec<Located<T>> {
    let texts = record.texts(field, findings);
    let key = field.description.key;
    let values = texts.iter();
    let values = values.map(|text| chosen(record, key, text, findings));
    values.flatten().collect()
}

/// The value whose word the text is.
fn chosen<K, T: Choice + Copy>(
    record: &Record<'_, K>,
    key: &str,
    text: &Located<String>,
    findings: &mut Findings,
) -> Option<Located<T>> {
    let choices = T::all();
    if let Some((_, value)) = choices.iter().find(|(word, _)| *word == text.value) {
        return Some(text.with(*value));
    }
    let words: Vec<String> = choices
        .iter()
        .map(|(word, _)| format!("`{word}`"))
        .collect();
    let message = format!("`{key}` of {} can't be `{}`", record.what(), text.value);
    findings.push(
        Finding::new(&rules::UNKNOWN_CHOICE, message)
            .primary(text.span, "")
            .help(format!("use one of {}", words.join(", ")))
            .corrected(
                &text.value,
                nearest(&text.value, choices.iter().map(|(word, _)| *word)),
            ),
    );
    None
}

pub(super) fn day<K>(
    record: &Record<'_, K>,
    field: &Field<K, Date>,
    findings: &mut Findings,
) -> Option<Located<Day>> {
    let text = record.date(field, findings)?;
    let day = trade_value(Day::parse(&text.value), text.span, findings)?;
    Some(text.with(day))
}

/// Reads a field with one of the parsers of `trade`, such as that of a thread.
pub(super) fn parsed<K, T>(
    record: &Record<'_, K>,
    field: &Field<K, Text>,
    parse: impl FnOnce(&str) -> Result<T, trade::Error>,
    findings: &mut Findings,
) -> Option<Located<T>> {
    let text = record.text(field, findings)?;
    let value = trade_value(parse(&text.value), text.span, findings)?;
    Some(text.with(value))
}

/// Unwraps the result of `trade`, and reports an error at `span`.
pub(super) fn trade_value<T>(
    result: Result<T, trade::Error>,
    span: Span,
    findings: &mut Findings,
) -> Option<T> {
    result
        .inspect_err(|error| {
            let finding =
                Finding::new(&rules::ILL_FORMED_VALUE, error.to_string()).primary(span, "");
            let help = error.help();
            findings
                .push(finding.help(help.unwrap_or("write it as the reference of the format says")));
        })
        .ok()
}

/// Reads a field that holds a value of one of the kinds that the field takes.
pub(super) fn spec<K>(
    record: &Record<'_, K>,
    field: &Field<K, Quantity>,
    findings: &mut Findings,
) -> Option<Located<Spec>> {
    let text = record.text(field, findings)?;
    parse_spec(record, &field.description, &text, findings)
}

/// Reads a field that holds a list of values, each of one of the kinds that the field takes.
pub(super) fn specs<K>(
    record: &Record<'_, K>,
    field: &Field<K, Many<Quantity>>,
    findings: &mut Findings,
) -> Vec<Located<Spec>> {
    let texts = record.texts(field, findings).into_iter();
    texts
        .filter_map(|text| parse_spec(record, &field.description, &text, findings))
        .collect()
}

/// Reads a value that is one of the texts of a field.
pub(super) fn written_spec<K, V>(
    record: &Record<'_, K>,
    field: &Field<K, V>,
    text: &Located<String>,
    findings: &mut Findings,
) -> Option<Located<Spec>> {
    parse_spec(record, &field.description, text, findings)
}

fn parse_spec<K>(
    record: &Record<'_, K>,
    field: &Description,
    text: &Located<String>,
    findings: &mut Findings,
) -> Option<Located<Spec>> {
    let (key, expected) = (field.key, field.kinds());
    let spec = match Spec::parse_with(&text.value, record.gallons()) {
        Ok(spec) => spec,
        Err(error) => {
            findings.push(ill_formed(text, &error));
            return None;
        }
    };
    let kind = spec.limits().kind();
    if !expected.is_empty() && !expected.contains(&kind) {
        let names: Vec<&str> = expected.iter().map(|kind| kind.name()).collect();
        let message = format!(
            "`{key}` of {} should be a {}, not a {}",
            record.what(),
            names.join(" or "),
            kind.name()
        );
        findings.push(
            Finding::new(&rules::ILL_FORMED_VALUE, message)
                .primary(text.span, "")
                .help(format!("write a {} here", names.join(" or "))),
        );
        return None;
    }
    Some(text.with(spec))
}

pub(super) fn ill_formed(text: &Located<String>, error: &crate::quantity::Error) -> Finding {
    // With escapes in the text, offsets in its value are not offsets in the source.
    let has_same_offsets = text.span.len() == text.value.len();
    let span: Span = if has_same_offsets {
        text.span.part(error.range())
    } else {
        text.span
    };
    let finding = Finding::new(&rules::ILL_FORMED_VALUE, error.to_string()).primary(span, "");
    let help = error.help().unwrap_or_else(|| {
        "write one such as `9 N·m ± 1 N·m`, `8 to 10 N·m` or `at least 15 bar`".to_owned()
    });
    let finding = finding.help(help);
    match error.replacement().filter(|_| has_same_offsets) {
        Some(replacement) => finding.edit(span, replacement),
        None => finding,
    }
}

/// Reports actions in an instruction that is not rehearsed: they would be printed but have no effect. `of` is
/// what findings call the record.
pub(super) fn no_actions(text: &[Inline], of: &str, findings: &mut Findings) {
    for action in prose::actions(text) {
        let message = format!("an instruction of {of} contains an action");
        findings.push(
            Finding::new(&rules::ACTION_IN_TEXT_FIELD, message)
                .primary(action.span, "")
                .help("write it as plain text; actions belong in steps"),
        );
    }
}

/// Reads a TOML file, and returns whether it could be read in full.
pub(super) fn read_file<K: Described>(
    file: &Source,
    findings: &mut Findings,
    read: impl FnOnce(&mut Record<'_, K>, &mut Findings),
) -> bool {
    let what = format!("`{}`", file.path);
    read_toml(&file.text, file.whole(), &what, findings, read)
}
