//! Collections of records that are indexed by key and by id.
//!
//! A record's key is its name in the sources, such as `fuel-tap`. References to a record are resolved once, when
//! the sources are read, to an [`Id`]. An id is an index, so data about records can be stored in a vector:
//! [`PerRecord`].

use foldhash::fast::FixedState;
use indexmap::{IndexMap, IndexSet};
use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::marker::PhantomData;
use std::ops::{Index, IndexMut};

/// The id of a record of type `T`: its index among the records of its kind, in the order of the sources.
///
/// Invariant: an id is only made from a record that exists, so that indexing those records, or a [`PerRecord`] of
/// them, never panics. An id is not valid for the records of another machine.
pub(crate) struct Id<T> {
    index: u32,
    of: PhantomData<fn() -> T>,
}

impl<T> Id<T> {
    fn new(index: usize) -> Id<T> {
        Id {
            // `tree` limits the size of source files, so the index always fits.
            index: u32::try_from(index).unwrap_or(u32::MAX),
            of: PhantomData,
        }
    }

    /// From 0.
    #[must_use]
    pub(crate) fn index(self) -> usize {
        self.index as usize
    }
}

// Derived implementations would require the same traits of `T`.
impl<T> Clone for Id<T> {
    fn clone(&self) -> Id<T> {
        *self
    }
}

impl<T> Copy for Id<T> {}

impl<T> PartialEq for Id<T> {
    fn eq(&self, other: &Id<T>) -> bool {
        self.index == other.index
    }
}

impl<T> Eq for Id<T> {}

impl<T> PartialOrd for Id<T> {
    fn partial_cmp(&self, other: &Id<T>) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<T> Ord for Id<T> {
    fn cmp(&self, other: &Id<T>) -> Ordering {
        self.index.cmp(&other.index)
    }
}

impl<T> Hash for Id<T> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.index.hash(state);
    }
}

impl<T> fmt::Debug for Id<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Id({})", self.index)
    }
}

/// Records of one kind, in the order of the sources.
///
/// Every key in every step of every job is looked up here, so the hash function is a fast one. It does not resist
/// collision attacks, which is safe because the keys come from the shop itself.
#[derive(Clone, Debug)]
pub(crate) struct Records<T> {
    by_key: IndexMap<String, T, FixedState>,
}

impl<T> Default for Records<T> {
    fn default() -> Records<T> {
        Records {
            by_key: IndexMap::default(),
        }
    }
}

impl<T> Records<T> {
    /// Adds the record that `make` returns for its id. A record with the same key is replaced and keeps its id.
    pub(crate) fn add(&mut self, key: String, make: impl FnOnce(Id<T>) -> T) {
        let existing = self.by_key.get_index_of(&key);
        let id = Id::new(existing.unwrap_or(self.by_key.len()));
        self.by_key.insert(key, make(id));
    }

    #[must_use]
    pub(crate) fn find(&self, key: &str) -> Option<Id<T>> {
        self.by_key.get_index_of(key).map(Id::new)
    }

    #[must_use]
    pub(crate) fn get(&self, key: &str) -> Option<&T> {
        self.by_key.get(key)
    }

    #[must_use]
    pub(crate) fn len(&self) -> usize {
        self.by_key.len()
    }

    #[must_use]
    pub(crate) fn is_empty(&self) -> bool {
        self.by_key.is_empty()
    }

    pub(crate) fn keys(&self) -> impl ExactSizeIterator<Item = &str> + Clone {
        self.by_key.keys().map(String::as_str)
    }

    #[must_use]
    pub(crate) fn values(&self) -> indexmap::map::Values<'_, String, T> {
        self.by_key.values()
    }

    /// A record to change.
    pub(crate) fn get_mut(&mut self, id: Id<T>) -> &mut T {
        &mut self.by_key[id.index()]
    }
}

impl<T> Index<Id<T>> for Records<T> {
    type Output = T;

    fn index(&self, id: Id<T>) -> &T {
        &self.by_key[id.index()]
    }
}

/// The keys of records that are not read yet, so that a record can refer to one further down in the file.
#[derive(Clone, Debug)]
pub(crate) struct Keys<'t, T> {
    keys: IndexSet<&'t str, FixedState>,
    of: PhantomData<fn() -> T>,
}

impl<'t, T> FromIterator<&'t str> for Keys<'t, T> {
    fn from_iter<I: IntoIterator<Item = &'t str>>(keys: I) -> Keys<'t, T> {
        Keys {
            keys: keys.into_iter().collect(),
            of: PhantomData,
        }
    }
}

impl<'t, T> Keys<'t, T> {
    /// The id that the record with this key will have.
    #[must_use]
    pub(crate) fn find(&self, key: &str) -> Option<Id<T>> {
        self.keys.get_index_of(key).map(Id::new)
    }

    pub(crate) fn iter(&self) -> impl Iterator<Item = &'t str> {
        self.keys.iter().copied()
    }
}

/// A value for each record of a kind.
#[derive(Clone, Debug)]
pub(crate) struct PerRecord<T, S> {
    /// In the order of the records.
    values: Vec<S>,
    of: PhantomData<fn() -> T>,
}

/// The ids of the items of a list. Item `n` must have been read under the `n`th key of its [`Keys`].
pub(crate) fn ids<T>(items: &[T]) -> impl ExactSizeIterator<Item = Id<T>> + use<T> {
    (0..items.len()).map(Id::new)
}

impl<T, S> PerRecord<T, S> {
    /// Computes a value for each item of a list. The ids are those of [`ids`].
    pub(crate) fn of(items: &[T], value: impl FnMut(&T) -> S) -> PerRecord<T, S> {
        PerRecord {
            values: items.iter().map(value).collect(),
            of: PhantomData,
        }
    }

    /// Computes a value for each record.
    pub(crate) fn new(records: &Records<T>, value: impl FnMut(&T) -> S) -> PerRecord<T, S> {
        PerRecord {
            values: records.values().map(value).collect(),
            of: PhantomData,
        }
    }

    pub(crate) fn values(&self) -> std::slice::Iter<'_, S> {
        self.values.iter()
    }
}

impl<T, S> Index<Id<T>> for PerRecord<T, S> {
    type Output = S;

    fn index(&self, id: Id<T>) -> &S {
        &self.values[id.index()]
    }
}

impl<T, S> IndexMut<Id<T>> for PerRecord<T, S> {
    fn index_mut(&mut self, id: Id<T>) -> &mut S {
        &mut self.values[id.index()]
    }
}
