//! Reads fields of a record that are values or lists of values.

use super::described::{Count, Date, Field, Flag, MAX_COUNT, Many, Number, Numbers, OneText};
use super::layers::Found;
use super::{Record, located, rules};
use crate::finding::{FileId, Finding, Findings, Located, Span};
use crate::quantity::Rational;
use toml::de::DeValue;

impl<K> Record<'_, K> {
    /// Reports a field that is missing. Reading a field that is always required does so by itself.
    pub(crate) fn need<V>(&self, field: &Field<K, V>, findings: &mut Findings) {
        let key = field.description.key;
        if self.layers.find(key).is_none() {
            let message = format!("{} has no `{key}`", self.what);
            findings.push(
                Finding::new(&rules::MISSING_FIELD, message)
                    .primary(self.span, format!("needs `{key}`"))
                    .help(format!("add `{key} = …` to it")),
            );
        }
    }

    /// Reads text. `None` if the field is missing or empty.
    pub(crate) fn text<F: OneText>(
        &self,
        field: &Field<K, F>,
        findings: &mut Findings,
    ) -> Option<Located<String>> {
        let found = self.take(field, findings)?;
        self.text_of(field.description.key, found, findings)
    }

    /// Reads text of the layer that is in a file: what stands beside a value of that layer.
    pub(crate) fn text_in<F: OneText>(
        &self,
        file: FileId,
        field: &Field<K, F>,
        findings: &mut Findings,
    ) -> Option<Located<String>> {
        let key = field.description.key;
        let found = self.layers.find_in(key, file)?;
        self.text_of(key, found, findings)
    }

    /// The text of a field. `None` if it is empty.
    fn text_of(
        &self,
        key: &str,
        found: Found<'_>,
        findings: &mut Findings,
    ) -> Option<Located<String>> {
        let Found { span, value, .. } = found;
        let text = self.as_text(key, span, value, findings)?;
        if text.value.trim().is_empty() {
            let message = format!("`{key}` of {} is empty", self.what);
            findings.push(
                Finding::new(&rules::MISSING_FIELD, message)
                    .primary(span, "")
                    .help("write it, or leave the field out"),
            );
            return None;
        }
        Some(text)
    }

    pub(super) fn as_text(
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
        Some(located(text, span))
    }

    /// Reads a list of texts. A single text is read as a list of one.
    pub(crate) fn texts<F: OneText>(
        &self,
        field: &Field<K, Many<F>>,
        findings: &mut Findings,
    ) -> Vec<Located<String>> {
        match self.take(field, findings) {
            Some(found) => self.texts_of(field.description.key, found, findings),
            None => Vec::new(),
        }
    }

    fn texts_of(
        &self,
        key: &str,
        found: Found<'_>,
        findings: &mut Findings,
    ) -> Vec<Located<String>> {
        let span = found.span;
        match found.value {
            // It would read as an answer to what the field asks, and is none.
            DeValue::Array(items) if items.is_empty() => {
                let message = format!("`{key}` of {} is empty", self.what);
                findings.push(
                    Finding::new(&rules::MISSING_FIELD, message)
                        .primary(span, "")
                        .help("name at least one, or leave the field out"),
                );
                Vec::new()
            }
            DeValue::Array(items) => items
                .iter()
                .filter_map(|item| {
                    let span = found.origin.span(item.span());
                    let text = self.as_text(key, span, item.get_ref(), findings)?;
                    let is_blank = text.value.trim().is_empty();
                    if is_blank {
                        let message = format!("`{key}` of {} has an empty text", self.what);
                        findings.push(
                            Finding::new(&rules::MISSING_FIELD, message)
                                .primary(text.span, "")
                                .help("write it, or remove it from the list"),
                        );
                    }
                    (!is_blank).then_some(text)
                })
                .collect(),
            DeValue::String(_) => self.text_of(key, found, findings).into_iter().collect(),
            value => {
                findings.push(self.mistyped(key, span, "a list of texts", value));
                Vec::new()
            }
        }
    }

    /// Reads a list of texts. `None` if the field is missing, as opposed to an empty list. Neither is reported, so that the
    /// caller can say what it means.
    pub(crate) fn optional_texts<F: OneText>(
        &self,
        field: &Field<K, Many<F>>,
        findings: &mut Findings,
    ) -> Option<Vec<Located<String>>> {
        let key = field.description.key;
        let found = self.layers.find(key)?;
        Some(if self.is_empty_list(field) {
            Vec::new()
        } else {
            self.texts_of(key, found, findings)
        })
    }

    pub(crate) fn is_empty_list<F>(&self, field: &Field<K, Many<F>>) -> bool {
        let found = self.layers.find(field.description.key);
        found.is_some_and(|found| matches!(found.value, DeValue::Array(items) if items.is_empty()))
    }

    /// Reads a whole number from 1 to [`MAX_COUNT`].
    pub(crate) fn count(
        &self,
        field: &Field<K, Count>,
        findings: &mut Findings,
    ) -> Option<Located<u32>> {
        let key = field.description.key;
        let Found { span, value, .. } = self.take(field, findings)?;
        let number = match value {
            DeValue::Integer(number) => u32::from_str_radix(number.as_str(), number.radix())
                .ok()
                .filter(|number| (1..=MAX_COUNT).contains(number)),
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

    /// Reads a whole or decimal number above zero, without rounding.
    pub(crate) fn number(
        &self,
        field: &Field<K, Number>,
        findings: &mut Findings,
    ) -> Option<Located<Rational>> {
        let key = field.description.key;
        let Found { span, value, .. } = self.take(field, findings)?;
        self.as_number(key, span, value, findings)
    }

    /// Reads a list of whole or decimal numbers above zero, without rounding.
    pub(crate) fn numbers(
        &self,
        field: &Field<K, Numbers>,
        findings: &mut Findings,
    ) -> Vec<Located<Rational>> {
        let key = field.description.key;
        let Some(Found {
            span,
            value,
            origin,
        }) = self.take(field, findings)
        else {
            return Vec::new();
        };
        let DeValue::Array(items) = value else {
            findings.push(self.mistyped(key, span, "a list of numbers", value));
            return Vec::new();
        };
        items
            .iter()
            .filter_map(|item| {
                let span = origin.span(item.span());
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

    /// Reads `true` or `false`. False if the field is missing.
    pub(crate) fn flag(&self, field: &Field<K, Flag>, findings: &mut Findings) -> bool {
        let key = field.description.key;
        match self.take(field, findings) {
            None => false,
            Some(Found {
                value: DeValue::Boolean(flag),
                ..
            }) => *flag,
            Some(Found { span, value, .. }) => {
                findings.push(self.mistyped(key, span, "true or false", value));
                false
            }
        }
    }

    /// Reads a day such as `2026-03-14`.
    pub(crate) fn date(
        &self,
        field: &Field<K, Date>,
        findings: &mut Findings,
    ) -> Option<Located<String>> {
        let key = field.description.key;
        let Found { span, value, .. } = self.take(field, findings)?;
        match value {
            DeValue::Datetime(date) if date.time.is_none() => Some(Located {
                value: date.to_string(),
                span,
            }),
            _ => {
                let finding = self.mistyped(key, span, "a day such as 2026-03-14", value);
                findings.push(finding.help("write it without quotes: 2026-03-14"));
                None
            }
        }
    }
}

/// Parses a decimal above zero exactly. A float would round it.
fn decimal(text: &str) -> Option<Rational> {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    let denominator = 10_i64.checked_pow(u32::try_from(fraction.len()).ok()?)?;
    let digits: i64 = format!("{whole}{fraction}").parse().ok()?;
    (digits > 0).then(|| Rational::new(digits.into(), denominator.into()))
}
