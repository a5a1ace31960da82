//! Records by key and by id.
//!
//! A record's key is the word that keys it in the sources: `fuel-tap`. It is looked up once,
//! where it is read; from then on an [`Id`] stands for the record. An id is an index, so that
//! what is known of records in the course of a job is a list in their order: [`PerRecord`].

use foldhash::fast::FixedState;
use indexmap::{IndexMap, IndexSet};
use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::marker::PhantomData;
use std::ops::{Index, IndexMut};

/// The id of a record of type `T`: its index among the records of its kind, in the order in which
/// they were written.
///
/// Invariant: it is only made by finding a key among those records, so that indexing them, or a
/// [`PerRecord`] of theirs, never fails. An id says nothing of another machine's records.
pub(crate) struct Id<T> {
    index: u32,
    of: PhantomData<fn() -> T>,
}

impl<T> Id<T> {
    fn new(index: usize) -> Id<T> {
        Id {
            // A source file has fewer bytes than that: see `tree`.
            index: u32::try_from(index).unwrap_or(u32::MAX),
            of: PhantomData,
        }
    }

    /// The record's index, from 0.
    #[must_use]
    pub(crate) fn index(self) -> usize {
        self.index as usize
    }
}

// Derived, these would ask the same of `T`.
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

/// Records of one kind, in the order in which they were written.
///
/// Every key in every step of every job is looked up in one of these, and the keys are the shop's
/// own: so the hash is a fast one.
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
    /// Adds the record that `make` gives for its id; one of the same key gives way to it.
    pub(crate) fn add(&mut self, key: String, make: impl FnOnce(Id<T>) -> T) {
        let known = self.by_key.get_index_of(&key);
        let id = Id::new(known.unwrap_or(self.by_key.len()));
        self.by_key.insert(key, make(id));
    }

    /// The id of the record of a key.
    #[must_use]
    pub(crate) fn find(&self, key: &str) -> Option<Id<T>> {
        self.by_key.get_index_of(key).map(Id::new)
    }

    /// The record of a key.
    #[must_use]
    pub(crate) fn get(&self, key: &str) -> Option<&T> {
        self.by_key.get(key)
    }

    /// How many there are.
    #[must_use]
    pub(crate) fn len(&self) -> usize {
        self.by_key.len()
    }

    /// Whether there is none.
    #[must_use]
    pub(crate) fn is_empty(&self) -> bool {
        self.by_key.is_empty()
    }

    /// Their keys.
    pub(crate) fn keys(&self) -> impl ExactSizeIterator<Item = &str> + Clone {
        self.by_key.keys().map(String::as_str)
    }

    /// Each in turn.
    #[must_use]
    pub(crate) fn values(&self) -> indexmap::map::Values<'_, String, T> {
        self.by_key.values()
    }
}

impl<T> Index<Id<T>> for Records<T> {
    type Output = T;

    fn index(&self, id: Id<T>) -> &T {
        &self.by_key[id.index()]
    }
}

/// The keys of records that are still to be read, so that one can name another that stands below it.
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
    /// The id that the record of a key will have.
    #[must_use]
    pub(crate) fn find(&self, key: &str) -> Option<Id<T>> {
        self.keys.get_index_of(key).map(Id::new)
    }

    /// Each in turn.
    pub(crate) fn iter(&self) -> impl Iterator<Item = &'t str> {
        self.keys.iter().copied()
    }
}

/// What is known of each record of a kind, in the order of the records.
#[derive(Clone, Debug)]
pub(crate) struct PerRecord<T, S> {
    states: Vec<S>,
    of: PhantomData<fn() -> T>,
}

/// The ids of items that stand in a list in the order of their keys' ids.
pub(crate) fn ids<T>(items: &[T]) -> impl ExactSizeIterator<Item = Id<T>> + use<T> {
    (0..items.len()).map(Id::new)
}

impl<T, S> PerRecord<T, S> {
    /// What `state` says of each item of a list, whose ids are [`ids`].
    pub(crate) fn of(items: &[T], state: impl FnMut(&T) -> S) -> PerRecord<T, S> {
        PerRecord {
            states: items.iter().map(state).collect(),
            of: PhantomData,
        }
    }

    /// What `state` says of each record.
    pub(crate) fn new(records: &Records<T>, state: impl FnMut(&T) -> S) -> PerRecord<T, S> {
        PerRecord {
            states: records.values().map(state).collect(),
            of: PhantomData,
        }
    }

    /// Each in turn.
    pub(crate) fn values(&self) -> std::slice::Iter<'_, S> {
        self.states.iter()
    }

    /// Each in turn, to be changed.
    pub(crate) fn values_mut(&mut self) -> std::slice::IterMut<'_, S> {
        self.states.iter_mut()
    }
}

impl<T, S> Index<Id<T>> for PerRecord<T, S> {
    type Output = S;

    fn index(&self, id: Id<T>) -> &S {
        &self.states[id.index()]
    }
}

impl<T, S> IndexMut<Id<T>> for PerRecord<T, S> {
    fn index_mut(&mut self, id: Id<T>) -> &mut S {
        &mut self.states[id.index()]
    }
}
