//! The tables that a record is read from.

use super::origin::{Origin, in_file_order};
use crate::finding::{FileId, Span};
use foldhash::fast::FixedState;
use indexmap::IndexMap;
use toml::de::{DeTable, DeValue};

/// The tables that a record is read from: its own, and those below it, of the records that it is like. A field is that of
/// the first table that has it.
#[derive(Clone, Debug)]
pub(super) struct Layers<'t> {
    own: Layer<'t>,
    /// From the one that is next to its own to the last. Empty for most records.
    below: Vec<Layer<'t>>,
    /// For the tables of whole files: the field with the ids of the records that a file does not take over from those
    /// below it.
    without: &'static str,
}

#[derive(Clone, Copy, Debug)]
struct Layer<'t> {
    table: &'t DeTable<'t>,
    origin: Origin,
}

/// A value, and where it is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Found<'t> {
    pub(super) value: &'t DeValue<'t>,
    pub(super) span: Span,
    pub(super) origin: Origin,
}

impl<'t> Found<'t> {
    fn layer(self) -> Option<Layer<'t>> {
        match self.value {
            DeValue::Table(table) => Some(Layer {
                table,
                origin: self.origin,
            }),
            _ => None,
        }
    }
}

/// A record in a table of records.
#[derive(Debug)]
pub(super) struct Entry<'t> {
    pub(super) id: &'t str,
    /// The span of its id in the first file that has the record.
    pub(super) id_span: Span,
    /// Its value in the first file that has it. `None` if the record is not taken over.
    pub(super) own: Option<Found<'t>>,
    /// Its values in the files below that one, from the next one down. Empty for most records.
    below: Vec<Found<'t>>,
}

impl<'t> Entry<'t> {
    /// The layers of the record. `None` if its own value is no table.
    pub(super) fn layers(&self) -> Option<Layers<'t>> {
        Layers::of(self.own?, &self.below)
    }
}

impl<'t> Layers<'t> {
    /// A single table.
    pub(super) fn single(table: &'t DeTable<'t>, origin: Origin) -> Layers<'t> {
        Layers {
            own: Layer { table, origin },
            below: Vec::new(),
            without: "",
        }
    }

    /// The top tables of some files, each of which is like the next one.
    pub(super) fn of_files(
        own: (&'t DeTable<'t>, Origin),
        below: impl Iterator<Item = (&'t DeTable<'t>, Origin)>,
        without: &'static str,
    ) -> Layers<'t> {
        let layer = |(table, origin)| Layer { table, origin };
        Layers {
            own: layer(own),
            below: below.map(layer).collect(),
            without,
        }
    }

    /// Of values of one field. `None` if the first is no table.
    fn of(own: Found<'t>, below: &[Found<'t>]) -> Option<Layers<'t>> {
        Some(Layers {
            own: own.layer()?,
            below: below.iter().filter_map(|found| found.layer()).collect(),
            without: "",
        })
    }

    /// The record without the layers below its own.
    pub(super) fn own(&self) -> Layers<'t> {
        Layers {
            own: self.own,
            below: Vec::new(),
            without: "",
        }
    }

    /// The layers below its own.
    pub(super) fn below(&self) -> Option<Layers<'t>> {
        let (first, rest) = self.below.split_first()?;
        Some(Layers {
            own: *first,
            below: rest.to_vec(),
            without: self.without,
        })
    }

    /// The file of its own table.
    pub(super) fn file(&self) -> FileId {
        self.own.origin.file
    }

    pub(super) fn is_single(&self) -> bool {
        self.below.is_empty()
    }

    fn all(&self) -> impl DoubleEndedIterator<Item = Layer<'t>> {
        std::iter::once(self.own).chain(self.below.iter().copied())
    }

    /// The value of a field.
    pub(super) fn find(&self, key: &str) -> Option<Found<'t>> {
        self.all().find_map(|layer| layer.find(key))
    }

    /// The value of a field in the layer that is in a file.
    pub(super) fn find_in(&self, key: &str, file: FileId) -> Option<Found<'t>> {
        let mut layers = self.all();
        layers
            .find(|layer| layer.origin.file == file)
            .and_then(|layer| layer.find(key))
    }

    /// The layers of a field that is a table. `None` if it is missing, or its first value is none.
    pub(super) fn table(&self, key: &str) -> Option<Layers<'t>> {
        let found: Vec<Found<'t>> = self.all().filter_map(|layer| layer.find(key)).collect();
        let (own, below) = found.split_first()?;
        Layers::of(*own, below)
    }

    /// Whether a span is in a layer above that of another one.
    pub(super) fn is_above(&self, upper: Span, lower: Span) -> bool {
        let index = |span: Span| {
            let mut layers = self.all();
            layers.position(|layer| layer.origin.file == span.file)
        };
        index(upper) < index(lower)
    }

    /// The records of a field that is a table of records: those of the last layer in their order, then what each layer
    /// above it adds. A record that a layer does not take over keeps its place if that layer has one of its own.
    pub(super) fn entries(&self, key: &str) -> Vec<Entry<'t>> {
        if self.is_single() {
            return self.own.entries(key).collect();
        }
        let mut entries: IndexMap<&str, Entry<'t>, FixedState> = IndexMap::default();
        for layer in self.all().rev() {
            for id in layer.texts(self.without) {
                if let Some(entry) = entries.get_mut(id) {
                    entry.own = None;
                    entry.below.clear();
                }
            }
            for entry in layer.entries(key) {
                match entries.get_mut(entry.id) {
                    Some(known) => {
                        let before = std::mem::replace(&mut known.own, entry.own);
                        known.below.splice(0..0, before);
                        known.id_span = entry.id_span;
                    }
                    None => {
                        entries.insert(entry.id, entry);
                    }
                }
            }
        }
        entries.into_values().collect()
    }

    /// The keys of its own table, in the order of the file.
    pub(super) fn own_keys(&self) -> impl Iterator<Item = (&'t str, Span)> {
        let origin = self.own.origin;
        let entries = in_file_order(self.own.table).into_iter();
        entries.map(move |(key, _)| (&**key.get_ref(), origin.span(key.span())))
    }
}

impl<'t> Layer<'t> {
    fn find(self, key: &str) -> Option<Found<'t>> {
        let value = self.table.get(key)?;
        Some(Found {
            value: value.get_ref(),
            span: self.origin.span(value.span()),
            origin: self.origin,
        })
    }

    /// The texts of a field that is a text or a list of texts.
    fn texts(self, key: &str) -> impl Iterator<Item = &'t str> {
        let value = self.table.get(key).map(toml::Spanned::get_ref);
        let (one, items) = match value {
            Some(DeValue::String(text)) => (Some(&**text), None),
            Some(DeValue::Array(items)) => (None, Some(items.iter())),
            _ => (None, None),
        };
        let items = items.into_iter().flatten();
        let items = items.filter_map(|item| match item.get_ref() {
            DeValue::String(text) => Some(&**text),
            _ => None,
        });
        one.into_iter().chain(items)
    }

    fn entries(self, key: &str) -> impl Iterator<Item = Entry<'t>> {
        let table = match self.table.get(key).map(toml::Spanned::get_ref) {
            Some(DeValue::Table(table)) => Some(table),
            _ => None,
        };
        let entries = table.map(in_file_order).into_iter().flatten();
        entries.map(move |(id, value)| Entry {
            id: id.get_ref(),
            id_span: self.origin.span(id.span()),
            own: Some(Found {
                value: value.get_ref(),
                span: self.origin.span(value.span()),
                origin: self.origin,
            }),
            below: Vec::new(),
        })
    }
}
