//! What a fluid flows through: its tank, valves, and the parts that carry it.

use super::canvas::{Anchor, Canvas, Look};
use super::letters::{LEADING, TAIL, lines, widest};
use crate::page::{Drawing, DrawingKind};

/// What a part of the line is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum LinePart {
    /// Where the fluid is.
    Tank {
        is_full: bool,
    },
    Valve {
        is_open: bool,
    },
    Part,
    /// What lets it out.
    Drain,
}

/// What a fluid flows through.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Line<'l> {
    /// Each part with its name and, for a valve and a tank, its state in words.
    pub(crate) parts: &'l [(LinePart, String, Option<String>)],
    pub(crate) alt: &'l str,
}

/// The most width of a name. The next one begins below or beside it.
const MOST_NAME: i32 = 170;
/// The half width and half height of a symbol.
const SYMBOL: (i32, i32) = (26, 18);
/// The most parts in a row.
const IN_ROW: usize = 6;
/// The space for the line around a symbol.
const EDGE: i32 = 3;

/// Draws a line.
pub(crate) fn line(line: &Line<'_>) -> Drawing {
    let mut canvas = Canvas::default();
    let named: Vec<Vec<String>> = line
        .parts
        .iter()
        .map(|(_, name, state)| {
            let mut texts = lines(name, MOST_NAME);
            texts.extend(state.iter().flat_map(|state| lines(state, MOST_NAME)));
            texts
        })
        .collect();
    let pitch = (widest(named.iter().flatten()) + 12).max(2 * SYMBOL.0 + 30);
    let (mut top, mut right) = (EDGE, 0);
    let rows = line.parts.chunks(IN_ROW).zip(named.chunks(IN_ROW));
    for (row, names) in rows {
        let middle = top + SYMBOL.1;
        let mut x = pitch / 2;
        for ((part, ..), name) in row.iter().zip(names) {
            if x > pitch / 2 {
                canvas.line(
                    (x - pitch + SYMBOL.0, middle),
                    (x - SYMBOL.0, middle),
                    Look::Outline,
                );
            }
            symbol(&mut canvas, *part, x, middle);
            canvas.lines((x, top + 2 * SYMBOL.1 + 2), Anchor::Middle, name);
            x += pitch;
        }
        right = right.max(x - pitch / 2);
        let height = names.iter().map(Vec::len).max().unwrap_or(0);
        let height = i32::try_from(height).unwrap_or(1) * LEADING;
        top += 2 * SYMBOL.1 + height + TAIL + EDGE;
    }
    canvas.finish(DrawingKind::Line, (right, top), line.alt)
}

fn symbol(canvas: &mut Canvas, part: LinePart, x: i32, y: i32) {
    let (w, h) = SYMBOL;
    match part {
        LinePart::Tank { is_full } => {
            let look = if is_full { Look::Shaded } else { Look::Outline };
            canvas.rect((x - w, y - h), (x + w, y + h), look);
        }
        // The symbol of a valve: filled if it is closed (ISO 10628-2, common practice; not verified).
        LinePart::Valve { is_open } => {
            let look = if is_open { Look::Outline } else { Look::Solid };
            canvas.polygon(&[(x - w, y - h), (x, y), (x - w, y + h)], look);
            canvas.polygon(&[(x + w, y - h), (x, y), (x + w, y + h)], look);
        }
        LinePart::Part => canvas.strip((x - w, y - h), (x + w, y + h)),
        LinePart::Drain => {
            canvas.line((x - w, y), (x, y), Look::Outline);
            canvas.line((x, y), (x, y + h - 8), Look::Outline);
            canvas.polygon(
                &[(x - 8, y + h - 10), (x + 8, y + h - 10), (x, y + h)],
                Look::Solid,
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{HOSTILE, check, letters, letters_of};
    use super::*;

    fn drawn(parts: &[(LinePart, &str, Option<&str>)]) -> (Drawing, Vec<String>) {
        let parts: Vec<(LinePart, String, Option<String>)> = parts
            .iter()
            .map(|(part, name, state)| (*part, (*name).to_owned(), state.map(str::to_owned)))
            .collect();
        let drawing = line(&Line {
            parts: &parts,
            alt: "the line",
        });
        let texts = check(&drawing);
        (drawing, texts)
    }

    #[test]
    fn a_closed_valve_is_filled() {
        for (is_open, filled) in [(true, 0), (false, 2)] {
            let state = if is_open { "open" } else { "closed" };
            let (drawing, texts) = drawn(&[
                (LinePart::Tank { is_full: false }, "petrol", None),
                (LinePart::Valve { is_open }, "fuel tap", Some(state)),
                (LinePart::Part, "fuel hose", None),
            ]);
            assert_eq!(texts, ["petrol", "fuel tap", state, "fuel hose"]);
            let polygons = drawing.svg.split("<polygon").skip(1);
            let polygons = polygons.filter(|polygon| {
                let tag = polygon.split("/>").next().unwrap();
                tag.contains("fill=\"currentColor\"")
            });
            assert_eq!(polygons.count(), filled, "{}", drawing.svg);
            assert_eq!(drawing.alt, "the line");
        }
    }

    #[test]
    fn a_long_line_has_several_rows() {
        let part = (LinePart::Part, "hose", None);
        let (drawing, texts) = drawn(&[part; 14]);
        assert_eq!(texts.len(), 14);
        assert!(drawing.width < 700, "{}", drawing.width);
    }

    #[test]
    fn names_are_whole_and_escaped() {
        for text in HOSTILE {
            let (_, texts) = drawn(&[
                (LinePart::Tank { is_full: true }, text, Some(text)),
                (LinePart::Drain, text, None),
            ]);
            assert_eq!(letters(&texts), letters_of(text).repeat(3));
        }
    }
}
