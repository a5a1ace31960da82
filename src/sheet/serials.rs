//! The serial numbers that the sheets of a machine are for.

use crate::page::{Block, JobId, LinkTarget, PageContext, SerialSpan, TextRun};
use crate::procedure::Procedure;
use crate::shop::{Machine, Shop};

/// The machines that are variants of one machine with this one, and have the same options, if they are limited to some
/// serial numbers.
fn others<'s>(shop: &'s Shop, machine: &'s Machine) -> impl Iterator<Item = &'s Machine> {
    let machines = shop.machines.values();
    machines.filter(|other| {
        other.index != machine.index
            && other.serials.is_limited()
            && other.fitted == machine.fitted
            && other.files.last() == machine.files.last()
    })
}

/// "from T7-2400". `None` if a machine is for all serial numbers.
fn range(context: PageContext<'_>, machine: &Machine) -> Option<String> {
    let words = context.words();
    let ends = (&machine.serials.from, &machine.serials.to);
    let (from, to) = (ends.0.as_ref(), ends.1.as_ref());
    match (
        from.map(|from| from.value.text()),
        to.map(|to| to.value.text()),
    ) {
        (None, None) => None,
        (Some(from), None) => Some(words.format("serials-from", &[("from", from)])),
        (None, Some(to)) => Some(words.format("serials-to", &[("to", to)])),
        (Some(from), Some(to)) => {
            Some(words.format("serials-between", &[("from", from), ("to", to)]))
        }
    }
}

/// What the head of a sheet says of the machine's variant.
pub(super) fn facts(
    context: PageContext<'_>,
    machine: &Machine,
) -> [(&'static str, Option<String>); 2] {
    let fitted = (!machine.fitted.is_empty()).then(|| machine.fitted.join(", "));
    [
        ("serial-numbers", range(context, machine)),
        ("fitted", fitted),
    ]
}

/// The serial numbers of the machine and of its variants, for the live checklist. Empty if all serial numbers are right.
pub(super) fn spans(shop: &Shop, machine: &Machine) -> Vec<SerialSpan> {
    if !machine.serials.is_limited() {
        return Vec::new();
    }
    let machines = std::iter::once(machine).chain(others(shop, machine));
    let spans = machines.map(|machine| {
        let text = |end: &Option<crate::finding::Located<crate::shop::SerialNumber>>| {
            end.as_ref().map(|end| end.value.text().to_owned())
        };
        SerialSpan {
            machine: machine.name.value.clone(),
            from: text(&machine.serials.from),
            to: text(&machine.serials.to),
        }
    });
    spans.collect()
}

/// The line that leads to the sheets for other serial numbers.
pub(super) fn line(
    context: PageContext<'_>,
    machine: &Machine,
    procedure: &Procedure,
) -> Option<Block> {
    let mut runs = Vec::new();
    for other in others(context.shop, machine).filter(|_| machine.serials.is_limited()) {
        let lead = if runs.is_empty() {
            format!("{}: ", context.words().get("other-serials"))
        } else {
            "; ".to_owned()
        };
        runs.push(TextRun::text(lead));
        let name = vec![TextRun::text(other.name.value.clone())];
        let target = if procedure.is_for(other.index) {
            LinkTarget::Job(JobId::new(&other.id, &procedure.id))
        } else {
            LinkTarget::machine(&other.id)
        };
        runs.push(TextRun::link(target, name));
        let range = range(context, other).map(|range| format!(" ({range})"));
        runs.extend(range.map(TextRun::text));
    }
    (!runs.is_empty()).then_some(Block::Text { runs })
}
