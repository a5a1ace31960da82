//! Named boxes one below the other, each with notes beside it.

use super::canvas::{Anchor, Canvas, Look, Point};
use super::letters::{CAP, LEADING, SIZE, lines, widest};

/// A box with a name.
#[derive(Clone, Debug)]
pub(super) struct Row<'r> {
    /// Printed in the box, before the name.
    pub(super) number: Option<usize>,
    pub(super) name: &'r str,
    /// Beside the box, each on a line of its own.
    pub(super) notes: &'r [String],
    pub(super) look: Look,
}

/// The most width of a name and of a note.
const MOST_NAME: i32 = 300;
const MOST_NOTE: i32 = 380;
/// The space in a box before its name, for a number or a fastener that passes through.
pub(super) const INSET: i32 = 44;
/// The space around a text.
const AROUND: i32 = 6;
/// The space for a thick line.
pub(super) const EDGE: i32 = 4;

/// Draws boxes below a place, with `gap` between them. Returns the lower right corner of everything.
pub(super) fn rows(canvas: &mut Canvas, rows: &[Row<'_>], (left, top): Point, gap: i32) -> Point {
    let names: Vec<Vec<String>> = rows.iter().map(|row| lines(row.name, MOST_NAME)).collect();
    let notes: Vec<Vec<String>> = rows
        .iter()
        .map(|row| {
            let notes = row.notes.iter();
            notes.flat_map(|note| lines(note, MOST_NOTE)).collect()
        })
        .collect();
    let right = left + INSET + widest(names.iter().flatten()) + 2 * AROUND;
    let beside = right + 14;
    let mut y = top;
    for ((row, name), note) in rows.iter().zip(&names).zip(&notes) {
        let height = |texts: &[String]| i32::try_from(texts.len()).unwrap_or(1) * LEADING;
        let full = height(name).max(height(note)) + 2 * AROUND;
        let middle = y + full / 2;
        canvas.rect((left, y), (right, y + full), row.look);
        if let Some(number) = row.number {
            let at = (left + INSET / 2, middle + CAP / 2);
            canvas.strong_text(at, Anchor::Middle, &number.to_string(), SIZE);
        }
        canvas.lines(
            (left + INSET, middle - height(name) / 2),
            Anchor::Start,
            name,
        );
        canvas.lines((beside, middle - height(note) / 2), Anchor::Start, note);
        y += full + gap;
    }
    let beside_width = widest(notes.iter().flatten());
    let right = if beside_width > 0 {
        beside + beside_width
    } else {
        right
    };
    (right, y - gap)
}
