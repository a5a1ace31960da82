//! Writes the SVG of a drawing.

use super::letters::{LEADING, TAIL};
use crate::page::{Drawing, DrawingKind};
use crate::words::marks::is_mark;
use std::fmt::Write as _;

/// A place, in tenths of a millimetre from the left and from the top.
pub(super) type Point = (i32, i32);

/// How a shape looks.
#[derive(Clone, Copy, Debug)]
pub(super) enum Look {
    /// A thin line around it.
    Thin,
    /// A line around it.
    Outline,
    /// A thick line around it.
    Heavy,
    /// Filled lightly, with a line around it.
    Shaded,
    /// Filled.
    Solid,
}

impl Look {
    fn attributes(self) -> &'static str {
        match self {
            Look::Thin => " stroke-width=\"2\"",
            Look::Outline => "",
            Look::Heavy => " stroke-width=\"7\"",
            Look::Shaded => " fill=\"currentColor\" fill-opacity=\".16\"",
            Look::Solid => " fill=\"currentColor\"",
        }
    }
}

/// Which part of a text is at its place.
#[derive(Clone, Copy, Debug)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// A drawing that is being made.
#[derive(Debug, Default)]
pub(super) struct Canvas {
    shapes: String,
    texts: String,
    /// Attributes of the root, for scripts.
    data: String,
}

impl Canvas {
    pub(super) fn line(&mut self, from: Point, to: Point, look: Look) {
        let ((x1, y1), (x2, y2)) = (from, to);
        let _ = write!(
            self.shapes,
            "<line x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\"{}/>",
            look.attributes()
        );
    }

    /// A rectangle between two corners, the upper left one first.
    pub(super) fn rect(&mut self, from: Point, to: Point, look: Look) {
        let ((left, top), (right, bottom)) = (from, to);
        let _ = write!(
            self.shapes,
            "<rect x=\"{left}\" y=\"{top}\" width=\"{}\" height=\"{}\"{}/>",
            right - left,
            bottom - top,
            look.attributes()
        );
    }

    /// A rectangle whose ends are half circles.
    pub(super) fn strip(&mut self, from: Point, to: Point) {
        let ((left, top), (right, bottom)) = (from, to);
        let (width, height) = (right - left, bottom - top);
        let _ = write!(
            self.shapes,
            "<rect x=\"{left}\" y=\"{top}\" width=\"{width}\" height=\"{height}\" rx=\"{}\"/>",
            width.min(height) / 2
        );
    }

    pub(super) fn circle(&mut self, (x, y): Point, radius: i32, look: Look) {
        let _ = write!(
            self.shapes,
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"{radius}\"{}/>",
            look.attributes()
        );
    }

    pub(super) fn polygon(&mut self, points: &[Point], look: Look) {
        let points: Vec<String> = points.iter().map(|(x, y)| format!("{x},{y}")).collect();
        let _ = write!(
            self.shapes,
            "<polygon points=\"{}\"{}/>",
            points.join(" "),
            look.attributes()
        );
    }

    /// The lines between neighbours of a ring, from the edge of each to that of the next.
    pub(super) fn ring(&mut self, places: &[Point], radius: i32) {
        let next = places.iter().cycle().skip(1);
        for ((x1, y1), (x2, y2)) in places.iter().zip(next).take(places.len()) {
            let (across, down) = (x2 - x1, y2 - y1);
            let length = f64::from(across).hypot(f64::from(down));
            if length <= f64::from(2 * radius + 6) {
                continue;
            }
            // From the edge of a fastener, in parts of the way.
            let part = f64::from(radius + 2) / length;
            let along = |way: i32| -> i32 {
                #[expect(clippy::cast_possible_truncation, reason = "a drawing is small")]
                let whole = (f64::from(way) * part).round() as i32;
                whole
            };
            let (dx, dy) = (along(across), along(down));
            self.line((x1 + dx, y1 + dy), (x2 - dx, y2 - dy), Look::Thin);
        }
    }

    /// A line of text. `at` is on its baseline.
    pub(super) fn text(&mut self, at: Point, anchor: Anchor, text: &str) {
        self.styled_text(at, anchor, text, "");
    }

    /// A line of bold text of a size.
    pub(super) fn strong_text(&mut self, at: Point, anchor: Anchor, text: &str, size: i32) {
        let style = format!(" font-weight=\"bold\" font-size=\"{size}\"");
        self.styled_text(at, anchor, text, &style);
    }

    /// Lines of text below a place.
    pub(super) fn lines(&mut self, (x, top): Point, anchor: Anchor, lines: &[String]) {
        let baselines = (0..).map(|line| top + LEADING - TAIL + line * LEADING);
        for (line, y) in lines.iter().zip(baselines) {
            self.text((x, y), anchor, line);
        }
    }

    fn styled_text(&mut self, (x, y): Point, anchor: Anchor, text: &str, style: &str) {
        let anchor = match anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let text = escaped(text);
        if text.is_empty() {
            return;
        }
        let _ = write!(
            self.texts,
            "<text x=\"{x}\" y=\"{y}\"{anchor}{style}>{text}</text>"
        );
    }

    /// An attribute that a script reads: `data-NAME`.
    pub(super) fn data(&mut self, name: &'static str, value: impl std::fmt::Display) {
        let _ = write!(
            self.data,
            " data-{name}=\"{}\"",
            escaped(&value.to_string())
        );
    }

    /// The look that all drawings have in common is in the style sheet of pages, and in `drawing.typ` for print.
    pub(super) fn finish(
        self,
        kind: DrawingKind,
        (width, height): Point,
        alt: impl Into<String>,
    ) -> Drawing {
        let Canvas {
            shapes,
            texts,
            data,
        } = self;
        let svg = format!(
            "<svg viewBox=\"0 0 {width} {height}\" aria-hidden=\"true\"{data}>{shapes}<g>{texts}</g></svg>"
        );
        Drawing {
            kind,
            svg,
            width: width.unsigned_abs(),
            height: height.unsigned_abs(),
            unprinted: false,
            alt: alt.into(),
        }
    }
}

/// Escapes a text for an element or an attribute. What XML can't contain is replaced (XML 1.0, 2.2).
fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\t' | '\n' | '\r' => escaped.push(' '),
            '\u{fffe}' | '\u{ffff}' => escaped.push('\u{fffd}'),
            letter if letter.is_control() && !is_mark(letter) => escaped.push('\u{fffd}'),
            letter => escaped.push(letter),
        }
    }
    escaped
}
