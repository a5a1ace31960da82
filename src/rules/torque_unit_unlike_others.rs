//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::quantity::{Kind, Limits, Unit};
use crate::shop::{Machine, Part, Shop, Sourced};

rule! {
    /// One torque of a machine is in pounds and all others are in newton metres, or the other way round.
    ///
    /// N·m and ft·lbf differ by a third, so neither the thread nor the tool shows which one is right. A machine with
    /// fewer than four torques, or with several in each system, is not judged.
    ///
    /// ## At the bench
    ///
    /// The maker's 9 N·m was typed as 9 ft·lbf. The bolt is tightened by a third too much, and breaks at the next
    /// service.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid-bolt]
    /// name = "lid bolt"
    /// torque = "9 N·m"
    /// [part.foot-bolt]
    /// name = "foot bolt"
    /// torque = "20 N·m"
    /// [part.lever-bolt]
    /// name = "lever bolt"
    /// torque = "18 ft·lbf"
    /// ```
    ///
    /// ## Fix
    ///
    /// Check the unit at the value's source.
    "torque-unit-unlike-others", Trade, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

/// With fewer, none of the two systems is the usual one.
const FEWEST_OTHERS: usize = 3;

/// The system of a torque's unit.
#[derive(Clone, Copy, PartialEq, Eq)]
enum System {
    Newtons,
    Pounds,
    Kilograms,
}

impl System {
    fn of(torque: &Limits) -> System {
        let unit = torque.unit();
        if [Unit::INCH_POUND, Unit::FOOT_POUND].contains(&unit) {
            System::Pounds
        } else if unit == Unit::KILOGRAM_FORCE_METRE {
            System::Kilograms
        } else {
            System::Newtons
        }
    }
}

fn check(shop: &Shop, findings: &mut Findings) {
    for machine in shop.machines.values().filter(|machine| machine.is_complete) {
        let torques: Vec<(&Part, &Sourced, System)> = machine
            .parts
            .values()
            .filter_map(|part| {
                let torque = last_torque(part)?;
                Some((part, torque, System::of(torque.spec.value.limits())))
            })
            .collect();
        if torques.len() <= FEWEST_OTHERS {
            continue;
        }
        let odd = torques.iter().find(|(part, _, system)| {
            let mut others = torques.iter().filter(|(other, ..)| other.id != part.id);
            let first = others.next().map(|(.., system)| *system);
            first.is_some_and(|first| first != *system)
                && others.all(|(.., other)| Some(*other) == first)
        });
        let usual = torques
            .iter()
            .find(|(.., system)| odd.is_some_and(|odd| odd.2 != *system));
        if let (Some((part, torque, _)), Some((_, usual, _))) = (odd, usual) {
            report(machine, part, torque, usual, torques.len() - 1, findings);
        }
    }
}

/// The last of a part's stages that is a torque.
fn last_torque(part: &Part) -> Option<&Sourced> {
    let is_torque = |stage: &&Sourced| stage.spec.value.limits().kind() == Kind::Torque;
    part.stages.iter().rfind(is_torque)
}

fn report(
    machine: &Machine,
    part: &Part,
    torque: &Sourced,
    usual: &Sourced,
    others: usize,
    findings: &mut Findings,
) {
    let message = format!(
        "the torque of `{}` of `{}` is in {}, unlike the {others} other torques of the machine",
        part.key,
        machine.id,
        torque.spec.value.limits().unit()
    );
    findings.push(
        Finding::new(&RULE, message)
            .primary(torque.spec.span, "")
            .secondary(
                usual.spec.span,
                format!("in {}", usual.spec.value.limits().unit()),
            )
            .help(format!(
                "compare it with its source; if it is right, write it in {} with this value in parentheses after it",
                usual.spec.value.limits().unit()
            )),
    );
}
