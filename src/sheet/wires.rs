//! The wires of plugs, sockets and leads in words.

use crate::page::PageContext;
use crate::shop::{Part, Wire};
use crate::words::Words;

/// The wires of a part in the order of its terminals, and its mark: "terminals: 1 black (BK), 2 green/yellow (GNYE)".
pub(super) fn connection_facts(context: PageContext<'_>, part: &Part) -> Vec<String> {
    let words = context.words();
    let wires = part.wires.iter().map(|wire| {
        let Wire { terminal, .. } = &wire.value;
        format!("{terminal} {}", colour_text(words, &wire.value))
    });
    let wires: Vec<String> = wires.collect();
    let wires = (!wires.is_empty())
        .then(|| words.format("terminals-in-order", &[("wires", &wires.join(", "))]));
    let mark = part.mark.as_ref();
    let mark = mark.map(|mark| words.format("marked", &[("mark", mark)]));
    wires.into_iter().chain(mark).collect()
}

/// "green/yellow (GNYE)".
pub(super) fn colour_text(words: &Words, wire: &Wire) -> String {
    let names: Vec<&str> = wire.colour_keys().map(|key| words.get(key)).collect();
    format!("{} ({})", names.join("/"), wire.code())
}
