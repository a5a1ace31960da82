//! A lever or an arm with the holes that a part can sit in.

use super::canvas::{Anchor, Canvas, Look};
use super::letters::{CAP, LEADING, TAIL, lines, widest, width};
use crate::page::{Drawing, DrawingKind};

/// The positions of a part.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Positions<'p> {
    /// The names of the holes, in their order.
    pub(crate) names: &'p [String],
    /// The index of the hole that the part goes into. Without one, all are empty, to mark the one that it was found in.
    pub(crate) filled: Option<usize>,
    pub(crate) alt: &'p str,
}

/// The radius of a hole, for a pencil.
const HOLE: i32 = 22;
/// The space between a hole and the edge of the lever.
const AROUND: i32 = 8;
/// The width of the lever.
const LEVER: i32 = 2 * (HOLE + AROUND);
/// The greatest length of a lever whose names are below it. Longer names are beside an upright lever.
const MOST_LENGTH: i32 = 520;
/// The most width of a name beside a lever.
const MOST_NAME: i32 = 420;
/// The space for the line around the lever.
const EDGE: i32 = 2;

/// Draws a lever with its holes.
pub(crate) fn positions(positions: &Positions<'_>) -> Drawing {
    let names = positions.names;
    let count = i32::try_from(names.len()).unwrap_or(i32::MAX).min(500);
    let widest_name = names.iter().map(|name| width(name)).max().unwrap_or(0);
    let pitch = (widest_name + 16).max(LEVER + 14);
    if pitch * count <= MOST_LENGTH {
        lying(positions, pitch, count)
    } else {
        upright(positions)
    }
}

fn look(positions: &Positions<'_>, index: usize) -> Look {
    if positions.filled == Some(index) {
        Look::Solid
    } else {
        Look::Outline
    }
}

fn lying(positions: &Positions<'_>, pitch: i32, count: i32) -> Drawing {
    let mut canvas = Canvas::default();
    let full = pitch * count;
    // The lever ends beside its last holes.
    let inset = (pitch - LEVER) / 2;
    canvas.strip(
        (inset.max(EDGE), EDGE),
        (full - inset.max(EDGE), EDGE + LEVER),
    );
    let below = EDGE + LEVER + 6 + CAP;
    for ((index, name), x) in positions
        .names
        .iter()
        .enumerate()
        .zip((0..count).map(|at| pitch / 2 + at * pitch))
    {
        canvas.circle((x, EDGE + LEVER / 2), HOLE, look(positions, index));
        canvas.text((x, below), Anchor::Middle, name);
    }
    canvas.finish(DrawingKind::Positions, (full, below + TAIL), positions.alt)
}

fn upright(positions: &Positions<'_>) -> Drawing {
    let mut canvas = Canvas::default();
    let wrapped: Vec<Vec<String>> = positions
        .names
        .iter()
        .map(|name| lines(name, MOST_NAME))
        .collect();
    let left = EDGE + LEVER + 12;
    let mut y = EDGE + AROUND;
    for (index, name) in wrapped.iter().enumerate() {
        let height = i32::try_from(name.len()).unwrap_or(1) * LEADING;
        let row = height.max(2 * HOLE);
        let middle = y + row / 2;
        canvas.circle((EDGE + LEVER / 2, middle), HOLE, look(positions, index));
        canvas.lines((left, middle - height / 2), Anchor::Start, name);
        y += row + AROUND;
    }
    canvas.strip((EDGE, EDGE), (EDGE + LEVER, y));
    let right = left + widest(wrapped.iter().flatten());
    canvas.finish(
        DrawingKind::Positions,
        (right + EDGE, y + EDGE),
        positions.alt,
    )
}

#[cfg(test)]
mod tests {
    use super::super::testing::{HOSTILE, check, letters, letters_of};
    use super::*;

    fn drawn(names: &[&str], filled: Option<usize>) -> (Drawing, Vec<String>) {
        let names: Vec<String> = names.iter().map(|name| (*name).to_owned()).collect();
        let drawing = positions(&Positions {
            names: &names,
            filled,
            alt: "the arm",
        });
        let texts = check(&drawing);
        (drawing, texts)
    }

    /// The number of filled holes, and the place of the first one among all.
    fn filled(drawing: &Drawing) -> Vec<bool> {
        let circles = drawing.svg.split("<circle ").skip(1);
        circles
            .map(|circle| {
                circle
                    .split("/>")
                    .next()
                    .unwrap()
                    .contains("fill=\"currentColor\"")
            })
            .collect()
    }

    #[test]
    fn holes_are_empty_to_mark_the_one_that_is_found() {
        let (drawing, texts) = drawn(&["hole A", "hole B", "hole C"], None);
        assert_eq!(texts, ["hole A", "hole B", "hole C"]);
        assert_eq!(filled(&drawing), [false; 3]);
        assert!(drawing.width <= 420 && drawing.height <= 110, "{drawing:?}");
        assert_eq!(drawing.alt, "the arm");
    }

    #[test]
    fn the_hole_that_the_part_goes_into_is_filled() {
        let (drawing, _) = drawn(&["A", "B", "C"], Some(1));
        assert_eq!(filled(&drawing), [false, true, false]);
        let (drawing, _) = drawn(
            &["the first hole from the pivot", "the one beside it"],
            Some(0),
        );
        assert_eq!(filled(&drawing), [true, false]);
    }

    #[test]
    fn long_names_are_beside_the_lever() {
        let long = "agujero exterior del brazo del regulador";
        let (drawing, texts) = drawn(&[long, long, long], None);
        assert_eq!(letters(&texts), letters_of(long).repeat(3));
        assert!(drawing.width <= 600 && drawing.height <= 260, "{drawing:?}");
    }

    #[test]
    fn names_are_whole_and_escaped() {
        for text in HOSTILE {
            let (_, texts) = drawn(&[text, "B", text], Some(2));
            let name = letters_of(text);
            assert_eq!(letters(&texts), format!("{name}B{name}"));
        }
    }
}
