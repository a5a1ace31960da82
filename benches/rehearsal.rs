//! The time to check jobs, without the time to read their sources: a job is made, rehearsed and
//! judged.
//!
//! `cargo bench --bench rehearsal` prints times. The time grows in proportion to the number of jobs and
//! to the number of actions in a job.

use benchleaf::Sources;
use benchleaf::tree::Memory;
use divan::Bencher;
use divan::counter::ItemsCount;
use std::fmt::Write as _;

/// Actions of a job that takes eight parts off and puts them back.
const ACTIONS: usize = 60;
/// Parts behind each other, each held by a bolt.
const PARTS: usize = 8;
/// Parts of the machine that the job doesn't touch.
const OTHERS: usize = 50;
const MACHINES: usize = 1_000;

fn main() {
    divan::main();
}

/// Machines with a stack of parts, and a procedure that takes the stack apart and reassembles it `times` times.
fn shop(times: usize, machines: usize) -> Sources {
    let mut machine = String::from(
        "name = \"Stack\"\nbasis = \"invented\"\n\
         [energy.ignition]\nkind = \"ignition\"\nisolate = \"Pull\"\nprove = \"Try\"\nrestore = \"Push\"\n\
         [reading.gap]\nname = \"gap\"\nlimits = \"0.1 mm to 0.2 mm\"\n",
    );
    let behind = |front: usize| match front {
        0 => String::new(),
        _ => format!("behind = [\"part-{}\"]\n", front - 1),
    };
    for index in 0..PARTS {
        let behind = behind(index);
        let _ = write!(
            machine,
            "[part.part-{index}]\nname = \"part {index}\"\nreuse = \"Whole\"\nclean = true\nheld-by = [\"bolt-{index}\"]\n{behind}\
             [part.bolt-{index}]\nname = \"bolt {index}\"\nthread = \"M6\"\ntorque = \"9 N·m ± 1 N·m\"\n{behind}",
        );
    }
    for index in 0..OTHERS {
        let _ = write!(machine, "[part.other-{index}]\nname = \"other {index}\"\n");
    }
    let mut steps: Vec<String> = Vec::new();
    for _ in 0..times {
        let mut say = |action: &str, part: &str| steps.push(format!("1. []({action}:{part})\n"));
        say("isolate", "ignition");
        say("prove", "ignition");
        for index in 0..PARTS {
            say("remove", &format!("bolt-{index}"));
            say("remove", &format!("part-{index}"));
            say("clean", &format!("part-{index}"));
            say("inspect", &format!("part-{index}"));
        }
        for index in (0..PARTS).rev() {
            say("fit", &format!("part-{index}"));
            say("fit", &format!("bolt-{index}"));
            say("tighten", &format!("bolt-{index}"));
        }
        say("measure", "gap");
        say("restore", "ignition");
    }
    assert_eq!(steps.len(), ACTIONS * times, "as many as are counted");
    let ids: Vec<String> = (0..machines)
        .map(|index| format!("stack-{index}"))
        .collect();
    let procedure = format!(
        "+++\ntitle = \"Strip\"\nmachines = {ids:?}\n+++\n## Do\n\n{}",
        steps.concat()
    );
    let mut files = vec![
        (
            "shop.toml".to_owned(),
            "name = \"Elmbrook workshop\"\n".to_owned(),
        ),
        ("strip/strip.md".to_owned(), procedure),
    ];
    files.extend(ids.iter().map(|id| {
        (
            format!("machines/{id}.toml"),
            machine.replacen("Stack", id, 1),
        )
    }));
    let sources = benchleaf::read(&Memory::new(files));
    // A job with a fault would also measure the time to make findings.
    assert!(
        benchleaf::check(&sources).findings.is_empty(),
        "the tree has findings"
    );
    sources
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn one_job_on_each_of_a_thousand_machines(bencher: Bencher<'_, '_>) {
    let is_timed = std::env::args().any(|argument| argument == "--bench");
    let machines = if is_timed { MACHINES } else { 10 };
    let sources = shop(1, machines);
    bencher
        .counter(ItemsCount::new(machines))
        .bench(|| benchleaf::check(&sources));
}

// Eight times are as many steps as a procedure may have.
#[divan::bench(args = [1, 2, 4, 8])]
fn one_job_of_60_actions_times(bencher: Bencher<'_, '_>, times: usize) {
    let sources = shop(times, 1);
    bencher
        .counter(ItemsCount::new(ACTIONS * times))
        .bench(|| benchleaf::check(&sources));
}
