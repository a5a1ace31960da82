//! Reads TOML as [`Record`]s, field by field, with the span of each value.
//!
//! In: the text of a TOML file or of a procedure's front matter, and the descriptions of the fields that it can have.
//! Out: the typed values of the fields that the caller asks for. A value that can't be read is a finding, and reading
//! continues, so that one run reports all errors of a file. A key that is not described is reported as unknown. This
//! module never depends on the kinds of records that a shop has.

mod described;
mod fields;
mod layers;
mod origin;
mod records;
mod rules;
mod tables;

use crate::finding::{FileId, Finding, Findings, Located, Span, nearest};
use crate::quantity::Gallons;
use crate::tree::{OVER_LIMIT, invisible, invisible_character};
pub(crate) use described::{
    ById, Choice, Count, Date, Described, Description, Field, Flag, Form, Lists, MAX_COUNT,
    MAX_RECORDS, Many, Markdown, Name, Named, Number, Numbers, One, OneOf, OneText, Pairs,
    Quantity, Table, Text, Value, field, table,
};
use layers::{Found, Layers};
use origin::Origin;
pub(crate) use records::ids;
pub(crate) use records::{Id, Keys, PerRecord, Records};
pub(crate) use rules::RULES;
use std::marker::PhantomData;
use toml::de::{DeTable, DeValue};

/// A table that a `K` is being read from.
///
/// A record of a machine that is like another one has several layers: its own table, and those of the same record of the
/// other machine. A field is that of the first layer that has it.
pub(crate) struct Record<'t, K> {
    /// The name of the record in findings.
    what: String,
    key: String,
    layers: Layers<'t>,
    /// The span of the record's key.
    span: Span,
    /// What `gal` alone means in its values. Records in it inherit it.
    gallons: Gallons,
    of: PhantomData<fn() -> K>,
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
    let parsed = Parsed::new(text, span, findings);
    parsed.read(what, findings, read)
}

/// A TOML text that is parsed but not read.
#[derive(Debug)]
pub(crate) struct Parsed<'t> {
    table: toml::Spanned<DeTable<'t>>,
    origin: Origin,
    /// Where the text begins.
    start: Span,
    is_well_formed: bool,
}

impl<'t> Parsed<'t> {
    /// Parses the TOML text at `span`. Each syntax error is a finding.
    pub(crate) fn new(text: &'t str, span: Span, findings: &mut Findings) -> Parsed<'t> {
        let origin = Origin {
            file: span.file,
            offset: span.start(),
        };
        let (table, errors) = DeTable::parse_recoverable(text);
        for (index, error) in errors.iter().enumerate() {
            let range = error.span().unwrap_or(0..0);
            if error.message() == DUPLICATE_KEY {
                // After another error, it follows from that one: the fields of a table that is given twice, or whose
                // heading can't be read, are read into the table before it.
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
        Parsed {
            table,
            origin,
            start: span.part(0..0),
            is_well_formed: errors.is_empty(),
        }
    }

    #[must_use]
    pub(crate) fn is_well_formed(&self) -> bool {
        self.is_well_formed
    }

    /// The text of a field of the top table, if it is a text. Nothing is reported.
    #[must_use]
    pub(crate) fn peek<K, F: OneText>(&self, field: &Field<K, F>) -> Option<Located<String>> {
        let value = self.table.get_ref().get(field.description.key)?;
        let DeValue::String(text) = value.get_ref() else {
            return None;
        };
        Some(located(text, self.origin.span(value.span())))
    }

    /// Passes the top table to `read`, as [`read_toml`] does. A record in it that one of `bases` has as well is read over
    /// that of the first such base, and records that only they have are read as well: see [`Layers`]. `without` names the
    /// field that lists the ids of records that this text does not take over from its bases.
    pub(crate) fn read_over<'r, K: Described, V>(
        &'r self,
        bases: &[&'r Parsed<'r>],
        without: &Field<K, V>,
        what: &str,
        findings: &mut Findings,
        read: impl FnOnce(&mut Record<'r, K>, &mut Findings),
    ) -> bool {
        let layer = |parsed: &'r Parsed<'r>| (parsed.table.get_ref(), parsed.origin);
        let below = bases.iter().copied().map(layer);
        let layers = Layers::of_files(layer(self), below, without.description.key);
        self.read_layers(layers, what, findings, read)
    }

    fn read<K: Described>(
        &self,
        what: &str,
        findings: &mut Findings,
        read: impl FnOnce(&mut Record<'_, K>, &mut Findings),
    ) -> bool {
        let layers = Layers::single(self.table.get_ref(), self.origin);
        self.read_layers(layers, what, findings, read)
    }

    fn read_layers<'r, K: Described>(
        &'r self,
        layers: Layers<'r>,
        what: &str,
        findings: &mut Findings,
        read: impl FnOnce(&mut Record<'r, K>, &mut Findings),
    ) -> bool {
        let mut record = Record {
            what: what.to_owned(),
            key: String::new(),
            layers,
            span: self.start,
            gallons: Gallons::default(),
            of: PhantomData,
        };
        if self.is_well_formed {
            read(&mut record, findings);
            record.finish(findings);
        } else {
            read(&mut record, &mut Findings::new());
        }
        self.is_well_formed
    }
}

/// A text with its span without its quotes, so that a finding can point into it. With escapes or longer quotes the span
/// stays that of the whole value.
fn located(text: &str, span: Span) -> Located<String> {
    let is_plain = span.len() == text.len() + 2;
    let span = if is_plain {
        span.part(1..1 + text.len())
    } else {
        span
    };
    Located {
        value: text.to_owned(),
        span,
    }
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

    /// Whether it is the top table of a file.
    fn is_top(&self) -> bool {
        self.key.is_empty()
    }

    /// What findings call the record: "part `carburettor`", "dimension `crankpin` of part `crankshaft`".
    #[must_use]
    pub(crate) fn what(&self) -> &str {
        &self.what
    }

    /// The file of its own table.
    #[must_use]
    pub(crate) fn file(&self) -> FileId {
        self.layers.file()
    }

    /// The record without what it takes over from others.
    #[must_use]
    pub(crate) fn own(&self) -> Record<'t, K> {
        self.with_layers(self.layers.own())
    }

    /// Whether a value replaces one of a field that excludes it, because it is in a layer above that of the other one.
    #[must_use]
    pub(crate) fn replaces(&self, value: Span, other: Span) -> bool {
        self.layers.is_above(value, other)
    }

    /// What the record takes over from others, without what its own table has. `None` if it takes over nothing.
    #[must_use]
    pub(crate) fn below(&self) -> Option<Record<'t, K>> {
        Some(self.with_layers(self.layers.below()?))
    }

    /// The value of a field. If it is missing although it is required, that is reported.
    fn take<V>(&self, field: &Field<K, V>, findings: &mut Findings) -> Option<Found<'t>> {
        let found = self.layers.find(field.description.key);
        if found.is_none() && field.description.is_required {
            self.need(field, findings);
        }
        found
    }

    fn with_layers(&self, layers: Layers<'t>) -> Record<'t, K> {
        Record {
            what: self.what.clone(),
            key: self.key.clone(),
            layers,
            span: self.span,
            gallons: self.gallons,
            of: PhantomData,
        }
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
        for (name, span) in self.layers.own_keys() {
            if K::TABLE.field(name).is_none() {
                let message = format!("{} has no field `{name}`", self.what);
                let known = K::TABLE.fields.iter().map(|field| field.key);
                let near = nearest(name, known);
                findings.push(
                    Finding::new(&rules::UNKNOWN_FIELD, message)
                        .primary(span, "unknown field")
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
