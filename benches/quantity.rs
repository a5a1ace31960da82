//! The time to parse limits and to print them in two units, compared with the time that the standard library takes in
//! the same run to parse the number in them as an `f64`.
//!
//! `cargo bench --bench quantity` prints times and allocations, then the ratios, which hardly depend on the computer.
//! The goals are 1 µs to parse limits and 2 µs to print them in two units, with no more allocations for a long text
//! than for a short one.

use std::time::Duration;

use benchleaf::quantity::{Limits, Spec, UnitOrder};
use divan::{AllocProfiler, Bencher, black_box};

#[global_allocator]
static ALLOCATIONS: AllocProfiler = AllocProfiler::system();

/// Texts of every form, from the shortest to one that is longer than real fields.
const LIMITS: &[&str] = &[
    "0.7 mm",
    "9 N·m ± 1 N·m",
    "(9 ± 1) Nm",
    "8 to 10 ft-lb",
    "at least 15 bar",
    "3100 rpm ± 100 rpm",
    "90 °C ± 10 °C",
    "1 1/2 in ± 1/64 in",
    "9.25 N·m (+1.25/−0.75 N·m)",
    "12345678.123 inch pounds to 123456789012.25 inch pounds",
];

fn main() {
    divan::main();
    // Without this flag, `cargo test` only makes sure that each benchmark runs.
    if std::env::args().any(|argument| argument == "--bench") {
        print_ratios();
    }
}

/// The first number of a text, in a form that the standard library parses.
fn number(text: &str) -> &str {
    let start = text.find(|c: char| c.is_ascii_digit()).unwrap_or(0);
    let rest = &text[start..];
    let end = rest.find(|c: char| !c.is_ascii_digit() && c != '.');
    &rest[..end.unwrap_or(rest.len())]
}

fn spec(text: &str) -> Spec {
    Spec::parse(text).expect("every text of the list is a spec")
}

#[divan::bench(args = LIMITS)]
fn f64_of_its_number(bencher: Bencher, text: &str) {
    let number = number(text);
    bencher.bench(|| black_box(number).parse::<f64>());
}

#[divan::bench(args = LIMITS)]
fn limits_from_text(text: &str) -> Result<Limits, impl std::fmt::Debug> {
    Limits::parse(text)
}

#[divan::bench(args = LIMITS)]
fn shown_in_two_units(bencher: Bencher, text: &str) {
    let (order, spec) = (UnitOrder::default(), spec(text));
    bencher.bench(|| order.show(black_box(&spec)));
}

/// The least time of several rounds of `work`. Slower rounds were disturbed by other processes.
#[expect(clippy::disallowed_methods, reason = "a benchmark is about the clock")]
fn least<T>(work: impl Fn() -> T) -> Duration {
    const ROUNDS: u32 = 200;
    const TIMES: u32 = 200;
    let round = |_| {
        let start = std::time::Instant::now();
        for _ in 0..TIMES {
            black_box(work());
        }
        start.elapsed() / TIMES
    };
    (0..ROUNDS).map(round).min().unwrap_or_default()
}

#[expect(clippy::print_stdout, reason = "what a benchmark is for")]
fn print_ratios() {
    println!("times to parse an f64: to read the limits, to show them in two units");
    let order = UnitOrder::default();
    for text in LIMITS {
        let (number, spec) = (number(text), spec(text));
        let float = least(|| black_box(number).parse::<f64>());
        let read = least(|| Limits::parse(black_box(text)));
        let show = least(|| order.show(black_box(&spec)));
        let times = |time: Duration| time.as_secs_f64() / float.as_secs_f64();
        println!(
            "{:>6.1} {:>6.1}   {text}   ({float:?}, {read:?}, {show:?})",
            times(read),
            times(show)
        );
    }
}
