//! What comes off before a part can be reached, or in which order circuits are opened: numbered boxes.

use super::canvas::{Canvas, Look};
use super::rows::{EDGE, Row, rows};
use crate::page::{Drawing, DrawingKind};

/// A step of an order.
#[derive(Clone, Debug)]
pub(crate) struct Removal {
    pub(crate) name: String,
    /// The fasteners that hold it, or the state that it is in.
    pub(crate) notes: Vec<String>,
    /// Whether it has a number in the order.
    pub(crate) is_numbered: bool,
}

/// An order in which things are taken off.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Removals<'r> {
    pub(crate) kind: DrawingKind,
    /// In their order.
    pub(crate) steps: &'r [Removal],
    /// What is reached in the end, with its notes.
    pub(crate) target: Option<(&'r str, &'r [String])>,
    pub(crate) alt: &'r str,
}

/// The space between two boxes.
const GAP: i32 = 6;

/// Draws an order.
pub(crate) fn removals(order: &Removals<'_>) -> Drawing {
    let mut canvas = Canvas::default();
    let mut number = 0;
    let mut made: Vec<Row<'_>> = Vec::new();
    for removal in order.steps {
        number += usize::from(removal.is_numbered);
        made.push(Row {
            number: removal.is_numbered.then_some(number),
            name: &removal.name,
            notes: &removal.notes,
            look: if removal.is_numbered {
                Look::Outline
            } else {
                Look::Shaded
            },
        });
    }
    made.extend(order.target.map(|(name, notes)| Row {
        number: None,
        name,
        notes,
        look: Look::Heavy,
    }));
    let (right, bottom) = rows(&mut canvas, &made, (EDGE, EDGE), GAP);
    canvas.finish(order.kind, (right + EDGE, bottom + EDGE), order.alt)
}

#[cfg(test)]
mod tests {
    use super::super::testing::{HOSTILE, check, letters, letters_of};
    use super::*;

    fn removal(name: &str, note: &str, is_numbered: bool) -> Removal {
        Removal {
            name: name.to_owned(),
            notes: vec![note.to_owned()],
            is_numbered,
        }
    }

    #[test]
    fn what_comes_off_is_numbered_in_its_order() {
        let order = [
            removal("engine switch", "off", false),
            removal("earth lead", "first off, last on", true),
            removal("supply lead", "M6", true),
        ];
        let drawing = removals(&Removals {
            kind: DrawingKind::Electrical,
            steps: &order,
            target: Some(("battery", &[])),
            alt: "order",
        });
        let texts = check(&drawing);
        let expected = [
            "engine switch",
            "off",
            "1",
            "earth lead",
            "first off, last on",
            "2",
            "supply lead",
            "M6",
            "battery",
        ];
        assert_eq!(texts, expected);
        assert_eq!(drawing.alt, "order");
        assert_eq!(drawing.svg.matches("stroke-width=\"7\"").count(), 1);
    }

    #[test]
    fn names_are_whole_and_escaped() {
        for text in HOSTILE {
            let order = [removal(text, text, true), removal("b", "", false)];
            let drawing = removals(&Removals {
                kind: DrawingKind::Access,
                steps: &order,
                target: Some((text, &[])),
                alt: "",
            });
            let name = letters_of(text);
            let expected = format!("1{name}{name}b{name}");
            assert_eq!(letters(&check(&drawing)), expected);
        }
    }
}
