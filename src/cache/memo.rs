//! Values that are remembered within a run.

use super::{Fingerprint, verifies};
use foldhash::fast::FixedState;
use indexmap::IndexMap;
use std::convert::Infallible;
use std::fmt::Debug;
use std::hash::Hash;
use std::sync::{Mutex, PoisonError};

/// Values by the fingerprints of their inputs, for any number of threads.
///
/// Invariant: the key of a value holds everything that decides it (the law of [`super`]).
///
/// A value is cloned when it is found, so a large one is kept in an `Arc`. Two threads that ask for
/// the same value at the same time may both make it; the two are equal, and one is kept.
#[derive(Debug)]
pub(crate) struct Memo<V> {
    /// What the values are, for the message of a failed verification.
    name: &'static str,
    /// The weight of a value, in the unit of `limit`.
    weight: fn(&V) -> usize,
    /// The weight at which a shard drops what was not asked for lately.
    limit: usize,
    verify: bool,
    /// By fingerprint, so that threads seldom wait for one another.
    shards: [Mutex<CacheShard<V>>; SHARDS],
}

const SHARDS: usize = 16;

/// A part of the values of a [`Memo`], in two generations.
#[derive(Debug)]
struct CacheShard<V> {
    /// Made or found since `old` was filled.
    young: IndexMap<Fingerprint, V, FixedState>,
    old: IndexMap<Fingerprint, V, FixedState>,
    /// The weight of `young`.
    weight: usize,
}

impl<V: Clone + Debug> Memo<V> {
    /// A memo that holds values up to about twice a weight of `limit`.
    pub(crate) fn new(name: &'static str, limit: usize, weight: fn(&V) -> usize) -> Memo<V> {
        Memo {
            name,
            weight,
            limit: limit / SHARDS,
            verify: verifies(),
            shards: std::array::from_fn(|_| Mutex::default()),
        }
    }

    /// The value of some inputs: as it was made before, or as `make` makes it now. The inputs are
    /// everything that decides what `make` returns.
    pub(crate) fn get_or_make(&self, inputs: &(impl Hash + ?Sized), make: impl FnOnce() -> V) -> V {
        let result = self.get_or_try_make(inputs, || Ok::<V, Infallible>(make()));
        match result {
            Ok(value) => value,
            Err(never) => match never {},
        }
    }

    /// As [`Memo::get_or_make`], where `make` can fail. An error is not remembered.
    ///
    /// # Errors
    ///
    /// Those of `make`.
    ///
    /// # Panics
    ///
    /// While caches are verified, when `make` returns another value than it did for the same inputs.
    pub(crate) fn get_or_try_make<E>(
        &self,
        inputs: &(impl Hash + ?Sized),
        make: impl FnOnce() -> Result<V, E>,
    ) -> Result<V, E> {
        let key = Fingerprint::of(inputs);
        let shard = &self.shards[key.shard(SHARDS)];
        let open = || shard.lock().unwrap_or_else(PoisonError::into_inner);
        let found = open().find(key, self);
        let Some(value) = found else {
            // Other threads use the shard while the value is made.
            let value = make()?;
            open().keep(key, value.clone(), self);
            return Ok(value);
        };
        if self.verify {
            let again = make().map(|again| Fingerprint::of_debug(&again));
            let is_same = again.is_ok_and(|again| again == Fingerprint::of_debug(&value));
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
    fn find(&mut self, key: Fingerprint, memo: &Memo<V>) -> Option<V> {
        if let Some(value) = self.young.get(&key) {
            return Some(value.clone());
        }
        let value = self.old.swap_remove(&key)?;
        self.keep(key, value.clone(), memo);
        Some(value)
    }

    fn keep(&mut self, key: Fingerprint, value: V, memo: &Memo<V>) {
        if self.weight > memo.limit {
            // Drops what nobody asked for since the last time.
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

    /// How many of the values that are asked for are made.
    fn made(memo: &Memo<String>, asked: &[&str], length: usize) -> usize {
        let count = Cell::new(0);
        for input in asked {
            let value = memo.get_or_make(input, || {
                count.set(count.get() + 1);
                "x".repeat(length)
            });
            assert_eq!(value.len(), length);
        }
        count.get()
    }

    #[test]
    fn a_value_is_made_once_for_the_same_inputs() {
        assert_eq!(made(&memo(false), &["a", "b", "a", "b"], 10), 2);
        assert_eq!(made(&memo(true), &["a", "b", "a", "b"], 10), 4, "verified");
    }

    #[test]
    fn an_error_is_not_remembered() {
        let memo = memo(false);
        assert_eq!(memo.get_or_try_make("a", || Err(3)), Err(3));
        assert_eq!(made(&memo, &["a"], 10), 1);
    }

    #[test]
    fn what_is_asked_for_stays_and_the_rest_is_dropped() {
        let memo = memo(false);
        for number in 0..SHARDS * 20 {
            let expected = if number == 0 { 2 } else { 1 };
            let asked = ["again", &number.to_string()];
            assert_eq!(made(&memo, &asked, LIMIT / SHARDS / 4), expected);
        }
        let shards = memo.shards.iter().map(|shard| shard.lock().unwrap());
        let held: usize = shards
            .map(|shard| shard.young.len() + shard.old.len())
            .sum();
        assert!(held <= SHARDS * 12, "{held}");
        assert_eq!(made(&memo, &["0"], 10), 1);
    }

    /// A function that breaks the law: what it returns depends on more than its inputs.
    #[test]
    fn verification_catches_a_function_with_an_input_that_is_not_in_the_key() {
        let hidden = Cell::new(1);
        let ask = |memo: &Memo<String>| memo.get_or_make("a", || format!("{}", hidden.get()));
        let ask_twice = |memo: &Memo<String>| {
            ask(memo);
            hidden.set(hidden.get() + 1);
            ask(memo)
        };
        assert_eq!(ask_twice(&memo(false)), "1", "the value is out of date");
        let caught = catch_unwind(AssertUnwindSafe(|| ask_twice(&memo(true))));
        let message = caught.unwrap_err();
        let message = message.downcast_ref::<String>().unwrap();
        assert!(message.contains("the cache of texts"), "{message}");
    }

    #[test]
    fn verification_catches_an_error_in_place_of_a_value() {
        let memo = memo(true);
        let ask = |made| memo.get_or_try_make("a", || made);
        ask(Ok::<_, ()>("1".to_owned())).unwrap();
        assert!(catch_unwind(AssertUnwindSafe(|| ask(Err(())))).is_err());
    }
}
