//! See [`text_round_trips`].

#![no_main]

use benchleaf_fuzz::quantities::text_round_trips;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| text_round_trips(text));
