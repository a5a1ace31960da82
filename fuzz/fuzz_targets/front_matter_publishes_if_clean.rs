//! See [`publishes_if_clean`]. The input is the front matter of a procedure.

#![no_main]

use benchleaf_fuzz::mutation::Mutator;
use benchleaf_fuzz::pages::publishes_if_clean;
use benchleaf_fuzz::shops::Base;
use libfuzzer_sys::{fuzz_mutator, fuzz_target, fuzzer_mutate};
use std::sync::LazyLock;

static BASE: LazyLock<Base> = LazyLock::new(Base::default);
static MUTATOR: LazyLock<Mutator> = LazyLock::new(|| Mutator::new(BASE.front_matter()));

fuzz_target!(|input: &[u8]| {
    publishes_if_clean(&BASE.with_front_matter(input), None);
});

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    if seed % 4 == 0 {
        return fuzzer_mutate(data, size, max_size);
    }
    MUTATOR.mutate_in_place(data, size, max_size, seed)
});
