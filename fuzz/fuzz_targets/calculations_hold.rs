//! See [`calculations_hold`].

#![no_main]

use benchleaf_fuzz::calculations::calculations_hold;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let _ = calculations_hold(text);
});
