//! See [`publishes_if_clean`]. The input is any number of files of a shop. The PDFs are made as well.

#![no_main]

use benchleaf_fuzz::mutation::Mutator;
use benchleaf_fuzz::pages::publishes_if_clean;
use benchleaf_fuzz::shops::Base;
use libfuzzer_sys::{fuzz_mutator, fuzz_target, fuzzer_mutate};
use std::path::PathBuf;
use std::sync::LazyLock;

static BASE: LazyLock<Base> = LazyLock::new(Base::default);
static MUTATOR: LazyLock<Mutator> = LazyLock::new(|| Mutator::new(BASE.trees()));
static TYPST: LazyLock<PathBuf> = LazyLock::new(|| {
    let path = std::env::var_os("BENCHLEAF_TYPST").expect("BENCHLEAF_TYPST is the path of typst");
    PathBuf::from(path)
});

fuzz_target!(|input: &[u8]| {
    publishes_if_clean(&BASE.with_files(input), Some(TYPST.as_path()));
});

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    if seed % 4 == 0 {
        return fuzzer_mutate(data, size, max_size);
    }
    MUTATOR.mutate_in_place(data, size, max_size, seed)
});
