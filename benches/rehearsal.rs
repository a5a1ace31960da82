//! How long it takes to rehearse jobs and judge them, reading and making them left out.
//!
//! `cargo bench --bench rehearsal` prints times. Wanted: ten thousand jobs of sixty actions in half
//! a second on two cores, and a job of a hundred times the actions in a hundred times the time.

use benchleaf::Sources;
use benchleaf::finding::Findings;
use benchleaf::job::{self, Job};
use benchleaf::rules;
use benchleaf::tree::Memory;
use divan::Bencher;
use divan::counter::ItemsCount;
use rayon::prelude::*;
use std::fmt::Write as _;

/// Actions of a job that takes eight parts off and puts them back.
const ACTIONS: usize = 60;
/// Parts behind each other, each held by a bolt.
const PARTS: usize = 8;
/// Parts of the machine that the job doesn't touch.
const OTHERS: usize = 50;
const JOBS: usize = 10_000;

fn main() {
    divan::main();
}

/// A machine with a stack of parts, and one job on it that strips and builds it some times over.
fn shop(times: usize) -> Sources {
    let mut machine = String::from(
        "name = \"Stack\"\nbasis = \"invented\"\n\
         [energy.ignition]\nkind = \"ignition\"\nisolate = \"Pull\"\nprove = \"Try\"\nrestore = \"Push\"\n\
         [reading.gap]\nname = \"gap\"\nlimits = \"0.1 mm to 0.2 mm\"\n",
    );
    let behind = |front: usize| match front {
        0 => String::new(),
        _ => format!("behind = [\"part-{}\"]\n", front - 1),
    };
    for nth in 0..PARTS {
        let behind = behind(nth);
        let _ = write!(
            machine,
            "[part.part-{nth}]\nname = \"part\"\nreuse = \"Whole\"\nclean = true\nheld-by = [\"bolt-{nth}\"]\n{behind}\
             [part.bolt-{nth}]\nname = \"bolt\"\nthread = \"M6\"\ntorque = \"9 N·m ± 1 N·m\"\n{behind}",
        );
    }
    for nth in 0..OTHERS {
        let _ = write!(machine, "[part.other-{nth}]\nname = \"other\"\n");
    }
    let mut steps: Vec<String> = Vec::new();
    for _ in 0..times {
        let mut say = |action: &str, part: &str| steps.push(format!("1. []({action}:{part})\n"));
        say("isolate", "ignition");
        say("prove", "ignition");
        for nth in 0..PARTS {
            say("remove", &format!("bolt-{nth}"));
            say("remove", &format!("part-{nth}"));
            say("clean", &format!("part-{nth}"));
            say("inspect", &format!("part-{nth}"));
        }
        for nth in (0..PARTS).rev() {
            say("fit", &format!("part-{nth}"));
            say("fit", &format!("bolt-{nth}"));
            say("tighten", &format!("bolt-{nth}"));
        }
        say("measure", "gap");
        say("restore", "ignition");
    }
    assert_eq!(steps.len(), ACTIONS * times, "as many as are counted");
    let procedure = format!(
        "+++\ntitle = \"Strip\"\nmachines = [\"stack\"]\n+++\n## Do\n\n{}",
        steps.concat()
    );
    let sources = benchleaf::read(&Memory::new([
        ("shop.toml", "name = \"Elmbrook workshop\"\n".to_owned()),
        ("machines/stack.toml", machine),
        ("strip/strip.md", procedure),
    ]));
    // A job with a fault in it would be timed making findings.
    assert!(
        benchleaf::check(&sources).findings.is_empty(),
        "it is clean"
    );
    sources
}

fn jobs(sources: &Sources) -> Vec<Job<'_>> {
    let mut found = Findings::new();
    job::make(
        &sources.tree,
        &sources.shop,
        &sources.procedures,
        &[],
        &mut found,
    )
    .jobs
}

fn rehearse(job: &Job<'_>) -> usize {
    let mut found = Findings::new();
    let (rehearsal, _) = rules::rehearse(job, &mut found);
    rehearsal.moves.len()
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn ten_thousand_jobs(bencher: Bencher<'_, '_>) {
    let sources = shop(1);
    let jobs = jobs(&sources);
    // One rehearsal knows nothing of another, so that the same job will do for all.
    let is_timed = std::env::args().any(|argument| argument == "--bench");
    let count = if is_timed { JOBS } else { 10 };
    bencher.counter(ItemsCount::new(count)).bench(|| {
        let all = (0..count).into_par_iter();
        all.map(|_| rehearse(&jobs[0])).sum::<usize>()
    });
}

#[divan::bench(args = [1, 10, 100])]
fn one_job_of_60_actions_times(bencher: Bencher<'_, '_>, times: usize) {
    let sources = shop(times);
    let jobs = jobs(&sources);
    bencher
        .counter(ItemsCount::new(ACTIONS * times))
        .bench(|| rehearse(&jobs[0]));
}
