//! See [`RULE`].

use super::check::On;
use super::shared::is_usual;
use crate::finding::{Finding, Findings, rule};
use crate::quantity::Kind;
use crate::shop::{EngineNeed, Machine, Reading, Shop};

rule! {
    /// A speed or a frequency of the running engine is not in the `measure` of the machine's `[run]`.
    ///
    /// Reported only for machines whose `[run]` has `measure`, in a shop where at least four such readings are in it, and
    /// at least four in five.
    ///
    /// ## At the bench
    ///
    /// A job that runs the engine and does not measure this speed passes all checks, and the machine is lent with the
    /// speed that it happens to have.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === machines/foot-pump.toml
    /// name = "foot pump"
    /// basis = "measured on our own pump"
    /// engine = { kind = "2-stroke" }
    /// [reading.idle]
    /// name = "idle speed"
    /// limits = "1800 rpm ± 100 rpm"
    /// engine = "running"
    /// [reading.fast-idle]
    /// name = "fast idle speed"
    /// limits = "2200 rpm ± 100 rpm"
    /// engine = "running"
    /// [reading.working]
    /// name = "working speed"
    /// limits = "3000 rpm ± 100 rpm"
    /// engine = "running"
    /// [reading.highest]
    /// name = "highest speed"
    /// limits = "3300 rpm ± 100 rpm"
    /// engine = "running"
    /// [reading.loaded]
    /// name = "speed with the load on"
    /// limits = "2900 rpm ± 100 rpm"
    /// engine = "running"
    /// [run]
    /// measure = ["idle", "fast-idle", "working", "highest"]
    /// ```
    ///
    /// ## Fix
    ///
    /// Add the reading to `measure`.
    "speed-not-measured-in-run", Names, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    let speeds = || {
        let machines = shop.machines.values().filter(|machine| machine.is_complete);
        let measured = machines.filter(|machine| !machine.run.measure.is_empty());
        measured.flat_map(|machine| {
            let readings = machine.readings.values();
            readings
                .filter(|reading| is_running_speed(reading))
                .map(move |reading| (machine, reading))
        })
    };
    let with = speeds().filter(|(machine, reading)| is_in_run(machine, reading));
    if !is_usual(with.count(), speeds().count()) {
        return;
    }
    for (machine, reading) in speeds().filter(|(machine, reading)| !is_in_run(machine, reading)) {
        let Some(limits) = &reading.limits else {
            continue;
        };
        let message = format!(
            "reading `{}` of `{}` is taken with the engine running, but is not in `measure` of `[run]`",
            reading.key, machine.id
        );
        findings.push(
            Finding::new(&RULE, message)
                .primary(limits.spec.span, "")
                .help("add it to `measure`, so that every job that runs the engine takes it"),
        );
    }
}

fn is_in_run(machine: &Machine, reading: &Reading) -> bool {
    let mut measured = machine.run.measure.iter();
    measured.any(|name| name.value == reading.id)
}

fn is_running_speed(reading: &Reading) -> bool {
    let kind = reading
        .limits
        .as_ref()
        .map(|limits| limits.spec.value.limits().kind());
    let is_running = matches!(&reading.engine, Some(need) if need.value == EngineNeed::Running);
    is_running && matches!(kind, Some(Kind::RotationalSpeed | Kind::Frequency))
}
