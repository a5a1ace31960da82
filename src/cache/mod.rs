//! Values that are remembered: computed once and used again.
//!
//! **In**: what a value is made from, and a function that makes it. **Out**: the value, made now or
//! found. This module does not know what is remembered.
//!
//! One law holds for everything that is remembered, within a run (`Memo`) or between runs (a page
//! that stays because its [`Fingerprint`] is the same): **same inputs, same bytes**. The key of a
//! value is a fingerprint of everything that decides it, so a value that is found is equal to the
//! one that would be made now. A cache may therefore forget a value at any time; it changes how long a
//! run takes, and never what comes out.
//!
//! The law can be checked. While [`verify`] is on, every value that is found is made again and
//! compared with the one that was found, and a difference is a panic that names the cache. The tests publish
//! the demonstration in this way; `BENCHLEAF_VERIFY_CACHE=1` does it in any run of the program.

mod fingerprint;
mod memo;

pub(crate) use fingerprint::Fingerprint;
pub(crate) use fingerprint::FingerprintBuilder;
pub(crate) use memo::Memo;
use std::sync::atomic::{AtomicBool, Ordering};

static VERIFY: AtomicBool = AtomicBool::new(false);

/// Sets for the whole process whether every value that is found in a cache is made again and
/// compared. A cache asks once, when it is created.
///
/// ```
/// use benchleaf::{cache, check, read, tree::Memory};
///
/// cache::verify(true);
/// // Panics if any cache finds a value that differs from the one made anew.
/// check(&read(&Memory::new([("shop.toml", "name = \"Elmbrook workshop\"")])));
/// ```
pub(crate) fn verify(on: bool) {
    VERIFY.store(on, Ordering::Relaxed);
}

/// Whether [`verify`] is on.
pub(crate) fn verifies() -> bool {
    VERIFY.load(Ordering::Relaxed)
}
