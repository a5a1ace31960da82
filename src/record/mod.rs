//! TOML text becomes [`Record`]s: fields taken one by one, each with its place.
//!
//! Comes in: the text of a TOML file or of a procedure's front matter. Goes
//! out: whatever typed values the caller asks for; what can't be given is a
//! finding and the record is read on. A derived deserialiser would stop at the
//! first fault of a record and could not name the nearest known key; here every
//! fault of a file is found in one run, and the known keys are just those that
//! were asked for. It knows nothing of shops.

mod records;
mod rules;

use crate::finding::{FileId, Finding, Findings, Located, Span, nearest};
use crate::quantity::Rational;
pub use records::{Id, Keys, PerRecord, Records};
pub use rules::RULES;
use toml::de::{DeTable, DeValue};

/// A table being read.
pub struct Record<'t> {
    what: String,
    key: String,
    table: &'t DeTable<'t>,
    place: Origin,
    span: Span,
    asked: Vec<&'static str>,
}

/// Where in a file the TOML text starts, so that its offsets become spans.
#[derive(Clone, Copy)]
struct Origin {
    file: FileId,
    base: usize,
}

impl Origin {
    fn span(self, range: std::ops::Range<usize>) -> Span {
        Span::new(self.file, self.base + range.start..self.base + range.end)
    }
}

/// Reads TOML text that stands at `span`, handing its top table to `read`.
///
/// Returns whether the text was well formed. Where it was not, each fault is a
/// finding and `read` still gets what could be made out, so that names in it
/// stay known; the caller judges nothing in it as missing.
pub fn read_toml(
    text: &str,
    span: Span,
    what: &str,
    findings: &mut Findings,
    read: impl FnOnce(&mut Record<'_>, &mut Findings),
) -> bool {
    let place = Origin {
        file: span.file,
        base: span.start(),
    };
    let (table, errors) = DeTable::parse_recoverable(text);
    for error in &errors {
        let at = error.span().unwrap_or(0..0);
        // One sentence a finding: the parser may add an "expected" line.
        let message = error.message().lines().collect::<Vec<_>>().join(", ");
        findings.push(
            Finding::new(
                &rules::BROKEN_TOML,
                format!("the TOML can't be read: {message}"),
            )
            .at(place.span(at), ""),
        );
    }
    let well_formed = errors.is_empty();
    let mut record = Record {
        what: what.to_owned(),
        key: String::new(),
        table: table.get_ref(),
        place,
        span: span.part(0..0),
        asked: Vec::new(),
    };
    if well_formed {
        read(&mut record, findings);
        record.finish(findings);
    } else {
        // Follow-on faults of a text that was not understood would be noise.
        read(&mut record, &mut Findings::new());
    }
    well_formed
}

impl<'t> Record<'t> {
    /// Where the record's own key stands.
    #[must_use]
    pub fn span(&self) -> Span {
        self.span
    }

    /// The record's own key, its id where it is one of several.
    #[must_use]
    pub fn key(&self) -> &str {
        &self.key
    }

    /// What the record is, as findings call it: "part `carburettor`".
    #[must_use]
    pub fn what(&self) -> &str {
        &self.what
    }

    fn take(&mut self, key: &'static str) -> Option<(Span, &'t DeValue<'t>)> {
        self.asked.push(key);
        let value = self.table.get(key)?;
        Some((self.place.span(value.span()), value.get_ref()))
    }

    fn mistyped(&self, key: &str, span: Span, expected: &str, found: &DeValue<'_>) -> Finding {
        let found = match found {
            DeValue::String(_) => "text",
            DeValue::Integer(_) => "a whole number",
            DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        let message = format!("`{key}` of {} should be {expected}, not {found}", self.what);
        Finding::new(&rules::WRONG_TYPE, message).at(span, format!("expected {expected}"))
    }

    /// Says so where a field that has to be there is not.
    pub fn need(&self, key: &str, findings: &mut Findings) {
        if !self.table.contains_key(key) {
            let message = format!("{} has no `{key}`", self.what);
            findings.push(
                Finding::new(&rules::MISSING_FIELD, message)
                    .at(self.span, format!("needs `{key}`")),
            );
        }
    }

    /// Text, or none where the field is left out.
    pub fn text(&mut self, key: &'static str, findings: &mut Findings) -> Option<Located<String>> {
        let (span, value) = self.take(key)?;
        let text = self.as_text(key, span, value, findings)?;
        if text.value.trim().is_empty() {
            let message = format!("`{key}` of {} is empty", self.what);
            findings.push(
                Finding::new(&rules::MISSING_FIELD, message)
                    .at(span, "")
                    .help("write it, or leave the field out"),
            );
            return None;
        }
        Some(text)
    }

    fn as_text(
        &self,
        key: &str,
        span: Span,
        value: &DeValue<'_>,
        findings: &mut Findings,
    ) -> Option<Located<String>> {
        let DeValue::String(text) = value else {
            let mut finding = self.mistyped(key, span, "text", value);
            if matches!(value, DeValue::Integer(_) | DeValue::Float(_)) {
                finding = finding.help("put it in quotes, with its unit where it is a value");
            }
            findings.push(finding);
            return None;
        };
        // The span is narrowed to what stands between one-character quotes, so that a
        // fault within the text can be pointed at; with escapes or longer quotes it can't.
        let narrow = span.len() == text.len() + 2;
        let span = if narrow {
            span.part(1..1 + text.len())
        } else {
            span
        };
        Some(Located {
            value: text.to_string(),
            span,
        })
    }

    /// Text that has to be there.
    pub fn need_text(
        &mut self,
        key: &'static str,
        findings: &mut Findings,
    ) -> Option<Located<String>> {
        self.need(key, findings);
        self.text(key, findings)
    }

    /// A list of texts; one text alone is a list of one.
    pub fn texts(&mut self, key: &'static str, findings: &mut Findings) -> Vec<Located<String>> {
        let Some((span, value)) = self.take(key) else {
            return Vec::new();
        };
        match value {
            DeValue::Array(items) => items
                .iter()
                .filter_map(|item| {
                    let span = self.place.span(item.span());
                    self.as_text(key, span, item.get_ref(), findings)
                })
                .collect(),
            DeValue::String(_) => self
                .as_text(key, span, value, findings)
                .into_iter()
                .collect(),
            other => {
                findings.push(self.mistyped(key, span, "a list of texts", other));
                Vec::new()
            }
        }
    }

    /// A list of texts, or none where the field is left out: an empty list says something else.
    pub fn optional_texts(
        &mut self,
        key: &'static str,
        findings: &mut Findings,
    ) -> Option<Vec<Located<String>>> {
        let is_there = self.table.contains_key(key);
        let texts = self.texts(key, findings);
        is_there.then_some(texts)
    }

    /// A list of texts that has to be there.
    pub fn need_texts(
        &mut self,
        key: &'static str,
        findings: &mut Findings,
    ) -> Vec<Located<String>> {
        self.need(key, findings);
        let texts = self.texts(key, findings);
        let is_empty = matches!(self.table.get(key).map(toml::Spanned::get_ref), Some(DeValue::Array(items)) if items.is_empty());
        if is_empty {
            let message = format!("`{key}` of {} is empty", self.what);
            findings.push(Finding::new(&rules::MISSING_FIELD, message).at(self.span, ""));
        }
        texts
    }

    /// A whole number from 1 to a million.
    pub fn count(&mut self, key: &'static str, findings: &mut Findings) -> Option<Located<u32>> {
        let (span, value) = self.take(key)?;
        let number = match value {
            DeValue::Integer(number) => u32::from_str_radix(number.as_str(), number.radix())
                .ok()
                .filter(|number| (1..=1_000_000).contains(number)),
            _ => None,
        };
        if number.is_none() {
            let mut finding = self.mistyped(key, span, "a whole number from 1", value);
            if matches!(value, DeValue::Integer(_)) {
                finding.message = format!("`{key}` of {} should be from 1 to a million", self.what);
            }
            findings.push(finding);
        }
        Some(Located {
            value: number?,
            span,
        })
    }

    /// An exact number above zero, whole or decimal.
    pub fn number(
        &mut self,
        key: &'static str,
        findings: &mut Findings,
    ) -> Option<Located<Rational>> {
        let (span, value) = self.take(key)?;
        self.as_number(key, span, value, findings)
    }

    /// A list of exact numbers above zero.
    pub fn numbers(
        &mut self,
        key: &'static str,
        findings: &mut Findings,
    ) -> Vec<Located<Rational>> {
        let Some((span, value)) = self.take(key) else {
            return Vec::new();
        };
        let DeValue::Array(items) = value else {
            findings.push(self.mistyped(key, span, "a list of numbers", value));
            return Vec::new();
        };
        items
            .iter()
            .filter_map(|item| {
                let span = self.place.span(item.span());
                self.as_number(key, span, item.get_ref(), findings)
            })
            .collect()
    }

    fn as_number(
        &self,
        key: &str,
        span: Span,
        value: &DeValue<'_>,
        findings: &mut Findings,
    ) -> Option<Located<Rational>> {
        let number = match value {
            DeValue::Integer(number) if number.radix() == 10 => decimal(number.as_str()),
            DeValue::Float(number) => decimal(number.as_str()),
            _ => None,
        };
        if number.is_none() {
            findings.push(self.mistyped(key, span, "a number above zero", value));
        }
        Some(Located {
            value: number?,
            span,
        })
    }

    /// `true` or `false`, `false` where it is left out.
    pub fn flag(&mut self, key: &'static str, findings: &mut Findings) -> bool {
        match self.take(key) {
            None => false,
            Some((_, DeValue::Boolean(flag))) => *flag,
            Some((span, other)) => {
                findings.push(self.mistyped(key, span, "true or false", other));
                false
            }
        }
    }

    /// A day, `2026-03-14`.
    pub fn date(&mut self, key: &'static str, findings: &mut Findings) -> Option<Located<String>> {
        let (span, value) = self.take(key)?;
        match value {
            DeValue::Datetime(moment) if moment.time.is_none() => Some(Located {
                value: moment.to_string(),
                span,
            }),
            other => {
                let finding = self.mistyped(key, span, "a day such as 2026-03-14", other);
                findings.push(finding.help("write it without quotes: 2026-03-14"));
                None
            }
        }
    }

    /// A table of one record, read by `read`.
    pub fn record(
        &mut self,
        key: &'static str,
        findings: &mut Findings,
        read: impl FnOnce(&mut Record<'_>, &mut Findings),
    ) {
        let Some((span, value)) = self.take(key) else {
            return;
        };
        let DeValue::Table(table) = value else {
            findings.push(self.mistyped(key, span, "a table", value));
            return;
        };
        let mut record = Record {
            what: format!("`{key}` of {}", self.what),
            key: key.to_owned(),
            table,
            place: self.place,
            span,
            asked: Vec::new(),
        };
        read(&mut record, findings);
        record.finish(findings);
    }

    /// The keys of the records that [`Record::records`] will read from a table.
    #[must_use]
    pub fn keys<T>(&self, key: &str) -> Keys<'t, T> {
        let Some(DeValue::Table(table)) = self.table.get(key).map(toml::Spanned::get_ref) else {
            return Keys::from_iter([]);
        };
        let entries = in_written_order(table).into_iter();
        let tables = entries.filter(|(_, value)| matches!(value.get_ref(), DeValue::Table(_)));
        tables.map(|(key, _)| &**key.get_ref()).collect()
    }

    /// A table of records by key, in the order in which they were written.
    pub fn records<T>(
        &mut self,
        key: &'static str,
        findings: &mut Findings,
        mut read: impl FnMut(Id<T>, &mut Record<'_>, &mut Findings) -> T,
    ) -> Records<T> {
        let mut all = Records::default();
        let Some((span, value)) = self.take(key) else {
            return all;
        };
        let DeValue::Table(table) = value else {
            let expected = format!("tables such as `[{key}.some-id]`");
            findings.push(self.mistyped(key, span, &expected, value));
            return all;
        };
        for (id, value) in in_written_order(table) {
            let key_span = self.place.span(id.span());
            let name = id.get_ref().to_string();
            check_id(&name, key_span, findings);
            let DeValue::Table(fields) = value.get_ref() else {
                let expected = format!("a table `[{key}.{name}]`");
                findings.push(self.mistyped(&name, key_span, &expected, value.get_ref()));
                continue;
            };
            let mut record = Record {
                what: format!("{key} `{name}`"),
                key: name.clone(),
                table: fields,
                place: self.place,
                span: key_span,
                asked: Vec::new(),
            };
            all.add(name, |id| read(id, &mut record, findings));
            record.finish(findings);
        }
        all
    }

    /// A table of texts by key, in the order in which they were written.
    pub fn pairs(
        &mut self,
        key: &'static str,
        findings: &mut Findings,
    ) -> Vec<(Located<String>, Located<String>)> {
        let Some((span, value)) = self.take(key) else {
            return Vec::new();
        };
        let DeValue::Table(table) = value else {
            findings.push(self.mistyped(key, span, "a table", value));
            return Vec::new();
        };
        let mut pairs = Vec::new();
        for (name, value) in in_written_order(table) {
            let name = Located {
                value: name.get_ref().to_string(),
                span: self.place.span(name.span()),
            };
            let span = self.place.span(value.span());
            if let Some(text) = self.as_text(&name.value, span, value.get_ref(), findings) {
                pairs.push((name, text));
            }
        }
        pairs
    }

    /// A table of lists of texts by key, in the order in which they were written.
    pub fn lists(
        &mut self,
        key: &'static str,
        findings: &mut Findings,
    ) -> Vec<(Located<String>, Vec<Located<String>>)> {
        let Some((span, value)) = self.take(key) else {
            return Vec::new();
        };
        let DeValue::Table(table) = value else {
            findings.push(self.mistyped(key, span, "a table", value));
            return Vec::new();
        };
        let mut lists = Vec::new();
        for (name, value) in in_written_order(table) {
            let name = Located {
                value: name.get_ref().to_string(),
                span: self.place.span(name.span()),
            };
            let DeValue::Array(items) = value.get_ref() else {
                let span = self.place.span(value.span());
                findings.push(self.mistyped(&name.value, span, "a list of texts", value.get_ref()));
                continue;
            };
            let texts = items.iter().filter_map(|item| {
                let span = self.place.span(item.span());
                self.as_text(&name.value, span, item.get_ref(), findings)
            });
            let texts = texts.collect();
            lists.push((name, texts));
        }
        lists
    }

    /// Says which keys nobody asked for.
    fn finish(self, findings: &mut Findings) {
        for (key, _) in in_written_order(self.table) {
            let name: &str = key.get_ref();
            if !self.asked.contains(&name) {
                let message = format!("{} has no field `{name}`", self.what);
                findings.push(
                    Finding::new(&rules::UNKNOWN_KEY, message)
                        .at(self.place.span(key.span()), "not a field of it")
                        .near(nearest(name, self.asked.iter().copied())),
                );
            }
        }
    }
}

/// A plain decimal above zero, exactly: a binary fraction would not be the number that was written.
fn decimal(text: &str) -> Option<Rational> {
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let denominator = 10_i64.checked_pow(u32::try_from(part.len()).ok()?)?;
    let digits: i64 = format!("{whole}{part}").parse().ok()?;
    (digits > 0).then(|| Rational::new(digits.into(), denominator.into()))
}

type Entry<'t> = (
    &'t toml::Spanned<std::borrow::Cow<'t, str>>,
    &'t toml::Spanned<DeValue<'t>>,
);

fn in_written_order<'t>(table: &'t DeTable<'t>) -> Vec<Entry<'t>> {
    let mut entries: Vec<Entry<'t>> = table.iter().collect();
    entries.sort_by_key(|(key, _)| key.span().start);
    entries
}

/// An id is lower-case ASCII words and digits joined by single hyphens.
pub fn check_id(id: &str, span: Span, findings: &mut Findings) {
    let word = |word: &str| {
        !word.is_empty()
            && word
                .bytes()
                .all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit())
    };
    if !id.split('-').all(word) {
        findings.push(
            Finding::new(&rules::ILL_FORMED_ID, format!("`{id}` can't be an id"))
                .at(span, "")
                .help("an id is lower-case words and digits joined by hyphens: `fuel-tap`"),
        );
    }
}
