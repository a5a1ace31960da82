//! A short run of the fuzz targets, without a fuzzer: the inputs in `fuzz/corpus`, the texts that each target begins
//! with, and a fixed number of changes of them. It is the same run on every machine. `fuzz/README.md` describes longer
//! ones.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]
#![allow(clippy::print_stdout, reason = "a test prints its figures")]
#![allow(missing_docs, reason = "the library of another crate")]
#![allow(unreachable_pub, reason = "the library of another crate")]

#[path = "../fuzz/src/lib.rs"]
mod fuzz;
mod support;

use fuzz::calculations::{calculations_hold, seeds};
use fuzz::mutation::Mutator;
use fuzz::pages::{Outcome, publishes_if_clean};
use fuzz::quantities::text_round_trips;
use fuzz::shops::{Base, Files};
use rayon::prelude::*;
use std::panic::{AssertUnwindSafe, catch_unwind};
use support::{files, root};

/// The longest input, in bytes.
const LONGEST: usize = 16 * 1024;

/// The inputs that are kept for a target, by name.
fn corpus(target: &str) -> Vec<(String, Vec<u8>)> {
    files(&root().join("fuzz/corpus").join(target))
}

/// Runs a property on the seeds, on what is kept for the target and on `changes` changes of both. `least` is how many of
/// these shops are published at least: if it were none, the test would test little.
fn run(
    target: &str,
    seeds: Vec<String>,
    changes: u64,
    least: usize,
    make: impl Fn(&[u8]) -> Files + Sync,
) {
    let kept = corpus(target).into_iter().map(|(_, input)| input);
    let inputs: Vec<Vec<u8>> = seeds
        .iter()
        .map(|seed| seed.clone().into_bytes())
        .chain(kept)
        .collect();
    let mutator = Mutator::new(seeds);
    let variants = (0..changes).into_par_iter().map(|seed| {
        let input = &inputs[usize::try_from(seed).unwrap() % inputs.len()];
        mutator
            .mutate(&String::from_utf8_lossy(input), seed, LONGEST)
            .into_bytes()
    });
    let all = inputs.par_iter().cloned().chain(variants);
    let published = all.map(|input| {
        let result = catch_unwind(AssertUnwindSafe(|| publishes_if_clean(&make(&input), None)));
        let outcome =
            result.unwrap_or_else(|_| panic!("the input:\n{}", String::from_utf8_lossy(&input)));
        usize::from(outcome == Outcome::Published)
    });
    let published: usize = published.sum();
    println!(
        "{target}: {} inputs and {changes} changes, {published} published",
        inputs.len()
    );
    assert!(published >= least, "{target}: {published} published");
}

#[test]
fn quantity_text_round_trips() {
    for (name, input) in corpus("quantity_text_round_trips") {
        println!("{name}");
        text_round_trips(&String::from_utf8_lossy(&input));
    }
}

#[test]
fn calculations_hold_for_any_inputs() {
    let kept = corpus("calculations_hold").into_iter();
    let kept = kept.map(|(_, input)| String::from_utf8_lossy(&input).into_owned());
    let seeds = seeds();
    let inputs: Vec<String> = seeds.iter().cloned().chain(kept).collect();
    let mutator = Mutator::new(seeds);
    let variants = (0..1200_u64).into_par_iter().map(|seed| {
        let input = &inputs[usize::try_from(seed).unwrap() % inputs.len()];
        mutator.mutate(input, seed, 2000)
    });
    let answered = inputs.par_iter().cloned().chain(variants).map(|input| {
        let result = catch_unwind(|| calculations_hold(&input));
        usize::from(result.unwrap_or_else(|_| panic!("the input:\n{input}")))
    });
    let answered: usize = answered.sum();
    println!("{answered} answers");
    assert!(answered >= 150, "{answered} answers");
}

#[test]
fn front_matter_publishes_if_clean() {
    let base = Base::default();
    run(
        "front_matter_publishes_if_clean",
        base.front_matter(),
        100,
        10,
        |input| base.with_front_matter(input),
    );
}

#[test]
fn body_publishes_if_clean() {
    let base = Base::default();
    run("body_publishes_if_clean", base.bodies(), 100, 20, |input| {
        base.with_body(input)
    });
}

#[test]
fn tree_publishes_if_clean() {
    let base = Base::default();
    run("tree_publishes_if_clean", base.trees(), 200, 60, |input| {
        base.with_files(input)
    });
}

/// A shop with an error is never published, whatever is put into it.
#[test]
fn the_shops_that_inputs_are_put_into_have_no_error() {
    let base = Base::default();
    let body = "Why.\n\n## Look\n\n1. [Look at the plug](inspect:spark-plug).\n";
    let front = "title = \"Job\"\nmachines = [\"tarn-comfrey\"]\nbegin = [\"make-safe\"]\nfinish = [\"test-run\"]\n";
    for files in [
        base.with_body(body.as_bytes()),
        base.with_front_matter(front.as_bytes()),
        base.with_files(b""),
    ] {
        let sources = benchleaf::read(&benchleaf::tree::Memory::new(files));
        let findings = benchleaf::check(&sources).findings;
        let text = benchleaf::report::terminal(&sources.tree, &findings, false);
        assert_eq!(
            findings.count(benchleaf::finding::Level::Error),
            0,
            "{text}"
        );
    }
}

#[test]
fn a_change_fits_and_is_the_same_again() {
    let mutator = Mutator::new(Base::default().bodies());
    let mut sizes = std::collections::BTreeSet::new();
    for seed in 0..200 {
        let change = || {
            let mut buffer = [b'a'; 900];
            let size = mutator.mutate_in_place(&mut buffer, 10, 800, seed);
            assert!(size <= 800);
            buffer[..size].to_vec()
        };
        assert_eq!(change(), change());
        sizes.insert(change().len());
    }
    assert!(sizes.len() > 20, "{sizes:?}");
}
