//! The order in which the pieces of a fastener are tightened, in words and drawn.

use crate::drawing::{Tightening, tightening};
use crate::page::{Cell, Drawing};
use crate::shop::Part;
use crate::trade::{FastenerPlace, TighteningPattern};
use crate::words::Words;

/// The pattern in words. `None` if the part has none.
pub(super) fn pattern_text(words: &Words, part: &Part) -> Option<String> {
    let key = match part.pattern {
        Some(TighteningPattern::Crosswise) => "pattern-crosswise",
        Some(TighteningPattern::Ring) => "pattern-ring",
        Some(TighteningPattern::Spiral) => "pattern-spiral",
        None if part.bolts_at.is_empty() => return None,
        None => "pattern-listed",
    };
    Some(words.get(key).to_owned())
}

/// The most fasteners whose numbers are still readable in a drawing.
const MOST_DRAWN: u32 = 20;

/// The pattern of a part, drawn. Only the first row of a part has it.
pub(super) fn pattern_cell(words: &Words, part: &Part, is_first: bool) -> Cell {
    let text = pattern_text(words, part).filter(|_| is_first);
    let drawing = pattern_drawing(words, part, &[]).filter(|_| is_first);
    match (text, drawing) {
        (Some(text), Some(drawing)) => Cell::Drawing {
            text,
            drawing: Box::new(drawing),
        },
        (text, _) => Cell::text(text.unwrap_or_default()),
    }
}

/// The order of a part's pieces, with what each stage brings them to. `None` for a single piece, for too many, and
/// without an order.
pub(super) fn pattern_drawing(words: &Words, part: &Part, stages: &[String]) -> Option<Drawing> {
    let pattern = pattern_text(words, part)?;
    if part.count > MOST_DRAWN || part.count < 2 {
        return None;
    }
    let (turns, places) = drawing(part);
    let fasteners = words.counted(&part.name, part.count);
    let values = [("fastener", &*fasteners), ("pattern", &pattern)];
    Some(tightening(&Tightening {
        turns: &turns,
        places: &places,
        stages,
        alt: &words.format("tightening-alt", &values),
    }))
}

/// The turn of each piece, and where it is drawn.
fn drawing(part: &Part) -> (Vec<u32>, Vec<[u16; 2]>) {
    let places = match part.pattern {
        // A head is drawn in two rows.
        Some(TighteningPattern::Spiral) if part.bolts_at.is_empty() => {
            FastenerPlace::two_rows(part.count)
        }
        _ => part.bolts_at.clone(),
    };
    match part.pattern {
        Some(pattern) if places.is_empty() => (pattern.around(part.count), Vec::new()),
        Some(pattern) => (pattern.turns(&places), in_drawing(&places)),
        None => ((1..=part.count).collect(), in_drawing(&places)),
    }
}

/// The space around the outermost places in a drawing, in thousandths of it. Many fasteners are drawn smaller.
fn margin(count: usize) -> i64 {
    if count > 8 { 90 } else { 160 }
}

/// Places in thousandths of a square drawing, from its left and top, in the middle of it and in their proportions.
fn in_drawing(places: &[FastenerPlace]) -> Vec<[u16; 2]> {
    let bounds = |of: fn(&FastenerPlace) -> i32| {
        let all = || places.iter().map(|place| i64::from(of(place)));
        (all().min().unwrap_or(0), all().max().unwrap_or(0))
    };
    let (left, right) = bounds(|place| place.x);
    let (low, high) = bounds(|place| place.y);
    let widest = (right - left).max(high - low).max(1);
    let inner = 1_000 - 2 * margin(places.len());
    // Twice the distance from the middle, so that it is whole.
    let shown = |twice: i64| u16::try_from(500 + twice * inner / (2 * widest)).unwrap_or(500);
    let places = places.iter();
    places
        .map(|place| {
            let x = 2 * i64::from(place.x) - left - right;
            let y = low + high - 2 * i64::from(place.y);
            [shown(x), shown(y)]
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_keep_their_proportions_in_a_drawing() {
        let places = ["0, 0", "60, 0", "60, 30", "0, 30"];
        let places = places.map(|text| FastenerPlace::parse(text).unwrap());
        assert_eq!(
            in_drawing(&places),
            [[160, 670], [840, 670], [840, 330], [160, 330]]
        );
        assert_eq!(in_drawing(&places[..1]), [[500, 500]]);
    }
}
