//! Jobs and their rehearsals become findings.
//!
//! Comes in: a shop, a [`Job`], its [`Rehearsal`]. Goes out: findings. One rule
//! a file, each with its manual page, its example and a check of a few lines.
//! Rules that a stage can only find while it reads stand with that stage; the
//! table of all rules is here.

mod adjusted_not_measured;
mod adjusted_unmeasured;
mod adjusted_while_locked;
mod calibration_out_of_date;
mod cause_leads_nowhere;
mod cause_without_test;
mod class_unfit_for_thread;
mod coarse_torque_tool;
mod confirmed_too_early;
mod doubled_seal;
mod energy_not_isolated;
mod energy_not_proved;
mod engine_as_it_was;
mod engine_wrong_for_reading;
mod fastener_left_loose;
mod fastener_started_first;
mod filled_into_open_system;
mod filled_while_shut;
mod fitted_after_tightening;
mod fluid_condition_unmet;
mod generator_off_frequency;
mod ignition_still_live;
mod laid_open_unseen;
mod left_not_as_found;
mod line_opened_full;
mod lock_slackened_for_nothing;
mod measured_again;
mod meter_too_coarse;
mod no_leak_check;
mod no_torque_tool;
mod not_signed_for;
mod noted_not_removed;
mod old_seal_kept;
mod pair_disagrees;
mod part_behind_another;
mod part_buried;
mod part_left_off;
mod part_not_off;
mod part_not_on;
mod part_still_held;
pub(crate) mod printing;
mod reading_condition_unmet;
mod reading_out_of_reach;
mod refitted_dirty;
mod refitted_elsewhere;
mod refitted_undrained;
mod refitted_unseen;
mod run_not_ready;
mod run_shows_nothing;
mod run_without_clearing;
mod seat_not_noted;
mod single_use_refitted;
mod space_in_address;
mod stage_out_of_order;
mod stages_do_not_rise;
mod tachometer_misreads;
mod test_without_answer;
mod tip_speed_above_ceiling;
mod torque_above_fastener;
mod torque_in_another_unit;
mod torque_tool_out_of_range;
mod typed_value;
mod unverified_value;
mod work_in_fault_table;
mod work_on_live_energy;
mod work_while_running;
mod wrench_fits_nothing;

use crate::dry_run::{
    self, Changed, EnergyState, Moment, PartPlace, PartState, Rehearsal, Scene, State,
};
use crate::finding::{Family, FileId, Finding, Findings, Located, Rule, Span, nearest, rule};
use crate::job::{Job, Section};
use crate::procedure::Procedure;
use crate::prose::Verb;
use crate::quantity::{Found, find};
use crate::shop::{Energy, EnergyKind, Machine, Part, Shop};
use crate::trade::{self, Condition, Day, Takes, takes};
use crate::tree::{Source, Tree};
use memchr::memmem::Finder;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, LazyLock, Mutex, PoisonError};

/// A rule about an action, with the machine as it is just before it.
struct ActRule {
    rule: &'static Rule,
    /// The actions it looks at; on any other it finds nothing.
    on: &'static [Verb],
    check: Check,
}

type Check = fn(&Scene<'_, '_>, &mut Findings);

/// A rule about the state that a job ends in.
struct EndRule {
    rule: &'static Rule,
    check: fn(&Job<'_>, &State<'_>, &mut Findings),
}

/// Rules about actions: one row each.
static ACT_RULES: [ActRule; 40] = [
    ActRule {
        rule: &adjusted_unmeasured::RULE,
        on: &[Verb::Adjust],
        check: adjusted_unmeasured::check,
    },
    ActRule {
        rule: &adjusted_while_locked::RULE,
        on: &[Verb::Adjust],
        check: adjusted_while_locked::check,
    },
    ActRule {
        rule: &confirmed_too_early::RULE,
        on: &[Verb::Confirm],
        check: confirmed_too_early::check,
    },
    ActRule {
        rule: &doubled_seal::RULE,
        on: &[Verb::Renew],
        check: doubled_seal::check,
    },
    ActRule {
        rule: &energy_not_isolated::RULE,
        on: &[Verb::Prove, Verb::Restore],
        check: energy_not_isolated::check,
    },
    ActRule {
        rule: &engine_as_it_was::RULE,
        on: &[Verb::Run, Verb::Stop],
        check: engine_as_it_was::check,
    },
    ActRule {
        rule: &engine_wrong_for_reading::RULE,
        on: &[Verb::Measure],
        check: engine_wrong_for_reading::check,
    },
    ActRule {
        rule: &fastener_started_first::RULE,
        on: &[Verb::Fit, Verb::Renew],
        check: fastener_started_first::check,
    },
    ActRule {
        rule: &filled_while_shut::RULE,
        on: &[Verb::Fill, Verb::Drain],
        check: filled_while_shut::check,
    },
    ActRule {
        rule: &fluid_condition_unmet::RULE,
        on: &[Verb::Drain, Verb::Fill, Verb::Remove],
        check: fluid_condition_unmet::check,
    },
    ActRule {
        rule: &ignition_still_live::RULE,
        on: &[Verb::Isolate, Verb::Restore],
        check: ignition_still_live::check,
    },
    ActRule {
        rule: &laid_open_unseen::RULE,
        on: &[Verb::Fit, Verb::Renew],
        check: laid_open_unseen::check,
    },
    ActRule {
        rule: &lock_slackened_for_nothing::RULE,
        on: &[Verb::Tighten],
        check: lock_slackened_for_nothing::check,
    },
    ActRule {
        rule: &measured_again::RULE,
        on: &[Verb::Measure],
        check: measured_again::check,
    },
    ActRule {
        rule: &not_signed_for::RULE,
        on: &[Verb::Run],
        check: not_signed_for::check,
    },
    ActRule {
        rule: &old_seal_kept::RULE,
        on: &[Verb::Fit, Verb::Renew],
        check: old_seal_kept::check,
    },
    ActRule {
        rule: &reading_out_of_reach::RULE,
        on: &[Verb::Measure, Verb::Adjust],
        check: reading_out_of_reach::check,
    },
    ActRule {
        rule: &refitted_dirty::RULE,
        on: &[Verb::Fit, Verb::Clean],
        check: refitted_dirty::check,
    },
    ActRule {
        rule: &refitted_undrained::RULE,
        on: &[Verb::Fit, Verb::Renew],
        check: refitted_undrained::check,
    },
    ActRule {
        rule: &refitted_unseen::RULE,
        on: &[Verb::Fit],
        check: refitted_unseen::check,
    },
    ActRule {
        rule: &stage_out_of_order::RULE,
        on: &[Verb::Tighten],
        check: stage_out_of_order::check,
    },
    ActRule {
        rule: &refitted_elsewhere::RULE,
        on: &[Verb::Fit, Verb::Renew],
        check: refitted_elsewhere::check,
    },
    ActRule {
        rule: &energy_not_proved::RULE,
        on: &WORK,
        check: energy_not_proved::check,
    },
    ActRule {
        rule: &filled_into_open_system::RULE,
        on: &[Verb::Fill],
        check: filled_into_open_system::check,
    },
    ActRule {
        rule: &fitted_after_tightening::RULE,
        on: &[Verb::Fit, Verb::Renew],
        check: fitted_after_tightening::check,
    },
    ActRule {
        rule: &line_opened_full::RULE,
        on: &[Verb::Remove],
        check: line_opened_full::check,
    },
    ActRule {
        rule: &no_leak_check::RULE,
        on: &[Verb::Restore],
        check: no_leak_check::check,
    },
    ActRule {
        rule: &part_behind_another::RULE,
        on: &[Verb::Remove, Verb::Slacken, Verb::Tighten],
        check: part_behind_another::check,
    },
    ActRule {
        rule: &part_buried::RULE,
        on: &[Verb::Fit, Verb::Renew],
        check: part_buried::check,
    },
    ActRule {
        rule: &part_not_off::RULE,
        on: &[Verb::Fit],
        check: part_not_off::check,
    },
    ActRule {
        rule: &part_not_on::RULE,
        on: &[Verb::Remove, Verb::Slacken, Verb::Tighten, Verb::Note],
        check: part_not_on::check,
    },
    ActRule {
        rule: &part_still_held::RULE,
        on: &[Verb::Remove],
        check: part_still_held::check,
    },
    ActRule {
        rule: &reading_condition_unmet::RULE,
        on: &[Verb::Measure],
        check: reading_condition_unmet::check,
    },
    ActRule {
        rule: &run_not_ready::RULE,
        on: &[Verb::Run],
        check: run_not_ready::check,
    },
    ActRule {
        rule: &seat_not_noted::RULE,
        on: &[Verb::Remove],
        check: seat_not_noted::check,
    },
    ActRule {
        rule: &single_use_refitted::RULE,
        on: &[Verb::Fit],
        check: single_use_refitted::check,
    },
    ActRule {
        rule: &torque_tool_out_of_range::RULE,
        on: &[Verb::Use],
        check: torque_tool_out_of_range::check,
    },
    ActRule {
        rule: &work_on_live_energy::RULE,
        on: &WORK,
        check: work_on_live_energy::check,
    },
    ActRule {
        rule: &work_while_running::RULE,
        on: &[Verb::Remove, Verb::Fit, Verb::Renew, Verb::Clean],
        check: work_while_running::check,
    },
    ActRule {
        rule: &wrench_fits_nothing::RULE,
        on: &[Verb::Use],
        check: wrench_fits_nothing::check,
    },
];

/// Rules about how a job ends: one row each.
const END_RULES: [EndRule; 6] = [
    EndRule {
        rule: &noted_not_removed::RULE,
        check: noted_not_removed::check,
    },
    EndRule {
        rule: &run_shows_nothing::RULE,
        check: run_shows_nothing::check,
    },
    EndRule {
        rule: &adjusted_not_measured::RULE,
        check: adjusted_not_measured::check,
    },
    EndRule {
        rule: &fastener_left_loose::RULE,
        check: fastener_left_loose::check,
    },
    EndRule {
        rule: &left_not_as_found::RULE,
        check: left_not_as_found::check,
    },
    EndRule {
        rule: &part_left_off::RULE,
        check: part_left_off::check,
    },
];

/// A rule about the shop's own records, on a day where one is given.
struct ShopRule {
    rule: &'static Rule,
    check: fn(&Shop, Option<Day>, &mut Findings),
}

/// Rules about the shop's records: one row each.
const SHOP_RULES: [ShopRule; 13] = [
    ShopRule {
        rule: &run_without_clearing::RULE,
        check: run_without_clearing::check,
    },
    ShopRule {
        rule: &calibration_out_of_date::RULE,
        check: calibration_out_of_date::check,
    },
    ShopRule {
        rule: &class_unfit_for_thread::RULE,
        check: class_unfit_for_thread::check,
    },
    ShopRule {
        rule: &coarse_torque_tool::RULE,
        check: coarse_torque_tool::check,
    },
    ShopRule {
        rule: &generator_off_frequency::RULE,
        check: generator_off_frequency::check,
    },
    ShopRule {
        rule: &meter_too_coarse::RULE,
        check: meter_too_coarse::check,
    },
    ShopRule {
        rule: &no_torque_tool::RULE,
        check: no_torque_tool::check,
    },
    ShopRule {
        rule: &stages_do_not_rise::RULE,
        check: stages_do_not_rise::check,
    },
    ShopRule {
        rule: &tachometer_misreads::RULE,
        check: tachometer_misreads::check,
    },
    ShopRule {
        rule: &tip_speed_above_ceiling::RULE,
        check: tip_speed_above_ceiling::check,
    },
    ShopRule {
        rule: &torque_above_fastener::RULE,
        check: torque_above_fastener::check,
    },
    ShopRule {
        rule: &torque_in_another_unit::RULE,
        check: torque_in_another_unit::check,
    },
    ShopRule {
        rule: &unverified_value::RULE,
        check: unverified_value::check,
    },
];

/// By verb, the checks of the rules that look at it, in order of [`ACT_RULES`].
static CHECKS_ON: LazyLock<Vec<Vec<Check>>> = LazyLock::new(|| {
    let on = |verb| {
        let rows = ACT_RULES.iter().filter(|row| row.on.contains(&verb));
        rows.map(|row| row.check).collect()
    };
    Verb::ALL.iter().copied().map(on).collect()
});

/// Whether the rules that don't look at an action's verb find nothing in it indeed.
fn is_all_found(scene: &Scene<'_, '_>) -> bool {
    let mut found = Findings::new();
    let others = ACT_RULES
        .iter()
        .filter(|row| !row.on.contains(&scene.act.verb));
    for row in others {
        (row.check)(scene, &mut found);
    }
    found.is_empty()
}

/// A rule about what the sources say, as text.
struct TextRule {
    rule: &'static Rule,
    check: fn(&TextScene<'_>, &mut Findings),
}

/// A source file and the values typed in it.
struct TextScene<'t> {
    tree: &'t Tree,
    shop: &'t Shop,
    file: &'t Source,
    /// The procedure or fault table it is, where it is one.
    procedure: Option<&'t Procedure>,
    /// The values in its prose.
    found: Vec<Found>,
}

/// Rules about the sources' text: one row each.
const TEXT_RULES: [TextRule; 3] = [
    TextRule {
        rule: &pair_disagrees::RULE,
        check: pair_disagrees::check,
    },
    TextRule {
        rule: &space_in_address::RULE,
        check: space_in_address::check,
    },
    TextRule {
        rule: &typed_value::RULE,
        check: typed_value::check,
    },
];

/// A file's text with whatever is no prose blotted out, byte for byte: addresses, marks, comments.
fn prose_of(file: &Source) -> String {
    let typed = file.text.as_bytes();
    let mut text = typed.to_vec();
    for (open, close) in [("](", ")"), ("`", "`"), ("{", "}"), ("<!--", "-->")] {
        let (opens, closes) = (Finder::new(open), Finder::new(close));
        let mut from = 0;
        while let Some(start) = opens.find(&typed[from..]) {
            let inside = from + start + open.len();
            let Some(length) = closes.find(&typed[inside..]) else {
                break;
            };
            let end = inside + length;
            text[inside..end].fill(b'_');
            from = end + close.len();
        }
    }
    // Whole stretches between ASCII marks were replaced, so no letter was cut in two.
    String::from_utf8(text).unwrap_or_default()
}

/// Every part of every machine that could be read whole.
fn parts(shop: &Shop) -> impl Iterator<Item = (&Machine, &Part)> {
    let machines = shop.machines.values().filter(|machine| machine.whole);
    machines.flat_map(|machine| machine.parts.values().map(move |part| (machine, part)))
}

/// What a fastener takes; none where its thread or class is not given.
///
/// A thread whose state is not given is taken as dry, as published tables are.
fn joint(part: &Part) -> Option<Result<Takes, trade::Error>> {
    let (thread, class) = (part.thread.as_ref()?, part.class.as_ref()?);
    let condition = part.assembled.unwrap_or(Condition::Dry);
    Some(takes(
        &thread.value,
        class.value,
        condition,
        part.tapped.as_ref(),
    ))
}

/// A rule about a fault table on a machine.
struct FaultRule {
    rule: &'static Rule,
    check: fn(&Job<'_>, &mut Findings),
}

/// Rules about fault tables: one row each.
const FAULT_RULES: [FaultRule; 4] = [
    FaultRule {
        rule: &cause_leads_nowhere::RULE,
        check: cause_leads_nowhere::check,
    },
    FaultRule {
        rule: &cause_without_test::RULE,
        check: cause_without_test::check,
    },
    FaultRule {
        rule: &test_without_answer::RULE,
        check: test_without_answer::check,
    },
    FaultRule {
        rule: &work_in_fault_table::RULE,
        check: work_in_fault_table::check,
    },
];

/// Judges a fault table on a machine.
pub fn judge_fault(fault: &Job<'_>, findings: &mut Findings) {
    for row in &FAULT_RULES {
        (row.check)(fault, findings);
    }
}

/// Every rule there is, by name.
#[must_use]
pub fn all() -> Vec<&'static Rule> {
    let stages = [
        crate::tree::RULES.as_slice(),
        crate::record::RULES.as_slice(),
        crate::prose::RULES.as_slice(),
        crate::shop::RULES.as_slice(),
        crate::procedure::RULES.as_slice(),
        crate::job::RULES.as_slice(),
    ];
    let mut rules: Vec<&'static Rule> = stages.concat();
    rules.extend(ACT_RULES.iter().map(|row| row.rule));
    rules.extend(END_RULES.iter().map(|row| row.rule));
    rules.extend(SHOP_RULES.iter().map(|row| row.rule));
    rules.extend(TEXT_RULES.iter().map(|row| row.rule));
    rules.extend(FAULT_RULES.iter().map(|row| row.rule));
    rules.extend([
        &FIXED_LEVEL,
        &IDLE_EXCUSE,
        &UNKNOWN_RULE,
        &printing::NO_TYPESETTER,
        &printing::TYPESETTING_FAILED,
    ]);
    rules.sort_by_key(|rule| rule.name);
    rules
}

/// Rehearses a job and judges what it sees. Of one that could not be written out whole, the
/// finding that says why is enough.
pub fn rehearse<'a>(job: &Job<'a>, findings: &mut Findings) -> (Rehearsal<'a>, Excused) {
    judge(job, 0, None, findings)
}

/// Judges a job from its first sections on, after what was rehearsed `before` them.
fn judge<'a>(
    job: &Job<'a>,
    first: usize,
    before: Option<&Rehearsal<'a>>,
    findings: &mut Findings,
) -> (Rehearsal<'a>, Excused) {
    if !job.is_whole {
        return (dry_run::rehearse(job, |_| {}), Excused::new());
    }
    let mut found = Findings::new();
    let sections = first..job.sections.len();
    let rehearsal = dry_run::go_on(job, sections, before, |scene| look(scene, &mut found));
    for row in &END_RULES {
        (row.check)(job, &rehearsal.end, &mut found);
    }
    not_signed_for::check_end(job, &rehearsal.end, &mut found);
    let excused = excuse(job, &mut found);
    findings.extend(found);
    (rehearsal, excused)
}

/// Shows an action to all the rules about it.
fn look(scene: &Scene<'_, '_>, found: &mut Findings) {
    for check in &CHECKS_ON[scene.act.verb as usize] {
        check(scene, found);
    }
    debug_assert!(is_all_found(scene), "a rule's `on` lacks a verb");
}

/// What begins jobs, rehearsed once for all that begin in the same way.
///
/// A [`Scene`] shows a rule no more of its job than the machine and what was done before: where nothing
/// was found at one job, there is nothing to find at the next.
#[derive(Debug, Default)]
pub struct Openings<'a> {
    /// By the first section's place in memory, where it stays as long as it is here; no rehearsal
    /// where something was found, and has to be said of each job.
    known: Mutex<BTreeMap<usize, Begun<'a>>>,
}

type Begun<'a> = (Arc<Section<'a>>, Option<Arc<Rehearsal<'a>>>);

impl<'a> Openings<'a> {
    /// As [`rehearse`], of a job that may begin as others did.
    pub fn rehearse(&self, job: &Job<'a>, findings: &mut Findings) -> (Rehearsal<'a>, Excused) {
        match self.begun(job).filter(|_| job.is_whole) {
            Some(begun) => judge(job, job.opening, Some(&begun), findings),
            None => rehearse(job, findings),
        }
    }

    fn begun(&self, job: &Job<'a>) -> Option<Arc<Rehearsal<'a>>> {
        let first = job.sections.first().filter(|_| job.opening > 0)?;
        let key = Arc::as_ptr(first).addr();
        let known = || self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, begun)) = known().get(&key) {
            return begun.clone();
        }
        let mut found = Findings::new();
        let begun = dry_run::go_on(job, 0..job.opening, None, |scene| look(scene, &mut found));
        let begun = found.is_empty().then(|| Arc::new(begun));
        known().insert(key, (Arc::clone(first), begun.clone()));
        begun
    }
}

/// Excuses that excused something: the step's place and the rule's name.
pub type Excused = BTreeSet<(Span, String)>;

/// Drops what a step's author said is meant, and says which excuses were needed.
fn excuse(job: &Job<'_>, found: &mut Findings) -> Excused {
    let mut excused = Excused::new();
    if job.steps().all(|step| step.excuses.is_empty()) {
        return excused;
    }
    found.set_levels(|finding| {
        let place = finding.primary.as_ref().map(|mark| mark.span);
        let step = place.and_then(|place| job.steps().find(|step| step.span.holds(place)));
        let is_excused = step.is_some_and(|step| {
            let mut rules = step.excuses.iter();
            rules.any(|(rule, _)| rule == finding.rule.name)
        });
        if let Some(step) = step.filter(|_| is_excused) {
            excused.insert((step.span, finding.rule.name.to_owned()));
        }
        (!is_excused).then_some(finding.level)
    });
    excused
}

/// Says which excuses excuse nothing in any job: they would hide a fault to come.
pub fn idle_excuses(procedures: &[Procedure], excused: &Excused, findings: &mut Findings) {
    let idle = procedures.par_iter().flat_map_iter(|procedure| {
        let written = procedure.steps().flat_map(|step| {
            let of_step = step.excuses.iter();
            of_step.map(|(rule, _)| (step.span, rule))
        });
        written.filter(|(place, rule)| !excused.contains(&(*place, (*rule).clone())))
    });
    let idle: Vec<(Span, &String)> = idle.collect();
    for (place, rule) in idle {
        let message = format!("the excuse for `{rule}` excuses nothing");
        findings.push(
            Finding::new(&IDLE_EXCUSE, message)
                .at(place, "")
                .help("take it out, or correct the rule's name"),
        );
    }
}

/// Whether the job's author said that a thing is left as it is.
fn is_left(job: &Job<'_>, id: &str) -> bool {
    job.procedure
        .leaves
        .iter()
        .any(|(name, _)| name.value == id)
}

/// The fasteners that hold a part and are tight just now.
fn tight_holders<'a>(
    scene: &Scene<'_, 'a>,
    part: &'a Part,
) -> impl Iterator<Item = (&'a Located<String>, PartState)> {
    let holders = part.held_by.iter();
    holders
        .map(|holder| (holder, scene.before.part(&holder.value)))
        .filter(|(_, state)| state.place == PartPlace::On)
}

/// Points at the action that set something up, where there was one.
fn since(finding: Finding, since: Option<Moment>, label: &str) -> Finding {
    match since {
        Some(moment) => finding.and(moment.span, label),
        None => finding,
    }
}

/// Points at an action as the fault itself.
fn at(finding: Finding, moment: Option<Moment>, label: &str) -> Finding {
    match moment {
        Some(moment) => finding.at(moment.span, label),
        None => finding,
    }
}

/// What a source of energy can endanger somebody at.
const WORK: [Verb; 8] = [
    Verb::Remove,
    Verb::Fit,
    Verb::Renew,
    Verb::Slacken,
    Verb::Tighten,
    Verb::Clean,
    Verb::Fill,
    Verb::Drain,
];

/// The energies that endanger whoever does the action, with their states.
fn dangers<'s, 'a>(
    scene: &'s Scene<'_, 'a>,
) -> impl Iterator<Item = (&'a Energy, Changed<EnergyState>)> + 's {
    let Scene { act, before, .. } = *scene;
    let is_work = WORK.contains(&act.verb);
    let is_taking_off = act.verb == Verb::Remove;
    let energies = before.energies();
    energies.filter(move |(energy, _)| {
        let is_general = matches!(
            energy.kind,
            Some(EnergyKind::Ignition | EnergyKind::Electrical | EnergyKind::Motion)
        );
        let named = energy.endangers.as_ref();
        let id = act.thing.id();
        let endangers = named.map_or(is_general && is_taking_off, |named| {
            named.iter().any(|name| name.value == id)
        });
        is_work && endangers
    })
}

/// Judges the text of the sources.
pub fn judge_text(
    tree: &Tree,
    shop: &Shop,
    procedures: &[Procedure],
    faults: &[Procedure],
    findings: &mut Findings,
) {
    let procedures: BTreeMap<FileId, &Procedure> = procedures
        .iter()
        .chain(faults)
        .map(|procedure| (procedure.file, procedure))
        .collect();
    let judged: Vec<Findings> = tree
        .files
        .par_iter()
        .map(|file| {
            let scene = TextScene {
                tree,
                shop,
                file,
                procedure: procedures.get(&file.id).copied(),
                found: find(&prose_of(file)),
            };
            let mut findings = Findings::new();
            for row in &TEXT_RULES {
                (row.check)(&scene, &mut findings);
            }
            findings
        })
        .collect();
    for found in judged {
        findings.extend(found);
    }
}

/// Judges the shop's records, and what is out of date on a day where one is given.
pub fn judge_shop(shop: &Shop, on: Option<Day>, findings: &mut Findings) {
    for row in &SHOP_RULES {
        (row.check)(shop, on, findings);
    }
}

/// Sets findings to the levels that the shop asks for.
///
/// A level for a rule that does not exist is a finding of its own. An error in
/// reading can't be set lower: what could not be read can't be printed.
pub fn set_levels(shop: &Shop, findings: &mut Findings) {
    let rules = all();
    for setting in &shop.levels {
        if !rules.iter().any(|rule| rule.name == setting.rule.value) {
            let known = rules.iter().map(|rule| rule.name);
            let message = format!("there is no rule `{}`", setting.rule.value);
            findings.push(
                Finding::new(&UNKNOWN_RULE, message)
                    .at(setting.rule.span, "")
                    .near(nearest(&setting.rule.value, known)),
            );
        }
    }
    for setting in &shop.levels {
        let rule = rules.iter().find(|rule| rule.name == setting.rule.value);
        let Some(rule) = rule.filter(|rule| is_fixed(rule)) else {
            continue;
        };
        if setting.level.is_none_or(|level| level < rule.level) {
            let message = format!("`{}` can't be set lower than an error", rule.name);
            findings.push(Finding::new(&FIXED_LEVEL, message).at(setting.rule.span, ""));
        }
    }
    findings.set_levels(|finding| {
        let set = shop
            .levels
            .iter()
            .rfind(|setting| setting.rule.value == finding.rule.name);
        match set {
            Some(setting) if !is_fixed(finding.rule) => setting.level,
            _ => Some(finding.level),
        }
    });
}

rule! {
    /// A step excuses itself from a rule that it doesn't break.
    ///
    /// ## At the bench
    ///
    /// The excuse would hide the fault on the day it comes.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/other.md
    /// +++
    /// title = "Other"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Look
    ///
    /// 1. [](clean:cover) {excuse="part-left-off: dries overnight"}
    /// ```
    ///
    /// ## Mend
    ///
    /// Take the excuse out, or correct the rule's name.
    "idle-excuse", DryRun, Warning => IDLE_EXCUSE
}

/// What could not be read or found can't be printed, whatever a shop thinks of it.
fn is_fixed(rule: &Rule) -> bool {
    rule.level == crate::finding::Level::Error
        && !matches!(rule.family, Family::DryRun | Family::Trade)
}

rule! {
    /// A shop sets a rule lower that is an error everywhere: what could not be read or found can't be printed.
    ///
    /// ## At the bench
    ///
    /// A page that lacks what could not be read looks whole.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + shop.toml
    /// [levels]
    /// unknown-thing = "advice"
    /// ```
    ///
    /// ## Mend
    ///
    /// Take the setting out, and mend what the rule finds.
    "fixed-level", Names, Error => FIXED_LEVEL
}

rule! {
    /// The shop sets a level for a rule that does not exist.
    ///
    /// ## At the bench
    ///
    /// The rule that was meant stays at its own level, and nobody knows.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + shop.toml
    /// [levels]
    /// unverified-valu = "error"
    /// ```
    ///
    /// ## Mend
    ///
    /// Correct the name; the finding itself names its rule.
    "unknown-rule", Names, Error => UNKNOWN_RULE
}
