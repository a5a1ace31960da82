//! Reads TOML as [`Record`]s, field by field, with the span of each value.
//!
//! In: the text of a TOML file or of a procedure's front matter, and the descriptions of the fields that it can have.
//! Out: the typed values of the fields that the caller asks for. A value that can't be read is a finding, and reading
//! continues, so that one run reports all errors of a file. A key that is not described is reported as unknown. This
//! module never depends on the kinds of records that a shop has.

mod described;
mod fields;
mod records;
mod rules;
mod tables;

use crate::finding::{FileId, Finding, Findings, Span, nearest};
use crate::quantity::Gallons;
use crate::tree::{OVER_LIMIT, invisible, invisible_character};
pub(crate) use described::{
    ById, Choice, Count, Date, Described, Description, Field, Flag, Form, Lists, MAX_COUNT,
    MAX_RECORDS, Many, Markdown, Name, Named, Number, Numbers, One, OneOf, OneText, Pairs,
    Quantity, Table, Text, Value, field, table,
};
pub(crate) use records::ids;
pub(crate) use records::{Id, Keys, PerRecord, Records};
pub(crate) use rules::RULES;
use std::marker::PhantomData;
use toml::de::{DeTable, DeValue};

/// A table that a `K` is being read from.
pub(crate) struct Record<'t, K> {
    /// The name of the record in findings.
    what: String,
    key: String,
    table: &'t DeTable<'t>,
    origin: Origin,
    /// The span of the record's key.
    span: Span,
    /// What `gal` alone means in its values. Records in it inherit it.
    gallons: Gallons,
    of: PhantomData<fn() -> K>,
}

/// The position of the TOML text in its file, as a byte offset.
#[derive(Clone, Copy)]
struct Origin {
    file: FileId,
    offset: usize,
}

impl Origin {
    fn span(self, range: std::ops::Range<usize>) -> Span {
        Span::new(
            self.file,
            self.offset + range.start..self.offset + range.end,
        )
    }
}

/// The parser's message for a key that a table already has.
const DUPLICATE_KEY: &str = "duplicate key";

/// Reads the TOML text at `span`, and passes its top table to `read`.
///
/// Returns whether the text is well formed. If not, each syntax error is a finding. `read` still gets the part that
/// could be parsed, so that names in it can be resolved, but the findings of `read` are dropped.
pub(crate) fn read_toml<K: Described>(
    text: &str,
    span: Span,
    what: &str,
    findings: &mut Findings,
    read: impl FnOnce(&mut Record<'_, K>, &mut Findings),
) -> bool {
    let origin = Origin {
        file: span.file,
        offset: span.start(),
    };
    let (table, errors) = DeTable::parse_recoverable(text);
    for (index, error) in errors.iter().enumerate() {
        let range = error.span().unwrap_or(0..0);
        if error.message() == DUPLICATE_KEY {
            // After another error, it follows from that one: the fields of a table that is given twice, or whose heading
            // can't be read, are read into the table before it.
            if index == 0 {
                let key = text.get(range.clone()).unwrap_or_default();
                findings.push(
                    Finding::new(&rules::BROKEN_TOML, format!("`{key}` is given twice"))
                        .primary(origin.span(range), "")
                        .help("rename one of the two, or remove it"),
                );
            }
            continue;
        }
        // An invisible character is reported when its file is read.
        let rest = text.get(range.start..).unwrap_or_default();
        if invisible(rest).is_some_and(|(at, _)| at == 0) {
            continue;
        }
        // The message may have a second line that begins with "expected".
        let message = error.message().lines().collect::<Vec<_>>().join(", ");
        findings.push(
            Finding::new(
                &rules::BROKEN_TOML,
                format!("the TOML can't be read: {message}"),
            )
            .primary(origin.span(range), "")
            .help("correct the syntax here: a table is `[part.cover]`, a field `key = \"text\"`, a list `[\"a\", \"b\"]`"),
        );
    }
    if text.contains('\\') {
        report_invisible(table.get_ref(), text, origin, findings);
    }
    let is_well_formed = errors.is_empty();
    let mut record = Record {
        what: what.to_owned(),
        key: String::new(),
        table: table.get_ref(),
        origin,
        span: span.part(0..0),
        gallons: Gallons::default(),
        of: PhantomData,
    };
    if is_well_formed {
        read(&mut record, findings);
        record.finish(findings);
    } else {
        read(&mut record, &mut Findings::new());
    }
    is_well_formed
}

/// Reports escapes that stand for invisible characters in the keys and strings of a table. A character that is typed
/// itself is reported when its file is read.
fn report_invisible(table: &DeTable<'_>, text: &str, origin: Origin, findings: &mut Findings) {
    let mut report = |value: &str, range: std::ops::Range<usize>| {
        let typed = text.get(range.clone()).unwrap_or_default();
        if let Some((_, letter)) = invisible(value).filter(|(_, letter)| !typed.contains(*letter)) {
            findings.push(invisible_character(letter, origin.span(range)));
        }
    };
    // A list and no recursion, because a file can have any depth.
    let mut tables = vec![table];
    let mut values = Vec::new();
    while let Some(table) = tables.pop() {
        for (key, value) in table {
            report(key.get_ref(), key.span());
            values.push(value);
        }
        while let Some(value) = values.pop() {
            match value.get_ref() {
                DeValue::String(string) => report(string, value.span()),
                DeValue::Array(items) => values.extend(items.iter()),
                DeValue::Table(table) => tables.push(table),
                _ => {}
            }
        }
    }
}

impl<'t, K> Record<'t, K> {
    #[must_use]
    pub(crate) fn span(&self) -> Span {
        self.span
    }

    #[must_use]
    pub(crate) fn gallons(&self) -> Gallons {
        self.gallons
    }

    pub(crate) fn set_gallons(&mut self, gallons: Gallons) {
        self.gallons = gallons;
    }

    /// The record's key. Empty for the top table of a file.
    #[must_use]
    pub(crate) fn key(&self) -> &str {
        &self.key
    }

    /// What findings call the record: "part `carburettor`".
    #[must_use]
    pub(crate) fn what(&self) -> &str {
        &self.what
    }

    /// The value of a field, with its span. If it is missing although it is required, that is reported.
    fn take<V>(
        &self,
        field: &Field<K, V>,
        findings: &mut Findings,
    ) -> Option<(Span, &'t DeValue<'t>)> {
        let value = self.value(field.description.key);
        if value.is_none() && field.description.is_required {
            self.need(field, findings);
        }
        value
    }

    fn value(&self, key: &str) -> Option<(Span, &'t DeValue<'t>)> {
        let value = self.table.get(key)?;
        Some((self.origin.span(value.span()), value.get_ref()))
    }

    /// A finding about a value of the wrong type.
    fn mistyped(&self, key: &str, span: Span, expected: &str, value: &DeValue<'_>) -> Finding {
        let actual = match value {
            DeValue::String(_) => "text",
            DeValue::Integer(_) => "a whole number",
            DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        let message = format!(
            "`{key}` of {} should be {expected}, not {actual}",
            self.what
        );
        Finding::new(&rules::WRONG_TYPE, message)
            .primary(span, format!("expected {expected}"))
            .help(format!("write {expected}"))
    }

    /// Reports the keys that are not described.
    fn finish(self, findings: &mut Findings)
    where
        K: Described,
    {
        for (key, _) in in_file_order(self.table) {
            let name: &str = key.get_ref();
            if K::TABLE.field(name).is_none() {
                let message = format!("{} has no field `{name}`", self.what);
                let known = K::TABLE.fields.iter().map(|field| field.key);
                let near = nearest(name, known);
                findings.push(
                    Finding::new(&rules::UNKNOWN_FIELD, message)
                        .primary(self.origin.span(key.span()), "unknown field")
                        .suggest(near, known_fields(K::TABLE))
                        .corrected(name, near),
                );
            }
        }
    }
}

/// The help for a field that is near no known field.
fn known_fields(table: &Table) -> String {
    let fields = table.fields.iter();
    let known: Vec<String> = fields.map(|field| format!("`{}`", field.key)).collect();
    format!("its fields are {}", known.join(", "))
}

type Entry<'t> = (
    &'t toml::Spanned<std::borrow::Cow<'t, str>>,
    &'t toml::Spanned<DeValue<'t>>,
);

fn in_file_order<'t>(table: &'t DeTable<'t>) -> Vec<Entry<'t>> {
    let mut entries: Vec<Entry<'t>> = table.iter().collect();
    entries.sort_by_key(|(key, _)| key.span().start);
    entries
}

/// The longest id that is the name of a file, in bytes. The names of its sheets are longer: `ID-bench-checklist.html`. Some
/// file systems allow only 143 bytes.
const MAX_FILE_ID: usize = 100;

/// Checks an id that is the name of a file.
pub(crate) fn check_file_id(id: &str, span: Span, findings: &mut Findings) {
    check_id(id, span, findings);
    if id.len() > MAX_FILE_ID {
        let shown: String = id.chars().take(20).collect();
        let message = format!("the id `{shown}…` is longer than {MAX_FILE_ID} characters");
        findings.push(
            Finding::new(&OVER_LIMIT, message)
                .primary(span, "")
                .help("rename the file: the names of its sheets are longer, and some systems can't store them"),
        );
    }
    check_device(id, span, findings);
}

/// Reports a name of a file or folder that some systems reserve for a device: a tree with it can't be copied there.
///
/// The names are those of "Naming Files, Paths, and Namespaces" (Microsoft Learn), from memory.
pub(crate) fn check_device(name: &str, span: Span, findings: &mut Findings) {
    let is_port = |start: &str| {
        let number = name.strip_prefix(start);
        number.is_some_and(|number| matches!(number.as_bytes(), [b'0'..=b'9']))
    };
    if matches!(name, "con" | "prn" | "aux" | "nul") || is_port("com") || is_port("lpt") {
        let message = format!("`{name}` is the name of a device on some systems");
        findings.push(
            Finding::new(&rules::ILL_FORMED_ID, message)
                .primary(span, "")
                .help("they can have no file or folder of this name; choose another one"),
        );
    }
}

/// A regular expression of the ids that [`check_id`] accepts.
pub(crate) const ID_PATTERN: &str = "[a-z0-9]+(-[a-z0-9]+)*";

/// Checks an id: lower-case ASCII letters and digits in words, joined by single hyphens.
pub(crate) fn check_id(id: &str, span: Span, findings: &mut Findings) {
    let is_word = |word: &str| {
        !word.is_empty()
            && word
                .bytes()
                .all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit())
    };
    if !id.split('-').all(is_word) {
        findings.push(
            Finding::new(&rules::ILL_FORMED_ID, format!("`{id}` can't be an id"))
                .primary(span, "")
                .help("an id is lower-case words and digits joined by hyphens: `fuel-tap`"),
        );
    }
}
