//! Reads the wires of a plug, socket or lead.

use super::super::fields::part;
use super::super::{Part, Wire, WireFault, rules, wire_colour_codes};
use crate::finding::{Finding, Findings, Located, Near};
use crate::record::Record;

/// Reads the wires in the order of their terminals. A wire that can't be read is left out.
pub(super) fn read_wires(part: &Record<'_, Part>, findings: &mut Findings) -> Vec<Located<Wire>> {
    let mut wires: Vec<Located<Wire>> = Vec::new();
    for text in part.texts(part::WIRES, findings) {
        let wire = match Wire::parse(&text.value) {
            Ok(wire) => text.with(wire),
            Err(fault) => {
                findings.push(unread(&text, fault));
                continue;
            }
        };
        let same = wires
            .iter()
            .find(|other| other.value.terminal == wire.value.terminal);
        if let Some(first) = same {
            let message = format!(
                "{} has two wires at terminal `{}`",
                part.what(),
                wire.value.terminal
            );
            findings.push(
                Finding::new(&rules::CONFLICTING_FIELDS, message)
                    .primary(wire.span, "")
                    .secondary(first.span, "the first one")
                    .help("name each terminal once, in their order"),
            );
            continue;
        }
        wires.push(wire);
    }
    wires
}

fn unread(text: &Located<String>, fault: WireFault<'_>) -> Finding {
    let (rule, message) = match fault {
        WireFault::Form => (
            &rules::ILL_FORMED_VALUE,
            format!("`{}` is no terminal with a colour", text.value),
        ),
        WireFault::Colour(code) | WireFault::SomeColour(code) => (
            &rules::UNKNOWN_CHOICE,
            format!("there is no colour of wires `{code}`"),
        ),
    };
    let finding = Finding::new(rule, message).primary(text.span, "");
    let typed = text.value.trim_end();
    let upper = typed
        .rsplit_once(char::is_whitespace)
        .map(|(terminal, code)| {
            let code = code.to_uppercase();
            format!("{terminal} {code}")
        });
    match upper.filter(|upper| Wire::parse(upper).is_ok()) {
        Some(upper) => finding
            .help(format!("write the code in capital letters: `{upper}`"))
            .corrected(&text.value, Some(Near::from(&*upper))),
        None => finding.help(format!(
            "write a terminal and the code of a colour, as in `1 BK` or `earth GNYE`; the codes are {}",
            wire_colour_codes()
        )),
    }
}
