//! How much memory and time a typst process may take.
//!
//! Measured with typst 0.15.1 on two cores: a sheet of 42 kB of input takes 62 MB and 0.2 s of processor time, one of 124 kB
//! 108 MB and 0.7 s, and the demonstration's manual, 1.06 MB, takes 685 MB and 7 s. The address space is 250 MB more, and
//! 64 MiB more for each thread above two. A photograph takes up to twice the memory of its pixels. The limits are ten
//! times what a sheet takes, and never more than a workshop's computer has.

use std::sync::{Condvar, Mutex, PoisonError};
use std::time::Duration;

/// The limits of one process.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Limits {
    /// The address space, in bytes. Only Linux and Windows keep it.
    pub(super) memory: u64,
    pub(super) time: Duration,
}

/// The most memory of a process, in bytes.
pub(super) const MAX_MEMORY: u64 = 4 << 30;

/// The most time of a process, in seconds.
const MAX_TIME: u64 = 15 * 60;

/// What a process takes for a manual, in bytes of memory for each byte of input: measured as 650.
const NEED: u64 = 700;

impl Limits {
    /// The limits for a document by the sizes of its input and of the pixels of its figures, in bytes.
    pub(super) fn of(input: usize, pixels: u64) -> Limits {
        let input = input as u64;
        let memory = input.saturating_mul(8 << 10).saturating_add(768 << 20);
        let memory = memory.saturating_add(pixels.saturating_mul(4));
        let seconds = 120 + input / 5_000 + pixels / (4 << 20);
        Limits {
            memory: memory.min(MAX_MEMORY),
            time: Duration::from_secs(seconds.min(MAX_TIME)),
        }
    }
}

/// Whether a document is certainly too large for a process, so that it need not be tried.
pub(super) fn is_too_large(input: usize, pixels: u64) -> bool {
    let need = (input as u64).saturating_mul(NEED);
    need.saturating_add(pixels.saturating_mul(2)) > MAX_MEMORY / 4 * 3
}

/// The memory that the processes of a run may take together. A process waits until there is enough, or until it is the
/// only one.
#[derive(Debug)]
pub(super) struct Budget {
    used: Mutex<u64>,
    released: Condvar,
}

/// Two of the largest documents, or about eight sheets.
const BUDGET: u64 = 2 * MAX_MEMORY;

impl Budget {
    pub(super) fn new() -> Budget {
        Budget {
            used: Mutex::new(0),
            released: Condvar::new(),
        }
    }

    /// Waits until a process may take some memory. It may until the share is dropped.
    pub(super) fn share(&self, memory: u64) -> Share<'_> {
        let used = self.used.lock().unwrap_or_else(PoisonError::into_inner);
        let is_full = |used: &mut u64| *used > 0 && *used + memory > BUDGET;
        let used = self.released.wait_while(used, is_full);
        *used.unwrap_or_else(PoisonError::into_inner) += memory;
        Share {
            budget: self,
            memory,
        }
    }
}

/// A part of a [`Budget`] that a process has.
pub(super) struct Share<'b> {
    budget: &'b Budget,
    memory: u64,
}

impl Drop for Share<'_> {
    fn drop(&mut self) {
        let used = self.budget.used.lock();
        *used.unwrap_or_else(PoisonError::into_inner) -= self.memory;
        self.budget.released.notify_all();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_grow_with_the_document_up_to_a_bound() {
        let of = |input, pixels| {
            let limits = Limits::of(input, pixels);
            (limits.memory >> 20, limits.time.as_secs())
        };
        assert_eq!(of(0, 0), (768, 120));
        assert_eq!(of(42_000, 0), (1096, 128));
        // A photograph of 12 million pixels.
        assert_eq!(of(42_000, 36_000_000), (1233, 136));
        assert_eq!(of(1_056_378, 0), (4096, 331));
        assert_eq!(of(usize::MAX, u64::MAX), (4096, 900));
        assert!(!is_too_large(1_056_378, 0));
        assert!(is_too_large(5_000_000, 0));
        assert!(is_too_large(0, 2 << 30));
    }

    #[test]
    fn processes_together_stay_within_the_budget() {
        let budget = Budget::new();
        let used = || *budget.used.lock().unwrap();
        let first = budget.share(MAX_MEMORY);
        let second = budget.share(MAX_MEMORY);
        std::thread::scope(|scope| {
            let third = scope.spawn(|| drop(budget.share(1)));
            std::thread::sleep(Duration::from_millis(50));
            assert!(!third.is_finished());
            assert_eq!(used(), BUDGET);
            drop(first);
        });
        drop(second);
        assert_eq!(used(), 0);
        // A document above the budget is alone.
        drop(budget.share(u64::MAX));
    }
}
