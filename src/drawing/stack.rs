//! The order of a joint: its parts on their fastener, from the head inwards.

use super::canvas::{Anchor, Canvas, Look};
use super::letters::{LEADING, lines, widest};
use super::rows::{EDGE, INSET, Row, rows};
use crate::page::{Drawing, DrawingKind};

/// A part of a joint.
#[derive(Clone, Debug)]
pub(crate) struct Layer {
    pub(crate) name: String,
    /// What is done to it before it is fitted: "clean before fitting: bowl rim".
    pub(crate) notes: Vec<String>,
    /// Whether it is a seal, which is shaded.
    pub(crate) is_seal: bool,
}

/// The parts of a joint.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stack<'s> {
    /// The fastener that passes through all of them.
    pub(crate) fastener: Option<&'s str>,
    /// From the head of the fastener inwards.
    pub(crate) layers: &'s [Layer],
    pub(crate) alt: &'s str,
}

/// The most width of the fastener's name.
const MOST_NAME: i32 = 400;
/// The size of the fastener's head, and how far its end stands out.
const HEAD: (i32, i32) = (32, 14);
const END: i32 = 14;

/// Draws a joint.
pub(crate) fn stack(stack: &Stack<'_>) -> Drawing {
    let mut canvas = Canvas::default();
    let made: Vec<Row<'_>> = stack
        .layers
        .iter()
        .map(|layer| Row {
            number: None,
            name: &layer.name,
            notes: &layer.notes,
            look: if layer.is_seal {
                Look::Shaded
            } else {
                Look::Outline
            },
        })
        .collect();
    let Some(fastener) = stack.fastener else {
        let (right, bottom) = rows(&mut canvas, &made, (EDGE, EDGE), 0);
        return canvas.finish(DrawingKind::Stack, (right + EDGE, bottom + EDGE), stack.alt);
    };
    let name = lines(fastener, MOST_NAME);
    let height = i32::try_from(name.len()).unwrap_or(1) * LEADING;
    let axis = EDGE + INSET / 2;
    canvas.lines((EDGE + INSET, 0), Anchor::Start, &name);
    let top = height + EDGE;
    let (right, bottom) = rows(&mut canvas, &made, (EDGE, top), 0);
    canvas.rect(
        (axis - HEAD.0 / 2, top - HEAD.1),
        (axis + HEAD.0 / 2, top),
        Look::Solid,
    );
    canvas.line((axis, top), (axis, bottom + END), Look::Heavy);
    let right = right.max(EDGE + INSET + widest(&name)) + EDGE;
    canvas.finish(DrawingKind::Stack, (right, bottom + END + EDGE), stack.alt)
}

#[cfg(test)]
mod tests {
    use super::super::testing::{HOSTILE, check, letters, letters_of};
    use super::*;

    fn layer(name: &str, note: Option<&str>) -> Layer {
        Layer {
            name: name.to_owned(),
            notes: note.map(str::to_owned).into_iter().collect(),
            is_seal: note.is_some(),
        }
    }

    #[test]
    fn parts_are_in_order_on_their_fastener() {
        let layers = [
            layer("air cleaner base", None),
            layer("gasket", Some("clean: its back")),
            layer("carburettor", None),
        ];
        let drawing = stack(&Stack {
            fastener: Some("carburettor stud"),
            layers: &layers,
            alt: "the joint",
        });
        let texts = check(&drawing);
        let expected = [
            "carburettor stud",
            "air cleaner base",
            "gasket",
            "clean: its back",
            "carburettor",
        ];
        assert_eq!(texts, expected);
        assert_eq!(drawing.alt, "the joint");
        // A seal is shaded.
        assert_eq!(drawing.svg.matches("fill-opacity").count(), 1);
        assert!(drawing.width < 800 && drawing.height < 250, "{drawing:?}");
    }

    #[test]
    fn names_are_whole_and_escaped() {
        for text in HOSTILE {
            let layers = [layer(text, Some(text)), layer("b", None)];
            for fastener in [None, Some(text)] {
                let drawing = stack(&Stack {
                    fastener,
                    layers: &layers,
                    alt: "",
                });
                let count = 2 + usize::from(fastener.is_some());
                let expected = format!("{}b", letters_of(text).repeat(count));
                assert_eq!(letters(&check(&drawing)), expected);
            }
        }
    }
}
