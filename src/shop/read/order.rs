//! The order in which parts come off: stacks on a long fastener, and orders that are impossible.

use super::super::{Part, PartId, PerRecord, Records, rules};
use crate::finding::{Finding, Findings, Located, Span};

/// Makes each part of a stack held by the stack's fastener, and behind the part before it. All that follows from the
/// order of a stack then follows from these two lists.
pub(super) fn expand_stacks(parts: &mut Records<Part>, findings: &mut Findings) {
    let stacks: Vec<(PartId, Vec<Located<PartId>>)> = parts
        .values()
        .filter(|part| !part.stack.is_empty())
        .map(|part| (part.id, part.stack.clone()))
        .collect();
    for (fastener, mut stack) in stacks {
        drop_repeated(parts, fastener, &mut stack, findings);
        let mut front: Option<PartId> = None;
        for member in &stack {
            let part = parts.get_mut(member.value);
            add(&mut part.held_by, member.with(fastener));
            if let Some(front) = front {
                add(&mut part.behind, member.with(front));
            }
            front = Some(member.value);
        }
    }
}

/// Adds a name unless the list has it.
fn add(list: &mut Vec<Located<PartId>>, name: Located<PartId>) {
    if list.iter().all(|listed| listed.value != name.value) {
        list.push(name);
    }
}

/// Drops and reports a part that is in a stack twice: it can't be in two places.
fn drop_repeated(
    parts: &Records<Part>,
    fastener: PartId,
    stack: &mut Vec<Located<PartId>>,
    findings: &mut Findings,
) {
    let mut kept: Vec<Located<PartId>> = Vec::new();
    for member in stack.drain(..) {
        let Some(first) = kept.iter().find(|first| first.value == member.value) else {
            kept.push(member);
            continue;
        };
        let message = format!(
            "`{}` is in the stack of `{}` twice",
            parts[member.value].key, parts[fastener].key
        );
        findings.push(
            Finding::new(&rules::CONFLICTING_FIELDS, message)
                .primary(member.span, "")
                .secondary(first.span, "the first place")
                .help(
                    "give each piece an id of its own, such as `inner-gasket` and `outer-gasket`",
                ),
        );
    }
    *stack = kept;
}

/// A part that has to come off, or be loose, before another one, with the name that says so.
struct Before {
    part: PartId,
    span: Span,
}

/// How far the search for circles has come with a part.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Search {
    NotBegun,
    /// Its parts in front are being searched.
    Open,
    Done,
}

/// Reports parts that each have to come off before the other, because none of them could ever come off. Drops the names
/// that say so: otherwise the rehearsal would report the same cause at every step that takes one of them off.
pub(super) fn drop_circles(parts: &mut Records<Part>, findings: &mut Findings) {
    let circular = report_circles(parts, findings);
    if circular.is_empty() {
        return;
    }
    let ids: Vec<PartId> = parts.values().map(|part| part.id).collect();
    for id in ids {
        let part = parts.get_mut(id);
        for names in [&mut part.behind, &mut part.held_by, &mut part.off_first] {
            names.retain(|name| !circular.contains(&name.span));
        }
    }
}

/// Reports the circles, and returns the spans of the names in them.
fn report_circles(parts: &Records<Part>, findings: &mut Findings) -> Vec<Span> {
    let mut circular = Vec::new();
    let mut before: PerRecord<Part, Vec<Before>> = PerRecord::new(parts, |_| Vec::new());
    for part in parts.values() {
        for name in part.behind.iter().chain(&part.held_by) {
            let (part_in_front, span) = (name.value, name.span);
            before[part.id].push(Before {
                part: part_in_front,
                span,
            });
        }
        for name in &part.off_first {
            let (waiting, span) = (name.value, name.span);
            before[waiting].push(Before {
                part: part.id,
                span,
            });
        }
    }
    let mut search = PerRecord::new(parts, |_| Search::NotBegun);
    for part in parts.values() {
        // The parts that are open, each with the number of its parts in front that are done. Not a recursion: a chain
        // of parts can be as long as a file.
        let mut open = vec![(part.id, 0)];
        while let Some((id, next)) = open.last_mut() {
            if *next == 0 && search[*id] == Search::Done {
                open.pop();
                continue;
            }
            search[*id] = Search::Open;
            let Some(front) = before[*id].get(*next) else {
                search[*id] = Search::Done;
                open.pop();
                continue;
            };
            *next += 1;
            let (id, is_circle) = (*id, search[front.part] == Search::Open);
            if is_circle {
                report_circle(parts, id, front, findings);
                // Each open part from `front` on was left through the name before its next one.
                let circle = open.iter().skip_while(|(id, _)| *id != front.part);
                circular.extend(circle.map(|(id, next)| before[*id][next - 1].span));
            } else if search[front.part] == Search::NotBegun {
                open.push((front.part, 0));
            }
        }
    }
    circular
}

fn report_circle(parts: &Records<Part>, part: PartId, front: &Before, findings: &mut Findings) {
    let (key, front_key) = (&parts[part].key, &parts[front.part].key);
    let message =
        format!("`{front_key}` comes off before `{key}`, and `{key}` before `{front_key}`");
    findings.push(
        Finding::new(&rules::CONFLICTING_FIELDS, message)
            .primary(front.span, "closes the circle")
            .help("correct `behind`, `held-by`, `stack` or `off-first`: one of the two comes off first"),
    );
}
