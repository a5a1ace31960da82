//! Reads fields of a record that are tables.

use super::described::{ById, Described, Field, Lists, MAX_RECORDS, One, OneText, Pairs};
use super::layers::Found;
use super::origin::in_file_order;
use super::{Id, Keys, Record, Records, check_id};
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
        let Some(Found { span, value, .. }) = self.take(field, findings) else {
            return;
        };
        let Some(layers) = self.layers.table(key) else {
            findings.push(self.mistyped(key, span, "a table", value));
            return;
        };
        let record = Record {
            what: format!("`{key}` of {}", self.what),
            key: key.to_owned(),
            layers,
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
        let entries = self.layers.entries(field.description.key).into_iter();
        let tables = entries.filter(|entry| entry.layers().is_some());
        tables.map(|entry| entry.id).take(MAX_RECORDS).collect()
    }

    /// The keys of the records that the record does not take over from those that it is like.
    pub(crate) fn keys_without<T>(
        &self,
        field: &Field<K, ById<T>>,
    ) -> impl Iterator<Item = &'t str> {
        let entries = if self.layers.is_single() {
            Vec::new()
        } else {
            self.layers.entries(field.description.key)
        };
        let without = entries.into_iter().filter(|entry| entry.own.is_none());
        without.map(|entry| entry.id)
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
        let Some(Found { span, value, .. }) = self.take(field, findings) else {
            return records;
        };
        if !matches!(value, DeValue::Table(_)) {
            let expected = if self.is_top() {
                format!("tables such as `[{key}.some-id]`")
            } else {
                "a table for each id".to_owned()
            };
            findings.push(self.mistyped(key, span, &expected, value));
            return records;
        }
        for entry in self.layers.entries(key) {
            let Some(own) = &entry.own else {
                continue;
            };
            if records.len() == MAX_RECORDS {
                let message = format!("there are more than {MAX_RECORDS} `{key}` tables");
                let finding = Finding::new(&OVER_LIMIT, message)
                    .primary(entry.id_span, "not read from here on");
                findings.push(finding.help("leave out those that no procedure names"));
                break;
            }
            check_id(entry.id, entry.id_span, findings);
            let Some(layers) = entry.layers() else {
                let expected = if self.is_top() {
                    format!("a table `[{key}.{}]`", entry.id)
                } else {
                    "a table".to_owned()
                };
                findings.push(self.mistyped(entry.id, entry.id_span, &expected, own.value));
                continue;
            };
            let record = Record {
                what: if self.is_top() {
                    format!("{key} `{}`", entry.id)
                } else {
                    format!("{key} `{}` of {}", entry.id, self.what)
                },
                key: entry.id.to_owned(),
                layers,
                span: entry.id_span,
                gallons: self.gallons,
                of: PhantomData,
            };
            records.add(entry.id.to_owned(), |id| read(id, &record, findings));
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
        let Some(Found {
            span,
            value,
            origin,
        }) = self.take(field, findings)
        else {
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
                span: origin.span(name.span()),
            };
            let span = origin.span(value.span());
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
        let Some(Found {
            span,
            value,
            origin,
        }) = self.take(field, findings)
        else {
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
                span: origin.span(name.span()),
            };
            let DeValue::Array(items) = value.get_ref() else {
                let span = origin.span(value.span());
                findings.push(self.mistyped(&name.value, span, "a list of texts", value.get_ref()));
                continue;
            };
            let texts = items.iter().filter_map(|item| {
                let span = origin.span(item.span());
                self.as_text(&name.value, span, item.get_ref(), findings)
            });
            let texts = texts.collect();
            lists.push((name, texts));
        }
        lists
    }
}
