//! A cache of values within a run.

use super::{Fingerprint, verifies};
use foldhash::fast::FixedState;
use indexmap::IndexMap;
use std::convert::Infallible;
use std::fmt::Debug;
use std::hash::Hash;
use std::sync::{Mutex, PoisonError};

/// A thread-safe cache of values by the fingerprints of their inputs.
///
/// Invariant: the key of a value contains everything that the value depends on (see [`super`]).
///
/// A cached value is cloned, so large values should be in an `Arc`. If two threads request the same
/// missing value at the same time, both can compute it. The results are equal, and one is kept.
#[derive(Debug)]
pub(crate) struct Memo<V> {
    /// What the values are, for the message of a failed verification.
    name: &'static str,
    /// The weight of a value, in the unit of `limit`.
    weight: fn(&V) -> usize,
    /// The weight at which a shard drops its older generation.
    limit: usize,
    verify: bool,
    /// Each value is in the shard of its fingerprint, so that threads seldom wait for a lock.
    shards: [Mutex<CacheShard<V>>; SHARDS],
}

const SHARDS: usize = 16;

/// A shard of a [`Memo`], with two generations of values.
#[derive(Debug)]
struct CacheShard<V> {
    /// The values that were requested since the last change of generations.
    young: IndexMap<Fingerprint, V, FixedState>,
    old: IndexMap<Fingerprint, V, FixedState>,
    /// The total weight of `young`.
    weight: usize,
}

impl<V: Clone + Debug> Memo<V> {
    /// An empty cache. The total weight of its values stays below about twice the `limit`.
    pub(crate) fn new(name: &'static str, limit: usize, weight: fn(&V) -> usize) -> Memo<V> {
        Memo {
            name,
            weight,
            limit: limit / SHARDS,
            verify: verifies(),
            shards: std::array::from_fn(|_| Mutex::default()),
        }
    }

    /// The cached value for these inputs, or else the result of `make`. The inputs must contain everything
    /// that the result of `make` depends on.
    pub(crate) fn get_or_make(&self, inputs: &(impl Hash + ?Sized), make: impl FnOnce() -> V) -> V {
        let result = self.get_or_try_make(inputs, || Ok::<V, Infallible>(make()));
        match result {
            Ok(value) => value,
            Err(never) => match never {},
        }
    }

    /// As [`Memo::get_or_make`] for a function that can fail. Errors are not cached.
    ///
    /// # Errors
    ///
    /// Those of `make`.
    ///
    /// # Panics
    ///
    /// While caches are verified, if `make` returns a value that differs from the cached one.
    pub(crate) fn get_or_try_make<E>(
        &self,
        inputs: &(impl Hash + ?Sized),
        make: impl FnOnce() -> Result<V, E>,
    ) -> Result<V, E> {
        let key = Fingerprint::of(inputs);
        let shard = &self.shards[key.shard(SHARDS)];
        let lock = || shard.lock().unwrap_or_else(PoisonError::into_inner);
        let cached = lock().get(key, self);
        let Some(value) = cached else {
            // The shard is not locked while the value is computed.
            let value = make()?;
            lock().insert(key, value.clone(), self);
            return Ok(value);
        };
        if self.verify {
            let computed = make().map(|computed| Fingerprint::of_debug(&computed));
            let is_same = computed.is_ok_and(|computed| computed == Fingerprint::of_debug(&value));
            assert!(
                is_same,
                "the cache of {} holds another value than the one made anew from the same inputs",
                self.name
            );
        }
        Ok(value)
    }
}

impl<V: Clone> CacheShard<V> {
    fn get(&mut self, key: Fingerprint, memo: &Memo<V>) -> Option<V> {
        if let Some(value) = self.young.get(&key) {
            return Some(value.clone());
        }
        let value = self.old.swap_remove(&key)?;
        self.insert(key, value.clone(), memo);
        Some(value)
    }

    fn insert(&mut self, key: Fingerprint, value: V, memo: &Memo<V>) {
        if self.weight > memo.limit {
            // Drops the values that were not requested since the last change of generations.
            self.old = std::mem::take(&mut self.young);
            self.weight = 0;
        }
        self.weight += (memo.weight)(&value);
        self.young.insert(key, value);
    }
}

impl<V> Default for CacheShard<V> {
    fn default() -> CacheShard<V> {
        CacheShard {
            young: IndexMap::default(),
            old: IndexMap::default(),
            weight: 0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::Cell;
    use std::panic::{AssertUnwindSafe, catch_unwind};

    const LIMIT: usize = 1 << 14;

    fn memo(verify: bool) -> Memo<String> {
        Memo {
            verify,
            ..Memo::new("texts", LIMIT, String::len)
        }
    }

    /// Requests values of this length, and returns how many of them were computed.
    fn count_computed(memo: &Memo<String>, inputs: &[&str], length: usize) -> usize {
        let count = Cell::new(0);
        for input in inputs {
            let value = memo.get_or_make(input, || {
                count.set(count.get() + 1);
                "x".repeat(length)
            });
            assert_eq!(value.len(), length);
        }
        count.get()
    }

    #[test]
    fn value_is_computed_once_for_the_same_inputs() {
        assert_eq!(count_computed(&memo(false), &["a", "b", "a", "b"], 10), 2);
        assert_eq!(
            count_computed(&memo(true), &["a", "b", "a", "b"], 10),
            4,
            "verified"
        );
    }

    #[test]
    fn errors_are_not_cached() {
        let memo = memo(false);
        assert_eq!(memo.get_or_try_make("a", || Err(3)), Err(3));
        assert_eq!(count_computed(&memo, &["a"], 10), 1);
    }

    #[test]
    fn recently_requested_values_stay_and_others_are_dropped() {
        let memo = memo(false);
        for number in 0..SHARDS * 20 {
            let expected = if number == 0 { 2 } else { 1 };
            let inputs = ["again", &number.to_string()];
            assert_eq!(count_computed(&memo, &inputs, LIMIT / SHARDS / 4), expected);
        }
        let shards = memo.shards.iter().map(|shard| shard.lock().unwrap());
        let count: usize = shards
            .map(|shard| shard.young.len() + shard.old.len())
            .sum();
        assert!(count <= SHARDS * 12, "{count}");
        assert_eq!(count_computed(&memo, &["0"], 10), 1);
    }

    #[test]
    fn verification_detects_an_input_that_is_missing_from_the_key() {
        let hidden = Cell::new(1);
        let request = |memo: &Memo<String>| memo.get_or_make("a", || format!("{}", hidden.get()));
        let request_twice = |memo: &Memo<String>| {
            request(memo);
            hidden.set(hidden.get() + 1);
            request(memo)
        };
        assert_eq!(request_twice(&memo(false)), "1", "an outdated value");
        let caught = catch_unwind(AssertUnwindSafe(|| request_twice(&memo(true))));
        let message = caught.unwrap_err();
        let message = message.downcast_ref::<String>().unwrap();
        assert!(message.contains("the cache of texts"), "{message}");
    }

    #[test]
    fn verification_detects_an_error_in_place_of_a_value() {
        let memo = memo(true);
        let request = |result| memo.get_or_try_make("a", || result);
        request(Ok::<_, ()>("1".to_owned())).unwrap();
        assert!(catch_unwind(AssertUnwindSafe(|| request(Err(())))).is_err());
    }
}
