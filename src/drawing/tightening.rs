//! The places of fasteners, and the order in which they are tightened.

use super::canvas::{Anchor, Canvas, Look, Point};
use super::letters::{LEADING, SIZE, lines, widest};
use crate::page::{Drawing, DrawingKind};

/// The fasteners of a joint.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tightening<'t> {
    /// For each fastener, its turn in the order, from 1.
    pub(crate) turns: &'t [u32],
    /// The place of each fastener, in thousandths of the drawing from the left and from the top. Empty if they are
    /// around a circle, clockwise from the top.
    pub(crate) places: &'t [[u16; 2]],
    /// What each stage is brought to. The order is the same in all.
    pub(crate) stages: &'t [String],
    pub(crate) alt: &'t str,
}

/// More fasteners are drawn smaller, on a larger joint.
const MANY: usize = 8;
/// The most width of the text of a stage.
const STAGE: i32 = 330;
/// The space for the line around the outermost fastener.
const EDGE: i32 = 4;

/// Draws the order of fasteners.
pub(crate) fn tightening(tightening: &Tightening<'_>) -> Drawing {
    let is_many = tightening.turns.len() > MANY;
    let count = i32::try_from(tightening.turns.len()).unwrap_or(i32::MAX);
    let (side, radius) = if is_many {
        // Around a circle, so that neighbours are apart.
        (260.max(count.min(100) * 42 * 7 / 22 + 50), 19)
    } else {
        (190, 26)
    };
    let mut canvas = Canvas::default();
    let places = places(tightening, side, radius + EDGE);
    if tightening.places.is_empty() {
        canvas.ring(&places, radius);
    }
    for (place, turn) in places.iter().zip(tightening.turns) {
        // Where to begin is seen at a glance.
        let look = if *turn == 1 {
            Look::Heavy
        } else {
            Look::Outline
        };
        canvas.circle(*place, radius, look);
        let letters = if is_many { 24 } else { SIZE };
        let (x, y) = *place;
        canvas.strong_text(
            (x, y + letters * 36 / 100),
            Anchor::Middle,
            &turn.to_string(),
            letters,
        );
    }
    let stages: Vec<String> = tightening
        .stages
        .iter()
        .flat_map(|stage| lines(stage, STAGE))
        .collect();
    if stages.is_empty() {
        return canvas.finish(DrawingKind::Tightening, (side, side), tightening.alt);
    }
    let height = i32::try_from(stages.len()).unwrap_or(1) * LEADING;
    let left = side + 16;
    canvas.lines((left, ((side - height) / 2).max(0)), Anchor::Start, &stages);
    let whole = (left + widest(&stages) + EDGE, side.max(height + EDGE));
    canvas.finish(DrawingKind::Tightening, whole, tightening.alt)
}

/// The middle of each fastener. None is nearer to an edge than `margin`.
fn places(tightening: &Tightening<'_>, side: i32, margin: i32) -> Vec<Point> {
    let within = |at: i32| at.clamp(margin, side - margin);
    if !tightening.places.is_empty() {
        let places = tightening.places.iter();
        let scaled = |part: u16| within(i32::from(part) * side / 1_000);
        return places.map(|[x, y]| (scaled(*x), scaled(*y))).collect();
    }
    let count = f64::from(u32::try_from(tightening.turns.len()).unwrap_or(1).max(1));
    let reach = f64::from(side / 2 - margin);
    let around = (0..tightening.turns.len()).map(|index| {
        let turn = f64::from(u32::try_from(index).unwrap_or(0)) / count;
        let (x, y) = (std::f64::consts::TAU * turn).sin_cos();
        let at = |part: f64| within(side / 2 + rounded(reach * part));
        (at(x), at(-y))
    });
    around.collect()
}

/// A number that is far from the bounds of the type.
fn rounded(number: f64) -> i32 {
    #[expect(clippy::cast_possible_truncation, reason = "a drawing is small")]
    let whole = number.round() as i32;
    whole
}

#[cfg(test)]
mod tests {
    use super::super::testing::{HOSTILE, check, letters, letters_of};
    use super::*;

    fn drawn(turns: &[u32], places: &[[u16; 2]], stages: &[&str]) -> (Drawing, Vec<String>) {
        let stages: Vec<String> = stages.iter().map(|stage| (*stage).to_owned()).collect();
        let drawing = tightening(&Tightening {
            turns,
            places,
            stages: &stages,
            alt: "crosswise",
        });
        let texts = check(&drawing);
        (drawing, texts)
    }

    #[test]
    fn each_fastener_has_its_turn() {
        let (drawing, texts) = drawn(&[1, 3, 2, 4], &[], &[]);
        assert_eq!(texts, ["1", "3", "2", "4"]);
        assert_eq!(drawing.alt, "crosswise");
        // Clockwise from the top.
        let (_, at) = drawing.svg.split_once("<circle ").unwrap();
        assert!(at.starts_with("cx=\"95\" cy=\"30\""), "{at}");
        assert_eq!(drawing.svg.matches("stroke-width=\"7\"").count(), 1);
    }

    #[test]
    fn fasteners_are_at_their_places() {
        let (drawing, texts) = drawn(&[2, 1], &[[160, 500], [840, 500]], &[]);
        assert_eq!(texts, ["2", "1"]);
        assert!(
            drawing.svg.contains("cx=\"30\" cy=\"95\""),
            "{}",
            drawing.svg
        );
        assert!(!drawing.svg.contains("polyline"), "a circle is drawn");
    }

    #[test]
    fn up_to_twenty_fasteners_do_not_overlap() {
        for count in 2..=20 {
            let turns: Vec<u32> = (1..=count).collect();
            drawn(&turns, &[], &[]);
        }
    }

    #[test]
    fn stages_are_whole_and_escaped() {
        for text in HOSTILE {
            let (_, texts) = drawn(&[1, 2, 3], &[], &[text, "second"]);
            assert_eq!(letters(&texts), format!("123{}second", letters_of(text)));
        }
    }
}
