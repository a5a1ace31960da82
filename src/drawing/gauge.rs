//! The limits of a reading as a scale, with space to mark what was read.

use super::canvas::{Anchor, Canvas, Look};
use super::letters::{TAIL, width};
use crate::page::{Drawing, DrawingKind};

/// One end of what is allowed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct GaugeEnd<'g> {
    pub(crate) value: f64,
    /// The value as it is printed, without its unit.
    pub(crate) text: &'g str,
}

/// The limits of a reading.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Gauge<'g> {
    /// The lower limit.
    pub(crate) least: Option<GaugeEnd<'g>>,
    /// The upper limit.
    pub(crate) most: Option<GaugeEnd<'g>>,
    pub(crate) unit: &'g str,
    /// Whether there is space to mark what is found: above the scale as found, below it as left.
    pub(crate) to_fill: bool,
    pub(crate) alt: &'g str,
}

/// The length of the scale, unless the numbers need more.
const LENGTH: i32 = 440;
/// The least length of the range that is allowed, and of what is outside of it.
const LEAST_INSIDE: i32 = 120;
const LEAST_OUTSIDE: i32 = 110;
/// The height of the scale, and of the space to mark above and below it.
const BAR: i32 = 33;
const LANE: i32 = 13;
/// The space beside a text.
const GAP: i32 = 9;
/// How far the line of a limit stands out of the scale.
const TICK: i32 = 6;
/// Half the width of a thick line.
const EDGE: i32 = 4;

/// Draws a scale. `None` if there are no limits.
pub(crate) fn gauge(gauge: &Gauge<'_>) -> Option<Drawing> {
    let unit = |text: &str| format!("{text}\u{a0}{}", gauge.unit);
    // The unit is beside the last number.
    let (low, high) = match (gauge.least, gauge.most) {
        (Some(least), Some(most)) => (Some(least.text.to_owned()), Some(unit(most.text))),
        (Some(least), None) => (Some(unit(least.text)), None),
        (None, Some(most)) => (None, Some(unit(most.text))),
        (None, None) => return None,
    };
    let room = |text: &Option<String>| {
        let room = text
            .as_ref()
            .map(|text| (width(text) + 2 * GAP).max(LEAST_OUTSIDE));
        room.unwrap_or(0)
    };
    let (below, above) = (room(&low), room(&high));
    let inside = (LENGTH - below - above).max(LEAST_INSIDE);
    let left = EDGE;
    let (from, to) = (left + below, left + below + inside);
    let right = to + above;
    let lane = if gauge.to_fill { LANE } else { 0 };
    let top = lane.max(TICK + EDGE);
    let bottom = top + BAR;
    let mut canvas = Canvas::default();
    canvas.rect((left, top), (right, bottom), Look::Outline);
    canvas.rect((from, top), (to, bottom), Look::Shaded);
    let baseline = bottom - TAIL;
    if let Some(text) = low {
        canvas.line((from, top - TICK), (from, bottom), Look::Heavy);
        canvas.text((from - GAP, baseline), Anchor::End, &text);
    }
    if let Some(text) = high {
        canvas.line((to, top - TICK), (to, bottom), Look::Heavy);
        canvas.text((to + GAP, baseline), Anchor::Start, &text);
    }
    let height = bottom + lane.max(EDGE);
    let [first, last] = ends(gauge, [left, from, to, right]);
    // The scripts of a checklist put a pointer to what is typed.
    if gauge.to_fill {
        let short = |value: f64| (value * 1e4).round() / 1e4;
        canvas.data("first", short(first));
        canvas.data("last", short(last));
        canvas.data("from", left);
        canvas.data("to", right);
        canvas.data("top", top);
        canvas.data("bottom", bottom);
    }
    Some(canvas.finish(DrawingKind::Gauge, (right + EDGE, height), gauge.alt))
}

/// The values at the two ends of the scale.
fn ends(gauge: &Gauge<'_>, [left, from, to, right]: [i32; 4]) -> [f64; 2] {
    let (left, from, to, right) = (
        f64::from(left),
        f64::from(from),
        f64::from(to),
        f64::from(right),
    );
    // With one limit, zero is at the far end of what it allows, or twice the limit.
    let size = |value: f64| if value == 0.0 { 1.0 } else { value.abs() };
    let (least, most) = match (gauge.least, gauge.most) {
        (Some(least), Some(most)) => (least.value, most.value),
        (Some(least), None) => (least.value, least.value + size(least.value)),
        (None, Some(most)) => (most.value - size(most.value), most.value),
        (None, None) => (0.0, 1.0),
    };
    let each = (most - least) / (to - from);
    [least - (from - left) * each, most + (right - to) * each]
}

#[cfg(test)]
mod tests {
    use super::super::testing::{HOSTILE, check, letters, letters_of};
    use super::*;

    fn end(value: f64, text: &str) -> GaugeEnd<'_> {
        GaugeEnd { value, text }
    }

    fn drawn(least: Option<GaugeEnd<'_>>, most: Option<GaugeEnd<'_>>) -> Drawing {
        gauge(&Gauge {
            least,
            most,
            unit: "rpm",
            to_fill: true,
            alt: "governed speed",
        })
        .unwrap()
    }

    #[test]
    fn a_scale_has_its_limits() {
        let drawing = drawn(Some(end(3350.0, "3350")), Some(end(3550.0, "3550")));
        let texts = check(&drawing);
        assert_eq!(texts, ["3350", "3550\u{a0}rpm"]);
        assert_eq!(drawing.alt, "governed speed");
        assert!(drawing.width <= 460 && drawing.height <= 60, "{drawing:?}");
        // The limits are thick lines, and the range between them is shaded.
        assert_eq!(drawing.svg.matches("stroke-width=\"7\"").count(), 2);
        assert_eq!(drawing.svg.matches("fill-opacity").count(), 1);
    }

    #[test]
    fn a_single_limit_leaves_the_other_end_open() {
        let least = drawn(Some(end(2.4, "2.4")), None);
        assert_eq!(check(&least)[0], "2.4\u{a0}rpm");
        assert_eq!(least.svg.matches("stroke-width=\"7\"").count(), 1);
        let most = drawn(None, Some(end(1.0, "1")));
        assert_eq!(check(&most)[0], "1\u{a0}rpm");
        assert!(most.svg.contains(" data-first=\"0\""), "{}", most.svg);
        assert!(
            gauge(&Gauge {
                least: None,
                most: None,
                unit: "",
                to_fill: true,
                alt: ""
            })
            .is_none()
        );
    }

    #[test]
    fn values_between_the_ends_are_in_proportion() {
        let Drawing { svg, .. } = drawn(Some(end(0.3, "0.3")), Some(end(0.6, "0.6")));
        let of = |name: &str| -> f64 {
            let (_, rest) = svg.split_once(&format!(" data-{name}=\"")).unwrap();
            rest.split_once('"').unwrap().0.parse().unwrap()
        };
        let scale = (of("last") - of("first")) / (of("to") - of("from"));
        let x = |value: f64| of("from") + (value - of("first")) / scale;
        for value in [0.3, 0.6] {
            let line = format!("<line x1=\"{:.0}\"", x(value));
            assert!(svg.contains(&line), "{line}: {svg}");
        }
    }

    #[test]
    fn names_are_whole_and_escaped() {
        for text in HOSTILE {
            let drawing = gauge(&Gauge {
                least: Some(end(1.0, text)),
                most: Some(end(2.0, text)),
                unit: text,
                to_fill: true,
                alt: text,
            })
            .unwrap();
            let texts = check(&drawing);
            let expected = letters_of(text).repeat(3);
            assert_eq!(letters(&texts), expected);
        }
    }
}
