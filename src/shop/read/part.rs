//! Reads a machine's parts.

use super::super::fields::part;
use super::super::{Part, PartId, Sourced, Turned, rules};
use super::dimension::read_dimension;
use super::fields::{
    Bases, choice, owned, parsed, price, prose, spec, specs, trade_value, values, written_spec,
};
use super::flow::report_repeated;
use super::keys::MachineKeys;
use super::wires::read_wires;
use crate::finding::{Finding, Findings, Located, Span, nearest};
use crate::quantity::{Rational, Spec};
use crate::record::Record;
use crate::trade::{
    self, Drive, FastenerPlace, Material, StrengthClass, Tapped, Thread, TighteningPattern,
};

pub(super) fn read_part(
    id: PartId,
    part: &Record<'_, Part>,
    keys: &MachineKeys<'_>,
    bases: &Bases,
    findings: &mut Findings,
) -> Part {
    part.text(part::BASIS, findings);
    let sourced = |spec: Located<Spec>| bases.source(part, part::BASIS, spec);
    let stages = read_stages(part, bases, findings);
    let limits = spec(part, part::LIMITS, findings);
    let tip_speed = spec(part, part::TIP_SPEED, findings);
    let (into, tapped) = read_tapped(part, findings);
    let dimensions = part.records(part::DIMENSION, findings, |id, dimension, findings| {
        read_dimension(id, dimension, part, keys, bases, findings)
    });
    let (pattern, bolts_at) = read_pattern(part, findings);
    let of = part.what().to_owned();
    let mut part = Part {
        id,
        key: part.key().to_owned(),
        name: owned(part.text(part::NAME, findings)),
        number: part.text(part::NUMBER, findings).map(|number| number.value),
        supersedes: read_superseded(part, findings),
        bin: part.text(part::BIN, findings).map(|bin| bin.value),
        price: price(part, part::PRICE, findings),
        count: part
            .count(part::COUNT, findings)
            .map_or(1, |count| count.value),
        behind: keys.parts.all_named(part, part::BEHIND, &of, findings),
        held_by: keys.parts.all_named(part, part::HELD_BY, &of, findings),
        stack: keys.parts.all_named(part, part::STACK, &of, findings),
        off_first: keys.parts.all_named(part, part::OFF_FIRST, &of, findings),
        carries: keys.fluids.named(part, part::CARRIES, &of, findings),
        drains: keys.fluids.named(part, part::DRAINS, &of, findings),
        single_use: part.flag(part::SINGLE_USE, findings),
        seals: keys.parts.all_named(part, part::SEALS, &of, findings),
        clean: part.flag(part::CLEAN, findings),
        laid_open_by: keys
            .parts
            .all_named(part, part::LAID_OPEN_BY, &of, findings),
        may_be_live: keys
            .energies
            .all_named(part, part::MAY_BE_LIVE, &of, findings),
        signed_by: keys.shop.roles.named(part, part::SIGNED_BY, &of, findings),
        faces: values(part.texts(part::FACES, findings)),
        cautions: keys
            .shop
            .cautions
            .all_named(part, part::CAUTIONS, &of, findings),
        positions: part.texts(part::POSITIONS, findings),
        position: part.text(part::POSITION, findings),
        position_by: keys.readings.named(part, part::POSITION_BY, &of, findings),
        position_for: read_position_for(part, findings),
        turned_to: part.texts(part::TURNED_TO, findings),
        orientation: part
            .text(part::ORIENTATION, findings)
            .map(|orientation| orientation.value),
        thread: parsed(part, part::THREAD, Thread::parse, findings),
        class: parsed(part, part::CLASS, StrengthClass::parse, findings),
        drive: parsed(part, part::DRIVE, turned, findings),
        torque_tool: None,
        stages,
        pattern,
        bolts_at,
        assembled: choice(part, part::ASSEMBLED, findings).map(|condition| condition.value),
        low_torque: part
            .text(part::LOW_TORQUE, findings)
            .map(|reason| reason.value),
        spark_plug: choice(part, part::SPARK_PLUG, findings),
        into,
        tapped,
        head: choice(part, part::HEAD, findings),
        diameter: spec(part, part::DIAMETER, findings),
        turns_with: keys.readings.named(part, part::TURNS_WITH, &of, findings),
        through: keys.parts.named(part, part::THROUGH, &of, findings),
        tip_speed: tip_speed.map(sourced),
        driver: spec(part, part::DRIVER, findings),
        driven: spec(part, part::DRIVEN, findings),
        reuse: prose(part, part::REUSE, findings),
        limits: limits.map(sourced),
        dimensions,
        dimension_readings: Vec::new(),
        place: part.text(part::WHERE, findings).map(|place| place.value),
        wires: read_wires(part, findings),
        mark: part.text(part::MARK, findings).map(|mark| mark.value),
        note: part.text(part::NOTE, findings).map(|note| note.value),
        span: part.span(),
    };
    check_part(&mut part, &of, findings);
    part
}

/// Reads what each position is for. A value that can't be read is left out.
fn read_position_for(
    part: &Record<'_, Part>,
    findings: &mut Findings,
) -> Vec<(Located<String>, Located<Spec>)> {
    let pairs = part.pairs(part::POSITION_FOR, findings).into_iter();
    let read = pairs.filter_map(|(position, value)| {
        let range = written_spec(part, part::POSITION_FOR, &value, findings)?;
        Some((position, range))
    });
    read.collect()
}

/// The fewest fasteners that can be tightened in a pattern.
const LEAST_IN_PATTERN: u32 = 3;

/// Reads the order in which the pieces of a fastener are tightened, and where they are.
fn read_pattern(
    part: &Record<'_, Part>,
    findings: &mut Findings,
) -> (Option<TighteningPattern>, Vec<FastenerPlace>) {
    let pattern = choice(part, part::PATTERN, findings);
    let written = part.texts(part::BOLTS_AT, findings);
    let count = part.count(part::COUNT, &mut Findings::new());
    let count = count.map_or(1, |count| count.value);
    let conflict = |message: String, span, help: &str| {
        let finding = Finding::new(&rules::CONFLICTING_FIELDS, message);
        finding.primary(span, "").help(help)
    };
    if let Some(pattern) = pattern.as_ref().filter(|_| count < LEAST_IN_PATTERN) {
        let message = format!("{} has a pattern and a count of {count}", part.what());
        let help =
            "a pattern is the order of at least three pieces: correct `count`, or remove `pattern`";
        findings.push(conflict(message, pattern.span, help));
    }
    let mut places: Vec<Located<FastenerPlace>> = Vec::new();
    let mut is_right = true;
    for text in &written {
        let Some(place) = FastenerPlace::parse(&text.value) else {
            let message = format!("`{}` is no place of a fastener", text.value);
            let finding = Finding::new(&rules::ILL_FORMED_VALUE, message).primary(text.span, "");
            findings
                .push(finding.help("write two numbers, to the right and upwards: `\"-30, 12.5\"`"));
            is_right = false;
            continue;
        };
        if let Some(first) = places.iter().find(|first| first.value == place) {
            let message = format!("two pieces of {} are at `{}`", part.what(), text.value);
            let finding = conflict(message, text.span, "correct one of the two");
            findings.push(finding.secondary(first.span, "the first one"));
            is_right = false;
        }
        places.push(text.with(place));
    }
    if let Some(first) = written.first()
        && u32::try_from(written.len()) != Ok(count)
    {
        let message = format!(
            "{} has {} places and a count of {count}",
            part.what(),
            written.len()
        );
        findings.push(conflict(
            message,
            first.span,
            "give as many places as there are pieces",
        ));
        is_right = false;
    }
    let places = places.into_iter().map(|place| place.value);
    let places = places.filter(|_| is_right).collect();
    (pattern.map(|pattern| pattern.value), places)
}

/// Reads the part numbers that the part's number replaces.
fn read_superseded(part: &Record<'_, Part>, findings: &mut Findings) -> Vec<Located<String>> {
    let mut old = part.texts(part::SUPERSEDES, findings);
    let number = part.text(part::NUMBER, &mut Findings::new());
    if let Some(first) = old.first().filter(|_| number.is_none()) {
        let message = format!(
            "{} has old part numbers and none that replaces them",
            part.what()
        );
        findings.push(
            Finding::new(&rules::CONFLICTING_FIELDS, message)
                .primary(first.span, "")
                .help("write the number that is ordered now as `number`"),
        );
    }
    old.retain(|old| {
        let is_own = number
            .as_ref()
            .is_some_and(|number| number.value == old.value);
        if is_own {
            let message = format!("{} has a number that replaces itself", part.what());
            findings.push(
                Finding::new(&rules::CONFLICTING_FIELDS, message)
                    .primary(old.span, "")
                    .help("write the new number as `number`, and only old ones here"),
            );
        }
        !is_own
    });
    old
}

/// Reads `torque` or `stages`.
fn read_stages(part: &Record<'_, Part>, bases: &Bases, findings: &mut Findings) -> Vec<Sourced> {
    let sourced = |spec: Located<Spec>| bases.source(part, part::BASIS, spec);
    let torque = spec(part, part::TORQUE, findings);
    let stages = specs(part, part::STAGES, findings).into_iter();
    let mut stages: Vec<Sourced> = stages.map(sourced).collect();
    if let Some(torque) = torque {
        // A variant gives one of them in place of the other.
        let replaces = |value: Span, other: Span| part.replaces(value, other);
        let first = stages.first().map(|stage| stage.spec.span);
        if first.is_none_or(|first| replaces(torque.span, first)) {
            stages = vec![sourced(torque)];
        } else if first.is_none_or(|first| !replaces(first, torque.span)) {
            let message = format!("{} has both `torque` and `stages`", part.what());
            findings.push(
                Finding::new(&rules::CONFLICTING_FIELDS, message)
                    .primary(torque.span, "")
                    .secondary(stages[0].spec.span, "the first stage")
                    .help("keep `stages`; the last stage is the torque"),
            );
        }
    }
    stages
}

/// Reports and drops the part's own name in lists of other parts. Otherwise the rehearsal would report the same cause
/// at every step that uses the part.
fn drop_itself(part: &mut Part, of: &str, findings: &mut Findings) {
    let own_lists = [
        &mut part.behind,
        &mut part.held_by,
        &mut part.stack,
        &mut part.off_first,
        &mut part.seals,
        &mut part.laid_open_by,
    ];
    for list in own_lists {
        list.retain(|neighbour| {
            let is_itself = neighbour.value == part.id;
            if is_itself {
                let message = format!("{of} names itself");
                findings.push(
                    Finding::new(&rules::UNKNOWN_NAME, message)
                        .primary(neighbour.span, "")
                        .help("name the other part here"),
                );
            }
            !is_itself
        });
    }
}

/// Reports positions for values that the part does not have, and values of no reading.
fn check_position_for(part: &Part, of: &str, findings: &mut Findings) {
    let Some((first, _)) = part.position_for.first() else {
        return;
    };
    if part.position_by.is_none() {
        let message = format!("{of} has positions for values, but no reading of which they are");
        findings.push(
            Finding::new(&rules::CONFLICTING_FIELDS, message)
                .primary(first.span, "")
                .help("name the reading in `position-by`"),
        );
    }
    for (position, _) in &part.position_for {
        let known: Vec<&str> = part
            .positions
            .iter()
            .map(|known| known.value.as_str())
            .collect();
        if known.contains(&position.value.as_str()) {
            continue;
        }
        let message = format!("{of} has no position `{}`", position.value);
        let near = nearest(&position.value, known);
        findings.push(
            Finding::new(&rules::UNKNOWN_NAME, message)
                .primary(position.span, "")
                .suggest(near, "name one of its `positions`")
                .corrected(&position.value, near),
        );
    }
}

/// Reports fields of a part that contradict each other.
fn check_part(part: &mut Part, of: &str, findings: &mut Findings) {
    drop_itself(part, of, findings);
    if let (Some(class), Some(seat)) = (&part.class, &part.spark_plug) {
        let message = format!("{of} has both `class` and `spark-plug`");
        findings.push(
            Finding::new(&rules::CONFLICTING_FIELDS, message)
                .primary(class.span, "")
                .secondary(seat.span, "a spark plug")
                .help(
                    "remove `class`: the torque of a spark plug follows from its thread and seat",
                ),
        );
    }
    for stage in &part.stages {
        let limits = stage.spec.value.limits();
        let minimum = limits
            .lower()
            .or_else(|| limits.nominal())
            .or_else(|| limits.upper());
        let zero = Rational::from_integer(0.into());
        if minimum.is_some_and(|minimum| *minimum.value() <= zero) {
            let message = format!("the torque of {of} is not above zero");
            findings.push(
                Finding::new(&rules::ILL_FORMED_VALUE, message)
                    .primary(stage.spec.span, "")
                    .help("write the torque from the maker's data, such as `9 N·m ± 1 N·m`"),
            );
        }
    }
    report_repeated(&part.positions, of, findings);
    check_position_for(part, of, findings);
    report_repeated(&part.turned_to, of, findings);
    if let Some(position) = &part.position {
        let positions: Vec<&str> = part
            .positions
            .iter()
            .map(|position| position.value.as_str())
            .collect();
        if !positions.is_empty() && !positions.contains(&position.value.as_str()) {
            let message = format!("{of} has no position `{}`", position.value);
            let help = format!("use one of its `positions`: {}", positions.join(", "));
            let near = nearest(&position.value, positions);
            findings.push(
                Finding::new(&rules::UNKNOWN_NAME, message)
                    .primary(position.span, "")
                    .suggest(near, help)
                    .corrected(&position.value, near),
            );
        }
    }
}

/// Reads a hexagon with its size. Any other text is accepted as the description of another drive, such as a slot.
fn turned(text: &str) -> Result<Turned, trade::Error> {
    let starts_as_hex =
        text.starts_with("hex") || text.starts_with(|letter: char| letter.is_ascii_digit());
    if starts_as_hex {
        Drive::parse(text).map(Turned::Hex)
    } else {
        Ok(Turned::Other(text.to_owned()))
    }
}

/// Reads the material of the tapped hole, and the hole if its depth is given as well. Without the length of
/// engagement, the strength of its thread can't be computed.
fn read_tapped(
    part: &Record<'_, Part>,
    findings: &mut Findings,
) -> (Option<Material>, Option<Tapped>) {
    let into = choice(part, part::INTO, findings).map(|material| material.value);
    let engagement = spec(part, part::ENGAGEMENT, findings);
    let hole = into.zip(engagement).and_then(|(material, length)| {
        let nominal = length.value.limits().nominal()?;
        trade_value(Tapped::new(material, nominal), length.span, findings)
    });
    (into, hole)
}
