//! Reads fields of a record that are tables.

use super::described::{ById, Described, Field, Lists, MAX_RECORDS, One, OneText, Pairs};
use super::{Id, Keys, Record, Records, check_id, in_file_order};
use crate::finding::{Finding, Findings, Located};
use crate::tree::OVER_LIMIT;
use std::marker::PhantomData;
use toml::de::DeValue;

impl<'t, K> Record<'t, K> {
    /// Reads a table as a single record, by means of `read`. A missing field is skipped.
    pub(crate) fn record<T: Described>(
        &self,
        field: &Field<K, One<T>>,
        findings: &mut Findings,
        read: impl FnOnce(&Record<'_, T>, &mut Findings),
    ) {
        let key = field.description.key;
        let Some((span, value)) = self.take(field, findings) else {
            return;
        };
        let DeValue::Table(table) = value else {
            findings.push(self.mistyped(key, span, "a table", value));
            return;
        };
        let record = Record {
            what: format!("`{key}` of {}", self.what),
            key: key.to_owned(),
            table,
            origin: self.origin,
            span,
            gallons: self.gallons,
            of: PhantomData,
        };
        read(&record, findings);
        record.finish(findings);
    }

    /// The keys of the records that [`Record::records`] will read from a table, in the same order.
    #[must_use]
    pub(crate) fn keys<T>(&self, field: &Field<K, ById<T>>) -> Keys<'t, T> {
        let Some((_, DeValue::Table(table))) = self.value(field.description.key) else {
            return Keys::from_iter([]);
        };
        let entries = in_file_order(table).into_iter();
        let tables = entries.filter(|(_, value)| matches!(value.get_ref(), DeValue::Table(_)));
        let keys = tables.map(|(key, _)| &**key.get_ref());
        keys.take(MAX_RECORDS).collect()
    }

    /// Reads a table of records, in the order of the file. `read` reads each record.
    pub(crate) fn records<T: Described>(
        &self,
        field: &Field<K, ById<T>>,
        findings: &mut Findings,
        mut read: impl FnMut(Id<T>, &Record<'_, T>, &mut Findings) -> T,
    ) -> Records<T> {
        let key = field.description.key;
        let mut records = Records::default();
        let Some((span, value)) = self.take(field, findings) else {
            return records;
        };
        let DeValue::Table(table) = value else {
            let expected = format!("tables such as `[{key}.some-id]`");
            findings.push(self.mistyped(key, span, &expected, value));
            return records;
        };
        for (id, value) in in_file_order(table) {
            let key_span = self.origin.span(id.span());
            if records.len() == MAX_RECORDS {
                let message = format!("there are more than {MAX_RECORDS} `{key}` tables");
                let finding =
                    Finding::new(&OVER_LIMIT, message).primary(key_span, "not read from here on");
                findings.push(finding.help("leave out those that no procedure names"));
                break;
            }
            let name = id.get_ref().to_string();
            check_id(&name, key_span, findings);
            let DeValue::Table(fields) = value.get_ref() else {
                let expected = format!("a table `[{key}.{name}]`");
                findings.push(self.mistyped(&name, key_span, &expected, value.get_ref()));
                continue;
            };
            let record = Record {
                what: format!("{key} `{name}`"),
                key: name.clone(),
                table: fields,
                origin: self.origin,
                span: key_span,
                gallons: self.gallons,
                of: PhantomData,
            };
            records.add(name, |id| read(id, &record, findings));
            record.finish(findings);
        }
        records
    }

    /// Reads a table of texts, in the order of the file.
    pub(crate) fn pairs<A: OneText, B: OneText>(
        &self,
        field: &Field<K, Pairs<A, B>>,
        findings: &mut Findings,
    ) -> Vec<(Located<String>, Located<String>)> {
        let key = field.description.key;
        let Some((span, value)) = self.take(field, findings) else {
            return Vec::new();
        };
        let DeValue::Table(table) = value else {
            findings.push(self.mistyped(key, span, "a table", value));
            return Vec::new();
        };
        let mut pairs = Vec::new();
        for (name, value) in in_file_order(table) {
            let name = Located {
                value: name.get_ref().to_string(),
                span: self.origin.span(name.span()),
            };
            let span = self.origin.span(value.span());
            if let Some(text) = self.as_text(&name.value, span, value.get_ref(), findings) {
                pairs.push((name, text));
            }
        }
        pairs
    }

    /// Reads a table of lists of texts, in the order of the file.
    pub(crate) fn lists<A: OneText, B: OneText>(
        &self,
        field: &Field<K, Lists<A, B>>,
        findings: &mut Findings,
    ) -> Vec<(Located<String>, Vec<Located<String>>)> {
        let key = field.description.key;
        let Some((span, value)) = self.take(field, findings) else {
            return Vec::new();
        };
        let DeValue::Table(table) = value else {
            findings.push(self.mistyped(key, span, "a table", value));
            return Vec::new();
        };
        let mut lists = Vec::new();
        for (name, value) in in_file_order(table) {
            let name = Located {
                value: name.get_ref().to_string(),
                span: self.origin.span(name.span()),
            };
            let DeValue::Array(items) = value.get_ref() else {
                let span = self.origin.span(value.span());
                findings.push(self.mistyped(&name.value, span, "a list of texts", value.get_ref()));
                continue;
            };
            let texts = items.iter().filter_map(|item| {
                let span = self.origin.span(item.span());
                self.as_text(&name.value, span, item.get_ref(), findings)
            });
            let texts = texts.collect();
            lists.push((name, texts));
        }
        lists
    }
}
