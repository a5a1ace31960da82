//! Caches of computed values.
//!
//! **In**: the inputs of a value, and a function that computes it. **Out**: the value, cached or
//! computed. This module does not know what the values are.
//!
//! All caches follow one rule: **same inputs, same bytes**. It applies within a run ([`Memo`]) and
//! between runs, where a page is kept if its [`Fingerprint`] is the same. The key of a value is a
//! fingerprint of everything that the value depends on, so a cached value equals the one that would be
//! computed now. A cache can therefore drop a value at any time. It changes how long a run takes, never
//! its result.
//!
//! The rule can be checked. While [`verify`] is on, every cached value is computed again and compared,
//! and a difference is a panic that names the cache. The tests publish the demonstration in this way.
//! `BENCHLEAF_VERIFY_CACHE=1` turns it on in any run of the program.

mod fingerprint;
mod memo;

pub(crate) use fingerprint::Fingerprint;
pub(crate) use fingerprint::FingerprintBuilder;
pub(crate) use memo::Memo;
use std::sync::atomic::{AtomicBool, Ordering};

static VERIFY: AtomicBool = AtomicBool::new(false);

/// Turns verification on or off for the whole process. It applies to caches that are created later.
pub(crate) fn verify(on: bool) {
    VERIFY.store(on, Ordering::Relaxed);
}

/// Whether [`verify`] is on.
pub(crate) fn verifies() -> bool {
    VERIFY.load(Ordering::Relaxed)
}
